"""Charts of the report, as SVG: days across, shares and amounts with their intervals.

Tanks are told apart by letter, line and mark as well as by colour, and each chart says in words
what it shows.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from viz.markup import el, put
from viz.phrases import rounded
from viz.results import Number
from viz.why_results import CourseResult

COLOURS = ("#0f5a78", "#b4591f", "#3f7a2e", "#7b4a9e")
DASHES = (None, "7 3", "2 2.5", "9 3 2 3")
INK, PALE, GRID = "#2b3338", "#5b676d", "#d8e0e3"
LETTER = 12.0  # px
GAP = 5.0  # px between rows
MOST_LETTERS = 25  # of a name in one line


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The place of a chart and what its axes say.

    Parameters
    ----------
    width, height
        px.
    title, words
        What it is called, and what it shows in words.
    key
        Tells its ids from others.
    x_label, y_label
        What the axes are.
    percent
        Whether y is a share, told in hundredths.
    top
        Greatest y; what is drawn decides where None.
    """

    width: float
    height: float
    title: str
    words: str
    key: str
    x_label: str
    y_label: str
    percent: bool = False
    top: float | None = None


def canvas(frame: Frame, *parts: Element | Sequence[Element] | None) -> Element:
    """Return an `svg` with its title and description.

    Parameters
    ----------
    frame
        Its place and words.
    *parts
        What is drawn.
    """
    names = [f"{frame.key}-title", f"{frame.key}-words"]
    return el(
        "svg", el("title", frame.title, id=names[0]), el("desc", frame.words, id=names[1]), *parts,
        viewbox=f"0 0 {frame.width:g} {frame.height:g}", role="img",
        aria_labelledby=names[0], aria_describedby=names[1], class_="chart",
        style=f"max-width:{frame.width:g}px",
    )  # fmt: skip


def ticks(low: float, high: float, *, most: int = 5) -> list[float]:
    """Return round numbers between two others, both ends as far as they are round.

    Parameters
    ----------
    low, high
        The ends.
    most
        Steps at most.
    """
    if high <= low:
        return [low]
    step = 10.0 ** math.floor(math.log10((high - low) / most))
    for times in (1.0, 2.0, 5.0, 10.0):
        if (high - low) / (step * times) <= most:
            step *= times
            break
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]


def tick_words(value: float, *, percent: bool = False) -> str:
    """Return a tick as it is written."""
    return f"{100.0 * value:.0f}" if percent else f"{value:g}"


def text(
    words: str, x: float, y: float, *, anchor: str = "start", size: float = LETTER,
    colour: str = INK, bold: bool = False,
) -> Element:  # fmt: skip
    """Return a line of letters whose middle is at y."""
    return el(
        "text", words, x=x, y=y, font_size=size, fill=colour, text_anchor=anchor,
        dominant_baseline="central", font_weight="bold" if bold else None,
    )  # fmt: skip


def day_chart(
    courses: Sequence[tuple[str, CourseResult]],
    *,
    frame: Frame,
    steps: bool = False,
    zero_line: str = "",
    small: bool = False,
) -> Element:
    """Return numbers day by day, a line for each tank with its interval.

    Parameters
    ----------
    courses
        Letter of the tank and its course, in the order of the tanks; an empty one is left out.
    frame
        Place and words.
    steps
        Whether it goes down by steps from 1 at day 0, as those do who are unhurt.
    zero_line
        Words at day 0, which gets a line; none without.
    small
        Fewer letters, for one of many.
    """
    left, right, top, bottom = (30.0, 20.0, 8.0, 20.0) if small else (46.0, 24.0, 12.0, 40.0)
    shown = [(k, letter, course) for k, (letter, course) in enumerate(courses) if course.days]
    if not shown:
        return canvas(frame, text("nothing to show", frame.width / 2, frame.height / 2,
                                  anchor="middle", colour=PALE))  # fmt: skip
    days = [day for _, _, course in shown for day in course.days]
    x0, x1 = (0.0, float(max(days))) if steps else (float(min(days)), float(max(days)))
    highest = frame.top or 1.1 * max(
        value
        for _, _, course in shown
        for number in course.numbers
        for value in (number.estimate, number.high)
        if value is not None
    )
    highest = highest or 1.0
    wide, high = frame.width - left - right, frame.height - top - bottom

    def at(day: float, value: float) -> tuple[float, float]:
        share = 0.0 if x1 == x0 else (day - x0) / (x1 - x0)
        return left + share * wide, top + high * (1.0 - min(value, highest) / highest)

    parts: list[Element] = []
    for value in ticks(0.0, highest, most=2 if small else 4):
        y = at(x0, value)[1]
        parts.append(el("path", d=f"M{left:.1f} {y:.1f}h{wide:.1f}", stroke=GRID, stroke_width=1))
        parts.append(
            text(tick_words(value, percent=frame.percent), left - 5, y, anchor="end",
                 size=10 if small else 11, colour=PALE)
        )  # fmt: skip
    for day in ticks(x0, x1, most=3 if small else 6):
        x = at(day, 0.0)[0]
        parts.append(el("path", d=f"M{x:.1f} {top + high:.1f}v4", stroke=PALE, stroke_width=1))
        parts.append(
            text(f"{day:g}", x, top + high + 12, anchor="middle", size=10 if small else 11,
                 colour=PALE)
        )  # fmt: skip
    if zero_line and x0 <= 0.0 <= x1:
        x = at(0.0, 0.0)[0]
        parts.append(el("path", d=f"M{x:.1f} {top:.1f}v{high:.1f}", stroke=INK, stroke_width=1,
                        stroke_dasharray="1.5 2.5"))  # fmt: skip
        parts.append(text(zero_line, x + 4, top + 5, size=10.5, colour=PALE))
    labels: list[float] = []
    for k, _, course in shown:
        parts += _course(course, k, at, steps=steps)

    def end_of(course: CourseResult) -> tuple[float, float]:
        return at(course.days[-1], course.numbers[-1].estimate or 0.0)

    for k, letter, course in sorted(shown, key=lambda one: end_of(one[2])[1]):  # the highest first
        end = end_of(course)
        y = _apart(end[1], labels, gap=11.0)
        labels.append(y)
        if letter:
            parts.append(text(letter, end[0] + 6, y, colour=COLOURS[k], bold=True))
    if not small:
        parts.append(text(frame.x_label, left + wide / 2, frame.height - 9, anchor="middle",
                          colour=PALE, size=11.5))  # fmt: skip
        parts.append(
            el("text", frame.y_label, font_size=11.5, fill=PALE, text_anchor="middle",
               transform=f"translate(11 {top + high / 2:.1f}) rotate(-90)")
        )  # fmt: skip
    return canvas(frame, parts)


