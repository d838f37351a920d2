"""Life: days, breeding, growth, meals, the keeper and what is done to a tank on which day."""

from __future__ import annotations

from typing import Any

from sim.care import Event, Feeding, KeeperPlan
from sim.scenario import Scenario
from viz.app.editing.changing import checked, free_name, named, rebuilt, remade, replaced


def set_days(scenario: Scenario, **values: Any) -> Scenario:
    """Return a tank played for other days, or with fish that grow or settle first.

    Parameters
    ----------
    scenario
        The tank.
    values
        Of `sim.scenario.Scenario`: title, question, keeper, days, growth, settling_days.

    Raises
    ------
    Refused
        If a value cannot be.
    """
    return rebuilt(scenario, **values)


def set_breeding(scenario: Scenario, **values: Any) -> Scenario:
    """Return a tank with another breeding mode; what the mode does not use goes.

    Parameters
    ----------
    scenario
        The tank.
    values
        Of `sim.scenario.Breeding`: mode, spawn_day, pair, site.

    Raises
    ------
    Refused
        If a value cannot be.
    """
    breeding = remade(scenario.breeding, **values)
    if breeding.mode != "on":
        breeding = remade(breeding, spawn_day=None)
    if breeding.mode == "spontaneous":
        breeding = remade(breeding, pair=None)
    return rebuilt(scenario, breeding=breeding)


def add_event(scenario: Scenario, *, do: str, on_day: float, **values: Any) -> Scenario:
    """Return a tank to which something more is done on a day.

    Parameters
    ----------
    scenario
        The tank.
    do
        One of `sim.care.Deed`.
    on_day
        0 is the first.
    values
        More of `sim.care.Event`.

    Raises
    ------
    Refused
        If it does not say what it is done to, or a value cannot be.
    """
    name = free_name(str(values.pop("name", "") or do), [event.name for event in scenario.events])
    event = checked(Event, {"name": name, "do": do, "on_day": on_day, **values}, where=f'"{name}"')
    return rebuilt(scenario, events=(*scenario.events, event))


def change_event(scenario: Scenario, name: str, /, **values: Any) -> Scenario:
    """Return a tank with an event changed, for instance to another day.

    Parameters
    ----------
    scenario
        The tank.
    name
        Of the event.
    values
        Of `sim.care.Event`.

    Raises
    ------
    Refused
        If there is no such event, or a value cannot be.
    """
    index = named(scenario.events, name, what="event")
    event = remade(scenario.events[index], **values)
    return rebuilt(scenario, events=replaced(scenario.events, index, event))


def remove_event(scenario: Scenario, name: str) -> Scenario:
    """Return a tank to which an event is not done.

    Parameters
    ----------
    scenario
        The tank.
    name
        Of the event.

    Raises
    ------
    Refused
        If there is no such event.
    """
    index = named(scenario.events, name, what="event")
    return rebuilt(scenario, events=scenario.events[:index] + scenario.events[index + 1 :])


def set_keeper(scenario: Scenario, **values: Any) -> Scenario:
    """Return a tank that a keeper looks into otherwise.

    Parameters
    ----------
    scenario
        The tank.
    values
        Of `sim.care.KeeperPlan`; `nobody=True` for no keeper.

    Raises
    ------
    Refused
        If a value cannot be.
    """
    if values.pop("nobody", False):
        return rebuilt(scenario, keeper_plan=None)
    plan = scenario.keeper_plan
    made = (
        checked(KeeperPlan, values, where="keeper_plan") if plan is None else remade(plan, **values)
    )
    return rebuilt(scenario, keeper_plan=made)


def set_meals(scenario: Scenario, **values: Any) -> Scenario:
    """Return a tank with other meals.

    Parameters
    ----------
    scenario
        The tank.
    values
        Of `sim.care.Feeding`; `unseen=True` for fish that are fed out of sight.

    Raises
    ------
    Refused
        If a value cannot be.
    """
    if values.pop("unseen", False):
        return rebuilt(scenario, feeding=None)
    meals = scenario.feeding
    made = checked(Feeding, values, where="feeding") if meals is None else remade(meals, **values)
    return rebuilt(scenario, feeding=made)
