"""Where the spread between runs comes from, and what pairing them buys."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.statistics import Estimate, finite_vector, normal_quantile


@dataclass(frozen=True, slots=True)
class VarianceSplit:
    """How much of the spread comes from which fish one gets, and how much from luck.

    Variances in the square of the outcome's unit. `share` is fish / (fish + luck); `clipped` says
    that the fish's part came out below zero and was put at zero.
    """

    fish_variance: float
    luck_variance: float
    share: Estimate
    clipped: bool


def variance_split(values: npt.ArrayLike, *, level: float = 0.95) -> VarianceSplit:
    """Split the spread between runs into which fish one gets and luck on the day.

    One-way random-effects analysis of variance of D draws of fish with L lucks each:
    luck = MSW, fish = (MSB - MSW) / L, put at zero if below; share = fish / (fish + luck).  The
    interval of the share is the exact one for normal numbers, from F = MSB / MSW:
    (F / F_q - 1) / (F / F_q + L - 1) at the two quantiles of F(D - 1, D (L - 1)), clipped to 0..1.

    Parameters
    ----------
    values
        An outcome by draw of fish and luck, shape (n_draws, n_lucks), at least 2 by 2.
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    VarianceSplit
        Variances in the outcome's unit squared, and the share (nan if nothing varies).

    Raises
    ------
    ValueError
        If there are fewer than two draws or two lucks, or a value is not finite.

    References
    ----------
    Searle1992
    """
    table = np.asarray(values, dtype=np.float64)
    if table.ndim != 2 or min(table.shape) < 2 or not np.all(np.isfinite(table)):
        raise ValueError(
            f"variance_split: the shape is {table.shape}; expected finite values, "
            "two draws of fish or more by two lucks or more."
        )
    normal_quantile(level)
    from scipy.special import fdtri

    draws, lucks = table.shape
    means = table.mean(axis=1)
    between: float = lucks * float(np.sum((means - table.mean()) ** 2)) / (draws - 1)
    within: float = float(np.sum((table - means[:, None]) ** 2)) / (draws * (lucks - 1))
    raw = (between - within) / lucks
    fish = max(raw, 0.0)

    def limit(chance: float) -> float:
        quantile = float(fdtri(draws - 1, draws * (lucks - 1), chance))
        spread = within * quantile
        return max(float((between - spread) / (between + (lucks - 1) * spread)), 0.0)

    if fish + within == 0.0:
        share = Estimate(math.nan, math.nan, math.nan, draws, "nothing varies")
    else:
        share = Estimate(
            value=fish / (fish + within),
            low=limit(0.5 + level / 2.0),
            high=limit(0.5 - level / 2.0),
            n=draws,
            method="one-way random effects, F",
        )
    return VarianceSplit(
        fish_variance=fish, luck_variance=within, share=share, clipped=bool(raw < 0.0)
    )


@dataclass(frozen=True, slots=True)
class NestedSplit:
    """How much of the spread comes from unmeasured numbers, from the fish, and from luck.

    Shares of the whole variance, which add up to 1; nan where nothing varies.
    """

    unmeasured: float
    fish: float
    luck: float


def nested_split(values: npt.ArrayLike) -> NestedSplit:
    """Split the spread between runs into unmeasured numbers, which fish one gets, and luck.

    Nested random-effects analysis of variance of S sets of numbers, each with D draws of fish of
    L lucks: luck = MSL, fish = (MSD - MSL) / L, unmeasured = (MSS - MSD) / (D L), each put at zero
    if below.

    Parameters
    ----------
    values
        An outcome by set, draw of fish and luck, shape (n_sets, n_draws, n_lucks), each at least 2.

    Returns
    -------
    NestedSplit
        The three shares, no unit.

    Raises
    ------
    ValueError
        If there are fewer than two of any, or a value is not finite.

    References
    ----------
    Searle1992
    """
    table = np.asarray(values, dtype=np.float64)
    if table.ndim != 3 or min(table.shape) < 2 or not np.all(np.isfinite(table)):
        raise ValueError(
            f"nested_split: the shape is {table.shape}; expected finite values, two sets or more "
            "by two draws of fish or more by two lucks or more."
        )
    sets, draws, lucks = table.shape
    of_draw = table.mean(axis=2)
    of_set = of_draw.mean(axis=1)
    luck = float(np.sum((table - of_draw[:, :, None]) ** 2)) / (sets * draws * (lucks - 1))
    between_draws = lucks * float(np.sum((of_draw - of_set[:, None]) ** 2)) / (sets * (draws - 1))
    between_sets = draws * lucks * float(np.sum((of_set - of_set.mean()) ** 2)) / (sets - 1)
    fish = max((between_draws - luck) / lucks, 0.0)
    unmeasured = max((between_sets - between_draws) / (draws * lucks), 0.0)
    whole = unmeasured + fish + luck
    if whole == 0.0:
        return NestedSplit(math.nan, math.nan, math.nan)
    return NestedSplit(unmeasured / whole, fish / whole, luck / whole)


def variance_gain(a: npt.ArrayLike, *, b: npt.ArrayLike) -> float:
    """Return how much smaller pairing makes the variance of a difference.

    Var(a - b) / (Var(a) + Var(b)): 1 if pairing buys nothing, 0.25 if it is worth four times the
    runs, above 1 if it harms.

    Parameters
    ----------
    a, b
        An outcome in both designs with the same fish, shape (n_pairs,), at least two pairs.

    Returns
    -------
    float
        The ratio, no unit; nan if nothing varies.

    Raises
    ------
    ValueError
        If the shapes differ, there are fewer than two pairs, or a value is not finite.
    """
    first, second = finite_vector(a, name="a"), finite_vector(b, name="b")
    if first.shape != second.shape or len(first) < 2:
        raise ValueError(
            f"variance_gain: {len(first)} against {len(second)} runs; "
            "expected the same number of both, two or more."
        )
    apart = float(np.var(first, ddof=1) + np.var(second, ddof=1))
    return float(np.var(first - second, ddof=1)) / apart if apart > 0.0 else math.nan
