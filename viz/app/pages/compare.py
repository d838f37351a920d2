"""Compare: two to four tanks over the same fish; better, no difference or worse, and how sure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import solara

from viz.app.batches import Dot, paired_dots
from viz.app.columns import Cautions
from viz.app.editing.differences import Difference, differences
from viz.app.elements import Button, Layer, tag
from viz.app.pages.repeat import Answer, Asking, now_of
from viz.app.session import Session
from viz.app.using import use_session
from viz.phrases import LETTERS

LONG, HIGH, EDGE = 360.0, 240.0, 34.0


@solara.component
def Compare(session: Session) -> None:
    """The middle column: the tanks, what differs, the batch, and each draw of fish in both.

    Parameters
    ----------
    session
        The session of the page.
    """
    tanks = use_session(session, lambda session: session.tanks)
    now = now_of(session)
    tag("h2", "The same fish in other tanks")
    if len(tanks) < 2:
        tag(
            "p",
            "One tank is open. Make a variant of it in Build by changing one thing, or open a "
            "second file there; both are then played with the very same fish.",
        )
        Button("Go to Build", lambda: session.go("build"), kind="main")
        return
    with Layer("ul", classes="hw-tank-list"):
        for index, tank in enumerate(tanks):
            with Layer("li"):
                tag("strong", f"{LETTERS[index]}: {tank.name}")
                if index:
                    what = differences(tanks[0].scenario, tank.scenario)
                    tag("p", what_differs(what), classes="hw-soft")
    Asking(session, "Play them with the same fish")
    if now is None or now.results is None:
        return
    for verdict in now.results.verdicts:
        k = verdict.second
        with Layer("section", classes="hw-verdict"):
            tag(
                "h3",
                f"{tanks[k].name}: {verdict.verdict}"
                + (f", by {by_words(verdict.decided_by)}" if verdict.decided_by else ""),
            )
            tag(
                "p",
                f"Of {verdict.better + verdict.same + verdict.worse} draws of fish it was better "
                f"for {verdict.better}, alike for {verdict.same}, worse for {verdict.worse}. "
                f"{verdict.criterion}",
            )
            dots = paired_dots(now.rows[0], now.rows[k])
            picture(dots, LETTERS[0], LETTERS[k])


def by_words(outcome: str) -> str:
    """Return what decided, in words."""
    return {
        "dose": "the dose of injury",
        "serious": "the share of runs with a serious injury",
        "hidden_h_per_day": "the hours hidden",
    }.get(outcome, outcome.replace("_", " "))


def what_differs(found: Sequence[Difference]) -> str:
    """Return what differs between two tanks; more than one thing is said to be so."""
    lines = [one.words.rstrip(".") for one in found]
    if not lines:
        return "Nothing differs from A."
    words = "; ".join(lines)
    if len(lines) == 1:
        return f"Differs from A in one thing: {words}."
    return (
        f"Differs from A in {len(lines)} things, so a difference cannot be put down to one of "
        f"them: {words}."
    )


def picture(dots: list[Dot], first: str, second: str) -> Any:
    """Draw each draw of fish as two dots with a line: the dose of injury in either tank.

    Parameters
    ----------
    dots
        Of `viz.app.batches.paired_dots`.
    first, second
        Letters of the tanks.
    """
    top = max([max(dot.first, dot.second) for dot in dots] or [1.0]) or 1.0
    left, right = EDGE + 40.0, LONG - EDGE - 40.0

    def y(dose: float) -> float:
        return round(HIGH - EDGE - (HIGH - 2.0 * EDGE) * dose / top, 1)

    parts: list[Any] = []
    for dot in dots:
        kind = "better" if dot.second < dot.first else "worse"
        shape = {"x1": left, "y1": y(dot.first), "x2": right, "y2": y(dot.second)}
        parts.append(tag("line", classes=f"hw-pair hw-pair-{kind}", attributes=shape))
        for x, dose in ((left, dot.first), (right, dot.second)):
            parts.append(
                tag("circle", classes="hw-dot", attributes={"cx": x, "cy": y(dose), "r": 3.2})
            )
    for x, letter in ((left, first), (right, second)):
        words = {"x": x, "y": HIGH - 8}
        parts.append(tag("text", letter, classes="hw-pair-words", attributes=words))
    parts.append(
        tag("text", f"{top:.1f}", classes="hw-pair-words", attributes={"x": 18, "y": EDGE + 4})
    )
    parts.append(
        tag("text", "0", classes="hw-pair-words", attributes={"x": 18, "y": HIGH - EDGE + 4})
    )
    lower = sum(dot.second < dot.first for dot in dots)
    with Layer("figure", classes="hw-figure"):
        tag(
            "svg",
            *parts,
            classes="hw-pairs",
            name=f"Dose of injury of {len(dots)} draws of fish in {first} and in {second}: lower "
            f"in the second for {lower} of them.",
            attributes={"role": "img", "viewBox": f"0 0 {LONG:g} {HIGH:g}"},
        )
        tag(
            "figcaption",
            f"Each line is one draw of fish: its dose of injury (fish-days) in {first} and in "
            f"{second}. It falls, drawn whole, for {lower} of {len(dots)}; where it rises it "
            "is dashed.",
        )


@solara.component
def CompareWords(session: Session) -> None:
    """The right column: what the comparison says, in the words of `holdwater compare`.

    Parameters
    ----------
    session
        The session of the page.
    """
    now = now_of(session)
    tag("h2", "In words")
    if now is None or now.results is None:
        tag("p", "Play the tanks, and what comes out stands here.")
    else:
        Answer(now)
    Cautions()