def _apart(y: float, taken: Sequence[float], *, gap: float) -> float:
    while any(abs(y - other) < gap for other in taken):
        y += gap - min(abs(y - other) for other in taken) + 0.1
    return y


def _course(
    course: CourseResult,
    k: int,
    at: Callable[[float, float], tuple[float, float]],
    *,
    steps: bool,
) -> list[Element]:
    def line(values: Sequence[float | None]) -> list[tuple[float, float]]:
        points: list[tuple[float, float]] = []
        before = 1.0
        if steps:
            points.append(at(0.0, 1.0))
        for day, value in zip(course.days, values, strict=True):
            if value is None:
                continue
            if steps:
                points.append(at(float(day), before))
                before = value
            points.append(at(float(day), value))
        return points

    made = []
    low = [number.low for number in course.numbers]
    high = [number.high for number in course.numbers]
    if None not in low and None not in high:
        ring = [*line(high), *reversed(line(low))]
        made.append(el("path", d=_path(ring) + "Z", fill=COLOURS[k], fill_opacity=0.13))
    points = line([number.estimate for number in course.numbers])
    made.append(
        el("path", d=_path(points), fill="none", stroke=COLOURS[k], stroke_width=2,
           stroke_dasharray=DASHES[k], stroke_linejoin="round")
    )  # fmt: skip
    return made


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def mark(k: int, x: float, y: float) -> Element:
    """Return the mark of a tank: a disc, a square, a triangle, a diamond."""
    look = {"fill": COLOURS[k], "stroke": "#ffffff", "stroke_width": 0.8}
    if k == 0:
        return el("circle", cx=x, cy=y, r=4.2, **look)
    shapes = {1: "M-3.8-3.8h7.6v7.6h-7.6Z", 2: "M0-4.8L4.6 3.6H-4.6Z", 3: "M0-5L5 0 0 5-5 0Z"}
    return el("path", d=shapes[k], transform=f"translate({x:.1f} {y:.1f})", **look)


