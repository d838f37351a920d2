"""What a sweep varies: keys of a scenario with their values, and which combinations are played.

A factor is a key of the scenario language and the values it takes, in the order in which they were
given. A plan is the list of points: every combination, or a Latin hypercube, in which each factor
goes evenly through its values whatever the others do.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

from sim.errors import Problem, Refused
from sim.fields import shown
from sim.units import UnitError, parse_length

WHERE = "--vary"
MOST_POINTS = 400
MOST_VALUES = 100

_NUMBER = re.compile(r"^(about )?([+-]?(?:\d+(?:\.\d*)?|\.\d+))\s*(.*)$")
_RANGE = re.compile(r"^(.+?)\s*\.\.\s*(.+?)(?:\s+by\s+(.+))?$")


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a factor.

    Parameters
    ----------
    text
        As it was written.
    plain
        As TOML would give it.
    number
        Where it stands on an axis, in the factor's unit; nan where it is no number.
    """

    text: str
    plain: Any
    number: float = math.nan


@dataclass(frozen=True, slots=True)
class Factor:
    """A key and what it is to be.

    Parameters
    ----------
    key
        Dotted, with the name of an entry where there is a list: ``fish.swordtails.count``.
    values
        In the order given; one alone is a change that is the same at every point.
    unit
        Of the numbers of its values; empty without one.
    span
        Least and greatest number of a range without steps, which only a Latin hypercube can go
        through; else None.
    """

    key: str
    values: tuple[Value, ...]
    unit: str = ""
    span: tuple[float, float] | None = None

    @property
    def varies(self) -> bool:
        """Whether it takes more than one value."""
        return self.span is not None or len(self.values) > 1

    @property
    def ordered(self) -> bool:
        """Whether its values are different numbers, so that one can be past another."""
        numbers = [value.number for value in self.values]
        return self.span is not None or all(map(math.isfinite, numbers))


Point = tuple[Value, ...]


def read_factors(given: Iterable[str]) -> tuple[Factor, ...]:
    """Return the factors that were asked for, as ``KEY=VALUES``.

    Values are parted by commas; ``0..6`` is every whole number from 0 to 6, ``4 ft..8 ft by 1 ft``
    every step, ``4 ft..8 ft`` a range for a Latin hypercube.

    Parameters
    ----------
    given
        What was typed, once for each key.

    Raises
    ------
    Refused
        If one is not of that form, a key is given twice, or none takes more than one value.
    """
    factors: list[Factor] = []
    problems: list[Problem] = []
    for text in given:
        key, equals, values = (part.strip() for part in text.partition("="))
        if not equals or not key or not values:
            problems.append(
                Problem(
                    WHERE,
                    f'got {shown(text)}; expected KEY=VALUES, as tank.length="4 ft,5 ft".',
                )
            )
            continue
        try:
            factors.append(_factor(key, values))
        except Refused as refusal:
            problems += refusal.problems
    keys = [factor.key.lower() for factor in factors]
    for key in sorted({key for key in keys if keys.count(key) > 1}):
        problems.append(
            Problem(f"{WHERE} {key}", "is given twice; expected all its values in one place.")
        )
    if not problems and not any(factor.varies for factor in factors):
        problems.append(
            Problem(
                WHERE,
                'got no key with more than one value; expected one, as tank.length="4 ft,6 ft".',
            )
        )
    if problems:
        raise Refused(problems)
    return tuple(factors)


def plan_points(
    factors: Sequence[Factor], *, plan: str, points: int | None = None, seed: int = 1
) -> tuple[Point, ...]:
    """Return the points of a plan, each one value for every factor.

    Parameters
    ----------
    factors
        What varies, and what is only changed.
    plan
        ``"full"`` for every combination, the last factor fastest; ``"latin"`` for a Latin
        hypercube.
    points
        Of a Latin hypercube; ten for each factor that varies where None.
    seed
        Of the Latin hypercube.

    Raises
    ------
    Refused
        If there are too many points, or a range has no steps to be combined.
    """
    if plan == "latin":
        return _latin(factors, points=points, seed=seed)
    if points is not None:
        raise Refused(
            Problem(
                "--points",
                "is given with a full plan, whose points are all combinations; expected it with "
                "--plan latin.",
            )
        )
    endless = [factor for factor in factors if factor.span is not None]
    if endless:
        raise Refused(
            [
                Problem(
                    f"{WHERE} {factor.key}",
                    "got a range without steps; expected steps for a full plan. Write how far "
                    "apart, as 4 ft..8 ft by 1 ft, or ask for --plan latin.",
                )
                for factor in endless
            ]
        )
    count = math.prod(len(factor.values) for factor in factors)
    if count > MOST_POINTS:
        raise Refused(
            Problem(
                WHERE,
                f"got {count} combinations; expected at most {MOST_POINTS}. Vary less, or ask for "
                "--plan latin with as many points as you can wait for.",
            )
        )
    return tuple(product(*(factor.values for factor in factors)))


