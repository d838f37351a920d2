"""How sure: shares, means and their intervals over runs.

Everything here speaks of one design; pairs of designs are in `paired`, times in `survival`, where
the spread comes from in `spread`.  What is given as independent observations must be that: two
lucks with the same draw of fish are not, so give such runs by draw (`clustered_share_interval`,
means by draw).  scipy is imported inside the functions, as it costs half a second at the start.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

# Below so many runs in which the thing happened at all, a bootstrap of the mean covers too little:
# with 5 of 100 it held the truth 83 times in 100 instead of 95.
LEAST_NONZERO = 20
_RESAMPLES = 4999
_BOOTSTRAP_SEED = 20_011
_BATCH_NUMBERS = 2_000_000


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value, the interval around it, how many independent observations, and by what method."""

    value: float
    low: float
    high: float
    n: int
    method: str


@dataclass(frozen=True, slots=True)
class Rare:
    """What is said instead of a mean when the thing happened too seldom to bound one.

    `share` is the share of observations that are not zero, `median` the median of those (nan when
    there are none).
    """

    share: Estimate
    median: float
    nonzero: int


@dataclass(frozen=True, slots=True)
class Zero:
    """Numbers for the sentence "in none of `n`; up to `up_to` in `out_of` would not surprise"."""

    n: int
    up_to: int
    out_of: int


def normal_quantile(level: float) -> float:
    """Return z such that a standard normal number lies in -z..z with chance `level`."""
    if not 0.0 < level < 1.0:
        raise ValueError(f"level: it is {level}; expected a number between 0 and 1, such as 0.95.")
    return NormalDist().inv_cdf(0.5 + level / 2.0)


def share_interval(count: int, *, n: int, level: float = 0.95) -> Estimate:
    """Return a share of runs with Wilson's interval.

    The limits are the p for which |count / n - p| = z sqrt(p (1 - p) / n).

    Parameters
    ----------
    count
        Runs in which it happened.
    n
        Runs in all, at least one.
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Estimate
        Share, 0 to 1.

    Raises
    ------
    ValueError
        If there is no run, or more happenings than runs.

    References
    ----------
    Wilson1927
    """
    _check_count(count, n=n)
    normal_quantile(level)
    from scipy.stats import binomtest

    limits = binomtest(count, n).proportion_ci(confidence_level=level, method="wilson")
    return Estimate(count / n, float(limits.low), float(limits.high), n, "Wilson")


def zero_of_n(n: int, *, level: float = 0.95) -> Zero:
    """Return what may still be true when it happened in none of `n` runs.

    Parameters
    ----------
    n
        Runs, at least one.
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Zero
        Wilson's upper limit to the nearest whole number of 100, or of 1,000 or 10,000 where it
        is less than one in 100 or one in 1,000.

    Raises
    ------
    ValueError
        If there is no run.

    References
    ----------
    Wilson1927
    """
    high = share_interval(0, n=n, level=level).high
    out_of = 100
    while high * out_of < 1.0:
        out_of *= 10
    return Zero(n=n, up_to=round(high * out_of), out_of=out_of)


def mean_interval(values: npt.ArrayLike, *, level: float = 0.95) -> Estimate | Rare:
    """Return a mean with a bootstrap interval, or the refusal to give one.

    Bias-corrected and accelerated bootstrap over runs with a fixed seed, so that the same runs
    always give the same interval.

    Parameters
    ----------
    values
        One number per run, shape (n_runs,).
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Estimate or Rare
        The mean in the unit of `values`; `Rare` if fewer than 20 of them are not zero.

    Raises
    ------
    ValueError
        If there is no value, or one that is not finite.

    References
    ----------
    Efron1987
    """
    numbers = finite_vector(values, name="values")
    nonzero = numbers[numbers != 0.0]
    if len(nonzero) < LEAST_NONZERO:
        median = float(np.median(nonzero)) if len(nonzero) else math.nan
        share = share_interval(len(nonzero), n=len(numbers), level=level)
        return Rare(share=share, median=median, nonzero=len(nonzero))
    mean = float(np.mean(numbers))
    method = "bootstrap, bias-corrected and accelerated"
    if np.ptp(numbers) == 0.0:
        return Estimate(mean, mean, mean, len(numbers), method)
    low, high = bootstrap_limits((numbers,), statistic="mean", level=level)
    return Estimate(mean, low, high, len(numbers), method)


def clustered_share_interval(
    counts: npt.ArrayLike, *, sizes: npt.ArrayLike, level: float = 0.95
) -> Estimate:
    """Return a share of fish, with an interval that counts runs, not fish, as independent.

    p = sum y / sum m over R runs with y of m fish; its variance by linearisation,
    R / (R - 1) * sum (y - p m)^2 / (sum m)^2, gives the number of independent fish that would be
    as good, p (1 - p) / variance (at most the fish there were); Wilson's interval is taken for
    that number with Student's t for R - 1 instead of z.  When no fish or every fish is
    counted, the variance says nothing and the number of runs is used.  In the same way it
    serves for a share of runs by draw of fish.

    Parameters
    ----------
    counts
        Fish it happened to in each run, shape (n_runs,), at least two runs.
    sizes
        Fish in each run, shape (n_runs,).
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Estimate
        Share of fish, 0 to 1; `n` is the number of runs.

    Raises
    ------
    ValueError
        If shapes differ, there are fewer than two runs, or a run counts more fish than it has.

    References
    ----------
    Korn1998, Wilson1927
    """
    y, m = finite_vector(counts, name="counts"), finite_vector(sizes, name="sizes")
    if y.shape != m.shape or len(y) < 2:
        raise ValueError(
            f"clustered_share_interval: {len(y)} counts and {len(m)} sizes; "
            "expected one of each for every run, and two runs or more."
        )
    if np.any(y < 0.0) or np.any(y > m) or m.sum() == 0.0:
        raise ValueError(
            "clustered_share_interval: a run counts more fish than it has, or there are none; "
            "expected 0 to the size of the run."
        )
    normal_quantile(level)
    from scipy.special import stdtrit

    runs, fish = len(y), float(m.sum())
    p = float(y.sum()) / fish
    variance = runs / (runs - 1) * float(np.sum((y - p * m) ** 2)) / fish**2
    if p in (0.0, 1.0):
        worth = float(runs)
    elif variance > 0.0:
        worth = min(p * (1.0 - p) / variance, fish)
    else:
        worth = fish
    low, high = _wilson(p, n=worth, z=float(stdtrit(runs - 1, 0.5 + level / 2.0)))
    return Estimate(p, low, high, runs, "Wilson, clustered by run")


