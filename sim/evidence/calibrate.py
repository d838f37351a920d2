r"""Calibrate: approximate Bayesian computation in waves, on the patterns that may be fitted.

A point is a set of values of assumed parameters. At a point the fitted patterns are played, the
cheapest first, and it is left at the first that rules it out. How far a part lies from its band is
its *implausibility*

.. math:: I = \frac{\max(\mathrm{low} - v,\; v - \mathrm{high},\; 0)}{se}

with the standard error :math:`se` of the replicates played. A point with any :math:`I > 1` is
ruled out; what is kept is *confirmed* by the same on fresh seeds and with more replicates, so that
no point is kept for its luck. P3, P6, P7 and P10, and
the parts of other patterns that are called predictions, take no part.

The prior is even over each parameter's range (over its logarithm where the range allows it). Over
whole ranges next to nothing fits, so the first wave is a Latin hypercube in a box round a point
found beforehand. Later waves step from a kept point along the difference of two others (the
proposals of differential evolution, ter Braak), which lie along what the patterns leave open,

.. math:: x' = x_a + \gamma (x_b - x_c) + \epsilon, \qquad \gamma \in (0.3, 0.8),

reflected at the ends of the ranges. `act_time`, on which only what an observer counts hangs, is not
left to chance: at the first look each point is given the `act_time` at which both levels of P1 lie
nearest to the published. The kept points are weighed alike: a sample of what fits, not a posterior.

References
----------
TerBraak2006 (proposals); the cut and the lengths of steps are assumed.
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

CUT = 1.0  # standard errors
STEPS = (0.3, 0.8)  # of the difference of two points
JITTER = 0.02  # of each range
CONTEST_SHARE = 0.6  # of the acts of P1, about: how much of their number hangs on `act_time`
ENOUGH = 8  # kept points from which on only those are moved from

# Replicates at a first look and at the second, in the order of cost; P9 is looked at once, since of
# what is moved only `brood_heat` enters it.
FITTED = {
    "P5": (24, 24),
    "P2": (40, 80),
    "P1": (48, 64),
    "P4": (8, 12),
    "P9": (1, 0),
    "P8": (8, 24),
}

# What may be moved: assumed numbers that these patterns can tell something of.
FREE = (
    "act_time",
    "attack_rate",
    "submission",
    "rest_after_chase",
    "avoid_gain",
    "avoid_half_life",
    "pair_lesson",
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
    "brood_heat",
    "brood_value",
    "brood_care",
    "nest_work",
    "mother_tether",
    "father_tether",
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
    second
        Whether this is the second look, on fresh seeds.
    """

    point: Point
    seen: dict[str, dict[str, float]]
    worst: dict[str, float]
    second: bool = False

    @property
    def kept(self) -> bool:
        """Whether every fitted pattern was played and none rules it out."""
        whole = {key for key, runs in FITTED.items() if runs[self.second] > 0}
        return set(self.worst) == whole and max(self.worst.values()) <= CUT

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
        gap = max(part.low - one.value, one.value - part.high, 0.0)
        if not math.isfinite(one.value) or (gap > 0.0 and not one.error > 0.0):
            return math.inf
        worst = max(worst, gap / one.error if gap > 0.0 else 0.0)
    return worst


def _look(key: str, study: Study, runs: int) -> tuple[float, dict[str, float]]:
    pattern = find_pattern(key)
    measured = with_errors(pattern, play_units(pattern, study, runs), seed=study.seed)
    seen = {part.observable: measured[part.observable].value for part in pattern.parts}
    return implausibility(pattern, measured), seen


def better_act_time(point: Mapping[str, float], seen: Mapping[str, float]) -> float:
    """Return the `act_time` (s) at which the levels of P1 would lie nearest to the published.

    Parameters
    ----------
    point
        Values that differ from the defaults.
    seen
        Observables of P1 at that point.
    """
    row = load_parameters()["act_time"]
    off = 0.0
    for part in find_pattern("P1").parts:
        if part.observable in ("same", "mixed"):
            off += 0.5 * math.log(max(seen[part.observable], 1.0) / part.published)
    value = point.get("act_time", row.value) * math.exp(off / CONTEST_SHARE)
    return float(f"{min(max(value, row.low), row.high):.4g}")