def _latin(factors: Sequence[Factor], *, points: int | None, seed: int) -> tuple[Point, ...]:
    from scipy.stats import qmc

    varied = [factor for factor in factors if factor.varies]
    count = 10 * len(varied) if points is None else points
    if not 2 <= count <= MOST_POINTS:
        raise Refused(
            Problem("--points", f"got {count}; expected a whole number from 2 to {MOST_POINTS}.")
        )
    unit = qmc.LatinHypercube(d=len(varied), rng=seed).random(count)
    column = {factor.key: unit[:, k] for k, factor in enumerate(varied)}
    return tuple(
        tuple(
            _at(factor, float(column[factor.key][k])) if factor.varies else factor.values[0]
            for factor in factors
        )
        for k in range(count)
    )


def _at(factor: Factor, share: float) -> Value:
    """Return the value so far through a factor, 0 to 1."""
    if factor.span is None:
        return factor.values[min(int(share * len(factor.values)), len(factor.values) - 1)]
    low, high = factor.span
    return _value(_number_text(low + share * (high - low), factor.unit))


def _number_text(number: float, unit: str) -> str:
    return f"{number:.4g} {unit}".rstrip()


def _factor(key: str, text: str) -> Factor:
    where = f"{WHERE} {key}"
    values: list[Value] = []
    parts = _parted(text)
    for part in parts:
        span = _RANGE.match(part)
        if span is None:
            values.append(_value(part))
            continue
        low, high, step = span.groups()
        found, unit = _steps(low, high, step, where=where)
        if found is None:
            if len(parts) > 1:
                raise Refused(
                    Problem(where, f"got {shown(part)} among other values; expected it alone.")
                )
            ends = tuple(_value(end if unit in end else f"{end} {unit}") for end in (low, high))
            return Factor(key, ends, unit, (ends[0].number, ends[1].number))
        values += found
    if len(values) > MOST_VALUES:
        raise Refused(Problem(where, f"got {len(values)} values; expected at most {MOST_VALUES}."))
    plain = [value.plain for value in values]
    twice = [value.text for k, value in enumerate(values) if value.plain in plain[:k]]
    if twice:
        raise Refused(Problem(where, f"got {shown(twice[0])} twice; expected values that differ."))
    return _on_one_axis(key, values)


def _on_one_axis(key: str, values: Sequence[Value]) -> Factor:
    """Return a factor with its numbers in one unit, where they have one."""
    units = {_unit_of(value.text) for value in values}
    if len(units) == 1 and None not in units:
        return Factor(key, tuple(values), next(iter(units)) or "")
    try:
        lengths = [parse_length(value.text) for value in values]
    except UnitError:
        return Factor(key, tuple(Value(v.text, v.plain) for v in values))
    rows = zip(values, lengths, strict=True)
    return Factor(key, tuple(Value(v.text, v.plain, metres) for v, metres in rows), "m")


def _unit_of(text: str) -> str | None:
    found = _NUMBER.match(text)
    return found[3] if found and not re.search(r"\d", found[3]) else None


def _parted(text: str) -> list[str]:
    """Return a text parted at its commas, but not inside brackets or quotes."""
    parts, depth, quote = [""], 0, ""
    for letter in text:
        if quote:
            quote = "" if letter == quote else quote
        elif letter in "\"'":
            quote = letter
        elif letter in "[{":
            depth += 1
        elif letter in "]}":
            depth -= 1
        if letter == "," and depth == 0 and not quote:
            parts.append("")
        else:
            parts[-1] += letter
    return [part.strip() for part in parts if part.strip()]


def _value(text: str) -> Value:
    try:
        plain = tomllib.loads(f"v = {text}")["v"]
    except (ValueError, RecursionError):
        plain = text
    if not isinstance(plain, str | bool | int | float | list | dict):
        plain = text  # a date or a time of day, which the language writes as text
    if isinstance(plain, str):
        text = plain
    found = None if isinstance(plain, bool) else _NUMBER.match(text)
    if found is None or re.search(r"\d", found[3]):
        return Value(text, plain)
    return Value(text, plain, float(found[2]))


def _steps(low: str, high: str, step: str | None, *, where: str) -> tuple[list[Value] | None, str]:
    """Return the values of a range and its unit; None for values where it has no steps."""
    ends = [_NUMBER.match(part) for part in (low, high, *((step,) if step else ()))]
    units = {found[3] for found in ends if found and found[3]}
    if None in ends or any(found[1] for found in ends if found) or len(units) > 1:
        wrong = f"{low}..{high}" + (f" by {step}" if step else "")
        raise Refused(
            Problem(where, f"got {shown(wrong)}; expected a range as 0..6 or 4 ft..8 ft by 1 ft.")
        )
    unit = next(iter(units), "")
    numbers = [float(found[2]) for found in ends if found]
    if numbers[1] <= numbers[0] or (step and numbers[2] <= 0.0):
        raise Refused(
            Problem(
                where,
                f"got {shown(f'{low}..{high}')}; expected a range that rises, by steps above zero.",
            )
        )
    whole = not unit and all("." not in part for part in (low, high))
    if step is None and not whole:
        return None, unit
    width = numbers[2] if step else 1.0
    count = math.floor((numbers[1] - numbers[0]) / width + 1e-9) + 1
    if count > MOST_VALUES:
        raise Refused(Problem(where, f"got {count} values; expected at most {MOST_VALUES}."))
    steps = [numbers[0] + k * width for k in range(count)]
    return [_value(_number_text(number, unit)) for number in steps], unit