def most_at_risk(
    happened: npt.ArrayLike, *, draw: npt.ArrayLike | None = None, level: float = 0.95
) -> tuple[int, Estimate]:
    """Return the fish it happened to most often, and its share in runs that did not choose it.

    The greatest of several shares is too great by selection, so one half of the runs picks the
    fish and the other half says how often. Where luck has it that the other half says more than
    all runs together, which are too great already, these say it: so it is never more often than
    it happened to any fish.

    Parameters
    ----------
    happened
        Whether it happened to each fish in each run, shape (n_runs, n_fish).
    draw
        Number of the draw of fish of each run, shape (n_runs,): runs of one draw stay in one
        half.  Every run is its own draw if left out.
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    int, Estimate
        Index of the fish, and its share in the other half of the runs, or in all if that is
        less, clustered by draw.

    Raises
    ------
    ValueError
        If there are no fish, or fewer than four draws.

    References
    ----------
    Wilson1927
    """
    table = np.asarray(happened, dtype=bool)
    if table.ndim != 2 or table.shape[1] == 0:
        raise ValueError(
            f"most_at_risk: the shape is {table.shape}; expected runs by fish, one fish or more."
        )
    labels = np.arange(len(table)) if draw is None else np.asarray(draw)
    number = np.unique(labels, return_inverse=True)[1]
    if labels.shape != (len(table),) or len(set(number.tolist())) < 4:
        raise ValueError(
            f"most_at_risk: {len(table)} runs with draws of shape {labels.shape}; "
            "expected one label per run and four draws or more."
        )
    chooses = number % 2 == 0
    fish = int(np.argmax(table[chooses].sum(axis=0)))
    counts = np.bincount(number, weights=table[:, fish])
    sizes = np.bincount(number)
    other = clustered_share_interval(counts[1::2], sizes=sizes[1::2], level=level)
    every = clustered_share_interval(counts, sizes=sizes, level=level)
    return fish, other if other.value <= every.value else every


def bootstrap_limits(
    samples: tuple[npt.NDArray[np.float64], ...], *, statistic: str, level: float
) -> tuple[float, float]:
    """Return the limits of a bias-corrected and accelerated bootstrap with a fixed seed.

    Parameters
    ----------
    samples
        One vector, or two paired ones, each of shape (n,).
    statistic
        "mean" of one vector, or "log ratio": ln of the mean of the first over that of the second.
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    float, float
        Lower and upper limit, in the unit of the statistic.

    References
    ----------
    Efron1987
    """
    normal_quantile(level)
    from scipy.stats import bootstrap

    def mean(a: npt.NDArray[np.float64], axis: int) -> npt.NDArray[np.float64]:
        return np.asarray(np.mean(a, axis=axis))

    def log_ratio(
        a: npt.NDArray[np.float64], b: npt.NDArray[np.float64], axis: int
    ) -> npt.NDArray[np.float64]:
        return np.asarray(np.log(np.mean(a, axis=axis)) - np.log(np.mean(b, axis=axis)))

    found = bootstrap(
        samples,
        mean if statistic == "mean" else log_ratio,
        paired=len(samples) > 1,
        n_resamples=_RESAMPLES,
        batch=max(1, _BATCH_NUMBERS // len(samples[0])),
        vectorized=True,
        confidence_level=level,
        method="BCa",
        rng=np.random.default_rng(_BOOTSTRAP_SEED),
    )
    return float(found.confidence_interval.low), float(found.confidence_interval.high)


def finite_vector(values: npt.ArrayLike, *, name: str) -> npt.NDArray[np.float64]:
    """Return `values` as a vector of finite numbers, shape (n,), or raise ValueError."""
    numbers = np.asarray(values, dtype=np.float64)
    if numbers.ndim != 1 or len(numbers) == 0 or not np.all(np.isfinite(numbers)):
        raise ValueError(
            f"{name}: the shape is {numbers.shape}; expected one or more finite numbers in a row."
        )
    return numbers


def _check_count(count: int, *, n: int) -> None:
    if n < 1 or not 0 <= count <= n:
        raise ValueError(f"share: {count} of {n}; expected 0 to n of one run or more.")


def _wilson(p: float, *, n: float, z: float) -> tuple[float, float]:
    """Return Wilson's limits for a number of observations that need not be whole."""
    centre = (p + z * z / (2.0 * n)) / (1.0 + z * z / n)
    half = z / (1.0 + z * z / n) * math.sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n))
    low = 0.0 if p == 0.0 else max(centre - half, 0.0)
    high = 1.0 if p == 1.0 else min(centre + half, 1.0)
    return low, high
