"""Pairing: one measure in two designs, over the same draws of fish."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from sim.figures import Figure, Measure, Vector, by_draw, figure_of, in_lots, mean_of_draws
from sim.paired import Tally, better_same_worse, paired_share_difference, ratio_interval
from sim.scenario import Member
from sim.spread import variance_gain
from sim.statistics import Estimate

ALIKE = 0.1  # of the mean of the two designs: draws that differ by less are called alike, assumed


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """How one measure differs between the reference and another design, over the same fish.

    Parameters
    ----------
    reference, other
        Numbers of the two designs.
    measure
        What was measured.
    a, b
        In the reference, and in the other.
    estimate, low, high
        b less a in the measure's unit, with the 95 % interval of the paired runs; limits nan
        where there is none.
    method
        How the interval was made, or why there is none.
    better, same, worse
        Draws of fish for which the other design was better, alike (within `ALIKE`) and worse;
        all 0 for a measure that is neither good nor bad.
    ratio
        b over a; None where it cannot be bounded, and for shares.
    variance_gain
        Variance of the difference as against unpaired runs; nan if unknown.
    member
        The fish it speaks of; None for the whole tank.
    """

    reference: int
    other: int
    measure: Measure
    a: Estimate
    b: Estimate
    estimate: float
    low: float
    high: float
    method: str
    better: int
    same: int
    worse: int
    ratio: Estimate | None
    variance_gain: float
    member: Member | None = None

    @property
    def outcome(self) -> str:
        """Name of the measure."""
        return self.measure.name

    @property
    def unit(self) -> str:
        """Unit of the three."""
        return self.measure.unit

    @property
    def clear(self) -> bool:
        """Whether the interval leaves out no difference."""
        return self.low > 0.0 or self.high < 0.0


def difference_of(
    measure: Measure,
    x: Vector,
    y: Vector,
    *,
    draw: np.ndarray,
    cluster: np.ndarray | None = None,
    reference: int = 0,
    other: int = 1,
    member: Member | None = None,
    known: tuple[Figure | None, Figure | None] = (None, None),
    level: float = 0.95,
) -> Difference | None:
    """Return how a measure differs between two designs over paired runs.

    Parameters
    ----------
    measure
        What was measured.
    x, y
        Of each run of the reference and of the other design, the same fish in the same place,
        shape (n_runs,); pairs of runs in which either has no value (nan) are left out.
    draw
        Draw of fish of each run, shape (n_runs,).
    cluster
        What of each run is independent, shape (n_runs,); the draw of fish where None.
    reference, other, member
        Passed on.
    known
        The figures of `x` and of `y` where they have been computed; they are not used where pairs
        are left out.
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Difference or None
        None where no pair of runs has a value in both.
    """
    there = np.isfinite(x) & np.isfinite(y)
    if not there.any():
        return None
    cluster = (draw if cluster is None else cluster)[there]
    x, y, draw = x[there], y[there], draw[there]
    if not there.all():
        known = (None, None)
    a = known[0] or figure_of(measure, x, draw=cluster, level=level)
    b = known[1] or figure_of(measure, y, draw=cluster, level=level)
    assert a is not None  # some runs have a value in both
    assert b is not None
    mean_x, mean_y = by_draw(x, draw=cluster), by_draw(y, draw=cluster)
    ratio = None
    if measure.kind == "share":
        gap = share_gap(x, y, draw=cluster, level=level)
    else:
        gap = mean_of_draws(mean_y - mean_x, level=level)[0]
        ratio = ratio_interval(in_lots(mean_y), b=in_lots(mean_x), level=level)
    counts = count_draws(measure, by_draw(x, draw=draw), by_draw(y, draw=draw))
    return Difference(
        reference=reference,
        other=other,
        measure=measure,
        a=a.estimate,
        b=b.estimate,
        estimate=gap.value,
        low=gap.low,
        high=gap.high,
        method=gap.method,
        better=counts.better,
        same=counts.same,
        worse=counts.worse,
        ratio=ratio,
        variance_gain=variance_gain(x, b=y) if len(x) > 1 else math.nan,
        member=member,
    )


def share_gap(x: Vector, y: Vector, *, draw: np.ndarray, level: float) -> Estimate:
    """Return share in `y` less share in `x` over paired runs, clustered by draw of fish.

    Parameters
    ----------
    x, y
        Whether it happened in each run, shape (n_runs,).
    draw
        Draw of fish of each run, shape (n_runs,).
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Estimate
        -1 to 1; `n` is the number of draws.
    """
    found = paired_share_difference(y > 0.0, b=x > 0.0, draw=draw, level=level)
    return replace(found, n=len(np.unique(draw)))


def count_draws(measure: Measure, x: Vector, y: Vector) -> Tally:
    """Return the draws of fish for which `y` was better, alike and worse than `x`.

    Parameters
    ----------
    measure
        Says which way is better.
    x, y
        Means of each draw, shape (n_draws,).

    Returns
    -------
    Tally
        All 0 for a measure that is neither good nor bad.
    """
    if not measure.good:
        return Tally(0, 0, 0)
    sign = 1.0 if measure.good == "less" else -1.0
    slack = 0.0 if measure.kind == "share" else ALIKE * 0.5 * float(np.mean(x) + np.mean(y))
    return better_same_worse(sign * y, b=sign * x, tolerance=slack)
