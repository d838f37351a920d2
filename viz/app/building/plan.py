"""Plan: what the file does on which day, as flags on the day line that can be taken elsewhere."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

import solara

from viz.app.building.bench import Bench, bench_of
from viz.app.building.days_drawer import event_words
from viz.app.building.parts import use_bench
from viz.app.day_line import line
from viz.app.editing.life import change_event, set_breeding
from viz.app.editing.stock import change_fish
from viz.app.elements import Layer
from viz.checked import days_words

if TYPE_CHECKING:
    from sim.scenario import Scenario
    from viz.app.session import Session

STEP_D = 1.0  # a flag goes from day to day; other times are typed


@dataclass(frozen=True)
class Flag:
    """One thing that the file does on a day.

    Parameters
    ----------
    key
        Tells it from the others.
    day
        On which day.
    words
        What is done.
    to
        Gives the tank in which it is done on another day.
    """

    key: str
    day: float
    words: str
    to: Callable[[Scenario, float], Scenario]


def flags_of(scenario: Scenario) -> tuple[Flag, ...]:
    """Return what a file does on its days, the earliest first.

    Parameters
    ----------
    scenario
        A tank. Fish that are there from the start have no flag.
    """
    found = []
    breeding = scenario.breeding
    if breeding.mode == "on" and breeding.spawn_day is not None:
        found.append(Flag("spawn", breeding.spawn_day, "a pair spawns", _spawns))
    for group in scenario.fish:
        if group.joins_day > 0.0:
            words = f"{group.name} put in"
            found.append(Flag(f"fish {group.name}", group.joins_day, words, _joins(group.name)))
    for event in scenario.events:
        words = event_words(event).partition(": ")[2]
        found.append(Flag(f"event {event.name}", event.on_day, words, _done(event.name)))
    return tuple(sorted(found, key=lambda flag: flag.day))


def _spawns(scenario: Scenario, day: float) -> Scenario:
    return set_breeding(scenario, spawn_day=day)


def _joins(name: str) -> Callable[[Scenario, float], Scenario]:
    return lambda scenario, day: change_fish(scenario, name, joins_day=day)


def _done(name: str) -> Callable[[Scenario, float], Scenario]:
    return lambda scenario, day: change_event(scenario, name, on_day=day)


@solara.component_vue("flags.vue")
def _Flags(
    days: float = 1.0,
    step: float = STEP_D,
    flags: list[Any] = [],  # noqa: B006  (becomes a trait, and is not changed)
    event_taken: Any = None,
) -> None:
    """The flags in the browser: dragged, or moved with the arrow keys."""


@solara.component
def PlannedDays(session: Session) -> None:
    """The day line of Build: the days of the file, and what is done on them.

    Parameters
    ----------
    session
        The session of the page.
    """
    bench = bench_of(session)
    use_bench(bench)
    scenario = bench.scenario
    lights = scenario.tank
    flags = flags_of(scenario)
    with Layer("div", classes="hw-planned"):
        line(
            days=scenario.days,
            light=(lights.lights_on_h, lights.lights_on_h + lights.light_hours),
            words=_plan_words(flags, scenario.days),
        )
        _Flags(
            days=scenario.days,
            flags=[{"key": flag.key, "day": flag.day, "words": flag.words} for flag in flags],
            event_taken=partial(take, bench),
        )


def _plan_words(flags: tuple[Flag, ...], days: float) -> str:
    said = "; ".join(f"day {flag.day:g}, {flag.words}" for flag in flags)
    planned = f"Planned: {said}." if said else "Nothing is planned on them."
    return f"{days_words(days)}. {planned}"


def take(bench: Bench, told: Any) -> None:
    """Take a flag to another day; what makes no sense is as if it had not come.

    Parameters
    ----------
    bench
        What is worked on.
    told
        Of the browser: ``{"key": ..., "day": ...}``.
    """
    if not isinstance(told, dict):
        return
    day = told.get("day")
    if isinstance(day, bool) or not isinstance(day, int | float) or not math.isfinite(day):
        return
    flag = next((one for one in flags_of(bench.scenario) if one.key == told.get("key")), None)
    if flag is None:
        return
    day = min(max(float(day), 0.0), bench.scenario.days)
    bench.do(
        lambda scenario: flag.to(scenario, day),
        did=f"{flag.words}, on day {day:g}",
        joins=f"flag {flag.key}",
        by_hand=True,
    )
