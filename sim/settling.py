"""Settling: days in which a tank is lived in before day 0, and what must hold of them.

A scenario that settles is played as a longer one whose calendar begins earlier: whoever is there
from the start has been there all along, and everything else keeps its day. `sim.day_zero` says
what begins to count when day 0 comes.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sim.fields import shown

if TYPE_CHECKING:
    from sim.care import Established
    from sim.scenario import FishGroup, Scenario

Fault = tuple[tuple[str | int, ...], str]


def settling_faults(scenario: Scenario) -> Iterator[Fault]:
    """What cannot be in a scenario whose tank settles first.

    Parameters
    ----------
    scenario : a scenario whose parts are right one by one.

    Returns
    -------
    place and sentence for each fault.
    """
    days = scenario.settling_days
    if not days:
        return
    if days != int(days):
        yield (
            ("settling_days",),
            f"got {days:g}; expected whole days, so that day 0 begins with the light like any "
            "other. Round it.",
        )
    for index, group in enumerate(scenario.fish):
        past = group.established
        if past is None:
            continue
        place: tuple[str | int, ...] = ("fish", index, "established")
        if -days < past.since_day < 0.0:
            yield (
                (*place, "since_day"),
                f"got {past.since_day:g}, when the tank has begun to settle already, on day "
                f"{-days:g}; expected that day or one before it. Lower it, or take it out: "
                f"{shown(group.name)} is there from the first day of settling.",
            )
        if past.brood is not None:
            yield (
                (*place, "brood"),
                f"got a brood at a stage with settling_days = {days:g}, in which it would go on; "
                "expected one of the two. Take one out: a pair that settles has broods of its own.",
            )


def lived(scenario: Scenario) -> Scenario:
    """Return a scenario as it is lived: with its settling as its first days.

    Parameters
    ----------
    scenario
        A checked scenario, its days counted from day 0.

    Returns
    -------
    Scenario
        The same where it does not settle. Else all days are counted from the first day of
        settling, in which the keeper does not look. An injury that a fish is said to have is
        left out: it is of day 0.
    """
    days = scenario.settling_days
    if not days:
        return scenario
    breeding, plan = scenario.breeding, scenario.keeper_plan
    if breeding.spawn_day is not None:
        breeding = breeding.model_copy(update={"spawn_day": breeding.spawn_day + days})
    if plan is not None:
        away = tuple((start + days, end + days) for start, end in plan.away_days)
        plan = plan.model_copy(update={"away_days": away})
    return scenario.model_copy(
        update={
            "settling_days": 0.0,
            "days": scenario.days + days,
            "fish": tuple(_group(group, days) for group in scenario.fish),
            "breeding": breeding,
            "events": tuple(
                event.model_copy(update={"on_day": event.on_day + days})
                for event in scenario.events
            ),
            "observe": tuple(
                one.model_copy(
                    update={
                        "from_day": one.from_day + days,
                        "to_day": None if one.to_day is None else one.to_day + days,
                    }
                )
                for one in scenario.observe
            ),
            "keeper_plan": plan,
        }
    )


def joins_later(group: FishGroup) -> bool:
    """Return whether fish are put in on a day of the calendar, and not there from the start."""
    return group.joins_day > 0.0 or group.joins_at_h is not None


def _group(group: FishGroup, days: float) -> FishGroup:
    update: dict[str, float | Established] = {}
    if joins_later(group):
        update["joins_day"] = group.joins_day + days
    if group.established is not None:
        past = group.established
        since = min(past.since_day + days, 0.0)
        update["established"] = past.model_copy(update={"since_day": since, "injury": None})
    return group.model_copy(update=update)
