"""Stretches of time in which somebody watches: when they are, and what must hold of them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from sim.fields import shown
from sim.furniture import DAY_S
from sim.naming import member_names

if TYPE_CHECKING:
    from sim.care import Observation
    from sim.scenario import Scenario

Fault = tuple[tuple[str | int, ...], str]

ROLES = ("winner of ", "loser of ")


@dataclass(frozen=True, slots=True)
class Stretch:
    """One stretch of one day.

    Parameters
    ----------
    name
        Name of the observation it belongs to.
    day
        Number of the day, from 0.
    start_s, end_s
        Since midnight of day 0.
    fish
        Names of those who are put in for it, as the scenario has them.
    until_decided
        Whether it ends once somebody has won.
    """

    name: str
    day: int
    start_s: float
    end_s: float
    fish: tuple[str, ...]
    until_decided: bool


def days_of(observation: Observation) -> range:
    """Return the days on which an observation is made."""
    first = math.floor(observation.from_day)
    last = first if observation.to_day is None else math.floor(observation.to_day)
    return range(first, last + 1)


def stretches_of(scenario: Scenario) -> tuple[Stretch, ...]:
    """Return all stretches of a scenario in the order of time."""
    found = [
        Stretch(
            name=one.name,
            day=day,
            start_s=DAY_S * day + 3600.0 * one.at_h,
            end_s=DAY_S * day + 3600.0 * one.at_h + 60.0 * one.minutes,
            fish=one.fish,
            until_decided=one.until_decided,
        )
        for one in scenario.observe
        for day in days_of(one)
    ]
    return tuple(sorted(found, key=lambda stretch: stretch.start_s))


def fish_rows(scenario: Scenario) -> dict[str, tuple[int, ...]]:
    """Return the rows of every fish and group by name, in lower case."""
    rows: dict[str, tuple[int, ...]] = {}
    first = 0
    for group in scenario.fish:
        members = tuple(range(first, first + group.count))
        first += group.count
        rows[group.name.lower()] = members
        names = member_names(group)
        rows.update({name.lower(): (i,) for name, i in zip(names, members, strict=True)})
    return rows


def role_of(name: str) -> tuple[str, str] | None:
    """Return the part and the observation that a name such as "winner of first" speaks of."""
    for role in ROLES:
        if name.lower().startswith(role):
            return role.strip(), name[len(role) :].strip().lower()
    return None


def called_in(scenario: Scenario) -> tuple[int, ...]:
    """Return the rows of all fish that are in the tank only for meetings."""
    rows = fish_rows(scenario)
    return tuple(
        sorted(
            {
                i
                for one in scenario.observe
                for name in one.fish
                if role_of(name) is None
                for i in rows.get(name.lower(), ())
            }
        )
    )


def observation_faults(scenario: Scenario) -> Iterator[Fault]:
    """What cannot be in the observations of a scenario.

    Parameters
    ----------
    scenario : a scenario whose parts are right one by one.

    Returns
    -------
    place and sentence for each fault.
    """
    if not scenario.observe:
        return
    yield from _times(scenario)
    yield from _overlaps(scenario)
    yield from _who(scenario)


def _times(scenario: Scenario) -> Iterator[Fault]:
    on_h = scenario.tank.lights_on_h
    off_h = on_h + scenario.tank.light_hours
    for index, one in enumerate(scenario.observe):
        days = days_of(one)
        if not days:
            yield (
                ("observe", index, "to_day"),
                f"got {one.to_day:g}, before from_day = {one.from_day:g}; expected a later day. "
                "Swap them.",
            )
            continue
        if not on_h <= one.at_h <= one.at_h + one.minutes / 60.0 <= off_h + 1e-9:
            yield (
                ("observe", index, "at"),
                f"got {one.minutes:g} minutes from {one.at_h:g} h, not all of them in the light; "
                f"expected a time between {on_h:g} h and {off_h:g} h. Move or shorten it.",
            )
        if DAY_S * days[-1] + 3600.0 * one.at_h + 60.0 * one.minutes > DAY_S * scenario.days + 1e-6:
            yield (
                ("observe", index, "from_day" if one.to_day is None else "to_day"),
                f"got {days[-1]}, when the run is over before the end of it; expected an earlier "
                f"day than {scenario.days:g}. Lower it, or raise `days`.",
            )


def _overlaps(scenario: Scenario) -> Iterator[Fault]:
    ordered = stretches_of(scenario)
    index_of = {one.name.lower(): index for index, one in enumerate(scenario.observe)}
    told: set[str] = set()
    for before, after in pairwise(ordered):
        if after.start_s < before.end_s - 1e-6 and after.name.lower() not in told:
            told.add(after.name.lower())
            yield (
                ("observe", index_of[after.name.lower()], "at"),
                f"got a time at which {shown(before.name)} is not over; expected one stretch "
                "after another. Move one of them.",
            )


def _who(scenario: Scenario) -> Iterator[Fault]:
    rows = fish_rows(scenario)
    first_s = {one.name: one.start_s for one in reversed(stretches_of(scenario))}
    first_s = {name.lower(): start_s for name, start_s in first_s.items()}
    called = set(called_in(scenario))
    for index, one in enumerate(scenario.observe):
        for number, name in enumerate(one.fish):
            place = ("observe", index, "fish", number)
            role = role_of(name)
            if role is not None:
                start_s = first_s.get(role[1])
                if start_s is None or start_s >= first_s.get(one.name.lower(), 0.0):
                    yield (
                        place,
                        f"got {shown(name)}, which is no earlier observation; expected the name of "
                        "one. Correct it.",
                    )
            elif name.lower() not in rows:
                yield (
                    place,
                    f"got {shown(name)}, which nothing here is called; expected a fish's name. "
                    "Correct it.",
                )
    for index, group in enumerate(scenario.fish):
        mine = set(rows[group.name.lower()]) & called
        if mine and (group.joins_day > 0.0 or group.joins_at_h is not None):
            yield (
                ("fish", index, "joins_day"),
                f"got a time at which {shown(group.name)} joins, but it is put in for a meeting; "
                "expected one of the two. Take the time out.",
            )
    for index, event in enumerate(scenario.events):
        for name in event.fish:
            if called & set(rows.get(name.lower(), ())):
                yield (
                    ("events", index, "fish"),
                    f"got {shown(name)}, which is in the tank for meetings only; expected another "
                    "fish. Take it out here.",
                )
