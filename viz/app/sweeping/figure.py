"""The response of a full plan in the page: each outcome against a key, with its 95 % intervals.

The lines of a second key are told apart by mark and stroke as well as by colour, and named beside.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sim.figures import MEASURES
from viz.app.elements import Layer, tag
from viz.sweep_page import cell, head

if TYPE_CHECKING:
    from viz.results import Number
    from viz.sweep_results import FactorResult, SweepResults

WIDE, HIGH = 560.0, 300.0
LEFT, RIGHT, TOP, BOTTOM = 52.0, 20.0, 14.0, 48.0
MOST_LINES = 8
APART = 9.0  # between the marks of two lines at one value
MARK = 4.6
SHAPES = 4  # of marks; after them the same, hollow
HALF_CAP = 4.0  # px, of the stroke at either end of an interval
SAMPLE = 44.0  # px, of a line beside its name
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
WITH_INTERVALS = "with 95 % intervals"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a panel.

    Parameters
    ----------
    label
        Value of the second key; empty where there is none.
    numbers
        One for each value of the first.
    """

    label: str
    numbers: tuple[Number | None, ...]


@dataclass(frozen=True, slots=True)
class Panel:
    """An outcome against a key.

    Parameters
    ----------
    outcome
        Name of `sim.figures.MEASURES`.
    factor
        The key along.
    other
        The key whose values are the lines, or None.
    lines
        One, or one for each value of `other`.
    mean
        Whether it is the mean over the values of the other keys.
    """

    outcome: str
    factor: FactorResult
    other: FactorResult | None
    lines: tuple[Line, ...]
    mean: bool = False


def panels_of(results: SweepResults) -> list[Panel]:
    """Return what is drawn: an outcome against the first key, a line for each value of the second.

    With more keys, or more than `MOST_LINES` values of the second, a panel for each key, the mean
    over the values of the others.

    Parameters
    ----------
    results
        Of a full plan.
    """
    varied = [k for k, factor in enumerate(results.factors) if factor.varies]
    two = len(varied) == 2 and len(results.factors[varied[1]].values) <= MOST_LINES
    found = []
    for outcome in results.shown:
        if two:
            first, second = (results.factors[k] for k in varied)
            lines = tuple(
                Line(
                    value,
                    tuple(
                        point.outcomes.get(outcome)
                        for point in results.points
                        if point.values[varied[1]] == value
                    ),
                )
                for value in second.values
            )
            found.append(Panel(outcome, first, second, lines))
            continue
        for k in varied:
            factor = results.factors[k]
            line = Line("", results.levels[outcome][factor.key])
            found.append(Panel(outcome, factor, None, (line,), mean=len(varied) > 1))
    return found


def response_figure(panel: Panel) -> None:
    """Draw one panel, with the names of its lines below.

    Parameters
    ----------
    panel
        Of `panels_of`.
    """
    scale = scale_of(panel.outcome)
    tops = [top for line in panel.lines for top in tops_of(line.numbers)]
    places = along(panel.factor)
    labels = list(zip(places, panel.factor.values, strict=True))
    parts, up = ground(tops, scale=scale, labels=labels, key=panel.factor.key)
    for number, line in enumerate(panel.lines):
        shift = APART * (number - 0.5 * (len(panel.lines) - 1))
        at = [x + shift for x in places]
        parts += _line(line, at, up, number=number, joined=panel.factor.ordered)
    with Layer("figure", classes="hw-figure hw-response"):
        note = f"{WITH_INTERVALS}; mean over the values of the other factors"
        tag("figcaption", f"{titled(panel.outcome)}, {note if panel.mean else WITH_INTERVALS}")
        drawing(parts, outcome=panel.outcome, key=panel.factor.key, words=words_of(panel))
        if panel.other is not None:
            _names(panel)


