"""The page on a search for a better layout: what moved where, what it gains, how it was found."""

from __future__ import annotations

import math
import shlex
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType

from sim.formats import INCH_M, format_both
from viz.cautions import ABSOLUTE, CAUTIONS
from viz.checked import counted
from viz.ink import bullet, heading
from viz.phrases import rounded

if TYPE_CHECKING:
    from sim.better.improve import Improved
    from sim.better.moving import Moving
    from sim.comparison import Design
    from viz.improve_command import Wanted
    from viz.played import Asked


def improved_page(
    found: Improved, *, design: Design, moving: Moving, asked: Asked, wanted: Wanted,
    ended_by_clock: bool,
) -> RenderableType:  # fmt: skip
    """Return everything a person is told about a search for a better layout.

    Parameters
    ----------
    found
        What came of it.
    design
        The tank.
    moving
        What might move.
    asked, wanted
        As it was asked for.
    ended_by_clock
        Whether the minutes ended the search.
    """
    parts: list[RenderableType] = [
        heading("What might move"),
        *(bullet(words) for words in moving_words(design, moving)),
        heading("In short"),
        *(bullet(words) for words in answer_words(found, asked=asked)),
    ]
    if found.better:
        parts += [
            heading("Where things go"),
            *(bullet(w) for w in move_words(found, design, moving)),
        ]
    parts.append(heading("How it was searched"))
    parts += [
        bullet(words)
        for words in search_words(
            found, design=design, asked=asked, wanted=wanted, ended_by_clock=ended_by_clock
        )
    ]
    parts += [bullet(ABSOLUTE), heading("Before you build it")]
    parts += [bullet(words, mark="!", style="sand") for words in CAUTIONS]
    return Group(*parts)


def moving_words(design: Design, moving: Moving) -> list[str]:
    """Return what might move, what stays and why, and what a layout must keep to.

    Parameters
    ----------
    design
        The tank.
    moving
        What might move.
    """
    from sim.better.buildable import clearance_m
    from sim.check import Checked
    from sim.more_caves import GLASS_M

    scenario = design.scenario
    names = [scenario.pieces[k].name for k in moving.pieces]
    if moving.spots and scenario.feeding:
        names.append(counted(len(scenario.feeding.spots), "feeding spot"))
    lines = [f"{', '.join(names)}."]
    if moving.fixed:
        stays = "; ".join(f"{name} ({reason})" for name, reason in moving.fixed)
        lines.append(f"Stays: {stays}.")
    if (spawn := spawning_words(design, moving)) is not None:
        lines.append(spawn)
    clear_m = clearance_m(Checked(scenario, design.layout, ()))
    lines.append(
        f"A layout can be built if nothing overlaps, pieces stand {format_both(GLASS_M)} "
        f"clear of the glass (common practice, no source) and {format_both(clear_m)} apart, so "
        "that the broadest fish passes when full-grown (assumed; flat pieces and plants are swum "
        "over, and may stand nearer), the same before each door, and no door is blocked and no "
        "floor shut off."
    )
    return lines


def spawning_words(design: Design, moving: Moving) -> str | None:
    """Return what becomes of the place where they spawn; None where nobody spawns.

    Parameters
    ----------
    design
        The tank.
    moving
        What might move.
    """
    scenario = design.scenario
    site = scenario.breeding.site
    if scenario.breeding.mode == "off":
        return None
    if not isinstance(site, str):
        return "The pit stays where the file puts it, and free."
    named = {piece.name.lower(): piece.name for piece in scenario.pieces}
    name = named.get(site.lower())
    if name in {scenario.pieces[k].name for k in moving.pieces}:
        return f"They spawn at {name}, wherever it is put."
    if name is not None:
        return f"They spawn at {name}, which stays."
    return (
        "Where they spawn the file leaves open: each layout has them choose anew. A place in "
        "[breeding] site would stay, and free."
    )


