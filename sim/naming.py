"""The names of what was given none, and of the fish of a group."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sim.scenario import FishGroup, Scenario


def default_names(taken: set[str], stems: list[tuple[str, int]]) -> list[str]:
    """Names for things that were given none: the stem, or the stem and a number.

    Parameters
    ----------
    taken : names in use, in lower case; the new ones are added.
    stems : for each nameless thing what it is called, and how many fish stand behind it (0 for
        what is always numbered).

    Returns
    -------
    one unused name each.
    """
    names = []
    for stem, count in stems:
        number = 1
        while True:
            name = stem if number == 1 and count else f"{stem} {number}"
            members = [name] if count <= 1 else [name, *(f"{name} {i + 1}" for i in range(count))]
            if not taken.intersection(member.lower() for member in members):
                break
            number += 1
        taken.update(member.lower() for member in members)
        names.append(name)
    return names


def name_parts(scenario: Scenario) -> dict[str, tuple[Any, ...]]:
    """The named lists of a scenario, entries without a name named in copies.

    Parameters
    ----------
    scenario : a scenario under construction.

    Returns
    -------
    the four lists by key.
    """
    groups = scenario.fish
    taken = {name.lower() for group in groups if group.name for name in member_names(group)}
    taken |= {group.name.lower() for group in groups}
    nameless = [group for group in groups if not group.name]
    stems = []
    if nameless:
        from sim.species import load_species

        stems = [(load_species()[group.species].names[0], group.count) for group in nameless]
    parts: dict[str, tuple[Any, ...]] = {"fish": _named(groups, default_names(taken, stems))}
    for key, stem in (("pieces", "kind"), ("events", "do"), ("observe", "observation")):
        entries = getattr(scenario, key)
        taken = {entry.name.lower() for entry in entries}
        stems = [(getattr(entry, stem, stem), 0) for entry in entries if not entry.name]
        parts[key] = _named(entries, default_names(taken, stems))
    return parts


def _named(entries: tuple[Any, ...], names: list[str]) -> tuple[Any, ...]:
    unused = iter(names)
    return tuple(
        entry if entry.name else entry.model_copy(update={"name": next(unused)})
        for entry in entries
    )


def member_names(group: FishGroup) -> list[str]:
    """The names of the fish of a group: its own for one fish, numbered for several.

    Parameters
    ----------
    group : a named group.

    Returns
    -------
    ``group.count`` names.
    """
    if group.count == 1:
        return [group.name]
    return [f"{group.name} {index + 1}" for index in range(group.count)]
