r"""Calibrate: waves of history matching on the patterns that may be fitted.

A point is a set of values of assumed parameters. A wave plays the fitted patterns at each of its
points, cheapest first, and leaves a point at the first pattern that rules it out. How far a part
lies from its band is its *implausibility*

.. math:: I = \frac{\max(\mathrm{low} - v,\; v - \mathrm{high},\; 0)}
                   {\sqrt{se^2 + (0.1\,(\mathrm{high} - \mathrm{low}))^2}}

with the standard error :math:`se` of the replicates played; a tenth of the band's width stands for
what the model lacks (assumed). A point with any :math:`I > 3` is ruled out. The first wave is a
Latin hypercube; a later one draws a kept point and moves it by a normal step of twice the spread
of the kept points, within the ranges. P3, P6, P7 and P10 take no part.

References
----------
None: the cut of 3 is custom in history matching; the rest is assumed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sim.errors import Problem, Refused
from sim.evidence.patterns import (
    Measured,
    Pattern,
    find_pattern,
    play_units,
    with_errors,
)
from sim.evidence.study import Study
from sim.parameters import load_parameters

CUT = 3.0
LACK = 0.1  # share of a band's width

# Replicates with which a point is looked at, in the order of cost.
FITTED = {"P5": 24, "P2": 30, "P4": 8, "P1": 16, "P8": 8, "P9": 2}

# What may be moved: assumed numbers that these patterns can tell something of.
FREE = (
    "act_time",
    "contest_harm",
    "attack_rate",
    "submission",
    "avoid_gain",
    "avoid_half_life",
    "own_space_claim",
    "retreat_counts",
    "quality_sd",
    "daring_sd",
    "look_error",
    "prior_variance",
    "display_error",
    "biting_error",
    "wrestling_error",
    "hope",
    "giving_up_line",
    "display_cost",
    "biting_cost",
    "wrestling_cost",
    "inferior_cost",
    "display_time",
    "biting_time",
    "winner_gain",
    "loser_loss",
    "experience_cap",
    "memory_half_life",
    "attack_line",
    "attack_line_width",
)

Point = dict[str, float]


@dataclass(frozen=True, slots=True)
class Tried:
    """A point and what came of it.

    Parameters
    ----------
    point
        Values that differ from the defaults.
    seen
        Observables of the patterns played, by pattern.
    worst
        Greatest implausibility of each pattern played.
    """

    point: Point
    seen: dict[str, dict[str, float]]
    worst: dict[str, float]

    @property
    def kept(self) -> bool:
        """Whether every fitted pattern was played and none rules it out."""
        return set(self.worst) == set(FITTED) and max(self.worst.values()) <= CUT

    @property
    def distance(self) -> float:
        """Patterns not passed, then the mean implausibility: what points are ranked by."""
        passed = sum(worst <= CUT for worst in self.worst.values())
        capped = [min(worst, 10.0) for worst in self.worst.values()]
        return (len(FITTED) - passed) * 10.0 + sum(capped) / len(capped)


def implausibility(pattern: Pattern, seen: Mapping[str, Measured]) -> float:
    """Return the greatest implausibility among the parts of a pattern that are fitted or imposed.

    A part that is a prediction takes no part in fitting.
    """
    worst = 0.0
    for part in pattern.parts:
        if part.standing == "predicted":
            continue
        one = seen[part.observable]
        if not math.isfinite(one.value):
            return math.inf
        gap = max(part.low - one.value, one.value - part.high, 0.0)
        error = one.error if math.isfinite(one.error) else 0.0
        worst = max(worst, gap / math.hypot(error, LACK * (part.high - part.low)))
    return worst


def try_point(point: Mapping[str, float], *, seed: int = 1, whole: bool = False) -> Tried:
    """Play the fitted patterns at a point, and leave it at the first that rules it out.

    Parameters
    ----------
    point
        Values that differ from the defaults.
    seed
        Seed of the runs.
    whole
        Whether to play all of them whatever comes.
    """
    seen: dict[str, dict[str, float]] = {}
    worst: dict[str, float] = {}
    study = Study(seed=seed, changes=dict(point))
    for key, runs in FITTED.items():
        pattern = find_pattern(key)
        measured = with_errors(pattern, play_units(pattern, study, runs), seed=seed)
        seen[key] = {part.observable: measured[part.observable].value for part in pattern.parts}
        worst[key] = implausibility(pattern, measured)
        if worst[key] > CUT and not whole:
            break
    return Tried(dict(point), seen, worst)


def _scale(name: str) -> tuple[float, float, bool]:
    row = load_parameters()[name]
    in_log = row.low > 0.0
    return (math.log(row.low), math.log(row.high), True) if in_log else (row.low, row.high, False)


def first_points(count: int, *, seed: int, names: Sequence[str] = FREE) -> list[Point]:
    """Return a Latin hypercube over the ranges, evenly in the logarithm where they allow it."""
    from scipy.stats import qmc

    unknown = [name for name in names if name not in load_parameters()]
    if unknown:
        raise Refused(Problem("calibration", f"no parameter is called {unknown[0]}."))
    cube = qmc.LatinHypercube(d=len(names), rng=np.random.default_rng(seed)).random(count)
    return [_point(names, row) for row in cube]


def _point(names: Sequence[str], row: np.ndarray) -> Point:
    point = {}
    for name, u in zip(names, row, strict=True):
        low, high, in_log = _scale(name)
        value = low + float(np.clip(u, 0.0, 1.0)) * (high - low)
        point[name] = float(f"{math.exp(value) if in_log else value:.6g}")
        known = load_parameters()[name]
        point[name] = min(max(point[name], known.low), known.high)
    return point


def _place(names: Sequence[str], point: Point) -> np.ndarray:
    row = []
    for name in names:
        low, high, in_log = _scale(name)
        value = point.get(name, load_parameters()[name].value)
        value = math.log(value) if in_log else value
        row.append((value - low) / (high - low))
    return np.array(row)


def next_points(
    tried: Sequence[Tried], count: int, *, seed: int, names: Sequence[str] = FREE, keep: int = 30
) -> Iterator[Point]:
    """Yield points round the best of those tried.

    Parameters
    ----------
    tried
        All that was tried so far.
    count
        How many to yield.
    seed
        Seed of the draws.
    names
        Parameters that are moved.
    keep
        The best so many are moved from.
    """
    best = sorted(tried, key=lambda one: one.distance)[:keep]
    if len(best) < 2:
        raise Refused(Problem("calibration", "too few points tried; expected a first wave."))
    rows = np.array([_place(names, one.point) for one in best])
    step = np.maximum(rows.std(axis=0) * math.sqrt(2.0), 0.02)
    rng = np.random.default_rng(seed)
    for _ in range(count):
        row = rows[rng.integers(len(rows))] + step * rng.standard_normal(len(names))
        yield _point(names, np.abs(1.0 - np.abs(1.0 - row)))  # reflected at either end
