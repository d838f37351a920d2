"""What the sums need and a scenario does not say: each number with unit, range and source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from sim.errors import Problem, Refused


@dataclass(frozen=True, slots=True)
class Assumed:
    """One number that is taken where nobody says otherwise.

    Parameters
    ----------
    name
        How the sums call it.
    value, low, high
        What is taken, and the range in which another may be given, in `unit`.
    unit
        Unit of the three.
    words
        What it is, as a keeper says it.
    option
        The option of the command that gives another; empty where there is none.
    source
        Where it comes from.
    """

    name: str
    value: float
    low: float
    high: float
    unit: str
    words: str
    option: str
    source: str


@dataclass(frozen=True, slots=True)
class Matter:
    """What a kind of piece is made of.

    Parameters
    ----------
    fills
        Share of the box round its outline, less the room inside, that is matter.
    density_kg_m3
        Of that matter.
    source
        Where both come from.
    """

    fills: float
    density_kg_m3: float
    source: str


@cache
def _file() -> Mapping[str, Any]:
    text = resources.files("sim.data").joinpath("sums.toml").read_text(encoding="utf-8")
    return MappingProxyType(tomllib.loads(text))


@cache
def load_assumed() -> Mapping[str, Assumed]:
    """Return the numbers by name, in the order of the file; it cannot be changed."""
    return MappingProxyType(
        {
            name: Assumed(
                name=name,
                value=float(entry["value"]),
                low=float(entry["range"][0]),
                high=float(entry["range"][1]),
                unit=entry["unit"],
                words=entry["words"],
                option=entry.get("option", ""),
                source=entry["source"],
            )
            for name, entry in _file()["numbers"].items()
        }
    )


@cache
def load_matter() -> Mapping[str, Matter]:
    """Return what each kind of piece is made of, by its key in the catalogue."""
    return MappingProxyType(
        {
            key: Matter(float(entry["fills"]), float(entry["density_kg_m3"]), entry["source"])
            for key, entry in _file()["pieces"].items()
        }
    )


def numbers_of(given: Mapping[str, float] | None = None) -> dict[str, float]:
    """Return every number by name, those that were given in place of what is assumed.

    Parameters
    ----------
    given
        Numbers by name, in the units of `load_assumed`.

    Returns
    -------
    dict
        Name to value.

    Raises
    ------
    Refused
        If there is no such number, or one lies outside its range; all of them at once.
    """
    known = load_assumed()
    problems = []
    for name, value in (given or {}).items():
        if name not in known:
            problems.append(
                Problem(name, f"got {name}; expected one of {', '.join(known)}. Correct it.")
            )
        elif not known[name].low <= value <= known[name].high:
            one = known[name]
            problems.append(
                Problem(
                    one.option or name,
                    f"got {value:g} {one.unit}; expected {one.low:g} to {one.high:g}. Correct it.",
                )
            )
    if problems:
        raise Refused(problems)
    return {name: one.value for name, one in known.items()} | dict(given or {})
