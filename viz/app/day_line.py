"""The day line: the days of a run, what was watched and skipped of them, and what happened when."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import solara

from viz.app.elements import Layer, tag
from viz.app.events import Stretch, Told
from viz.app.moment import Moment
from viz.app.session import Session
from viz.app.using import use_session

LONG = 1000.0  # of the picture
HIGH = 46.0
MARKS = {"hurt": "first torn fins", "serious": "seriously hurt", "dead": "died"}
MOST_FLAGS = 40


@solara.component
def DayLine(session: Session) -> None:
    """The days of the run that is watched.

    Parameters
    ----------
    session
        The session of the page.
    """
    moment: Moment | None = use_session(
        session, lambda session: session.live.moment if session.live is not None else None
    )
    tank = use_session(session, lambda session: session.tank)
    gentle = use_session(session, lambda session: session.look.gentle)
    if moment is None or tank.checked is None:
        return
    lights = tank.checked.scenario.tank
    line(
        days=moment.days,
        now=moment.day,
        stretches=moment.stretches,
        broods=moment.broods,
        events=moment.events,
        light=(lights.lights_on_h, lights.lights_on_h + lights.light_hours),
        gentle=gentle,
    )


def line(
    *,
    days: float,
    light: tuple[float, float],
    now: float | None = None,
    stretches: tuple[Stretch, ...] = (),
    broods: tuple[Stretch, ...] = (),
    events: tuple[Told, ...] = (),
    words: str = "",
    gentle: bool = False,
) -> Any:
    """Draw one day line.

    Parameters
    ----------
    days
        Of the whole run.
    light
        Hours at which the light comes on and goes off.
    now
        The day it has come to; None where nothing is played.
    stretches, broods, events
        Of `viz.app.events`.
    words
        What it shows, for who does not see it; made of the above where something is played.
    gentle
        Whether no wound is marked: who is badly hurt gets the flag of one that is moved out.
    """
    if gentle:
        events = tuple(
            replace(one, kind="moved") if one.kind in ("serious", "dead") else one
            for one in events
            if one.kind != "hurt"
        )

    def x(day: float) -> float:
        return round(LONG * min(max(day / days, 0.0), 1.0), 2)

    parts: list[Any] = []
    if days <= 60.0:
        parts += [
            rect(x(day + off), 14, x(day + on) - x(day + off), 14, "hw-dark")
            for day in range(-1, math.ceil(days))
            for off, on in ((light[1] / 24.0, 1.0 + light[0] / 24.0),)
        ]
    for one in broods:
        parts.append(rect(x(one.start), 9, max(x(one.end) - x(one.start), 2), 5, f"hw-{one.what}"))
    for one in stretches:
        shape = {"x1": x(one.start), "x2": max(x(one.end), x(one.start) + 1.0), "y1": 31, "y2": 31}
        parts.append(tag("line", classes=f"hw-{one.what}", attributes=shape))
    for told in [one for one in events if one.kind in MARKS][-MOST_FLAGS:]:
        at = x(told.day)
        parts.append(
            tag("path", classes=f"hw-mark-{told.kind}", attributes={"d": mark(told.kind, at)})
        )
    for told in [one for one in events if one.kind in ("hand", "moved", "brood")][-MOST_FLAGS:]:
        at = x(told.day)
        parts.append(tag("path", classes="hw-flag", attributes={"d": f"M{at} 14V3l7 3.5l-7 3.5"}))
    if now is not None:
        at = x(now)
        parts.append(tag("path", classes="hw-now", attributes={"d": f"M{at} 2V34M{at - 4} 2h8"}))
        hurts = [f"{MARKS[one.kind]} on day {one.day:.1f}" for one in events if one.kind in MARKS]
        words = f"Day {max(now, 0.0):.1f} of {days:g}."
        if hurts:
            words += f" {len(hurts)} marked: {'; '.join(hurts[-6:])}."
        elif not gentle:
            words += " Nobody hurt so far."
    with Layer("div", classes="hw-days"):
        tag(
            "svg",
            *parts,
            classes="hw-days-picture",
            name=words,
            attributes={
                "role": "img",
                "viewBox": f"0 0 {LONG:g} {HIGH:g}",
                "preserveAspectRatio": "none",
            },
        )
        with Layer("div", classes="hw-days-words", aria_hidden="true"):
            step = next(s for s in (1, 2, 5, 10, 30, 60, 90, 180, 365, 1e9) if days / s <= 12)
            marked = range(0, math.ceil(days), int(min(step, 10**6)))
            for day in marked:
                tag("span", str(day), attributes={"style": f"left:{100.0 * day / days:.3f}%"})
            if marked[-1] < 0.9 * days:
                tag("span", "days", attributes={"style": "right:0"})


def rect(x: float, y: float, width: float, height: float, classes: str) -> Any:
    """Return a rectangle of the picture."""
    shape = {"x": x, "y": y, "width": max(width, 0.0), "height": height}
    return tag("rect", classes=classes, attributes=shape)


def mark(kind: str, x: float) -> str:
    """Return the outline of a mark under the days: told apart by shape as well as colour."""
    if kind == "hurt":
        return f"M{x} 29v10"
    if kind == "serious":
        return f"M{x - 3} 28h6v12h-6z"
    return f"M{x - 4} 29l8 10M{x + 4} 29l-8 10"
