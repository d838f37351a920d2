"""By which day it had happened: chances over time, with what ends the watching early."""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.statistics import Estimate, finite_vector, normal_quantile, share_interval

Vector = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Curve:
    """Chance that it has happened by a day: steps at `days`, 0 before the first.

    `days`, `value`, `low`, `high` have shape (n_steps,), the last three 0 to 1.
    """

    days: Vector
    value: Vector
    low: Vector
    high: Vector
    n: int
    method: str
    level: float = 0.95

    def by(self, day: float) -> Estimate:
        """Return the chance that it has happened by the end of `day`, with its interval."""
        step = int(np.searchsorted(self.days, day, side="right")) - 1
        if step < 0:
            high = share_interval(0, n=self.n, level=self.level).high
            return Estimate(0.0, 0.0, high, self.n, self.method)
        return Estimate(
            float(self.value[step]),
            float(self.low[step]),
            float(self.high[step]),
            self.n,
            self.method,
        )


def kaplan_meier(days: npt.ArrayLike, *, happened: npt.ArrayLike, level: float = 0.95) -> Curve:
    """Return the chance of having happened by each day, for one kind of end only.

    1 - S(t), S(t) = product over t_i <= t of (1 - d_i / n_i).  It treats the others as if they
    would have gone on like the rest, which a fish that the keeper took out because it was hurt
    would not: use it only where nothing but the end of the run stops the watching, and
    `cumulative_incidence` where something else does.

    Parameters
    ----------
    days
        Day on which it happened or the watching stopped, shape (n,).
    happened
        Whether it happened, shape (n,).
    level
        Coverage asked for at each day, 0 to 1.

    Returns
    -------
    Curve
        Steps at the days on which it happened; intervals from the complementary log-log of S, and
        Wilson's where nobody is left.

    Raises
    ------
    ValueError
        If shapes differ, nothing was watched, or a day is negative or not finite.

    References
    ----------
    Kaplan1958
    """
    seen = np.asarray(happened, dtype=bool)
    times = _times(days, shape=seen.shape)
    normal_quantile(level)
    method = "Kaplan-Meier"
    if not seen.any():
        return _no_steps(n=len(times), method=method, level=level)
    from scipy.stats import CensoredData, ecdf

    sample = CensoredData(uncensored=times[seen], right=times[~seen])
    survives = ecdf(sample).sf
    steps = np.unique(times[seen])
    at = np.searchsorted(survives.quantiles, steps)
    value = 1.0 - np.asarray(survives.probabilities)[at]
    # scipy warns that the interval is nan where nobody is left; those steps get Wilson's.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        interval = survives.confidence_interval(confidence_level=level, method="log-log")
    low = 1.0 - np.asarray(interval.high.probabilities)[at]
    high = 1.0 - np.asarray(interval.low.probabilities)[at]
    return _curve(steps, value, low, high, n=len(times), method=method, level=level)


def cumulative_incidence(
    days: npt.ArrayLike, *, cause: npt.ArrayLike, level: float = 0.95
) -> dict[int, Curve]:
    """Return the chance of each kind of end by each day, when one kind forestalls the others.

    Aalen and Johansen: F_j(t) = sum over t_i <= t of S(t_i-) d_ji / n_i, S the chance that
    nothing has happened yet.  The variance is by the delta method:
    sum (F_j(t) - F_j(t_i))^2 d_i / (n_i (n_i - d_i)) + sum S(t_i-)^2 (n_i - d_ji) d_ji / n_i^3
    - 2 sum (F_j(t) - F_j(t_i)) S(t_i-) d_ji / n_i^2.  Without censoring it is F (1 - F) / n.

    Parameters
    ----------
    days
        Day of the end, or on which the watching stopped, shape (n,).
    cause
        Kind of end as a whole number from 1; 0 if none came while it was watched, shape (n,).
    level
        Coverage asked for at each day, 0 to 1.

    Returns
    -------
    dict of int to Curve
        A curve per kind that occurs, with steps at the days of that kind; intervals from the
        complementary log-log of F.

    Raises
    ------
    ValueError
        If shapes differ, nothing was watched, a day is negative or a cause below zero.

    References
    ----------
    AalenJohansen1978, Marubini1995
    """
    kind = np.asarray(cause, dtype=np.int64)
    times = _times(days, shape=kind.shape)
    if np.any(kind < 0):
        raise ValueError(f"cumulative_incidence: a cause is {int(kind.min())}; expected 0 or more.")
    z = normal_quantile(level)
    steps = np.unique(times[kind > 0])
    order = np.sort(times)
    at_risk = len(times) - np.searchsorted(order, steps, side="left").astype(np.float64)
    ended = _count_at(times[kind > 0], steps)
    before = np.concatenate(([1.0], np.cumprod(1.0 - ended / at_risk)))[:-1]
    curves = {}
    for j in np.unique(kind[kind > 0]).tolist():
        mine = _count_at(times[kind == j], steps)
        f = np.cumsum(before * mine / at_risk)
        variance = np.empty_like(f)
        for t in range(len(steps)):
            s, n, d, dj = before[: t + 1], at_risk[: t + 1], ended[: t + 1], mine[: t + 1]
            ahead = f[t] - f[: t + 1]
            # Where everyone left ends together nothing is ahead, and the first term is 0 / 0.
            left = np.where(n > d, n * (n - d), 1.0)
            variance[t] = np.sum(
                ahead**2 * d / left + s**2 * (n - dj) * dj / n**3 - 2.0 * ahead * s * dj / n**2
            )
        own = mine > 0
        value, spread = f[own], np.sqrt(np.maximum(variance[own], 0.0))
        with np.errstate(divide="ignore", invalid="ignore"):
            bend = z * spread / (value * np.abs(np.log(value)))
            low, high = value ** np.exp(bend), value ** np.exp(-bend)
        curves[j] = _curve(
            steps[own], value, low, high, n=len(times), method="Aalen-Johansen", level=level
        )
    return curves


def _count_at(times: Vector, steps: Vector) -> Vector:
    return np.bincount(np.searchsorted(steps, times), minlength=len(steps)).astype(np.float64)


def _curve(
    steps: Vector, value: Vector, low: Vector, high: Vector, *, n: int, method: str, level: float
) -> Curve:
    """Build a curve; where the interval is undefined, at a chance of one, take Wilson's."""
    value = np.clip(value, 0.0, 1.0)
    for i in np.flatnonzero(~np.isfinite(low) | ~np.isfinite(high)):
        wilson = share_interval(min(round(float(value[i]) * n), n), n=n, level=level)
        low[i], high[i] = wilson.low, max(wilson.high, value[i])
    return Curve(steps, value, low, high, n, method, level)


def _no_steps(*, n: int, method: str, level: float) -> Curve:
    return Curve(np.empty(0), np.empty(0), np.empty(0), np.empty(0), n, method, level)


def _times(days: npt.ArrayLike, *, shape: tuple[int, ...]) -> Vector:
    times = finite_vector(days, name="days")
    if shape != times.shape or np.any(times < 0.0):
        raise ValueError(
            f"days: {len(times)} days from {float(times.min())} with marks of shape {shape}; "
            "expected one mark per day, and days from 0."
        )
    return times