def answer_words(found: Improved, *, asked: Asked) -> list[str]:
    """Return what came of it: the gain with its interval, or that nothing better was found.

    Parameters
    ----------
    found
        What came of the search.
    asked
        As it was asked for.
    """
    from viz.gathered import results_of_comparison
    from viz.record import provenance
    from viz.words import in_words

    gain = found.gain
    if found.fresh is None or gain is None:
        return [
            "No better layout was found: none that was tried did better than the one in the file."
        ]
    batch = found.fresh.batches[0]
    runs = counted(batch.done, "fresh run")
    if found.better:
        share = ""
        if gain.ratio is not None and gain.ratio.high < 1.0:
            share = (
                f", {100.0 * (1.0 - gain.ratio.value):.0f} % less "
                f"({100.0 * (1.0 - gain.ratio.high):.0f} to {100.0 * (1.0 - gain.ratio.low):.0f})"
            )
        first = (
            f"A better layout was found. In {runs} of each, with the same fish, they receive "
            f"{rounded(-gain.estimate)} less injury in all ({rounded(-gain.high)} to "
            f"{rounded(-gain.low)} less): {rounded(gain.b.value)} instead of "
            f"{rounded(gain.a.value)}{share}. An injury of 1 is death."
        )
    else:
        first = (
            "No better layout was found. The one that looked best in the search is not shown to "
            f"be better in {runs} of each, with the same fish: {_change(gain.estimate)} injury in "
            f"all (from {_change(gain.low)} to {_change(gain.high)})."
        )
    results = results_of_comparison(
        found.fresh,
        provenance=provenance(
            seed=batch.seed, settings=batch.settings, watch=asked.watch, changes=batch.changes
        ),
    )
    said = ["A is the layout in the file, B the other:"]
    return [first, *said, *(one.words for one in in_words(results))] if found.better else [first]


def _change(value: float) -> str:
    if value == 0.0:
        return "no less"
    return f"{rounded(abs(value))} {'less' if value < 0.0 else 'more'}"


def move_words(found: Improved, design: Design, moving: Moving) -> list[str]:
    """Return where each piece and spot goes, from where.

    Parameters
    ----------
    found
        What came of the search.
    design
        The tank.
    moving
        What might move.
    """
    lines = []
    for k in moving.pieces:
        old, new = design.scenario.pieces[k], found.tank.scenario.pieces[k]
        before = _place(old.x_m, old.y_m, old.turn_rad)
        after = _place(new.x_m, new.y_m, new.turn_rad)
        lines.append(
            f"{old.name} stays" if before == after else f"{old.name}: to {after}; it stood {before}"
        )
    if moving.spots and design.scenario.feeding and found.tank.scenario.feeding:
        pairs = zip(design.scenario.feeding.spots, found.tank.scenario.feeding.spots, strict=True)
        for number, (old_spot, new_spot) in enumerate(pairs, start=1):
            before, after = _place(*old_spot), _place(*new_spot)
            lines.append(f"food {number}: to {after}; it fell {before}")
    return lines


def _place(x_m: float, y_m: float, turn_rad: float | None = None) -> str:
    turn = "" if turn_rad is None else f", turned {math.degrees(turn_rad):.0f} deg"
    along, back = (
        f"{round(length_m / INCH_M, 2):g} in ({round(100.0 * length_m, 1):g} cm)"
        for length_m in (x_m, y_m)
    )
    return f"{along} from the left, {back} from the front{turn}"


def search_words(
    found: Improved, *, design: Design, asked: Asked, wanted: Wanted, ended_by_clock: bool
) -> list[str]:
    """Return how it was searched, and how to see it again.

    Parameters
    ----------
    found
        What came of it.
    design
        The tank.
    asked, wanted
        As it was asked for.
    ended_by_clock
        Whether the minutes ended the search.
    """
    ledger = found.found.ledger
    lines = [
        f"{counted(len(ledger.candidates), 'layout')} in {counted(ledger.spent, 'run')}, all over "
        "the same fish and draws: many a few runs each, the better ones more; then "
        f"{counted(found.found.generations, 'generation')} of an evolution strategy about the "
        "best; then the best against the file's.",
    ]
    if ended_by_clock:
        lines.append(
            f"The search was ended after {wanted.minutes:g} minutes: on another day it may come to "
            "another layout. With --budget alone it repeats."
        )
    if found.fresh is not None:
        seed = found.fresh.batches[0].seed
        again = ""
        if found.better and wanted.out is not None:
            files = f"{shlex.quote(str(design.path))} {shlex.quote(str(wanted.out))}"
            again = f" See them again: holdwater compare {files} --runs {asked.runs} --seed {seed}"
        lines.append(
            "What is best of many has partly been lucky, so the search's own numbers are not "
            f"told: the gain is that of runs of another seed ({seed}), by which nothing was "
            f"chosen.{again}"
        )
    lines.append(
        "The best of the layouts that were tried, not the best there is: more runs may find a "
        "better one, another seed another."
    )
    return lines
