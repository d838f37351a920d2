"""Sittings: when a keeper watched the real tank, and what was counted for each fish.

A *sitting* is one stretch of one day. Somebody who watches one fish after the other makes a sitting
for each; only what was counted is used.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from sim.fields import shown
from sim.observing import fish_rows
from sim.units import format_clock

if TYPE_CHECKING:
    from sim.scenario import Scenario

KINDS = ("chases_given", "chases_taken", "minutes_hidden")
USUAL_DAY = 7  # by then places and ranks are mostly settled
USUAL_AFTER_H = 4.0  # h after the light has come on
HOUR_MIN = 60.0
MOST_SITTINGS = 60
MOST_CHASES = 10_000


@dataclass(frozen=True, slots=True, order=True)
class Sitting:
    """One stretch of one day in which somebody watches.

    Parameters
    ----------
    day
        Number of the day, from 0.
    at_h
        Time of day at which it begins.
    minutes
        How long it lasts.
    """

    day: int
    at_h: float
    minutes: float

    @property
    def begins(self) -> float:
        """Days since midnight of day 0."""
        return self.day + self.at_h / 24.0

    @property
    def ends(self) -> float:
        """Days since midnight of day 0."""
        return self.begins + self.minutes / 1440.0


@dataclass(frozen=True, slots=True)
class Row:
    """What was counted for one fish, or for a group together, in one sitting.

    Parameters
    ----------
    place
        Where it stands, for sentences: "row 3".
    who
        Name of a fish or of a group.
    sitting
        When it was watched.
    counts
        Chases given, chases taken and minutes hidden, in the order of `KINDS`; None where that
        was not counted. Of a group: of all its fish together.
    """

    place: str
    who: str
    sitting: Sitting
    counts: tuple[int | None, int | None, float | None]


def usual_sitting(scenario: Scenario, *, minutes: float = 10.0) -> Sitting:
    """Return when a sitting is taken to be of which neither day nor hour are told.

    Parameters
    ----------
    scenario
        The tank.
    minutes
        How long it lasts.
    """
    day = max(min(USUAL_DAY, math.ceil(scenario.days) - 1), 0)
    tank = scenario.tank
    latest_h = tank.lights_on_h + tank.light_hours - minutes / 60.0
    return Sitting(day, max(min(tank.lights_on_h + USUAL_AFTER_H, latest_h), 0.0), minutes)


def check_rows(scenario: Scenario, rows: Sequence[Row]) -> tuple[Row, ...]:
    """Return the rows in which anything was counted, with the names as the scenario has them.

    Parameters
    ----------
    scenario
        The tank.
    rows
        As they were written down.

    Raises
    ------
    Refused
        With all that cannot be.
    """
    problems = [*_tank_faults(scenario)]
    if not problems:
        for row in rows:
            problems += _row_faults(scenario, row)
        problems += _sitting_faults(rows)
        problems += _twice(scenario, rows)
    kept = tuple(row for row in rows if any(count is not None for count in row.counts))
    if not problems and not kept:
        problems.append(
            Problem(
                "counts",
                "nothing was counted; expected a number for at least one fish. Watch for ten "
                f"minutes and fill in {', '.join(KINDS[:-1])} or {KINDS[-1]}.",
            )
        )
    if problems:
        raise Refused(problems)
    names = _names(scenario)
    return tuple(Row(row.place, names[row.who.lower()], row.sitting, row.counts) for row in kept)


def sittings_of(rows: Sequence[Row]) -> tuple[Sitting, ...]:
    """Return the sittings of some rows in the order of time, each once."""
    return tuple(sorted({row.sitting for row in rows}))


def hour_more(scenario: Scenario, sittings: Sequence[Sitting]) -> Sitting | None:
    """Return a further hour of watching: right after the last sitting, else at another free time.

    Parameters
    ----------
    scenario
        The tank.
    sittings
        Those that there were.

    Returns
    -------
    Sitting or None
        None where the run or the light leaves no hour.
    """
    last = max(sittings, key=lambda one: one.ends)
    on_h = scenario.tank.lights_on_h
    off_h = on_h + scenario.tank.light_hours
    after_h = last.at_h + last.minutes / 60.0
    for day, at_h in (
        (last.day, after_h),
        (last.day + 1, min(last.at_h, off_h - 1.0)),
        (last.day, last.at_h - 1.0),
        (last.day, off_h - 1.0),
    ):
        hour = Sitting(day, at_h, HOUR_MIN)
        if not on_h - 1e-9 <= at_h <= off_h - 1.0 + 1e-9 or hour.ends > scenario.days:
            continue
        if not any(overlapping((hour, one)) for one in sittings):
            return hour
    return None


def stretches_watched(sittings: Sequence[Sitting]) -> tuple[Sitting, ...]:
    """Return the times at which anybody watched, without overlaps, in their order."""
    found: list[Sitting] = []
    for one in sorted(sittings):
        if found and one.begins < found[-1].ends - 1e-9:
            before = found.pop()
            minutes = 1440.0 * (max(before.ends, one.ends) - before.begins)
            found.append(Sitting(before.day, before.at_h, minutes))
        else:
            found.append(one)
    return tuple(found)


def when_words(sitting: Sitting) -> str:
    """Return a sitting as one says it: "day 7, 13:00, 10 minutes"."""
    return f"day {sitting.day}, {format_clock(sitting.at_h)}, {sitting.minutes:g} minutes"


def _names(scenario: Scenario) -> dict[str, str]:
    """Names of fish and groups by their lower case."""
    from sim.naming import member_names

    groups = [group.name for group in scenario.fish]
    fish = [name for group in scenario.fish for name in member_names(group)]
    return {name.lower(): name for name in (*fish, *groups)}


def _tank_faults(scenario: Scenario) -> Iterator[Problem]:
    if "individuality" in scenario.without:
        yield Problem(
            "without",
            "got individuality, so that every fish is average; expected fish with tempers of "
            "their own, about which counts can tell. Take it out.",
        )
    if any(one.fish for one in scenario.observe):
        yield Problem(
            "observe",
            "this tank has meetings, for which fish are put in and taken out; expected a tank "
            "whose fish live together. Take `observe` out.",
        )


def _row_faults(scenario: Scenario, row: Row) -> Iterator[Problem]:
    rows = fish_rows(scenario)
    if row.who.lower() not in rows:
        known = ", ".join(dict.fromkeys(group.name for group in scenario.fish))
        yield Problem(
            f"{row.place}, fish",
            f"got {shown(row.who)}, which nothing here is called; expected a fish or a group of "
            f"this tank: {known}. Correct it.",
        )
        return
    sitting, tank = row.sitting, scenario.tank
    off_h = tank.lights_on_h + tank.light_hours
    many = len(rows[row.who.lower()])
    if not 1.0 <= sitting.minutes <= 60.0 * tank.light_hours:
        yield Problem(
            f"{row.place}, minutes",
            f"got {sitting.minutes:g}; expected 1 to {60.0 * tank.light_hours:g}, the light of a "
            "day. Correct it.",
        )
    elif not tank.lights_on_h - 1e-9 <= sitting.at_h <= off_h - sitting.minutes / 60.0 + 1e-9:
        yield Problem(
            f"{row.place}, hour",
            f"got {sitting.minutes:g} minutes from {format_clock(sitting.at_h)}, not all of them "
            f"in the light; expected a time between {format_clock(tank.lights_on_h)} and "
            f"{format_clock(off_h % 24.0)}. Correct it, or the lights in the scenario.",
        )
    if sitting.day < 0 or sitting.ends > scenario.days + 1e-9:
        yield Problem(
            f"{row.place}, day",
            f"got {sitting.day}; expected a day from 0 to {math.ceil(scenario.days) - 1}, since "
            f"the run lasts {scenario.days:g} days. Correct it, or raise `days`.",
        )
    group = next(
        group
        for group in scenario.fish
        if set(rows[row.who.lower()]) <= set(rows[group.name.lower()])
    )
    joins_h = tank.lights_on_h if group.joins_at_h is None else group.joins_at_h
    if sitting.begins < group.joins_day + joins_h / 24.0 - 1e-9:
        yield Problem(
            f"{row.place}, day",
            f"got a sitting on day {sitting.day} at {format_clock(sitting.at_h)}, before "
            f"{group.name} is put in; expected a later one. Correct it.",
        )
    for kind, count in zip(KINDS[:2], row.counts[:2], strict=True):
        if count is not None and not 0 <= count <= MOST_CHASES:
            yield Problem(
                f"{row.place}, {kind}",
                f"got {count}; expected a whole number from 0 to {MOST_CHASES}. Correct it.",
            )
    hidden, most = row.counts[2], many * sitting.minutes
    if hidden is not None and not 0.0 <= hidden <= most + 1e-9:
        of = "" if many == 1 else f", {many} fish times {sitting.minutes:g}"
        yield Problem(
            f"{row.place}, {KINDS[2]}",
            f"got {hidden:g}; expected minutes from 0 to {most:g}{of}. Correct it.",
        )


def _sitting_faults(rows: Sequence[Row]) -> Iterator[Problem]:
    first: dict[tuple[int, float], Row] = {}
    for row in rows:
        key = (row.sitting.day, row.sitting.at_h)
        other = first.setdefault(key, row)
        if other.sitting.minutes != row.sitting.minutes:
            yield Problem(
                f"{row.place}, minutes",
                f"got {row.sitting.minutes:g} for a sitting that lasts "
                f"{other.sitting.minutes:g} by {other.place}; expected one length for one day and "
                "hour. Give each fish its own hour, or correct it.",
            )
    if len(sittings_of(rows)) > MOST_SITTINGS:
        yield Problem(
            "counts",
            f"got {len(sittings_of(rows))} sittings; expected {MOST_SITTINGS} at most. Leave some "
            "out.",
        )


def _twice(scenario: Scenario, rows: Sequence[Row]) -> Iterator[Problem]:
    members = fish_rows(scenario)
    known = [row for row in rows if row.who.lower() in members]
    by_time = sorted(range(len(known)), key=lambda k: (known[k].sitting, k))
    counted: dict[tuple[Sitting, int], Row] = {}
    for k in by_time:
        row = known[k]
        for i in members[row.who.lower()]:
            other = counted.setdefault((row.sitting, i), row)
            if other is not row:
                yield Problem(
                    f"{row.place}, fish",
                    f"got {shown(row.who)}, counted in {other.place} for the same sitting "
                    f"already{'' if other.who.lower() == row.who.lower() else ' with its group'}; "
                    "expected each fish once. Take one out.",
                )
                break


def overlapping(sittings: Sequence[Sitting]) -> bool:
    """Return whether any two sittings share some time."""
    return any(b.begins < a.ends - 1e-9 for a, b in pairwise(sorted(sittings)))
