"""Changing: parts of a scenario replaced by checked copies, and what is wrong with what was typed.

A scenario is never changed in place. Every edit is a function from a scenario to a new one, which
raises `Refused` when a value cannot be.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from sim.errors import Problem, Refused
from sim.scenario import Scenario

Part = TypeVar("Part", bound=BaseModel)


def rebuilt(scenario: Scenario, **parts: Any) -> Scenario:
    """Return a scenario with some of its parts replaced, read like a file's and named anew.

    Parameters
    ----------
    scenario
        As it stands.
    parts
        New values by the names of the fields of `Scenario`.

    Raises
    ------
    Refused
        With everything that cannot be.
    """
    return checked(Scenario, {**dict(scenario), **parts}, where="")


def remade(part: Part, **values: Any) -> Part:
    """Return a copy of a table with some values replaced, read like those of a file.

    Parameters
    ----------
    part
        A piece, a group of fish, the tank and so on.
    values
        By the names of its fields; text is read with its unit, numbers are in SI.

    Raises
    ------
    Refused
        With every value that cannot be.
    """
    name = getattr(part, "name", "")
    where = f'"{name}"' if name else type(part).__name__.lower()
    return checked(type(part), {**dict(part), **values}, where=where)


def checked(model: type[Part], values: dict[str, Any], *, where: str) -> Part:
    """Return a table of these values.

    Parameters
    ----------
    model
        The kind of table.
    values
        By field name.
    where
        What a refusal calls it.

    Raises
    ------
    Refused
        With every value that cannot be, in the sentences of `holdwater check`.
    """
    from sim.scenario_words import faults_of

    try:
        return model.model_validate(values)
    except ValidationError as error:
        raise Refused(
            [
                Problem(", ".join(filter(None, (where, _key(place)))), sentence)
                for place, sentence in faults_of(error)
            ]
        ) from None


def _key(place: Iterable[str | int]) -> str:
    return ".".join(f"#{step + 1}" if isinstance(step, int) else step for step in place)


def named(entries: Iterable[Any], name: str, *, what: str) -> int:
    """Return the place of the entry of that name.

    Parameters
    ----------
    entries
        Pieces, groups of fish or events.
    name
        In any case.
    what
        What one of them is called.

    Raises
    ------
    Refused
        If there is none.
    """
    for index, entry in enumerate(entries):
        if entry.name.lower() == name.lower():
            return index
    raise Refused(
        Problem("", f'got "{name[:60]}", {_a(what)} that is not here; expected one of this tank.')
    )


def replaced(entries: tuple[Part, ...], index: int, entry: Part) -> tuple[Part, ...]:
    """Return the entries with one replaced.

    Parameters
    ----------
    entries
        In their order.
    index
        Which one.
    entry
        The new one.
    """
    return (*entries[:index], entry, *entries[index + 1 :])


def free_name(stem: str, taken: Iterable[str]) -> str:
    """Return a name that nothing has: the stem, or the stem and a number.

    Parameters
    ----------
    stem
        What it would be called.
    taken
        Names in use.
    """
    used = {name.lower() for name in taken}
    if stem.lower() not in used:
        return stem
    return next(
        name for number in range(2, 10_000) if (name := f"{stem} {number}").lower() not in used
    )


def _a(noun: str) -> str:
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"