def try_point(point: Mapping[str, float], *, seed: int = 1, confirm: bool = False) -> Tried:
    """Play the fitted patterns at a point, and leave it at the first that rules it out.

    Parameters
    ----------
    point
        Values that differ from the defaults.
    seed
        Seed of the runs.
    confirm
        Whether this is the second look, with more replicates.
    """
    seen: dict[str, dict[str, float]] = {}
    worst: dict[str, float] = {}
    point = dict(point)
    study = Study(seed=seed, changes=point)
    for key, runs in FITTED.items():
        if runs[confirm] == 0:
            continue
        worst[key], seen[key] = _look(key, study, runs[confirm])
        if key == "P1" and not confirm:
            point["act_time"] = better_act_time(point, seen[key])
            study = Study(seed=seed, changes=point)
            worst[key], seen[key] = _look(key, study, runs[confirm])
        if worst[key] > CUT:
            break
    return Tried(point, seen, worst, confirm)


def _scale(name: str) -> tuple[float, float, bool]:
    if name not in load_parameters():
        raise Refused(Problem("calibration", f"no parameter is called {name}."))
    row = load_parameters()[name]
    in_log = row.low > 0.0
    return (math.log(row.low), math.log(row.high), True) if in_log else (row.low, row.high, False)


def _point(names: Sequence[str], row: np.ndarray) -> Point:
    point = {}
    for name, u in zip(names, row, strict=True):
        low, high, in_log = _scale(name)
        value = low + float(np.clip(u, 0.0, 1.0)) * (high - low)
        point[name] = float(f"{math.exp(value) if in_log else value:.4g}")
        known = load_parameters()[name]
        point[name] = min(max(point[name], known.low), known.high)
    return point


def _place(names: Sequence[str], point: Mapping[str, float]) -> np.ndarray:
    row = []
    for name in names:
        low, high, in_log = _scale(name)
        value = point.get(name, load_parameters()[name].value)
        value = math.log(value) if in_log else value
        row.append((value - low) / (high - low))
    return np.array(row)


def _reflected(row: np.ndarray) -> np.ndarray:
    inside: np.ndarray = np.abs(1.0 - np.abs(1.0 - row))
    return inside


def first_points(
    count: int,
    *,
    seed: int,
    start: Mapping[str, float] | None = None,
    width: float = 1.0,
    names: Sequence[str] = FREE,
) -> list[Point]:
    """Return a Latin hypercube in a box round a point.

    Parameters
    ----------
    count
        How many points.
    seed
        Seed of the hypercube.
    start
        Middle of the box; the defaults where it says nothing.
    width
        Width of the box, as a share of each range; 1 or more for the whole ranges.
    names
        Parameters that are moved.
    """
    from scipy.stats import qmc

    middle = _place(names, start or {})
    cube = qmc.LatinHypercube(d=len(names), rng=np.random.default_rng(seed)).random(count)
    rows = cube if width >= 1.0 else _reflected(middle + width * (cube - 0.5))
    return [_point(names, row) for row in rows]


def next_points(
    tried: Sequence[Tried], count: int, *, seed: int, names: Sequence[str] = FREE, keep: int = 64
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
        The latest so many of the kept points are moved from; the best where few are kept.
    """
    best = [one for one in tried if one.kept][-keep:]
    if len(best) < ENOUGH:
        best = sorted(tried, key=lambda one: one.distance)[:ENOUGH]
    if len(best) < 3:
        raise Refused(Problem("calibration", "too few points tried; expected a first wave."))
    rows = np.array([_place(names, one.point) for one in best])
    rng = np.random.default_rng(seed)
    for _ in range(count):
        a, b, c = rng.choice(len(rows), 3, replace=False)
        step = rng.uniform(*STEPS) * (rows[b] - rows[c])
        yield _point(names, _reflected(rows[a] + step + JITTER * rng.standard_normal(len(names))))
