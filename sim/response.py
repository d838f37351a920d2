"""What a Latin hypercube says: how an outcome goes with each factor, over its lower and upper half.

No two points of a hypercube differ in one factor alone, so there are no steps to compare. Instead
each run is fitted over all points by two straight lines a factor that meet in the middle of its
range (one line where a factor has only two values; a level of its own for what is no number). As
run k holds the same fish at every point, the fitted changes of the runs are averaged over draws of
fish as any mean is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.figures import MEASURES, OF_FISH, Vector, by_draw, mean_of_draws
from sim.statistics import Estimate

if TYPE_CHECKING:
    from sim.summary import Summary
    from sim.sweep import Sweep


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """How an outcome changes over a part of a factor's range, all else alike.

    Parameters
    ----------
    factor
        Its number.
    part
        ``"lower half"``, ``"upper half"``, ``"whole range"``, or a value as against the first.
    start, end
        Numbers at its ends, in the factor's unit; nan for what is no number.
    outcome
        One of `sim.figures.MEASURES`.
    change
        From start to end.
    """

    factor: int
    part: str
    start: float
    end: float
    outcome: str
    change: Estimate

    @property
    def gain(self) -> str:
        """What the interval says, as `sim.sweep.Step.gain`."""
        low, high = self.change.low, self.change.high
        if not (math.isfinite(low) and math.isfinite(high)):
            return ""
        if low <= 0.0 <= high:
            return "none"
        good = MEASURES[self.outcome].good
        return "gain" if not good or (high < 0.0) == (good == "less") else "loss"


@dataclass(frozen=True, slots=True)
class Response:
    """What the points of a hypercube say of one outcome.

    Parameters
    ----------
    stretches
        By factor; empty where there are too few points.
    explained
        Share of the variance between the means of the points that the lines explain; nan where
        nothing varies.
    least_points
        Points that are needed.
    """

    stretches: tuple[Stretch, ...]
    explained: float
    least_points: int


def response_of(sweep: Sweep, outcome: str) -> Response:
    """Return how an outcome goes with each factor of a Latin hypercube.

    Parameters
    ----------
    sweep
        Of a plan "latin".
    outcome
        One of `sim.figures.MEASURES`; of what happens to the fish, that of those that live at
        every point.
    """
    parts, columns = _parts(sweep)
    design = np.column_stack([np.ones(len(sweep.tanks)), *columns])
    least = design.shape[1] + 1
    if len(design) < least or np.linalg.matrix_rank(design) < design.shape[1]:
        return Response((), math.nan, least)
    runs = _columns(sweep.paired, outcome)
    there = np.isfinite(runs).all(axis=1)
    if not there.any():
        return Response((), math.nan, least)
    fitted = runs[there] @ np.linalg.pinv(design).T
    cluster = sweep.paired[0].cluster[there]
    stretches = tuple(
        Stretch(
            factor=factor,
            part=part,
            start=start,
            end=end,
            outcome=outcome,
            change=mean_of_draws(by_draw(fitted[:, k], draw=cluster), level=sweep.level)[0],
        )
        for k, (factor, part, start, end) in enumerate(parts, start=1)
    )
    means = runs[there].mean(axis=0)
    left = means - design @ fitted.mean(axis=0)
    spread = float(np.var(means))
    return Response(stretches, 1.0 - float(np.var(left)) / spread if spread else math.nan, least)


def _parts(sweep: Sweep) -> tuple[list[tuple[int, str, float, float]], list[Vector]]:
    parts: list[tuple[int, str, float, float]] = []
    columns: list[Vector] = []
    for k in sweep.varied:
        factor = sweep.factors[k]
        if not factor.ordered:
            for value in factor.values[1:]:
                parts.append((k, value.text, math.nan, math.nan))
                texts = [tank.values[k].text for tank in sweep.tanks]
                columns.append(np.array([float(text == value.text) for text in texts]))
            continue
        numbers = np.array([tank.values[k].number for tank in sweep.tanks])
        ends = [value.number for value in factor.values]
        low, high = min(ends), max(ends)
        share = (numbers - low) / (high - low)
        middle = 0.5 * (low + high)
        if len(np.unique(numbers)) < 3:
            parts.append((k, "whole range", low, high))
            columns.append(share)
        else:
            parts += [(k, "lower half", low, middle), (k, "upper half", middle, high)]
            columns += [2.0 * np.minimum(share, 0.5), 2.0 * np.maximum(share - 0.5, 0.0)]
    return parts, columns


def _columns(summaries: Sequence[Summary], outcome: str) -> np.ndarray:
    """Return an outcome in each run at each point, shape (n_runs, n_points)."""
    everywhere = set.intersection(*({(m.group, m.index) for m in s.members} for s in summaries))
    found = []
    for summary in summaries:
        which = [i for i, m in enumerate(summary.members) if (m.group, m.index) in everywhere]
        of_all = outcome not in OF_FISH or len(which) == len(summary.members)
        column = summary.run_column(outcome) if of_all else summary.column_for(outcome, which)
        found.append(np.asarray(column, dtype=np.float64))
    return np.column_stack(found)
