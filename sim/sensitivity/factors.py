"""Factors: the assumed numbers that a study of sensitivity moves, each over its range.

A place from 0 to 1 stands for a number: evenly in its logarithm where the range spans a factor of
`LOG_FROM` or more (assumed), else evenly. A number that batches draw since nobody has measured it
is moved over the range it is drawn from. Harm enters through one number alone: only the product of
bites, harm per bite and healing time over the threshold tells (`HELD` says what stays).
"""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np

# Not `from`: files that import the compiler so are taken for compiled ones.
from sim import compiler
from sim.parameters import Parameter, load_parameters

LOG_FROM = 3.0

HELD: Mapping[str, str] = {
    "skin_share": "it sets how fast wounds close, which only multiplies the harm of a bite",
}


@dataclass(frozen=True, slots=True)
class Factor:
    """One number that is moved.

    Parameters
    ----------
    name
        As in the table of parameters.
    low, high
        Range, in the unit of the table.
    in_log
        Whether it is moved evenly in its logarithm.
    """

    name: str
    low: float
    high: float
    in_log: bool

    def value(self, place: float) -> float:
        """Return the number at a place from 0 to 1."""
        if self.in_log:
            found = math.exp(
                math.log(self.low) + place * (math.log(self.high) - math.log(self.low))
            )
        else:
            found = self.low + place * (self.high - self.low)
        return min(max(float(f"{found:.6g}"), self.low), self.high)

    def place(self, value: float) -> float:
        """Return the place from 0 to 1 of a number, cut to the range."""
        value = min(max(value, self.low), self.high)
        if self.in_log:
            return math.log(value / self.low) / math.log(self.high / self.low)
        return (value - self.low) / (self.high - self.low)


def factor_of(row: Parameter) -> Factor:
    """Return a parameter as a factor, over the range it is drawn from where it is drawn."""
    low, high = row.drawn or (row.low, row.high)
    return Factor(row.name, low, high, low > 0.0 and high / low >= LOG_FROM)


def assumed_factors() -> tuple[Factor, ...]:
    """Return every assumed number that has a range, but for those held, in the table's order."""
    return tuple(
        factor_of(row)
        for row in load_parameters().values()
        if row.assumed and row.low < row.high and row.name not in HELD
    )


def factors_named(names: Sequence[str]) -> tuple[Factor, ...]:
    """Return the factors of these names."""
    return tuple(factor_of(load_parameters()[name]) for name in names)


def point_at(factors: Sequence[Factor], places: Sequence[float] | np.ndarray) -> dict[str, float]:
    """Return the numbers at places from 0 to 1, by name."""
    return {
        factor.name: factor.value(float(place))
        for factor, place in zip(factors, places, strict=True)
    }


@cache
def parts() -> dict[str, str]:
    """Return the part of the model each parameter belongs to: the headings of its file."""
    text = files("sim.data").joinpath("parameters.toml").read_text(encoding="utf-8")
    part, found = "", {}
    for line in text.splitlines():
        if heading := re.match(r"# --- (.+?) -+$", line):
            part = re.sub(r" \(.*", "", heading[1])
        elif name := re.match(r"\[(\w+)\]$", line):
            found[name[1]] = part
    return found


def model_digest() -> str:
    """Return a digest of the rules and of every number: rows of two models are never mixed."""
    text = compiler.compiled_digest() + "".join(
        f"{row.name} {row.value!r} {row.low!r} {row.high!r} {row.drawn!r}\n"
        for row in load_parameters().values()
    )
    return hashlib.sha256(text.encode()).hexdigest()[:16]
