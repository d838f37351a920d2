"""Figures: one measured outcome of one batch, with how sure it is.

Two runs share each draw of fish, so the draws, not the runs, are what is independent. Everything
here takes the runs of a draw together first.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from sim.statistics import (
    LEAST_NONZERO,
    Estimate,
    Rare,
    Zero,
    clustered_share_interval,
    mean_interval,
    share_interval,
)

Vector = npt.NDArray[np.float64]

# Past so many draws the bootstrap goes over means of equal lots of draws: the variance of the
# mean is the same, and the time no longer grows.
MOST_LOTS = 500
TOO_FEW = "too few draws of fish to say"
TOO_RARE = "too rare for an interval of the mean"


@dataclass(frozen=True, slots=True)
class Measure:
    """What can be measured of a run.

    Parameters
    ----------
    name
        As in `sim.outcome.RUN_ROW`.
    unit
        Of the value.
    kind
        "share" of runs, or "mean" over runs.
    good
        "less" or "more" where that is the better for the fish, "" where it is neither.
    text
        What it is, in a few words.
    """

    name: str
    unit: str
    kind: Literal["share", "mean"]
    good: Literal["less", "more", ""]
    text: str


MEASURES: dict[str, Measure] = {
    m.name: m
    for m in (
        Measure("serious", "share of runs", "share", "less", "runs with a serious injury"),
        Measure("death", "share of runs", "share", "less", "runs with a death"),
        Measure("any_eaten", "share of runs", "share", "less", "runs with a fish swallowed"),
        Measure(
            "any_lost_settling", "share of runs", "share", "less", "runs that lost a fish settling"
        ),
        Measure("lost_settling", "fish", "mean", "less", "fish dead before day 0, in settling"),
        Measure("mate_hurt", "share of runs", "share", "less", "runs with a mate seriously hurt"),
        Measure("separated", "share of runs", "share", "less", "runs with a fish moved out"),
        Measure("moved_out", "fish", "mean", "less", "fish moved out"),
        Measure("places_needed", "places", "mean", "less", "spare places wanted at once"),
        Measure("places_short", "share of runs", "share", "less", "runs with too few places"),
        Measure("hurt_fish", "fish", "mean", "less", "fish seriously hurt"),
        Measure("deaths", "fish", "mean", "less", "fish dead"),
        Measure("eaten", "fish", "mean", "less", "fish swallowed"),
        Measure("dose", "injury", "mean", "less", "injury received, summed over the fish"),
        Measure("worst_injury", "injury", "mean", "less", "greatest injury carried by a fish"),
        Measure("chases_per_h", "1/h", "mean", "less", "chases per waking hour"),
        Measure("bites_per_h", "1/h", "mean", "less", "bites per waking hour"),
        Measure("attacks_per_h", "1/h", "mean", "less", "attacks per waking hour"),
        Measure("contests", "per run", "mean", "less", "contests"),
        Measure("hidden_h_per_day", "h/day", "mean", "less", "hours hidden, mean over the fish"),
        Measure("corner_h_per_day", "h/day", "mean", "less", "hours in a top corner, mean"),
        Measure("least_food_share", "share of need", "mean", "more", "eaten by who ate least"),
        Measure("food_spread", "sd/mean", "mean", "less", "spread of food between the fish"),
        Measure("food_attacks_per_meal", "per meal", "mean", "less", "attacks over food"),
        Measure("held_share", "share of floor", "mean", "less", "floor held as territory"),
        Measure("open_share", "share of floor", "mean", "more", "floor that nobody holds"),
        Measure("pair_chase_share", "share of chases", "mean", "", "chases by the breeding pair"),
        Measure("pair_near_share", "share of chases", "mean", "", "of those seen, near the brood"),
        Measure("paired", "share of runs", "share", "", "runs in which a pair forms"),
        Measure("pair_day", "d", "mean", "", "day of the first pair, where one forms"),
        Measure("pairs_broken", "per run", "mean", "", "pairs that broke"),
        Measure("spawnings", "per run", "mean", "", "spawnings"),
        Measure("spawn_day", "d", "mean", "", "day of the first spawning, where there is one"),
        Measure("raised_broods", "per run", "mean", "", "broods raised"),
        Measure("eaten_broods", "per run", "mean", "", "broods eaten by tankmates"),
        Measure("lost_broods", "per run", "mean", "", "broods lost otherwise"),
        Measure("taken_broods", "per run", "mean", "", "broods taken by the keeper"),
        Measure("fry_raised", "young", "mean", "", "young that became independent"),
        Measure("mate_by_mate", "share of runs", "share", "less", "a mate hurt by its own mate"),
        Measure("mate_chase_share", "share of chases", "mean", "less", "chases of a mate"),
        Measure("guarded_m2", "m2", "mean", "", "territory of a pair while it has young"),
        Measure("uprooted", "plants", "mean", "", "plants uprooted near a pit"),
        Measure("farthest_m", "m", "mean", "", "farthest swim from the largest holder's site"),
        Measure("glass_cut_share", "share of disc", "mean", "", "its reach cut off by the glass"),
    )
}
# What happens to the fish, and so has a sense for some of the fish alone.
OF_FISH = (
    "serious",
    "death",
    "hurt_fish",
    "deaths",
    "dose",
    "worst_injury",
    "hidden_h_per_day",
    "corner_h_per_day",
)
FOOD_MEASURES = ("least_food_share", "food_spread", "food_attacks_per_meal")
MOUTH_MEASURES = ("any_eaten", "eaten")
SETTLING_MEASURES = ("any_lost_settling", "lost_settling")  # of a tank that settles first
FISH_FOOD_MEASURES = ("food_share", "condition")
GROWTH_MEASURES = ("length_m",)
BREEDING_MEASURES = ("mate_hurt", "pair_chase_share", "pair_near_share")
KEEPER_MEASURES = ("separated", "moved_out", "places_needed", "places_short")
# What has a sense only where pairs form of themselves.
PAIRING_MEASURES = (
    "paired",
    "pair_day",
    "pairs_broken",
    "spawnings",
    "spawn_day",
    "raised_broods",
    "eaten_broods",
    "lost_broods",
    "taken_broods",
    "fry_raised",
    "mate_by_mate",
    "mate_chase_share",
    "guarded_m2",
    "uprooted",
)


def unasked(*modes: str) -> tuple[str, ...]:
    """Return the measures that say nothing of tanks with these breeding modes."""
    skip: tuple[str, ...] = ()
    if "off" in modes:
        skip += BREEDING_MEASURES
    if any(mode != "spontaneous" for mode in modes):
        skip += PAIRING_MEASURES
    return skip


FISH_MEASURES: dict[str, Measure] = {
    m.name: m
    for m in (
        Measure("serious", "share of runs", "share", "less", "seriously hurt"),
        Measure("death", "share of runs", "share", "less", "dead"),
        Measure("moved_out", "share of runs", "share", "less", "moved out"),
        Measure("eaten", "share of runs", "share", "less", "swallowed"),
        Measure("lost_settling", "share of runs", "share", "less", "dead before day 0"),
        Measure("dose", "injury", "mean", "less", "injury received"),
        Measure("chases_taken_per_h", "1/h", "mean", "less", "chases taken per waking hour"),
        Measure("chases_given_per_h", "1/h", "mean", "", "chases given per waking hour"),
        Measure("bites_taken_per_h", "1/h", "mean", "less", "bites taken per waking hour"),
        Measure("bites_given_per_h", "1/h", "mean", "", "bites given per waking hour"),
        Measure("hidden_h_per_day", "h/day", "mean", "less", "hours hidden"),
        Measure("corner_h_per_day", "h/day", "mean", "less", "hours in a top corner"),
        Measure("food_share", "share of need", "mean", "more", "food eaten, of what it needs"),
        Measure("condition", "share of need", "mean", "more", "condition at the end"),
        Measure("length_m", "m", "mean", "", "length at the end"),
        Measure("territory_m2", "m2", "mean", "", "territory at the end"),
    )
}


@dataclass(frozen=True, slots=True)
class Figure:
    """One measure of one batch, and how sure it is.

    Parameters
    ----------
    measure
        What was measured.
    estimate
        Value and 95 % interval; `n` is the number of draws of fish. Where no interval can be
        given the limits are nan and `method` says why.
    rare
        In how many draws it happened at all, and the median of those, where it happened too
        seldom to bound its mean; else None.
    zero
        What may still be true, where it happened in no run; else None. Shares only.
    """

    measure: Measure
    estimate: Estimate
    rare: Rare | None = None
    zero: Zero | None = None

    @property
    def name(self) -> str:
        """Name of the measure."""
        return self.measure.name

    @property
    def unit(self) -> str:
        """Unit of the value."""
        return self.measure.unit

    @property
    def bounded(self) -> bool:
        """Whether there is an interval."""
        return bool(math.isfinite(self.estimate.low) and math.isfinite(self.estimate.high))


def figure_of(
    measure: Measure, values: npt.ArrayLike, *, draw: npt.ArrayLike, level: float = 0.95
) -> Figure | None:
    """Return the figure of a measure over runs.

    Parameters
    ----------
    measure
        What was measured.
    values
        Of each run, shape (n_runs,); runs in which it has no value are nan and left out.
    draw
        Draw of fish of each run, shape (n_runs,).
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Figure or None
        None where no run has a value.
    """
    numbers, labels = np.asarray(values, dtype=np.float64), np.asarray(draw)
    there = np.isfinite(numbers)
    if not there.any():
        return None
    numbers, labels = numbers[there], labels[there]
    if measure.kind == "mean":
        estimate, rare = mean_of_draws(by_draw(numbers, draw=labels), level=level, least=0.0)
        if measure.unit.startswith("share"):
            estimate = replace(estimate, high=min(estimate.high, 1.0))
        return Figure(measure, estimate, rare=rare)
    estimate = share_of_runs(numbers, draw=labels, level=level)
    zero = upper_bound(estimate, runs=len(numbers)) if not numbers.any() else None
    return Figure(measure, estimate, zero=zero)


def by_draw(values: npt.ArrayLike, *, draw: npt.ArrayLike) -> Vector:
    """Return the mean over the runs of each draw, in rising order of draws, shape (n_draws,)."""
    number = np.unique(np.asarray(draw), return_inverse=True)[1]
    total = np.bincount(number, weights=np.asarray(values, dtype=np.float64))
    return np.asarray(total / np.bincount(number), dtype=np.float64)


def share_of_runs(happened: npt.ArrayLike, *, draw: npt.ArrayLike, level: float = 0.95) -> Estimate:
    """Return the share of runs in which it happened, clustered by draw of fish.

    Parameters
    ----------
    happened
        Of each run, shape (n_runs,).
    draw
        Draw of fish of each run, shape (n_runs,).
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Estimate
        Share, 0 to 1; `n` is the number of draws.
    """
    return ratio_of_counts(happened, of=np.ones(len(np.asarray(happened))), draw=draw, level=level)


def ratio_of_counts(
    counts: npt.ArrayLike, *, of: npt.ArrayLike, draw: npt.ArrayLike, level: float = 0.95
) -> Estimate:
    """Return a share of all that was counted, clustered by draw of fish.

    Parameters
    ----------
    counts, of
        How many had the property, of how many, in each run, shape (n_runs,); some above zero.
    draw
        Draw of fish of each run, shape (n_runs,).
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Estimate
        Share, 0 to 1; `n` is the number of draws.
    """
    number = np.unique(np.asarray(draw), return_inverse=True)[1]
    had = np.bincount(number, weights=np.asarray(counts, dtype=np.float64))
    size = np.bincount(number, weights=np.asarray(of, dtype=np.float64))
    if len(had) > 1:
        found = clustered_share_interval(had, sizes=size, level=level)
        return replace(found, method="Wilson, clustered by draw of fish")
    share = float(had[0] / size[0])
    if share in (0.0, 1.0):
        return share_interval(round(share), n=1, level=level)
    return Estimate(share, 0.0, 1.0, 1, TOO_FEW)


def mean_of_draws(
    means: npt.ArrayLike, *, level: float = 0.95, least: float = -math.inf
) -> tuple[Estimate, Rare | None]:
    """Return a mean over draws of fish, with an interval where one can be given.

    A bootstrap from 20 draws that are not zero; below that Student's t where most draws are not
    zero, which is wide; no interval where few are, or where there is one draw.

    Parameters
    ----------
    means
        One number per draw, shape (n_draws,).
    level
        Coverage asked for, 0 to 1.
    least
        What the mean cannot be below.

    Returns
    -------
    Estimate, Rare or None
        In the unit of `means`; limits nan where there is no interval.
    """
    numbers = np.asarray(means, dtype=np.float64)
    n, value = len(numbers), float(np.mean(numbers))
    some = int(np.count_nonzero(numbers))
    if some >= LEAST_NONZERO:
        lots = in_lots(numbers)
        if np.ptp(lots) <= 1e-12 * np.max(np.abs(lots)):
            # Alike but for rounding, which the bootstrap cannot divide by.
            return Estimate(value, value, value, n, "all alike"), None
        found = mean_interval(lots, level=level)
        if isinstance(found, Estimate):
            shift = value - found.value
            low, high = max(found.low + shift, least), found.high + shift
            return Estimate(value, low, high, n, found.method), None
    if 2 <= n < LEAST_NONZERO and 2 * some > n:
        half = _student(numbers, level=level)
        method = "Student's t over draws of fish"
        return Estimate(value, max(value - half, least), value + half, n, method), None
    if n < 2:
        return Estimate(value, math.nan, math.nan, n, TOO_FEW), None
    rare = mean_interval(numbers, level=level)
    return (
        Estimate(value, math.nan, math.nan, n, TOO_RARE),
        rare if isinstance(rare, Rare) else None,
    )


def in_lots(numbers: Vector) -> Vector:
    """Return the numbers, or where they are many the means of `MOST_LOTS` lots of them."""
    if len(numbers) <= MOST_LOTS:
        return numbers
    return np.array([float(np.mean(lot)) for lot in np.array_split(numbers, MOST_LOTS)])


def upper_bound(estimate: Estimate, *, runs: int) -> Zero:
    """Return the numbers for "in none of `runs`; up to so many in 100 would not surprise"."""
    out_of = 100
    while estimate.high * out_of < 1.0:
        out_of *= 10
    return Zero(n=runs, up_to=round(estimate.high * out_of), out_of=out_of)


def _student(numbers: Vector, *, level: float) -> float:
    from scipy.special import stdtrit

    n = len(numbers)
    t = float(stdtrit(n - 1, 0.5 + level / 2.0))
    return t * float(np.std(numbers, ddof=1)) / math.sqrt(n)
