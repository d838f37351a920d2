"""Pictures of the lessons, as SVG: pairs of dots on a board, and bites day by day."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from viz.app.elements import tag
from viz.app.lessons.board import Dots

WIDE, HIGH = 560.0, 300.0
LEFT, RIGHT, TOP, BOTTOM = 46.0, 16.0, 16.0, 34.0
STEPS = (1.0, 2.0, 5.0)


def dots_picture(dots: Sequence[Dots], *, first: str, second: str, own: int | None = None) -> Any:
    """Draw the pairs of dots of a class, one line for each group.

    Parameters
    ----------
    dots
        One pair for each group.
    first, second
        Names of the two tanks.
    own
        The group whose pair stands out, or None.
    """
    top = max([1.0, *(max(one.first, one.second) for one in dots)])
    up = _upward(top)
    x = (LEFT + 0.22 * (WIDE - LEFT - RIGHT), LEFT + 0.78 * (WIDE - LEFT - RIGHT))
    parts = _frame(up, top)
    for one in sorted(dots, key=lambda one: one.group == own):
        mine = " hw-own" if one.group == own else ""
        ys = (up(one.first), up(one.second))
        parts.append(_line(x[0], ys[0], x[1], ys[1], f"hw-pair{mine}"))
        for at, y in zip(x, ys, strict=True):
            shape = {"cx": _n(at), "cy": _n(y), "r": 5}
            parts.append(tag("circle", classes=f"hw-dot{mine}", attributes=shape))
        parts.append(_text(x[1] + 12, ys[1] + 4, str(one.group), "hw-chart-number"))
    for at, words in zip(x, (first, second), strict=True):
        parts.append(_text(at, HIGH - 10, words, "hw-chart-name", anchor="middle"))
    said = "; ".join(f"group {o.group}: {o.first:.1f} and {o.second:.1f}" for o in dots)
    name = f"Bites an hour in {first} and in {second}. " + (said or "No group is done yet.")
    return _picture(parts, name)


def days_picture(days: Sequence[tuple[float, float]], *, marked: float) -> Any:
    """Draw bites day by day in two tanks.

    Parameters
    ----------
    days
        Of each day: with and without the brood.
    marked
        The day on which they spawn.
    """
    top = max([1.0, *(max(pair) for pair in days)])
    up = _upward(top)
    last = max(len(days) - 1, 1)

    def along(day: float) -> float:
        return LEFT + (WIDE - LEFT - RIGHT - 70.0) * day / last

    parts = _frame(up, top)
    parts.append(_line(along(marked), TOP, along(marked), HIGH - BOTTOM, "hw-chart-mark"))
    parts.append(_text(along(marked) + 4, TOP + 10, "eggs", "hw-chart-name"))
    for k, (classes, words) in enumerate((("hw-with", "with"), ("hw-without", "without"))):
        points = " ".join(f"{_n(along(d))},{_n(up(pair[k]))}" for d, pair in enumerate(days))
        parts.append(tag("polyline", classes=classes, attributes={"points": points}))
        if days:
            parts.append(_text(along(last) + 6, up(days[-1][k]) + 4, words, "hw-chart-name"))
    for day in range(0, len(days), 2 if len(days) > 8 else 1):
        parts.append(_text(along(day), HIGH - 12, str(day), "hw-chart-number", anchor="middle"))
    said = "; ".join(f"day {d}: {a:.0f} and {b:.0f}" for d, (a, b) in enumerate(days))
    return _picture(parts, f"Bites a day with and without the brood. {said}")


def _upward(top: float) -> Any:
    def up(value: float) -> float:
        return HIGH - BOTTOM - (HIGH - BOTTOM - TOP) * value / (1.05 * top)

    return up


def _frame(up: Any, top: float) -> list[Any]:
    """Lines across with their numbers."""
    step = _step(top)
    parts: list[Any] = []
    for k in range(math.floor(top / step) + 1):
        y = up(k * step)
        parts.append(_line(LEFT, y, WIDE - RIGHT, y, "hw-chart-line"))
        parts.append(_text(LEFT - 6, y + 4, f"{k * step:g}", "hw-chart-number", anchor="end"))
    return parts


def _step(top: float) -> float:
    """A round number of which about four come to the top."""
    rough = top / 4.0
    ten = 10.0 ** math.floor(math.log10(rough))
    return next((s * ten for s in STEPS if s * ten >= rough), 10.0 * ten)


def _picture(parts: list[Any], name: str) -> Any:
    return tag(
        "svg",
        *parts,
        classes="hw-chart",
        name=name,
        attributes={"role": "img", "viewBox": f"0 0 {WIDE:g} {HIGH:g}"},
    )


def _line(x1: float, y1: float, x2: float, y2: float, classes: str) -> Any:
    shape = {"x1": _n(x1), "y1": _n(y1), "x2": _n(x2), "y2": _n(y2)}
    return tag("line", classes=classes, attributes=shape)


def _text(x: float, y: float, words: str, classes: str, *, anchor: str = "start") -> Any:
    shape = {"x": _n(x), "y": _n(y), "text-anchor": anchor}
    return tag("text", words, classes=classes, attributes=shape)


def _n(value: float) -> float:
    return round(value, 2)
