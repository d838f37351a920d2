r"""Likely: what counts say of unknowns, from the model's own runs (ABC with regression adjustment).

Runs :math:`k` with unknowns :math:`\theta_k` drawn beforehand and counts :math:`s_k` stand for the
likelihood, which nobody can write down. For each unknown,

1. a ridge regression on the counts that may bear on it gives its expected value :math:`m(s)`, the
   one summary that is kept for it; for every run without that run itself. Unknowns that are alike
   (fish of one group) are learnt together, each from counts of its own;
2. the runs whose :math:`m(s_k)` lies nearest to :math:`m(s)` of what was counted are weighed
   (Epanechnikov), and a local line :math:`a + b\,m` moves their :math:`\theta_k` to where they
   would be, had they been counted alike;
3. the moved values with their weights are the posterior of that unknown.

The unknowns are put together again by the ranks of what the regressions of a run leave
unexplained, so that two fish of which only the sum is known stay so. Of an unknown that no count
tells, the draws are those from before. A *line* over the unknowns, such as an answer that hangs on
all of them, is an unknown itself, whose expected value is the same line over theirs.

References
----------
Beaumont2002 (regression adjustment), FearnheadPrangle2012 (expected values as summaries)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

Array = np.ndarray

NEAREST = 0.3  # share of the runs that are weighed for one unknown
RIDGE = 20.0  # in runs: as if so many had told that no count matters
LEAST_TOLD = 0.01  # share of the variance below which an unknown is taken as not told
LEAST_RUNS = 60


@dataclass(frozen=True, slots=True)
class Fit:
    """A regression of unknowns that are alike on the counts of each.

    Parameters
    ----------
    pool
        Their places.
    weights
        Shape (1 + n_counts,).
    centre, scale
        Of the counts, shape (n_counts,).
    """

    pool: tuple[int, ...]
    weights: Array
    centre: Array
    scale: Array

    def expect(self, counts: Array) -> Array:
        """Return expected values, shape (n,), for counts of shape (n, n_counts)."""
        x = (counts - self.centre) / self.scale
        return np.asarray(self.weights[0] + x @ self.weights[1:])


@dataclass(frozen=True, slots=True)
class Learnt:
    """What the model's own runs say of the unknowns.

    Parameters
    ----------
    unknowns
        Of each run, lines last, shape (n_runs, n_unknowns + n_lines).
    expected
        Of each run, from its counts and the other runs, likewise.
    told
        Share of the variance of each that the counts tell; 0 where it is below `LEAST_TOLD`.
    fits
        One for each pool of unknowns.
    lines, levels
        Over the unknowns, shapes (n_unknowns, n_lines) and (n_lines,).
    """

    unknowns: Array
    expected: Array
    told: Array
    fits: tuple[Fit, ...]
    lines: Array
    levels: Array

    def expect(self, counts: Sequence[Array]) -> Array:
        """Return the expected unknowns and lines for what was counted.

        Parameters
        ----------
        counts
            For each unknown the counts that may bear on it, shape (n_counts,) each.
        """
        found = np.empty(len(self.lines))
        for fit in self.fits:
            for p in fit.pool:
                found[p] = fit.expect(np.asarray(counts[p])[None, :])[0]
        return np.concatenate([found, self.levels + found @ self.lines])

    def pools(self) -> tuple[tuple[int, ...], ...]:
        """Return places that were learnt together; a line stands by itself."""
        first, last = self.lines.shape[0], self.unknowns.shape[1]
        return (*(fit.pool for fit in self.fits), *((p,) for p in range(first, last)))


def learn(
    unknowns: Array,
    counts: Sequence[Array],
    *,
    pools: Sequence[Sequence[int]] | None = None,
    lines: Array | None = None,
    levels: Array | None = None,
) -> Learnt:
    """Return what runs say of the unknowns by their counts.

    Parameters
    ----------
    unknowns
        Of each run, shape (n_runs, n_unknowns).
    counts
        For each unknown the counts that may bear on it, in a scale in which they are about linear,
        shape (n_runs, n_counts) each.
    pools
        Places of unknowns that are alike, every place once; each by itself where None.
    lines, levels
        Answers as lines over the unknowns, shapes (n_unknowns, n_lines) and (n_lines,).
    """
    n, size = unknowns.shape
    lines = np.zeros((size, 0)) if lines is None else lines
    levels = np.zeros(lines.shape[1]) if levels is None else levels
    expected = np.empty((n, size))
    fits = []
    for pool in pools if pools is not None else [[p] for p in range(size)]:
        some = np.concatenate([counts[p] for p in pool])
        values = np.concatenate([unknowns[:, p] for p in pool])
        fit, left_out = _fit(some, values, pool=tuple(pool))
        fits.append(fit)
        for place, p in enumerate(pool):
            expected[:, p] = left_out[place * n : (place + 1) * n]
    every = np.column_stack([unknowns, levels + unknowns @ lines])
    expected = np.column_stack([expected, levels + expected @ lines])
    spread = ((every - every.mean(axis=0)) ** 2).mean(axis=0)
    left = ((every - expected) ** 2).mean(axis=0)
    told = np.where(spread > 0.0, 1.0 - left / np.maximum(spread, 1e-300), 0.0)
    for fit in fits:
        told[list(fit.pool)] = told[list(fit.pool)].mean()
    told = np.where(told < LEAST_TOLD, 0.0, told)
    return Learnt(every, expected, told, tuple(fits), lines, levels)


def _fit(counts: Array, values: Array, *, pool: tuple[int, ...]) -> tuple[Fit, Array]:
    """Return a ridge regression, and what it expects of each row from all the others."""
    centre, scale = counts.mean(axis=0), counts.std(axis=0)
    scale = np.where(scale > 1e-9, scale, np.inf)  # a count that never differs tells nothing
    x = np.column_stack((np.ones(len(counts)), (counts - centre) / scale))
    ridge = RIDGE * np.eye(x.shape[1])
    ridge[0, 0] = 0.0
    inverse = np.linalg.inv(x.T @ x + ridge)
    weights = inverse @ (x.T @ values)
    lever = np.einsum("ki,ij,kj->k", x, inverse, x)
    return Fit(pool, weights, centre, scale), (x @ weights - lever * values) / (1.0 - lever)


def marginals(learnt: Learnt, expected: Array, *, leave: int | None = None) -> Array:
    """Return draws of each unknown by itself, in rising order.

    Parameters
    ----------
    learnt
        Of `learn`.
    expected
        The expected unknowns and lines for what was counted, of `Learnt.expect`.
    leave
        A run that is left out, since it is the one that was counted.

    Returns
    -------
    ndarray
        Shape (n_runs, n_unknowns + n_lines).
    """
    values = learnt.unknowns
    n = len(values)
    keep = np.arange(n) != (-1 if leave is None else leave)
    at = (np.arange(n) + 0.5) / n
    found = np.empty_like(values, dtype=np.float64)
    for pool in learnt.pools():
        some = values[keep][:, list(pool)].ravel()
        means = learnt.expected[keep][:, list(pool)].ravel()
        for p in pool:
            if learnt.told[p] == 0.0:
                found[:, p] = np.quantile(some, at)
                continue
            away = means - expected[p]
            width = max(float(np.quantile(np.abs(away), NEAREST)), 1e-12)
            near = np.abs(away) < width
            weight = 1.0 - (away[near] / width) ** 2
            moved = _moved(some[near], away[near], weight)
            found[:, p] = weighted_quantiles(moved, weight, at)
    return found


def _moved(values: Array, away: Array, weight: Array) -> Array:
    """Values of near runs, moved along a local line to where the counts are those observed."""
    mean = np.average(away, weights=weight)
    spread = np.average((away - mean) ** 2, weights=weight)
    slope = 0.0
    if spread > 1e-12:
        slope = np.average((away - mean) * values, weights=weight) / spread
    return np.asarray(values - slope * away)


def weighted_quantiles(values: Array, weight: Array, at: Array) -> Array:
    """Return quantiles of weighted values, between them by straight lines.

    Parameters
    ----------
    values, weight
        Shape (n,) each; weights above 0.
    at
        Which, 0 to 1.
    """
    order = np.argsort(values, kind="stable")
    share = np.cumsum(weight[order])
    share = (share - 0.5 * weight[order]) / share[-1]
    return np.asarray(np.interp(at, share, values[order]))


def posterior(learnt: Learnt, counts: Sequence[Array]) -> Array:
    """Return draws of all unknowns together, each as likely as the next.

    Parameters
    ----------
    learnt
        Of `learn`.
    counts
        What was counted, for each unknown, shape (n_counts,) each.

    Returns
    -------
    ndarray
        Shape (n_runs, n_unknowns + n_lines), in the order of the runs.
    """
    alone = marginals(learnt, learnt.expect(counts))
    left = np.where(learnt.told > 0.0, learnt.unknowns - learnt.expected, learnt.unknowns)
    ranks = np.argsort(np.argsort(left, axis=0, kind="stable"), axis=0, kind="stable")
    return np.asarray(np.take_along_axis(alone, ranks, axis=0))


def nearest_runs(learnt: Learnt, expected: Array, *, number: int) -> Array:
    """Return the runs that were counted most like this, each unknown by how well it is told.

    Parameters
    ----------
    learnt
        Of `learn`.
    expected
        The expected unknowns for what was counted, of `Learnt.expect`.
    number
        How many.
    """
    spread = np.maximum(learnt.expected.std(axis=0), 1e-12)
    away = (learnt.expected - expected) / spread
    distance = (learnt.told * away**2).sum(axis=1)
    return np.argsort(distance, kind="stable")[:number]
