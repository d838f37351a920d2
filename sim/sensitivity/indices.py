r"""Indices: Sobol' shares of the variance of an outcome when all numbers vary at once.

The first share of a number is what knowing it alone would take off the variance; the total what
would be left if all but it were known:

.. math:: S_i = \frac{V(E[y|x_i])}{V(y)}, \qquad T_i = 1 - \frac{V(E[y|x_{\sim i}])}{V(y)}

Both are by the estimators of SALib on a Saltelli sample. On an emulator the intervals are from the
residuals of points held out: they are dealt to the points anew, and the emulator, its covariance
kept, fitted again.

References
----------
Sobol2001, Saltelli2010.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sim.sensitivity.emulator import LEAST_POINTS, Emulator, HeldOut, held_out
from sim.sensitivity.outcomes import luck_variance
from sim.sensitivity.plan import unit_cube

BASE = 4096  # points of the Saltelli sample, for each of two and of each number
RESAMPLES = 200
LEVEL = 0.95


@dataclass(frozen=True, slots=True)
class Share:
    """A share of the variance with its interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Indices:
    """What the numbers explain of one outcome.

    Parameters
    ----------
    names
        The numbers.
    first, total
        Shares by number; empty where they are declined.
    r2, clear_r2, luck
        As `sim.sensitivity.emulator.HeldOut`.
    points
        Points the emulator was fitted to.
    spread
        Standard deviation of the outcome over its points, luck taken away.
    middle
        Mean of the outcome over its points.
    """

    names: tuple[str, ...]
    first: dict[str, Share]
    total: dict[str, Share]
    r2: float
    clear_r2: float
    luck: float
    points: int
    spread: float
    middle: float

    @property
    def given(self) -> bool:
        """Whether there are indices."""
        return bool(self.first)


def saltelli(count: int, *, base: int = BASE, seed: int = 1) -> np.ndarray:
    """Return the sample that first and total shares are computed from, in the unit cube.

    Returns
    -------
    ndarray, shape (base * (count + 2), count)
    """
    from SALib.sample import sobol

    found: np.ndarray = sobol.sample(
        unit_cube(count), base, calc_second_order=False, seed=np.random.default_rng(seed)
    )
    return found


def shares(values: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Return first and total shares from the values at a Saltelli sample.

    Parameters
    ----------
    values
        Shape (base * (count + 2),).
    count
        Number of factors.
    """
    from SALib.analyze import sobol

    found = sobol.analyze(
        unit_cube(count), values, calc_second_order=False, num_resamples=2, seed=1
    )
    return np.asarray(found["S1"], dtype=float), np.asarray(found["ST"], dtype=float)


def shares_of_function(
    function: Callable[[np.ndarray], np.ndarray], count: int, *, base: int = BASE, seed: int = 1
) -> tuple[np.ndarray, np.ndarray]:
    """Return first and total shares of a function on the unit cube that is cheap to compute."""
    return shares(function(saltelli(count, base=base, seed=seed)), count)


def indices_of(
    names: tuple[str, ...], places: np.ndarray, runs: np.ndarray, *, seed: int = 1
) -> Indices:
    """Return the indices of one outcome by an emulator of its mean, or none where it is poor.

    Parameters
    ----------
    names
        The numbers.
    places
        Of the points, shape (n_points, n_names), 0 to 1.
    runs
        The outcome, shape (n_points, n_runs); with one run there is no luck.
    seed
        Of folds and resampling.
    """
    values = runs.mean(axis=1)
    luck = float(np.mean(luck_variance(runs))) if runs.shape[1] > 1 else 0.0
    spread = float(np.sqrt(max(float(np.var(values)) - luck, 0.0)))
    none: dict[str, Share] = {}

    def report(judged: HeldOut | None, first: dict[str, Share], total: dict[str, Share]) -> Indices:
        r2, clear = (judged.r2, judged.clear_r2) if judged else (np.nan, np.nan)
        share = judged.luck if judged else np.nan
        return Indices(
            names, first, total, float(r2), float(clear), float(share), len(values), spread,
            float(values.mean()),
        )  # fmt: skip

    if len(values) < LEAST_POINTS or np.ptp(values) == 0.0:
        return report(None, none, none)
    emulator = Emulator(places, values, luck=luck)
    judged = held_out(places, values, luck=luck, kernel=emulator.kernel, seed=seed)
    if not judged.good:
        return report(judged, none, none)
    at = saltelli(len(names), seed=seed)
    first, total = shares(emulator.predict(at), len(names))
    again = _again(emulator, judged.residuals, at, seed=seed)
    return report(
        judged,
        _with_limits(names, first, again[0]),
        _with_limits(names, total, again[1]),
    )


def _again(
    emulator: Emulator, residuals: np.ndarray, at: np.ndarray, *, seed: int
) -> tuple[np.ndarray, np.ndarray]:
    """First and total shares with the residuals dealt anew, shape (RESAMPLES, n_names) each."""
    rng = np.random.default_rng([seed, 7])
    fitted = emulator.predict(emulator.places)
    dealt = rng.choice(residuals - residuals.mean(), size=(len(residuals), RESAMPLES))
    columns = emulator.refitted(fitted[:, None] + dealt, at)
    found = [shares(columns[:, k], at.shape[1]) for k in range(RESAMPLES)]
    return np.array([one[0] for one in found]), np.array([one[1] for one in found])


def _with_limits(names: tuple[str, ...], values: np.ndarray, again: np.ndarray) -> dict[str, Share]:
    tail = 50.0 * (1.0 - LEVEL)
    # Fitting smooths once more each time: what is resampled is shifted back to the estimate.
    spread = again - again.mean(axis=0)
    low = values + np.percentile(spread, tail, axis=0)
    high = values + np.percentile(spread, 100.0 - tail, axis=0)
    return {
        name: Share(*(float(np.clip(x, 0.0, 1.0)) for x in (values[k], low[k], high[k])))
        for k, name in enumerate(names)
    }
