"""Two designs with the same fish: differences, ratios, and which is better."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.statistics import (
    LEAST_NONZERO,
    Estimate,
    Rare,
    bootstrap_limits,
    finite_vector,
    mean_interval,
    normal_quantile,
)


@dataclass(frozen=True, slots=True)
class Tally:
    """Pairs in which the first design was better, alike and worse than the second."""

    better: int
    same: int
    worse: int


def paired_share_difference(
    a: npt.ArrayLike, *, b: npt.ArrayLike, draw: npt.ArrayLike | None = None, level: float = 0.95
) -> Estimate:
    """Return the difference of two shares over pairs of runs, with Tango's score interval.

    Only pairs in which it happened in one design alone speak of the difference; see
    `tango_interval`.  Pairs that share a draw of fish are not independent: with `draw`, all
    counts are divided by the design effect, the variance of the mean difference over draws as
    against over pairs (at least 1; pairs per draw when no two pairs differ).

    Parameters
    ----------
    a, b
        Whether it happened in each run of the first and of the second design, the same fish and
        luck in the same place, shape (n_pairs,).
    draw
        Number of the draw of fish of each pair, shape (n_pairs,); every pair its own if left out.
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Estimate
        Share in `a` less share in `b`, -1 to 1.

    Raises
    ------
    ValueError
        If the shapes differ or there is no pair.

    References
    ----------
    Tango1998
    """
    first, second = np.asarray(a, dtype=bool), np.asarray(b, dtype=bool)
    if first.ndim != 1 or first.shape != second.shape or len(first) == 0:
        raise ValueError(
            f"paired_share_difference: shapes {first.shape} and {second.shape}; "
            "expected the same number of runs of both, one or more."
        )
    effect = 1.0 if draw is None else _design_effect(first, second, np.asarray(draw))
    found = tango_interval(
        int(np.sum(first & ~second)) / effect,
        only_b=int(np.sum(second & ~first)) / effect,
        n=len(first) / effect,
        level=level,
    )
    method = "Tango" if draw is None else "Tango, clustered by draw"
    return Estimate(found.value, found.low, found.high, len(first), method)


def tango_interval(only_a: float, *, only_b: float, n: float, level: float = 0.95) -> Estimate:
    """Return the score interval for a difference of paired shares, from the discordant counts.

    The limits are the d at which |Z| = z, with Z(d) = (b - c - n d) / sqrt(n (2 q + d (1 - d)))
    and q the likeliest share of "only the second" given d: the greater root of
    2 n q^2 + (-(b + c) + (2 n - b + c) d) q - c d (1 - d) = 0, for b = only_a, c = only_b.

    Parameters
    ----------
    only_a, only_b
        Pairs in which it happened in the first, in the second design only; may be fractions.
    n
        Pairs in all.
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Estimate
        (only_a - only_b) / n, -1 to 1.

    Raises
    ------
    ValueError
        If the counts are not those of a paired table.

    References
    ----------
    Tango1998
    """
    if not (n > 0 and only_a >= 0 and only_b >= 0 and only_a + only_b <= n * (1.0 + 1e-12)):
        raise ValueError(
            f"tango_interval: {only_a} and {only_b} of {n} pairs; "
            "expected counts that together are at most the pairs."
        )
    z = normal_quantile(level)
    from scipy.optimize import brentq

    value = (only_a - only_b) / n

    def beyond(d: float) -> float:
        return abs(tango_score(only_a, only_b=only_b, n=n, difference=d)) - z

    def limit(end: float) -> float:
        # Z runs from 0 at the value without bound towards the end, unless the value is the end.
        if value == end or beyond(end) <= 0.0:
            return end
        return float(brentq(beyond, value, end, xtol=1e-12))

    return Estimate(value, limit(-1.0), limit(1.0), round(n), "Tango")


def tango_score(only_a: float, *, only_b: float, n: float, difference: float) -> float:
    """Return the score statistic Z of `tango_interval` for a stated difference.

    At a difference of zero it is McNemar's (b - c) / sqrt(b + c).

    Parameters
    ----------
    only_a, only_b, n
        As in `tango_interval`.
    difference
        The difference under test, -1 to 1.

    Returns
    -------
    float
        Z, standard normal if the difference is true; infinite where its variance vanishes.

    References
    ----------
    Tango1998
    """
    d = difference
    linear = -(only_a + only_b) + (2.0 * n - only_a + only_b) * d
    root = math.sqrt(max(linear * linear + 8.0 * n * only_b * d * (1.0 - d), 0.0))
    q = (root - linear) / (4.0 * n)
    variance = n * (2.0 * q + d * (1.0 - d))
    distance = only_a - only_b - n * d
    if abs(distance) <= 1e-12 * n:
        return 0.0
    return distance / math.sqrt(variance) if variance > 0.0 else math.copysign(math.inf, distance)


def paired_mean_difference(
    a: npt.ArrayLike, *, b: npt.ArrayLike, level: float = 0.95
) -> Estimate | Rare:
    """Return the mean of the differences between paired runs, as `mean_interval` does.

    Parameters
    ----------
    a, b
        An outcome in both designs with the same fish, shape (n_pairs,).
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Estimate or Rare
        Mean of a - b in the outcome's unit; `Rare`, the share of pairs that differ and their
        median difference, if fewer than 20 pairs differ.

    Raises
    ------
    ValueError
        If the shapes differ, there is no pair, or a value is not finite.

    References
    ----------
    Efron1987
    """
    first, second = _pair(a, b)
    return mean_interval(first - second, level=level)


def ratio_interval(a: npt.ArrayLike, *, b: npt.ArrayLike, level: float = 0.95) -> Estimate | None:
    """Return the ratio of two paired means, with a bootstrap over pairs on its logarithm.

    Parameters
    ----------
    a, b
        An outcome of at least zero in both designs with the same fish, shape (n_pairs,).
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Estimate or None
        mean(a) / mean(b), no unit; None if fewer than 20 runs of either design are above zero,
        because the ratio cannot be bounded then.

    Raises
    ------
    ValueError
        If the shapes differ, there is no pair, or a value is negative or not finite.

    References
    ----------
    Efron1987
    """
    first, second = _pair(a, b)
    if np.any(first < 0.0) or np.any(second < 0.0):
        raise ValueError("ratio_interval: there is a negative amount; expected zero or more.")
    if min(np.count_nonzero(first), np.count_nonzero(second)) < LEAST_NONZERO:
        return None
    ratio = float(np.mean(first) / np.mean(second))
    method = "paired bootstrap of the log ratio, bias-corrected and accelerated"
    # Exactly proportional runs leave nothing to resample.
    if np.ptp(first - ratio * second) <= 1e-12 * float(np.max(first)):
        return Estimate(ratio, ratio, ratio, len(first), method)
    low, high = bootstrap_limits((first, second), statistic="log ratio", level=level)
    return Estimate(ratio, math.exp(low), math.exp(high), len(first), method)


def better_same_worse(
    a: npt.ArrayLike, *, b: npt.ArrayLike, tolerance: float | npt.ArrayLike = 0.0
) -> Tally:
    """Count the pairs in which the first design did better, no differently and worse.

    Less is better.  With several criteria the first in which a pair differs by more than its
    tolerance decides.

    Parameters
    ----------
    a, b
        The criterion in both designs with the same fish, shape (n_pairs,), or several in order of
        weight, shape (n_pairs, n_criteria).
    tolerance
        Differences up to this count as none, in the unit of the criterion: one number or shape
        (n_criteria,).

    Returns
    -------
    Tally
        Pairs better, same and worse for `a`.

    Raises
    ------
    ValueError
        If the shapes differ or a value is missing.
    """
    verdict = judged_pairs(a, b=b, tolerance=tolerance)
    return Tally(
        better=int(np.sum(verdict < 0)),
        same=int(np.sum(verdict == 0)),
        worse=int(np.sum(verdict > 0)),
    )


def judged_pairs(
    a: npt.ArrayLike, *, b: npt.ArrayLike, tolerance: float | npt.ArrayLike = 0.0
) -> npt.NDArray[np.int8]:
    """Return of each pair whether the first design did better, no differently or worse.

    Parameters
    ----------
    a, b, tolerance
        As `better_same_worse`, which counts them.

    Returns
    -------
    ndarray
        -1 better, 0 the same, 1 worse for `a`, shape (n_pairs,).

    Raises
    ------
    ValueError
        If the shapes differ or a value is missing.
    """
    first, second = np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64)
    if first.shape != second.shape or first.ndim not in (1, 2):
        raise ValueError(
            f"better_same_worse: shapes {first.shape} and {second.shape}; "
            "expected the same pairs, or pairs by criteria, of both."
        )
    if np.any(np.isnan(first)) or np.any(np.isnan(second)):
        raise ValueError("better_same_worse: a criterion is missing; expected a number each.")
    first, second = first.reshape(len(first), -1), second.reshape(len(second), -1)
    allowed = np.broadcast_to(np.asarray(tolerance, dtype=np.float64), (first.shape[1],))
    verdict = np.zeros(len(first))
    for x, y, slack in zip(first.T, second.T, allowed, strict=True):
        gap = x - y
        here = np.where(np.abs(gap) > slack, np.sign(gap), 0.0)
        verdict = np.where(verdict == 0.0, here, verdict)
    return verdict.astype(np.int8)


def beta_binomial_evalue(k: int, *, d: int) -> float:
    """Return the evidence against "either design is as often the better", safe to look at often.

    E = B(k + 2, d - k + 2) / B(2, 2) * 2^d, B = the beta function.  If there is no difference,
    the chance that E ever goes above 1 / x is at most x, however often one looks: stop at E > 20.

    Parameters
    ----------
    k
        Pairs in which the first design was better.  One pair per draw of fish, else they are not
        independent.
    d
        Pairs that differ.

    Returns
    -------
    float
        E, no unit, 1 when nothing was seen; infinite past the largest float.

    Raises
    ------
    ValueError
        If k is not between 0 and d.

    References
    ----------
    Ville1939
    """
    if not 0 <= k <= d:
        raise ValueError(f"beta_binomial_evalue: k is {k} of {d}; expected 0 to {d}.")
    log_e = (
        math.lgamma(k + 2) + math.lgamma(d - k + 2) - math.lgamma(d + 4)
        + math.log(6.0) + d * math.log(2.0)
    )  # fmt: skip
    return math.exp(log_e) if log_e < 709.0 else math.inf


def _design_effect(
    a: npt.NDArray[np.bool_], b: npt.NDArray[np.bool_], draw: npt.NDArray[np.generic]
) -> float:
    if draw.shape != a.shape:
        raise ValueError(
            f"paired_share_difference: {len(a)} pairs with draws of shape {draw.shape}; "
            "expected one label per pair."
        )
    number = np.unique(draw, return_inverse=True)[1]
    draws, pairs = int(number.max()) + 1, len(a)
    gap = a.astype(np.float64) - b.astype(np.float64)
    apart = gap - gap.mean()
    by_pair = float(np.sum(apart**2))
    if draws < 2 or by_pair == 0.0:
        return pairs / draws
    by_draw = float(np.sum(np.bincount(number, weights=apart) ** 2)) * draws / (draws - 1)
    return max(by_draw / by_pair * (pairs - 1) / pairs, 1.0)


def _pair(
    a: npt.ArrayLike, b: npt.ArrayLike
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    first, second = finite_vector(a, name="a"), finite_vector(b, name="b")
    if first.shape != second.shape:
        raise ValueError(
            f"pairs: {len(first)} runs against {len(second)}; expected the same number of both."
        )
    return first, second
