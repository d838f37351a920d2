"""By day: who is not seriously hurt yet, the floor that nobody holds, the days round a spawning.

Every run is watched to its end, so a share by a day is a plain share of runs. Where a keeper moves
fish out, a fish that is gone can be hurt no more: the curve says what happens with that keeper,
and the share moved out by then is told beside it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.figures import Vector, by_draw, mean_of_draws, share_of_runs
from sim.rules.codes import STAGES
from sim.statistics import Estimate

if TYPE_CHECKING:
    from sim.summary import Summary

BEFORE, AFTER = 7, 21  # days round a spawning that are told
LEAST_ROUND = 10  # runs that reach a day round the spawning; below them it is left out, assumed


@dataclass(frozen=True, slots=True)
class Course:
    """A number day by day.

    Parameters
    ----------
    days
        Whole days: the end of each for a share by then, else the day counted from 0, or from the
        spawning; shape (n_days,).
    numbers
        One for each.
    """

    days: tuple[int, ...]
    numbers: tuple[Estimate, ...]


def unhurt(summary: Summary) -> Course:
    """Return the share of runs in which no fish has had a serious injury by the end of each day.

    Parameters
    ----------
    summary
        Of a batch.
    """
    return Course(
        tuple(range(1, len(summary.serious_by_day) + 1)),
        tuple(turned(share) for share in summary.serious_by_day),
    )


def unhurt_fish(summary: Summary) -> tuple[Course, ...]:
    """Return for each fish the share of runs in which it has had no serious injury by each day."""
    day = np.minimum(summary.fish_column("serious_day"), summary.fish_column("death_day"))
    return tuple(_by_then(summary, column) for column in day.T)


def moved_out(summary: Summary) -> Course:
    """Return the share of runs in which no fish has been moved out by the end of each day."""
    return _by_then(summary, summary.run_column("separated_day"))


def _by_then(summary: Summary, day: Vector) -> Course:
    ends = range(1, math.ceil(summary.batch.scenario.days) + 1)
    return Course(
        tuple(ends),
        tuple(share_of_runs(day >= end, draw=summary.cluster, level=summary.level) for end in ends),
    )


def turned(share: Estimate) -> Estimate:
    """Return the share of runs in which it did not happen."""
    return Estimate(1.0 - share.value, 1.0 - share.high, 1.0 - share.low, share.n, share.method)


def day_table(summary: Summary, name: str) -> Vector:
    """Return a column of the table of days, shape (n_runs, n_days).

    Parameters
    ----------
    summary
        Of a batch that keeps its days.
    name
        Of `sim.outcome.DAY_ROW`.

    Raises
    ------
    ValueError
        If the batch did not keep its days.
    """
    days = math.ceil(summary.batch.scenario.days)
    column = summary.batch.days.column(name)[: summary.runs * days]
    if len(column) < summary.runs * days:
        raise ValueError("day_table: the batch kept no days; expected keep_days.")
    return np.asarray(column.reshape(summary.runs, days), dtype=np.float64)


def open_ground(summary: Summary) -> Course:
    """Return the share of the floor that nobody holds, day by day, the mean over runs."""
    table = 1.0 - day_table(summary, "held_share")
    numbers = tuple(_mean(summary, column) for column in table.T)
    return Course(tuple(range(len(numbers))), numbers)


def open_by_stage(summary: Summary) -> dict[str, Estimate]:
    """Return the share of the floor that nobody holds while the brood is at each stage.

    Parameters
    ----------
    summary
        Of a batch that keeps its days; a day counts for the stage in which it ends.
    """
    free, stage = 1.0 - day_table(summary, "held_share"), day_table(summary, "stage")
    found = {}
    for k, name in enumerate(STAGES):
        here = stage == k
        some = here.any(axis=1)
        if some.sum() < 2:
            continue
        mean = (free * here).sum(axis=1)[some] / here.sum(axis=1)[some]
        found[name] = mean_of_draws(
            by_draw(mean, draw=summary.cluster[some]), level=summary.level, least=0.0
        )[0]
    return found


def spawn_days(summary: Summary) -> Vector:
    """Return the day of the first spawning of each run, shape (n_runs,), inf where there is none.

    Parameters
    ----------
    summary
        Of a batch.
    """
    breeding = summary.batch.scenario.breeding
    if breeding.mode == "on" and breeding.spawn_day is not None:
        return np.full(summary.runs, float(breeding.spawn_day))
    if breeding.mode == "spontaneous":
        return np.asarray(summary.run_column("spawn_day"), dtype=np.float64)
    return np.full(summary.runs, math.inf)


def round_spawning(summary: Summary, name: str) -> Course:
    """Return a number of the table of days by the day from the first spawning.

    Parameters
    ----------
    summary
        Of a batch that keeps its days.
    name
        "dose", "chases", "bites" or another of `sim.outcome.DAY_ROW`.

    Returns
    -------
    Course
        From a week before to three weeks after, the mean over the runs that have such a day; days
        that fewer than `LEAST_ROUND` runs reach are left out. Empty where nobody spawns.
    """
    table, spawn = day_table(summary, name), spawn_days(summary)
    days, numbers = [], []
    runs = np.flatnonzero(np.isfinite(spawn))
    first = np.floor(spawn[runs]).astype(np.int64)
    for k in range(-BEFORE, AFTER + 1):
        at = first + k
        there = (at >= 0) & (at < table.shape[1])
        if there.sum() < LEAST_ROUND:
            continue
        values = table[runs[there], at[there]]
        means = by_draw(values, draw=summary.cluster[runs[there]])
        days.append(k)
        numbers.append(mean_of_draws(means, level=summary.level, least=0.0)[0])
    return Course(tuple(days), tuple(numbers))


def _mean(summary: Summary, values: Vector) -> Estimate:
    means = by_draw(values, draw=summary.cluster)
    return mean_of_draws(means, level=summary.level, least=0.0)[0]
