"""Patterns: their data file, how one is evaluated, and when it counts as met.

`evaluate` is a plain function of the parameters, for calibration. `judge` adds standard errors (a
bootstrap over replicates) and holds every part against its band. The quick version widens a band
by two standard errors at its number of replicates, so that a right model rarely fails it.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from importlib.resources import files

import numpy as np

from sim.errors import Problem, Refused
from sim.evidence.study import Observables, Study, Unit

RESAMPLES = 200
WIDEN = 2.0  # standard errors


@dataclass(frozen=True, slots=True)
class Part:
    """One claim of a pattern.

    Parameters
    ----------
    observable
        Name among the observables of its module.
    words
        What it is.
    published
        The paper's value; nan where it is a direction only.
    low, high
        The band, fixed beforehand.
    threshold
        "published", or "[A]" where the line is ours.
    standing
        "imposed", "fitted" or "predicted".
    why
        The reason for that.
    """

    observable: str
    words: str
    published: float
    low: float
    high: float
    threshold: str
    standing: str
    why: str


@dataclass(frozen=True, slots=True)
class Pattern:
    """One pattern of the literature.

    Parameters
    ----------
    key, title
        Its name, "P1", and what it says.
    module
        Name of its module in this package; empty where it is not played.
    source, setups
        Keys of papers, and files of the laboratory.
    runs, quick
        Replicates of the full and of the quick version.
    nulls
        Mechanisms to be taken away.
    null_runs
        Replicates of these; None for a usual number.
    parts
        Its claims.
    waits
        What it waits for where it is not played.
    """

    key: str
    title: str
    module: str
    source: tuple[str, ...]
    setups: tuple[str, ...]
    runs: int
    quick: int
    nulls: tuple[tuple[str, ...], ...]
    null_runs: int | None
    parts: tuple[Part, ...]
    waits: str


@dataclass(frozen=True, slots=True)
class Measured:
    """An observable and its standard error over replicates."""

    value: float
    error: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """One part held against its band.

    Parameters
    ----------
    part
        The claim.
    seen
        What the model shows.
    low, high
        The band it was held against, widened in the quick version.
    met
        Whether it lies inside.
    """

    part: Part
    seen: Measured
    low: float
    high: float
    met: bool


@cache
def load_patterns() -> dict[str, Pattern]:
    """Return all patterns by key, in the order of their file."""
    text = files("sim.data").joinpath("patterns.toml").read_text(encoding="utf-8")
    found = {}
    for key, row in tomllib.loads(text).items():
        parts = tuple(
            Part(
                observable=part["observable"],
                words=part["words"],
                published=float(part["published"]),
                low=float(part["band"][0]),
                high=float(part["band"][1]),
                threshold=part["threshold"],
                standing=part["standing"],
                why=part["why"],
            )
            for part in row.get("parts", [])
        )
        found[key] = Pattern(
            key=key,
            title=row["title"],
            module=row["module"],
            source=tuple(row["source"]),
            setups=tuple(row["setups"]),
            runs=row["runs"],
            quick=row["quick"],
            nulls=tuple(tuple(null) for null in row["nulls"]),
            null_runs=row.get("null_runs"),
            parts=parts,
            waits=row.get("waits", ""),
        )
    return found


def find_pattern(key: str) -> Pattern:
    """Return a pattern that is played.

    Raises
    ------
    Refused
        If there is none of that name, or it is not played.
    """
    known = load_patterns()
    name = key.strip().upper()
    if name not in known:
        raise Refused(Problem("pattern", f'got "{key}"; expected one of {", ".join(known)}.'))
    if not known[name].module:
        raise Refused(Problem(f"pattern {name}", known[name].waits + "."))
    return known[name]


def play_units(
    pattern: Pattern, study: Study, runs: int, *, each: Callable[[int], None] | None = None
) -> list[Unit]:
    """Play the replicates of a pattern.

    Parameters
    ----------
    pattern, study, runs
        What is played, how, and how often.
    each
        Told the number of replicates done, after each.
    """
    module = import_module(f"sim.evidence.{pattern.module}")
    units = []
    for k in range(runs):
        units.append(module.unit(study, k))
        if each is not None:
            each(k + 1)
    return units


def measure(pattern: Pattern, units: Sequence[Unit]) -> Observables:
    """Return the observables of all replicates."""
    found: Observables = import_module(f"sim.evidence.{pattern.module}").measure(units)
    return found


def evaluate(
    pattern: str,
    changes: Mapping[str, float] | None = None,
    runs: int | None = None,
    seed: int = 1,
    without: tuple[str, ...] = (),
) -> Observables:
    """Return what the model shows of a pattern under given parameters.

    Parameters
    ----------
    pattern
        Its key, such as "P1".
    changes
        Parameters that differ from the defaults.
    runs
        Replicates; those of the full version if left out.
    seed
        Seed of all runs.
    without
        Mechanisms taken away.

    Returns
    -------
    dict
        Observable to value; nan where nothing was seen.

    Raises
    ------
    Refused
        If the pattern or a parameter is unknown, or a value out of range.
    """
    asked = find_pattern(pattern)
    study = Study(seed=seed, changes=dict(changes or {}), without=without)
    return measure(asked, play_units(asked, study, runs or asked.runs))


def with_errors(pattern: Pattern, units: Sequence[Unit], *, seed: int = 1) -> dict[str, Measured]:
    """Return every observable with its standard error, by resampling whole replicates."""
    value = measure(pattern, units)
    rng = np.random.Generator(np.random.Philox(key=seed))
    again: dict[str, list[float]] = {name: [] for name in value}
    for _ in range(RESAMPLES if len(units) > 1 else 0):
        chosen = rng.integers(len(units), size=len(units))
        with np.errstate(invalid="ignore", divide="ignore"):
            for name, number in measure(pattern, [units[k] for k in chosen]).items():
                again[name].append(number)
    errors = {}
    for name, numbers in again.items():
        known = np.array(numbers)[np.isfinite(numbers)]
        errors[name] = float(known.std(ddof=1)) if len(known) > 1 else math.nan
    return {name: Measured(value[name], errors[name]) for name in value}


def hold(pattern: Pattern, seen: Mapping[str, Measured], *, quick: bool) -> list[Verdict]:
    """Hold every part against its band, which the quick version widens.

    Parameters
    ----------
    pattern
        Its parts are held.
    seen
        What the model shows.
    quick
        Whether to widen by two standard errors.
    """
    verdicts = []
    for part in pattern.parts:
        one = seen[part.observable]
        room = WIDEN * one.error if quick and math.isfinite(one.error) else 0.0
        low, high = part.low - room, part.high + room
        met = math.isfinite(one.value) and low <= one.value <= high
        verdicts.append(Verdict(part, one, low, high, met))
    return verdicts


def judge(
    pattern: str, *, quick: bool = False, study: Study | None = None, runs: int | None = None
) -> list[Verdict]:
    """Play a pattern and hold every part of it against its band."""
    asked = find_pattern(pattern)
    number = runs or (asked.quick if quick else asked.runs)
    study = study or Study()
    units = play_units(asked, study, number)
    return hold(asked, with_errors(asked, units, seed=study.seed), quick=quick)