def interval_chart(
    rows: Sequence[tuple[str, Sequence[tuple[int, Number | None]]]],
    *,
    frame: Frame,
    low: float = 0.0,
    floors: Sequence[float | None] | None = None,
    missing: str = "too little seen",
) -> Element:
    """Return estimates with their intervals on one scale, a row for each name.

    Parameters
    ----------
    rows
        Name, and for it the number of a tank and its figure.
    frame
        Place and words; the height is grown to hold the rows.
    low
        What the left end stands for.
    floors
        For each row a value that is marked by a hollow tick; None where there is none.
    missing
        What is said where there is no figure.
    """
    each = 12.5
    labels = [textwrap.wrap(name, MOST_LETTERS) or [""] for name, _ in rows]
    longest = max((len(line) for lines in labels for line in lines), default=1)
    told = [figure(number, percent=frame.percent)
            for _, found in rows for _, number in found if number is not None]  # fmt: skip
    widest = max((len(words) for words in told), default=0)
    left, right, top = 5.9 * longest + 12.0, max(5.2 * widest + 12.0, 76.0), 4.0
    tall = [max(len(found), len(lines), 1) * each for (_, found), lines in
            zip(rows, labels, strict=True)]  # fmt: skip
    high = sum(block + GAP for block in tall)
    height = top + high + 34.0
    numbers = [n for _, found in rows for _, n in found if n is not None and n.estimate is not None]
    ends = [v for n in numbers for v in (n.estimate, n.low, n.high) if v is not None]
    greatest = frame.top if frame.top is not None else max([*ends, 0.0]) * 1.05 or 1.0
    least = min([low, *ends]) if low < 0.0 or any(v < low for v in ends) else low
    wide = frame.width - left - right

    def at(value: float) -> float:
        return left + wide * min(max((value - least) / (greatest - least), 0.0), 1.0)

    parts: list[Element] = []
    for value in ticks(least, greatest, most=5):
        bold = least < 0.0 and abs(value) < 1e-12
        parts.append(el("path", d=f"M{at(value):.1f} {top:.1f}v{high:.1f}",
                        stroke=INK if bold else GRID, stroke_width=1.2 if bold else 1))  # fmt: skip
        parts.append(text(tick_words(value, percent=frame.percent), at(value), top + high + 9,
                          anchor="middle", size=10.5, colour=PALE))  # fmt: skip
    y = top
    for place, (_, found) in enumerate(rows):
        block, lines = tall[place], labels[place]
        for down, line in enumerate(lines):
            at_y = y + block / 2 + 1 + 12.0 * (down - 0.5 * (len(lines) - 1))
            parts.append(text(line, left - 8, at_y, anchor="end", size=11.5))
        if floors is not None and floors[place] is not None:
            x = at(floors[place] or 0.0)
            parts.append(el("path", d=f"M{x:.1f} {y - 1:.1f}v{block + 4:.1f}", stroke=INK,
                            stroke_width=1.6, stroke_dasharray="2 2"))  # fmt: skip
        start = y + 0.5 * (block - each * len(found))
        for down, (k, number) in enumerate(found):
            parts += _interval(number, k, at, start + each * (down + 0.5) + 1,
                               percent=frame.percent, end=frame.width,
                               missing=missing)  # fmt: skip
        y += block + GAP
    parts.append(text(frame.x_label, left + wide / 2, height - 8, anchor="middle", colour=PALE,
                      size=11))  # fmt: skip
    sized = Frame(
        width=frame.width, height=height, title=frame.title, words=frame.words, key=frame.key,
        x_label=frame.x_label, y_label=frame.y_label,
    )  # fmt: skip
    return canvas(sized, parts)


def _interval(
    number: Number | None,
    k: int,
    at: Callable[[float], float],
    y: float,
    *,
    percent: bool,
    end: float,
    missing: str,
) -> list[Element]:
    if number is None or number.estimate is None:
        return [text(missing, end, y, anchor="end", size=10.5, colour=PALE)]
    made = []
    if number.low is not None and number.high is not None:
        made.append(el("path", d=f"M{at(number.low):.1f} {y:.1f}H{at(number.high):.1f}",
                       stroke=COLOURS[k], stroke_width=2.2, stroke_opacity=0.55,
                       stroke_linecap="round"))  # fmt: skip
    made.append(mark(k, at(number.estimate), y))
    return [*made, text(figure(number, percent=percent), end, y, anchor="end", size=10.5)]


def figure(number: Number, *, percent: bool) -> str:
    """Return an estimate and its interval as short as can be."""
    if number.estimate is None:
        return "?"

    def one(value: float) -> str:
        if percent:
            return f"{100.0 * value:.0f}"
        return f"{'-' if value < 0.0 else ''}{rounded(abs(value))}"

    if number.low is None or number.high is None:
        return one(number.estimate)
    return f"{one(number.estimate)} ({one(number.low)} to {one(number.high)})"


def scrolling(inside: Element, *, label: str) -> Element:
    """Return an element that may be wider than a phone, to be moved sideways by hand or by keys.

    Parameters
    ----------
    inside
        What is shown.
    label
        What it is.
    """
    return el("div", inside, class_="scroll", tabindex=0, role="group", aria_label=label)


def legend(names: Sequence[str], *, letters: str) -> Element:
    """Return which letter, line and mark is which tank.

    Parameters
    ----------
    names
        Of the tanks.
    letters
        Theirs.
    """
    items = []
    for k, name in enumerate(names):
        key = el("svg", el("path", d="M1 7H29", stroke=COLOURS[k], stroke_width=2,
                           stroke_dasharray=DASHES[k]), mark(k, 15, 7),
                 viewbox="0 0 30 14", width=30, height=14, aria_hidden="true")  # fmt: skip
        items.append(el("li", key, put(el("span"), el("b", f"{letters[k]} "), name)))
    return el("ul", items, class_="legend")
