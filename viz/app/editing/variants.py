"""Variants: a tank with one thing changed, ready to be compared with the tank it comes from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sim.errors import Refused
from sim.scenario import Scenario
from sim.scenario_rules import faults
from viz.app.editing.furnish import add_piece
from viz.app.editing.glass import resize_tank, trade_name, trade_sizes
from viz.app.editing.life import set_breeding
from viz.app.editing.stock import change_fish
from viz.app.editing.verdict import judge, new_problems

LONGER = 1.25  # a next tank is at least so many times as long
SPAWN_DAY = 5.0


@dataclass(frozen=True, slots=True)
class OneThing:
    """One thing that can be changed.

    Parameters
    ----------
    key
        Its name in the program.
    words
        What is done, as one would say it.
    scenario
        The tank with it changed.
    """

    key: str
    words: str
    scenario: Scenario


def one_things(scenario: Scenario) -> tuple[OneThing, ...]:
    """Return the changes that this tank allows, each of one thing and free of new problems.

    Parameters
    ----------
    scenario
        The tank to be varied.
    """
    found = []
    before = judge(scenario)
    for key, make in _MAKERS:
        try:
            made = make(scenario)
        except Refused:
            continue
        if made is not None and not new_problems(before, judge(made[1])):
            words, changed = made
            title = f"{scenario.title or 'Tank'}, {words}"[:400]
            found.append(OneThing(key, words, changed.model_copy(update={"title": title})))
    return tuple(found)


_Made = tuple[str, Scenario] | None


def _longer(scenario: Scenario) -> _Made:
    tank = scenario.tank
    same = [s for s in trade_sizes() if s.length_m >= LONGER * tank.length_m]
    if not same:
        return None
    best = min(same, key=lambda s: (s.length_m, abs(s.width_m - tank.width_m)))
    words = f"in {best.length_m / 0.3048:g} feet"
    length = best.length_m
    return words, resize_tank(scenario, length=length)


def _hiding_place(scenario: Scenario) -> _Made:
    """One more hiding place: the smallest tube that the slimmest fish passes."""
    from sim.fitting import chance_through
    from sim.pieces import load_pieces
    from sim.scenario import company

    members = company(scenario)
    for size in load_pieces()["pipe"].sizes:
        if any(chance_through(fish, size.doors) > 0.5 for fish in members):
            found, name = add_piece(scenario, kind="pipe", size=size.name)
            return f"one more hiding place ({name})", found
    return None


def _stones(scenario: Scenario) -> _Made:
    found, name = add_piece(scenario, kind="rock wall", size="8 in")
    return f"a stone more ({name})", found


def _spawning(scenario: Scenario) -> _Made:
    if scenario.breeding.mode != "off":
        return "no spawning", set_breeding(scenario, mode="off")
    return spawning_too(scenario)


def spawning_too(scenario: Scenario) -> tuple[str, Scenario] | None:
    """Return a tank in which nobody spawns with a pair that does, and what that is in words.

    Parameters
    ----------
    scenario
        The tank.

    Returns
    -------
    None where somebody may spawn already, or nobody can.
    """
    if scenario.breeding.mode != "off":
        return None
    day = min(SPAWN_DAY, scenario.days / 2)
    found = set_breeding(scenario, mode="on", spawn_day=day)
    if any(place[0] == "breeding" for place, _ in faults(found)):
        return None
    return f"they spawn on day {day:g}", found


def _twice_the_dither(scenario: Scenario) -> _Made:
    from sim.species import load_species

    kinds = load_species()
    shoals = [g for g in scenario.fish if kinds[g.species].shoaling >= 0.5 and g.count > 1]
    if not shoals:
        return None
    group = max(shoals, key=lambda g: g.count)
    count = 2 * group.count
    return f"{count} {group.name}", change_fish(scenario, group.name, count=count)


_MAKERS: tuple[tuple[str, Callable[[Scenario], _Made]], ...] = (
    ("longer", _longer),
    ("hiding", _hiding_place),
    ("stone", _stones),
    ("spawning", _spawning),
    ("dither", _twice_the_dither),
)


def size_words(scenario: Scenario) -> str:
    """Return how a keeper calls the size of a tank: its trade name, or its length in feet.

    Parameters
    ----------
    scenario
        The tank.
    """
    return trade_name(scenario.tank) or f"{scenario.tank.length_m / 0.3048:.3g} feet"
