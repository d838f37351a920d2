"""What nobody has measured: assumed numbers that a study draws, the same for each tank.

A number that no paper gives is not known because a default was written down. Runs go through sets
of such numbers: four runs, two draws of fish by two lucks, share a set, in every tank of a
comparison the same. A set has two parts:

- one row of `sim/data/accepted.csv`: numbers of behaviour that meet the fitted patterns together
  and that calibration could not tell apart (`sim.evidence.calibrate`), gone through in an order
  that hangs on the seed;
- the numbers that no pattern tells, each from its range in the table of parameters: they spread
  evenly over it whatever their number (the additive recurrence of the generalised golden ratio,
  shifted by the seed).
"""

from __future__ import annotations

import csv
import math
from collections.abc import Container, Mapping
from functools import cache
from importlib.resources import files

import numpy as np

from sim.draws import named_key
from sim.parameters import load_parameters

RUNS_PER_SET = 4
LEAST_VARIED = 40  # runs: with fewer than ten sets, intervals over sets say next to nothing


def set_of(run: int) -> int:
    """Return the set of numbers that a run plays with."""
    return run // RUNS_PER_SET


def golden_step(dimensions: int) -> np.ndarray:
    """Return the step of an evenly spreading sequence in the unit cube, shape (dimensions,).

    With :math:`g` the root above 1 of :math:`g^{d+1} = g + 1`, the steps are :math:`g^{-k}`,
    k from 1 to d.
    """
    g = 2.0
    for _ in range(60):
        g = math.pow(1.0 + g, 1.0 / (dimensions + 1))
    return np.array([g ** -(k + 1) for k in range(dimensions)])


@cache
def accepted_sets() -> tuple[dict[str, float], ...]:
    """Return the sets of numbers that calibration could not tell apart, parameter to value."""
    text = files("sim.data").joinpath("accepted.csv").read_text(encoding="utf-8")
    table = load_parameters()
    sets = []
    for row in csv.DictReader(text.splitlines()):
        one = {name: float(value) for name, value in row.items()}
        for name, value in one.items():
            if not table[name].low <= value <= table[name].high:
                raise ValueError(f"accepted.csv: {name} is {value}, outside its range")
        sets.append(one)
    return tuple(sets)


@cache
def _order(seed: int) -> tuple[int, ...]:
    keys = [int(named_key("accepted", seed, str(k))) for k in range(len(accepted_sets()))]
    return tuple(sorted(range(len(keys)), key=lambda k: keys[k]))


def drawn_names(fixed: Container[str] = ()) -> tuple[str, ...]:
    """Return the parameters that a study draws, those left out that a person has fixed."""
    told = set(accepted_sets()[0])
    table = load_parameters()
    return tuple(
        name
        for name, row in table.items()
        if (row.drawn is not None or name in told) and name not in fixed
    )


def drawn_from_ranges() -> tuple[str, ...]:
    """Return the parameters that no pattern tells, which a study draws from their whole range."""
    return tuple(name for name, row in load_parameters().items() if row.drawn is not None)


def drawn_numbers(*, seed: int, number: int) -> dict[str, float]:
    """Return the drawn parameters of one set.

    Parameters
    ----------
    seed
        Seed of the study.
    number
        Number of the set, from 0.

    Returns
    -------
    dict
        Name to value in the unit of the table: an accepted set, and every parameter with a range
        to draw from.
    """
    order = _order(seed)
    found = dict(accepted_sets()[order[number % len(order)]])
    drawn = {name: row.drawn for name, row in load_parameters().items() if row.drawn is not None}
    steps = golden_step(len(drawn))
    for step, (name, (low, high)) in zip(steps, drawn.items(), strict=True):
        start = (named_key("unmeasured", seed, name) >> np.uint64(11)) * 2.0**-53
        at = (float(start) + (number + 1) * float(step)) % 1.0
        found[name] = low * math.exp(at * math.log(high / low))
    return found


def numbers_of_run(
    run: int, *, seed: int, vary: bool, changes: Mapping[str, float] | None
) -> dict[str, float]:
    """Return the parameters of a run that differ from the defaults.

    Parameters
    ----------
    run, seed
        Name the history.
    vary
        Whether what nobody has measured is drawn.
    changes
        What a person has fixed; it is not drawn.
    """
    drawn = drawn_numbers(seed=seed, number=set_of(run)) if vary else {}
    return {**drawn, **(changes or {})}