def ground(
    tops: Sequence[float], *, scale: float, labels: Sequence[tuple[float, str]], key: str
) -> tuple[list[Any], Callable[[float], float]]:
    """Return what a drawing stands on, and where a value of the outcome is on it.

    Parameters
    ----------
    tops
        Values that are to be on it, as the results have them.
    scale
        What they are multiplied by to be shown.
    labels
        Where along, and what stands there.
    key
        What is along.
    """
    top = scale * max([*tops, 0.0]) or 1.0
    step = _step(top)

    def up(value: float) -> float:
        return short(HIGH - BOTTOM - (HIGH - BOTTOM - TOP) * scale * value / (1.04 * top))

    parts: list[Any] = []
    for k in range(math.floor(top / step + 1e-9) + 1):
        y = up(k * step / scale)
        across = {"x1": LEFT, "x2": WIDE - RIGHT, "y1": y, "y2": y}
        parts.append(tag("line", classes="hw-chart-line", attributes=across))
        parts.append(_words(LEFT - 7.0, y + 4.0, f"{k * step:g}", anchor="end"))
    for x, value in labels:
        parts.append(_words(x, HIGH - BOTTOM + 18.0, value, anchor="middle"))
    middle = 0.5 * (LEFT + WIDE - RIGHT)
    parts.append(_words(middle, HIGH - 8.0, key, anchor="middle", classes="hw-chart-name"))
    return parts, up


def drawing(parts: Sequence[Any], *, outcome: str, key: str, words: str) -> None:
    """Show what is drawn of an outcome against a key.

    Parameters
    ----------
    parts
        Of the drawing.
    outcome, key
        Drawn against each other.
    words
        All of it, for who cannot see it.
    """
    # on a phone the drawing keeps a size at which it can be read, and is pushed sideways
    named = f"{titled(outcome)}, drawn against {key}"
    with Layer("div", classes="hw-table-room", name=named, role="region", tabindex="0"):
        tag(
            "svg",
            *parts,
            classes="hw-chart",
            name=words,
            attributes={"role": "img", "viewBox": f"0 0 {WIDE:g} {HIGH:g}"},
        )


def scale_of(outcome: str) -> float:
    """Return what an outcome is multiplied by to be shown: a share is said in 100."""
    return 100.0 if MEASURES[outcome].unit.startswith("share") else 1.0


def tops_of(numbers: Sequence[Number | None]) -> list[float]:
    """Return how high numbers and their intervals reach, as the results have them."""
    return [
        side
        for number in numbers
        if number is not None
        for side in (number.estimate, number.high)
        if side is not None
    ]


def along(factor: FactorResult) -> list[float]:
    """Return where the values of a key stand: in proportion where they are numbers, else evenly.

    Parameters
    ----------
    factor
        The key.
    """
    numbers = [number for number in factor.numbers if number is not None]
    if not (factor.ordered and len(numbers) == len(factor.values)):
        numbers = [float(k) for k in range(len(factor.values))]
    low, high = min(numbers), max(numbers)
    width = WIDE - RIGHT - LEFT
    edge = 0.11 * width
    span = (high - low) or 1.0
    return [short(LEFT + edge + (width - 2.0 * edge) * (one - low) / span) for one in numbers]


def words_of(panel: Panel) -> str:
    """Return a panel in words, for who cannot see it.

    Parameters
    ----------
    panel
        Of `panels_of`.
    """
    said = []
    for line in panel.lines:
        told = ", ".join(
            f"{value}: {cell(number)}"
            for value, number in zip(panel.factor.values, line.numbers, strict=True)
        )
        start = "" if panel.other is None else f"{panel.other.key} {line.label}: "
        said.append(f"{start}{told}")
    return f"{titled(panel.outcome)}, against {panel.factor.key}. {'; '.join(said)}."


