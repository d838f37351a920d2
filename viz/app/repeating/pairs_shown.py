"""Pairs as a figure: each draw of fish as two dots joined by a line, better or worse by its stroke.

The scale is of square roots: the injury of most draws is small and that of a few is large, and on
an even scale the many would lie on top of each other at the bottom.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from viz.app.elements import Layer, tag
from viz.app.repeating.pairs import Pair
from viz.phrases import rounded

LONG, HIGH, EDGE = 420.0, 260.0, 30.0
LEFT, RIGHT = 110.0, 330.0
ORDER = ("alike", "better", "worse")  # the last lies on top
STROKES = {
    "better": "drawn whole",
    "alike": "dotted",
    "worse": "dashed, its dots hollow",
}


def pairs_figure(pairs: Sequence[Pair], *, first: str, second: str) -> Any:
    """Draw the pairs of two tanks.

    Parameters
    ----------
    pairs
        Draw by draw.
    first, second
        Letters of the tanks.
    """
    top = max((max(pair.first, pair.second) for pair in pairs), default=0.0) or 1.0

    def y(dose: float) -> float:
        return round(HIGH - EDGE - (HIGH - 2.0 * EDGE) * math.sqrt(dose / top), 1)

    parts: list[Any] = []
    for dose in scale(top):
        at = {"x1": LEFT - 40.0, "x2": RIGHT + 40.0, "y1": y(dose), "y2": y(dose)}
        parts.append(tag("line", classes="hw-pair-grid", attributes=at))
        where = {"x": LEFT - 48.0, "y": y(dose) + 4.0, "text-anchor": "end"}
        parts.append(tag("text", f"{dose:g}", classes="hw-pair-words", attributes=where))
    for word in ORDER:
        for pair in pairs:
            if pair.word == word:
                parts += one_pair(pair, y(pair.first), y(pair.second))
    for x, letter in ((LEFT, first), (RIGHT, second)):
        where = {"x": x, "y": HIGH - 8.0, "text-anchor": "middle"}
        parts.append(tag("text", letter, classes="hw-pair-letter", attributes=where))
    with Layer("figure", classes="hw-figure"):
        tag(
            "svg",
            *parts,
            classes="hw-pairs",
            name=counts_words(pairs, first=first, second=second),
            attributes={"role": "img", "viewBox": f"0 0 {LONG:g} {HIGH:g}"},
        )
        tag("figcaption", caption(pairs, first=first, second=second))


def one_pair(pair: Pair, left: float, right: float) -> list[Any]:
    """Return the line and the dots of one pair.

    Parameters
    ----------
    pair
        The draw of fish.
    left, right
        Heights of its dots in the picture.
    """
    line = {"x1": LEFT, "y1": left, "x2": RIGHT, "y2": right}
    return [
        tag("line", classes=f"hw-pair hw-pair-{pair.word}", attributes=line),
        *(
            tag(
                "circle",
                classes=f"hw-dot hw-dot-{pair.word}",
                attributes={"cx": x, "cy": y, "r": 3.2},
            )
            for x, y in ((LEFT, left), (RIGHT, right))
        ),
    ]


def scale(top: float) -> list[float]:
    """Return a few round doses from zero up to a top.

    Parameters
    ----------
    top
        Above zero.
    """
    step = 10.0 ** math.floor(math.log10(top))
    return [0.0, *(k * step for k in (0.1, 0.25, 0.5, 1.0, 2.5, 5.0) if k * step <= top)]


def counts_words(pairs: Sequence[Pair], *, first: str, second: str) -> str:
    """Return for how many draws of fish the second tank is better, alike and worse.

    Parameters
    ----------
    pairs, first, second
        As in `pairs_figure`.
    """
    words = [pair.word for pair in pairs]
    return (
        f"Of {len(pairs)} draws of fish, {words.count('better')} did better in {second} than in "
        f"{first}, {words.count('alike')} about alike, {words.count('worse')} worse."
    )


def caption(pairs: Sequence[Pair], *, first: str, second: str) -> str:
    """Return what the figure shows, and for how many the second tank is better.

    Parameters
    ----------
    pairs, first, second
        As in `pairs_figure`.
    """
    strokes = ", ".join(f"{word}: {words}" for word, words in STROKES.items())
    most = rounded(max((max(pair.first, pair.second) for pair in pairs), default=0.0))
    return (
        f"{counts_words(pairs, first=first, second=second)} Each line joins the injury that one "
        f"draw of fish takes in a run in {first} and in {second} (1 at one time kills a fish; the "
        f"most is {most}; {strokes})."
    )
