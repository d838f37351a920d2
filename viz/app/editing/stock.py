"""Stock: groups of fish put in, changed, placed and taken out."""

from __future__ import annotations

from typing import Any

from sim.errors import Problem, Refused
from sim.fields import shown
from sim.naming import member_names
from sim.scenario import FishGroup, Scenario
from sim.species import find_species
from viz.app.editing.changing import checked, free_name, named, rebuilt, remade, replaced
from viz.app.editing.mentions import fish_followed


def add_fish(scenario: Scenario, *, species: str, count: int = 1, **values: Any) -> Scenario:
    """Return a tank with one more group of fish.

    Parameters
    ----------
    scenario
        The tank.
    species
        Trade or scientific name.
    count
        How many.
    values
        More of `sim.scenario.FishGroup`; a length may be "about 3 in" or "adult".

    Raises
    ------
    Refused
        If there is no such fish, or a value cannot be.
    """
    kind = find_species(species)
    stem = kind.names[0] if count == 1 else _plural(kind.names[0])
    name = free_name(str(values.pop("name", "") or stem), all_names(scenario))
    group = checked(
        FishGroup,
        {"name": name, "species": kind.key, "count": count, **_about(values)},
        where=f"{shown(name)}",
    )
    return rebuilt(scenario, fish=(*scenario.fish, group))


def _plural(name: str) -> str:
    """A trade name for several; "fish" and what ends in s stay as they are."""
    return name if name.endswith(("s", "fish")) else f"{name}s"


def _about(values: dict[str, Any]) -> dict[str, Any]:
    """A length as typed, apart from the word that says that it is a guess."""
    if "length" not in values:
        return values
    rest = {key: value for key, value in values.items() if key != "length"}
    text = values["length"]
    if text is None or (isinstance(text, str) and text.strip().lower() in ("", "adult")):
        return {**rest, "length_m": None, "length_about": False}
    about = isinstance(text, str) and text.strip().lower().startswith("about ")
    if about:
        text = text.strip()[len("about ") :]
    return {"length_about": about, **rest, "length_m": text}


def all_names(scenario: Scenario) -> list[str]:
    """Return every name of a fish or a group of a tank.

    Parameters
    ----------
    scenario
        The tank.
    """
    return [name for group in scenario.fish for name in (group.name, *member_names(group))]


def group_of(scenario: Scenario, fish: str) -> FishGroup:
    """Return the group that a fish belongs to, or that is called so.

    Parameters
    ----------
    scenario
        The tank.
    fish
        Name of a fish or of a group.

    Raises
    ------
    Refused
        If nothing here is called so.
    """
    for group in scenario.fish:
        if fish.lower() in (group.name.lower(), *(name.lower() for name in member_names(group))):
            return group
    raise Refused(
        Problem("", f"got {shown(fish)}, a fish that is not here; expected one of this tank.")
    )


def change_fish(scenario: Scenario, name: str, /, **values: Any) -> Scenario:
    """Return a tank with a group of fish changed; what speaks of it follows a new name.

    Parameters
    ----------
    scenario
        The tank.
    name
        Of the group.
    values
        Of `sim.scenario.FishGroup`: name, species, count, sex, length ("about 3 in", "adult"),
        temper, joins_day, joins_at_h, joins_place, established.

    Raises
    ------
    Refused
        If there is no such group, or a value cannot be.
    """
    index = named(scenario.fish, name, what="group of fish")
    before = scenario.fish[index]
    after = remade(before, **_about(values))
    others = [n.lower() for k, g in enumerate(scenario.fish) if k != index for n in _names(g)]
    again = sorted(set(_names(after)) & {n for n in _names(after) if n.lower() in others})
    if again:
        raise Refused(
            Problem(
                "",
                f"got {shown(again[0])}, which another fish is called; expected every name once "
                "(the fish of a group are its name and a number). Choose another.",
            )
        )
    found = rebuilt(scenario, fish=replaced(scenario.fish, index, after))
    new = _renaming(before, after)
    return fish_followed(found, lambda other: new.get(other.lower(), other))


def _names(group: FishGroup) -> list[str]:
    return list(dict.fromkeys((group.name, *member_names(group))))


def _renaming(before: FishGroup, after: FishGroup) -> dict[str, str | None]:
    """Old names to new ones, None for fish that there are no more."""
    old, new = member_names(before), member_names(after)
    names: dict[str, str | None] = {
        name.lower(): new[index] if index < len(new) else None for index, name in enumerate(old)
    }
    if before.count != 1 or after.count != 1:
        # A group's own name goes on standing for all of it.
        names[before.name.lower()] = after.name
    return names


def put_fish(scenario: Scenario, fish: str, *, x_m: float, y_m: float) -> Scenario:
    """Return a tank in which a fish, with its whole group, is put in at a place.

    Parameters
    ----------
    scenario
        The tank.
    fish
        Name of the fish or of its group.
    x_m, y_m
        Where, m.

    Raises
    ------
    Refused
        If there is no such fish, or the place lies outside the glass or in a piece.
    """
    group = group_of(scenario, fish)
    tank = scenario.tank
    if not (0.0 < x_m < tank.length_m and 0.0 < y_m < tank.width_m):
        raise Refused(
            Problem("", "that place lies outside the glass; expected one in the water. Put it in.")
        )
    blocking = _piece_at(scenario, x_m, y_m)
    if blocking is not None:
        raise Refused(
            Problem(
                "",
                f"{shown(blocking)} stands there; expected open water. Put the fish beside it.",
            )
        )
    return change_fish(scenario, group.name, joins_place=(round(x_m, 4), round(y_m, 4)))


def _piece_at(scenario: Scenario, x_m: float, y_m: float) -> str | None:
    """The piece that must be swum round at a place, where there is one."""
    from shapely.geometry import Point

    from sim.layout import Layout

    layout = Layout(scenario.model_copy(update={"events": ()}))
    at = Point(x_m, y_m)
    return next((p.name for p in layout.solid(0) if p.outline.contains(at)), None)


def remove_fish(scenario: Scenario, name: str) -> Scenario:
    """Return a tank without a group of fish, nor what spoke of it.

    Parameters
    ----------
    scenario
        The tank.
    name
        Of the group.

    Raises
    ------
    Refused
        If there is no such group, or it is the last.
    """
    index = named(scenario.fish, name, what="group of fish")
    if len(scenario.fish) == 1:
        raise Refused(
            Problem("", "these are the last fish; expected at least one. Put others in before.")
        )
    gone = {other.lower() for other in _names(scenario.fish[index])}
    left = rebuilt(scenario, fish=scenario.fish[:index] + scenario.fish[index + 1 :])
    return fish_followed(left, lambda other: None if other.lower() in gone else other)