def _line(
    line: Line, at: Sequence[float], up: Callable[[float], float], *, number: int, joined: bool
) -> list[Any]:
    kind = f"hw-line-{number % MOST_LINES}"
    there = [
        (x, one)
        for x, one in zip(at, line.numbers, strict=True)
        if one is not None and one.estimate is not None
    ]
    parts: list[Any] = []
    if joined and len(there) > 1:
        points = " ".join(f"{short(x)},{up(one.estimate or 0.0)}" for x, one in there)
        parts.append(tag("polyline", classes=f"hw-line {kind}", attributes={"points": points}))
    for x, one in there:
        d = interval_at(x, one, up)
        if d:
            parts.append(tag("path", classes=f"hw-interval {kind}", attributes={"d": d}))
        parts.append(mark(x, up(one.estimate or 0.0), number))
    return parts


def interval_at(x: float, number: Number, up: Callable[[float], float]) -> str:
    """Return the stroke of an interval; empty where there is none.

    Parameters
    ----------
    x
        Where it stands.
    number
        Whose interval it is.
    up
        Of `ground`.
    """
    if number.low is None or number.high is None:
        return ""
    low, high = up(max(number.low, 0.0)), up(number.high)
    start = short(x - HALF_CAP)
    cap = f"h{2.0 * HALF_CAP:g}"
    return f"M{short(x)} {low}V{high}M{start} {low}{cap}M{start} {high}{cap}"


def mark(x: float, y: float, number: int) -> Any:
    """Return the mark of a line: circle, square, diamond or triangle, whole or hollow.

    Parameters
    ----------
    x, y
        Its middle.
    number
        Of the line, from 0.
    """
    kind = number % MOST_LINES
    hollow = " hw-hollow" if kind >= SHAPES else ""
    shape = {"d": shape_at(x, y, number)}
    return tag("path", classes=f"hw-mark-at hw-line-{kind}{hollow}", attributes=shape)


def shape_at(x: float, y: float, number: int) -> str:
    """Return the outline of a mark.

    Parameters
    ----------
    x, y, number
        As in `mark`.
    """
    m = MARK
    x, y = short(x), short(y)
    shapes = (
        f"M{x - m} {y}a{m} {m} 0 1 0 {2 * m} 0a{m} {m} 0 1 0 {-2 * m} 0Z",
        f"M{x - m} {y - m}h{2 * m}v{2 * m}h{-2 * m}Z",
        f"M{x} {y - 1.3 * m}L{x + 1.3 * m} {y}L{x} {y + 1.3 * m}L{x - 1.3 * m} {y}Z",
        f"M{x} {y - 1.2 * m}L{x + 1.2 * m} {y + m}L{x - 1.2 * m} {y + m}Z",
    )
    return shapes[number % MOST_LINES % SHAPES]


def _names(panel: Panel) -> None:
    assert panel.other is not None
    with Layer("ul", classes="hw-line-names", aria_hidden="true"):
        tag("li", f"{panel.other.key}:")
        for number, line in enumerate(panel.lines):
            stroke = tag(
                "line",
                classes=f"hw-line hw-line-{number % MOST_LINES}",
                attributes={"x1": 0, "x2": SAMPLE, "y1": 8, "y2": 8},
            )
            sample = tag(
                "svg",
                stroke,
                mark(0.5 * SAMPLE, 8.0, number),
                attributes={"width": SAMPLE, "height": 16, "viewBox": f"0 0 {SAMPLE:g} 16"},
            )
            tag("li", sample, tag("span", line.label))


def _words(x: float, y: float, words: str, *, anchor: str, classes: str = "hw-chart-number") -> Any:
    return tag("text", words, classes=classes, attributes={"x": x, "y": y, "text-anchor": anchor})


def _step(top: float) -> float:
    """A round number of which about four come to the top."""
    rough = top / 4.0
    ten = 10.0 ** math.floor(math.log10(rough))
    return next(one * ten for one in STEPS if one * ten >= rough * 0.999)


def titled(outcome: str) -> str:
    """Return an outcome with its unit, as it begins a line."""
    words = head(outcome)
    return words[:1].upper() + words[1:]


def short(value: float) -> float:
    """Return a place on a drawing, in as many digits as can be seen."""
    return round(value, 1)
