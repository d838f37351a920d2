"""Open ground over the days: the share of the floor that nobody holds, with its interval."""

from __future__ import annotations

import math
from typing import Any

import solara

from viz.app.day_line import DayLine
from viz.app.elements import Layer, tag
from viz.app.session import Session
from viz.app.why.asking import why_of
from viz.app.why.parts import share_figure, share_table
from viz.results import Number
from viz.why_results import CourseResult, Reasons
from viz.why_words import STAGE, ground_words

LONG, HIGH = 1000.0, 70.0
MOST_MARKS = 12
MOST_ROWS = 31


@solara.component
def OpenGroundDays(session: Session) -> None:
    """The floor that nobody holds, day by day, in the place of the day line.

    Parameters
    ----------
    session
        The session of the page.
    """
    why, now, place = why_of(session)
    if why is None or now is None or now.why is None or place is None:
        DayLine(session)
        return
    breeding = why.designs[place].scenario.breeding
    eggs = breeding.spawn_day if breeding.mode == "on" else None
    course = now.why.reasons[place].open_by_day
    if len(course.days) > 1:
        days_picture(course, eggs=eggs)


def days_picture(course: CourseResult, *, eggs: float | None) -> None:
    """Draw a share day by day with its interval.

    Parameters
    ----------
    course
        The share, of two days at least.
    eggs
        The day on which they spawn; None where that is not fixed.
    """
    days = course.days[-1] + 1

    def at(day: float, share: float | None) -> str:
        x, y = LONG * (day + 0.5) / days, HIGH * (1.0 - min(max(share or 0.0, 0.0), 1.0))
        return f"{x:.1f} {y:.1f}"

    def lined(which: str) -> list[str]:
        numbers = zip(course.days, course.numbers, strict=True)
        return [at(day, getattr(number, which)) for day, number in numbers]

    parts: list[Any] = [level(share) for share in (0.0, 0.5, 1.0)]
    if all(number.low is not None and number.high is not None for number in course.numbers):
        ring = "L".join([*lined("high"), *reversed(lined("low"))])
        parts.append(tag("path", classes="hw-open-band", attributes={"d": f"M{ring}Z"}))
    if eggs is not None:
        x = round(LONG * eggs / days, 1)
        shape = {"x1": x, "x2": x, "y1": 0, "y2": HIGH}
        parts.append(tag("line", classes="hw-open-eggs", attributes=shape))
    middle = "L".join(lined("estimate"))
    parts.append(tag("path", classes="hw-open-line", attributes={"d": f"M{middle}"}))
    first, last = course.numbers[0], course.numbers[-1]
    words = (
        f"Floor that nobody holds, day by day: {share_figure(first)} on day {course.days[0]}, "
        f"{share_figure(last)} on day {course.days[-1]}."
    )
    with Layer("div", classes="hw-open"):
        tag(
            "p",
            "Floor that nobody holds, day by day, % of it",
            tag("span", "; the line: eggs" if eggs is not None else ""),
            classes="hw-open-title",
            attributes={"aria-hidden": "true"},
        )
        with Layer("div", classes="hw-open-scale", aria_hidden="true"):
            for mark in ("100", "50", "0"):
                tag("span", mark)
        tag(
            "svg",
            *parts,
            classes="hw-open-picture",
            name=words,
            attributes={
                "role": "img",
                "viewBox": f"0 0 {LONG:g} {HIGH:g}",
                "preserveAspectRatio": "none",
            },
        )
        with Layer("div", classes="hw-days-words", aria_hidden="true"):
            step = max(1, math.ceil(days / MOST_MARKS))
            for day in range(0, days, step):
                style = f"left:{100.0 * (day + 0.5) / days:.3f}%"
                tag("span", str(day), attributes={"style": style})


def level(share: float) -> Any:
    """Return a level line of the scale."""
    y = HIGH * (1.0 - share)
    return tag("line", classes="hw-open-grid", attributes={"x1": 0, "x2": LONG, "y1": y, "y2": y})


@solara.component
def OpenGround(reasons: Reasons) -> None:
    """The open ground in words, by stage of the brood, and day by day as a table.

    Parameters
    ----------
    reasons
        Of a tank.
    """
    tag("h3", "Floor that nobody holds")
    said = ground_words(reasons, start="", at="")
    if not said:
        tag("p", "One day is too short to see it change.")
    for one in said:
        tag("p", one.words)
    if len(reasons.open_by_stage) > 1:
        share_table(
            "By the stage of the brood",
            [(STAGE[stage], share) for stage, share in reasons.open_by_stage.items()],
            of="of the floor",
        )
    rows = by_day(reasons.open_by_day)
    if len(rows) > 1:
        with Layer("details", classes="hw-more"):
            tag("summary", "Day by day, as a table")
            share_table("By day", rows, of="of the floor")


def by_day(course: CourseResult) -> list[tuple[str, Number | None]]:
    """Return a share day by day as rows of a table; of many days only some, the last among them.

    Parameters
    ----------
    course
        The share.
    """
    step = max(1, math.ceil(len(course.days) / MOST_ROWS))
    picked = sorted({*range(0, len(course.days), step), len(course.days) - 1})
    return [(f"day {course.days[k]}", course.numbers[k]) for k in picked]
