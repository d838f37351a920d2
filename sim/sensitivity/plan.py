"""Plan: which points a study plays; a point never depends on how many are asked for.

*parts*: one step a number from each of four points, to see which numbers take part at all.
*morris*: paths of one step a number on a grid of four levels. *sobol*: a scrambled Sobol' sequence
over the numbers that matter most.

References
----------
Screening by paths: Morris1991. The grid of four levels is custom.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from sim.parameters import load_parameters
from sim.sensitivity.factors import Factor, assumed_factors, factors_named, model_digest, point_at
from sim.start import RUNS_PER_DRAW

STAGES = ("parts", "morris", "sobol")
LEVELS = 4
PART_POINTS = 4  # the defaults, and three drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What a stage plays.

    Parameters
    ----------
    stage
        One of `STAGES`.
    kind
        Which fish: one of `sim.sensitivity.company.KINDS`.
    names
        Numbers that are moved.
    seed
        Seed of points and fish.
    runs
        Runs of a point in each tank: pairs with the same fish and another luck.
    days
        Days of a run.
    model
        Digest of the rules and numbers.
    """

    stage: str
    kind: str
    names: tuple[str, ...]
    seed: int
    runs: int
    days: float
    model: str

    @property
    def key(self) -> str:
        """What its rows are marked with."""
        return f"{self.kind}/{self.stage}"

    @property
    def factors(self) -> tuple[Factor, ...]:
        """The numbers that are moved, with their ranges."""
        return factors_named(self.names)

    def points_of(self, asked: int) -> int:
        """Return the number of points for what was asked: paths of a screening, else points."""
        if self.stage == "parts":
            return PART_POINTS * (len(self.names) + 1)
        return asked * (len(self.names) + 1) if self.stage == "morris" else asked

    def places(self, number: int) -> np.ndarray | None:
        """Return the place of a point in the unit cube, shape (n_factors,); None: the defaults."""
        return _places(self.stage, self.names, self.seed, number)

    def numbers(self, number: int) -> dict[str, float]:
        """Return the parameters of a point that differ from the defaults."""
        places = self.places(number)
        if places is None:
            return {}
        if self.stage == "parts" and number < len(self.names) + 1:
            # From the defaults only one number moves.
            moved = number - 1
            factor = self.factors[moved]
            return {factor.name: factor.value(float(places[moved]))}
        return point_at(self.factors, places)

    def first_run(self, number: int) -> int:
        """Return the first run of a point: each path its own fish, a cloud the same in all."""
        if self.stage == "sobol":
            return 0
        return (number // (len(self.names) + 1)) * max(self.runs, RUNS_PER_DRAW)


def plan_parts(kind: str, *, seed: int, days: float) -> Plan:
    """Return the plan that finds which assumed numbers take part: one run a point."""
    names = tuple(factor.name for factor in assumed_factors())
    return Plan(
        stage="parts",
        kind=kind,
        names=names,
        seed=seed,
        runs=1,
        days=days,
        model=model_digest(),
    )


def plan_of(stage: str, kind: str, names: Sequence[str], **more: Any) -> Plan:
    """Return the plan of a stage under the rules and numbers as they are."""
    return Plan(stage=stage, kind=kind, names=tuple(names), model=model_digest(), **more)


def _places(stage: str, names: tuple[str, ...], seed: int, number: int) -> np.ndarray | None:
    if stage == "parts":
        return _part_places(names, seed, number)
    if stage == "morris":
        path, step = divmod(number, len(names) + 1)
        return np.array(_path(len(names), seed, path)[step])
    block = 1 << max(6, math.ceil(math.log2(number + 1)))
    return np.array(_cube(len(names), seed, block)[number])


def _part_places(names: tuple[str, ...], seed: int, number: int) -> np.ndarray | None:
    base, moved = divmod(number, len(names) + 1)
    if base == 0:
        if moved == 0:
            return None
        table = load_parameters()
        places = np.array([one.place(table[one.name].value) for one in factors_named(names)])
    else:
        places = np.random.default_rng([seed, base]).random(len(names))
    if moved:
        places[moved - 1] = 0.0 if places[moved - 1] > 0.5 else 1.0
    return places


@lru_cache(maxsize=4)
def _path(count: int, seed: int, path: int) -> np.ndarray:
    from SALib.sample import morris

    rng = np.random.default_rng([seed, path])
    found: np.ndarray = morris.sample(unit_cube(count), 1, num_levels=LEVELS, seed=rng)
    return found


@lru_cache(maxsize=2)
def _cube(count: int, seed: int, block: int) -> np.ndarray:
    from scipy.stats import qmc

    # The first points are the same however long the block, and whole blocks are balanced.
    found: np.ndarray = qmc.Sobol(d=count, rng=np.random.default_rng(seed)).random(block)
    return found


def unit_cube(count: int) -> dict[str, Any]:
    """Return the unit cube as the description that SALib takes."""
    return {
        "num_vars": count,
        "names": [f"x{k}" for k in range(count)],
        "bounds": [[0.0, 1.0]] * count,
    }
