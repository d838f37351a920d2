"""How the injury divides: on the floor, by place and stage and way, and how chases ended."""

from __future__ import annotations

import solara

from viz.app.elements import Choice, Layer, tag
from viz.app.why.parts import share_table
from viz.app.why.reasoning import AS_IT_IS, Reasoning
from viz.hurt_spots import Spot, Spots, disc_words, worst_spots
from viz.phrases import hundredths, rounded
from viz.report.reasons import short
from viz.why_results import Reasons
from viz.why_words import END, STAGE, parts_of, without

MOST_SPOTS = 12


@solara.component
def OnTheFloor(
    why: Reasoning,
    place: int,
    keys: tuple[str, ...],
    key: str,
    spots: Spots,
    most: float,
    gentle: bool,
) -> None:
    """What the discs on the floor stand for, and their numbers as a table.

    Parameters
    ----------
    why, place
        What is asked, and the place of the tank in it.
    keys, key
        What can lie on the floor, and what does.
    spots, most
        Where they are hurt, and the greatest injury of one block of all that can be shown.
    gentle
        Whether no wound is to be drawn.
    """
    layout = why.designs[place].layout
    found = solara.use_memo(lambda: worst_spots(spots, layout=layout), [spots])
    tag("h3", "Where on the floor")
    if most <= 0.0:
        tag("p", "Nobody was hurt.")
        return
    with Layer("div", classes="hw-row"):
        Choice(
            "Shown",
            [(one, "as it is" if one == AS_IT_IS else short(one)) for one in keys],
            key,
            lambda one: why.show(place, one),
        )
    drawn = " In the gentle display the discs are dashed rings." if gentle else ""
    tag("p", disc_words(spots.block_m, most=most) + drawn)
    if not found:
        return
    with Layer("details", classes="hw-more"):
        tag("summary", "The numbers of the floor, as a table")
        spot_table(found, of="" if key == AS_IT_IS else f", {without(key)}")


def spot_table(found: tuple[Spot, ...], *, of: str) -> None:
    """Show the blocks on which most injury is taken.

    Parameters
    ----------
    found
        Blocks, the one with the most first.
    of
        What was taken away, to end the caption with.
    """
    shown, rest = found[:MOST_SPOTS], found[MOST_SPOTS:]
    with Layer("table", classes="hw-parts"):
        tag("caption", f"Injury by place{of}, the most first")
        heads = ("place", "injury a run", "of all")
        tag("thead", tag("tr", *(tag("th", one, attributes={"scope": "col"}) for one in heads)))
        with Layer("tbody"):
            for one in shown:
                row(one.place, one.dose, one.share)
            if rest:
                dose, share = (
                    sum(getattr(one, name) for one in rest) for name in ("dose", "share")
                )
                row(f"{len(rest)} more places together", dose, share)


def row(place: str, dose: float, share: float) -> None:
    """Show one row of the table of places."""
    tag(
        "tr",
        tag("th", place, attributes={"scope": "row"}),
        tag("td", rounded(dose), classes="hw-figure-cell"),
        tag("td", f"{hundredths(share)} %", classes="hw-figure-cell"),
    )


@solara.component
def Divided(reasons: Reasons) -> None:
    """How the injury divides, a table for each way of dividing it.

    Parameters
    ----------
    reasons
        Of a tank.
    """
    parts = parts_of((reasons,))
    if not parts:
        return
    tag("h3", "Where the injury is taken")
    for words, rows in parts:
        floor = [reasons.floor_by_cover.get(name) for name, _ in rows]
        cover = words.startswith("to swim")
        share_table(
            words[:1].upper() + words[1:],
            [(name, numbers[0]) for name, numbers in rows],
            of="of the injury",
            beside=("of the open floor (dashed)", floor) if cover else None,
        )


@solara.component
def ChaseEnds(reasons: Reasons) -> None:
    """How chases ended, in all and at each stage of the brood.

    Parameters
    ----------
    reasons
        Of a tank.
    """
    tag("h3", "How chases ended")
    ends = {name: share for name, share in reasons.ends.items() if share.estimate}
    if not ends:
        tag("p", "There was no chase.")
        return
    share_table(
        "A chase ended", [(END[name], share) for name, share in ends.items()], of="of the chases"
    )
    by_stage = reasons.ends_by_stage
    if len(by_stage) < 2:
        return
    with Layer("details", classes="hw-more"):
        tag("summary", "By the stage of the brood, as a table")
        words = "Chases by end and stage; it can be moved sideways"
        box = Layer("div", classes="hw-sideways", name=words, role="group", tabindex="0")
        with box, Layer("table", classes="hw-parts"):
            tag("caption", "Chases by how they ended and the stage of the brood, in all runs")
            heads = [tag("th", words, attributes={"scope": "col"}) for words in ends]
            tag("thead", tag("tr", tag("td"), *heads))
            with Layer("tbody"):
                for stage, counts in by_stage.items():
                    cells = [
                        tag("td", f"{counts[name]:,}", classes="hw-figure-cell") for name in ends
                    ]
                    tag("tr", tag("th", STAGE[stage], attributes={"scope": "row"}), *cells)
