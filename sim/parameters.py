"""Every number the rules use, each with unit, range and source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np

from sim.errors import Problem, Refused


@dataclass(frozen=True, slots=True)
class Parameter:
    """One number of the rules.

    Parameters
    ----------
    name
        How the rules call it.
    value, low, high
        Default and the range thought possible, in `unit`.
    unit
        Unit of the three.
    source
        A paper and what it says, or a text that begins with "assumed".
    drawn
        Where nobody has measured it and no pattern tells: the range from which a study draws it,
        evenly in its logarithm; None for a number that is held.
    """

    name: str
    value: float
    low: float
    high: float
    unit: str
    source: str
    drawn: tuple[float, float] | None = None

    @property
    def assumed(self) -> bool:
        """Return whether no measurement stands behind the number."""
        return "assumed" in self.source or "from memory" in self.source


@cache
def load_parameters() -> dict[str, Parameter]:
    """Return the table of parameters, in the order of its file.

    Returns
    -------
    dict
        Name to `Parameter`.

    Raises
    ------
    ValueError
        If a default lies outside its own range: a fault of the file we ship.
    """
    text = files("sim.data").joinpath("parameters.toml").read_text(encoding="utf-8")
    table: dict[str, Parameter] = {}
    for name, row in tomllib.loads(text).items():
        low, high = row["range"]
        if not low <= row["value"] <= high:
            raise ValueError(f"{name}: default {row['value']} lies outside {low} to {high}")
        drawn = (float(row["drawn"][0]), float(row["drawn"][1])) if "drawn" in row else None
        if drawn is not None and not low <= drawn[0] < drawn[1] <= high:
            raise ValueError(f"{name}: is drawn from {drawn}, not all of it in {low} to {high}")
        table[name] = Parameter(
            name, float(row["value"]), float(low), float(high), row["unit"], row["source"], drawn
        )
    return table


def parameter_record(changes: Mapping[str, float] | None = None) -> np.recarray:
    """Return the parameters as one record, the form the rules read.

    Parameters
    ----------
    changes
        Values that differ from the defaults, in the unit of the table.

    Returns
    -------
    numpy.recarray, shape (1,)
        One float field for each parameter.

    Raises
    ------
    Refused
        If a name is unknown, or a value is not a number or lies outside its range.
    """
    table = load_parameters()
    problems = []
    record = np.zeros(1, [(name, "f8") for name in table])
    for name, row in table.items():
        record[name] = row.value
    for name, value in (changes or {}).items():
        if name not in table:
            problems.append(
                Problem(
                    f"parameter {name}",
                    "is not one of the parameters. `holdwater parameters` lists them.",
                )
            )
        elif not table[name].low <= value <= table[name].high:
            row = table[name]
            problems.append(
                Problem(
                    f"parameter {name}",
                    f"is {value:g}; expected {row.low:g} to {row.high:g} {row.unit}.",
                )
            )
        else:
            record[name] = value
    if problems:
        raise Refused(tuple(problems))
    return record.view(np.recarray)
