"""Sweep: one tank with some of its keys varied, every point with the same fish.

Run k holds the same fish at every point, so what a step from one value to the next changes is told
from differences between runs of the same number, not from two intervals side by side. Points may
be played until an interval is as narrow as was asked; how narrow it is says nothing of what it
leaves out, so its coverage stays. Nothing is ever stopped because something was shown.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from sim.batch import Batch, Progress, collect, seed_of
from sim.comparison import paired_columns
from sim.crew import Job, Workers
from sim.figures import (
    MEASURES,
    Figure,
    Vector,
    by_draw,
    figure_of,
    mean_of_draws,
    ratio_of_counts,
)
from sim.kept import play_jobs
from sim.pairing import share_gap
from sim.settings import Settings
from sim.statistics import Estimate
from sim.summary import Summary
from sim.unmeasured import RUNS_PER_SET
from sim.varied import Varied
from sim.varying import Factor

if TYPE_CHECKING:
    from sim.kept_store import Store

FIRST_LOT = 40  # runs before the first look at a width
LOT_SHARE = 0.25  # further runs before the next look, of those played


@dataclass(frozen=True, slots=True, kw_only=True)
class Precision:
    """Until when each point is played.

    Parameters
    ----------
    outcome
        One of `sim.figures.MEASURES`.
    half_width
        Half of the width of its interval, in its unit.
    most
        Runs of a point after which it is given up.
    """

    outcome: str
    half_width: float
    most: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What changing one factor from one of its values to another does to an outcome.

    Parameters
    ----------
    factor
        Its number.
    start, end
        Numbers of its two values.
    outcome
        One of `sim.figures.MEASURES`.
    change
        Outcome at `end` less outcome at `start` for the same fish, the mean over the values of
        all other factors; limits nan where there is no interval.
    runs
        Runs of each point it rests on.
    """

    factor: int
    start: int
    end: int
    outcome: str
    change: Estimate
    runs: int

    @property
    def bounded(self) -> bool:
        """Whether there is an interval."""
        return math.isfinite(self.change.low) and math.isfinite(self.change.high)

    @property
    def gain(self) -> str:
        """What the interval says: "gain", "loss" or "none" for neither; "" without an interval.

        Of an outcome that is neither good nor bad, any change is a gain.
        """
        if not self.bounded:
            return ""
        if self.change.low <= 0.0 <= self.change.high:
            return "none"
        good = MEASURES[self.outcome].good
        falls = self.change.high < 0.0
        return "gain" if not good or falls == (good == "less") else "loss"


class Sweep:
    """What was played at each point; each part is computed when first asked for.

    Parameters
    ----------
    factors
        All that were asked for, those that do not vary too.
    tanks, batches
        One of each for every point.
    plan
        ``"full"`` or ``"latin"``.
    level
        Coverage of the intervals, 0 to 1.
    """

    def __init__(
        self,
        factors: Sequence[Factor],
        tanks: Sequence[Varied],
        batches: Sequence[Batch],
        *,
        plan: str,
        level: float = 0.95,
    ) -> None:
        self.factors = tuple(factors)
        self.tanks = tuple(tanks)
        self.batches = tuple(batches)
        self.plan = plan
        self.level = level

    @property
    def interrupted(self) -> bool:
        """Whether it was stopped before all was played."""
        return any(batch.interrupted for batch in self.batches)

    @cached_property
    def summaries(self) -> tuple[Summary, ...]:
        """What each point says, over all its runs."""
        return tuple(Summary(batch, level=self.level) for batch in self.batches)

    @cached_property
    def paired(self) -> tuple[Summary, ...]:
        """What each point says over the runs that all have."""
        runs = min(batch.done for batch in self.batches)
        return tuple(Summary(batch, level=self.level, runs=runs) for batch in self.batches)

    @property
    def varied(self) -> tuple[int, ...]:
        """Numbers of the factors that vary."""
        return tuple(k for k, factor in enumerate(self.factors) if factor.varies)

    def figure(self, point: int, outcome: str) -> Figure | None:
        """Return an outcome at a point with its interval; None where no run has a value."""
        summary = self.summaries[point]
        return figure_of(
            MEASURES[outcome], summary.run_column(outcome), draw=summary.cluster, level=self.level
        )

    def at(self, factor: int, value: int) -> tuple[int, ...]:
        """Return the points at which a factor has a value, in the order of the plan."""
        wanted = self.factors[factor].values[value].text
        return tuple(k for k, tank in enumerate(self.tanks) if tank.values[factor].text == wanted)

    def mean_at(self, factor: int, value: int, outcome: str) -> Estimate | None:
        """Return an outcome at a value of a factor, the mean over the values of all others."""
        points = self.at(factor, value)
        if len(points) == 1:
            figure = self.figure(points[0], outcome)
            return None if figure is None else figure.estimate
        columns = [np.asarray(self.paired[k].run_column(outcome), np.float64) for k in points]
        if MEASURES[outcome].kind == "share":
            return ratio_of_counts(
                np.sum(columns, axis=0),
                of=np.full(len(columns[0]), len(columns)),
                draw=self.paired[0].cluster,
                level=self.level,
            )
        return self._mean(np.mean(columns, axis=0), least=0.0)

    def step(self, factor: int, start: int, end: int, outcome: str) -> Step | None:
        """Return what changing a factor from one value to another does, for the same fish.

        Parameters
        ----------
        factor
            Its number, of a full plan.
        start, end
            Numbers of its values.
        outcome
            One of `sim.figures.MEASURES`; what happens to the fish is that of the fish that live
            in both.

        Returns
        -------
        Step or None
            None where no run has a value at all points.
        """
        pairs = list(zip(self.at(factor, start), self.at(factor, end), strict=True))
        columns = [paired_columns(outcome, self.paired[a], self.paired[b]) for a, b in pairs]
        if len(columns) == 1 and MEASURES[outcome].kind == "share":
            x, y = columns[0]
            change: Estimate | None = share_gap(x, y, draw=self.paired[0].cluster, level=self.level)
        else:
            change = self._mean(np.mean([y - x for x, y in columns], axis=0))
        if change is None:
            return None
        runs = self.paired[0].runs
        return Step(
            factor=factor, start=start, end=end, outcome=outcome, change=change, runs=runs
        )  # fmt: skip

    def steps(self, outcome: str) -> tuple[Step, ...]:
        """Return the steps from each value to the next, of every factor that varies."""
        found = [
            self.step(factor, k, k + 1, outcome)
            for factor in self.varied
            for k in range(len(self.factors[factor].values) - 1)
        ]
        return tuple(step for step in found if step is not None)

    def last_gain(self, factor: int, outcome: str) -> int | None:
        """Return the value of a factor past which no further gain is shown.

        It is the first value from which no step, to whichever later value, has an interval that
        leaves out no gain; the last value where there is a gain up to the end.

        Returns
        -------
        int or None
            Number of the value; None where some interval cannot be given.
        """
        last = len(self.factors[factor].values) - 1
        for value in range(last):
            ahead = [self.step(factor, value, k, outcome) for k in range(value + 1, last + 1)]
            if any(step is None or not step.bounded for step in ahead):
                return None
            if all(step is not None and step.gain != "gain" for step in ahead):
                return value
        return last

    def _mean(self, values: Vector, *, least: float = -math.inf) -> Estimate | None:
        there = np.isfinite(values)
        if not there.any():
            return None
        means = by_draw(values[there], draw=self.paired[0].cluster[there])
        return mean_of_draws(means, level=self.level, least=least)[0]


def play_sweep(
    factors: Sequence[Factor],
    tanks: Sequence[Varied],
    *,
    plan: str,
    runs: int,
    seed: int | None = None,
    workers: Workers = None,
    settings: Settings | None = None,
    changes: Mapping[str, float] | None = None,
    precision: Precision | None = None,
    progress: Progress | None = None,
    keep: Store | None = None,
) -> Sweep:
    """Play every point with the same fish, run by run in turn.

    Parameters
    ----------
    factors, tanks, plan
        As `Sweep`.
    runs
        Of each point; with `precision`, before the first look at a width.
    seed
        Of all points; that of the file, else 1, where None.
    workers, settings, changes
        As `sim.batch.play_batch`.
    precision
        Until when each point is played; just `runs` where None.
    progress
        Told how many runs of all points are done, of how many that are planned so far.
    keep
        Where runs are kept: those that are there are read, the others added.

    Returns
    -------
    Sweep
        An interruption from the keyboard keeps what was finished.

    Raises
    ------
    Refused
        If a point cannot be played.
    """
    seed = seed_of(tanks[0].scenario, seed=seed)
    batches = batches_of(tanks, runs=runs, seed=seed, settings=settings, changes=changes)
    sweep = Sweep(factors, tanks, batches, plan=plan)
    lot: Lot | None = first_lot(batches, runs=runs, precision=precision)
    done = 0
    while lot is not None:
        total = len(list(lot.turns()))
        outcomes = play_jobs(lot.jobs, workers=workers, keep=keep)
        collect(outcomes, into=lot.batches, total=total, progress=_further(progress, done=done))
        done += total
        lot = None if sweep.interrupted else next_lot(lot, precision=precision)
    for batch in batches:
        batch.interrupted = sweep.interrupted
        batch.asked = batch.done if not sweep.interrupted else batch.asked
    return sweep


def batches_of(
    tanks: Sequence[Varied],
    *,
    runs: int,
    seed: int,
    settings: Settings | None = None,
    changes: Mapping[str, float] | None = None,
) -> tuple[Batch, ...]:
    """Return an empty batch for each point, all over the same fish.

    Parameters
    ----------
    tanks, runs, seed, settings, changes
        As `play_sweep`.
    """
    return tuple(
        Batch(
            scenario=tank.scenario,
            layout=tank.checked.layout,
            seed=seed,
            settings=settings or Settings(),
            changes=dict(changes or {}),
            asked=runs,
            keep_days=False,
        )
        for tank in tanks
    )


@dataclass(frozen=True, slots=True)
class Lot:
    """Runs that are played before anything is looked at again.

    Parameters
    ----------
    batches
        Of the points that are played on.
    until
        Runs that each is to have had.
    """

    batches: tuple[Batch, ...]
    until: int

    def turns(self) -> Iterator[tuple[Batch, int]]:
        """Yield what is still to be played, run by run in turn: the batch, and the run's number."""
        done = [batch.done for batch in self.batches]
        return (
            (batch, run)
            for run in range(min(done), self.until)
            for batch, already in zip(self.batches, done, strict=True)
            if run >= already
        )

    def jobs(self) -> Iterator[Job]:
        """Yield the runs that are still to be played, in the order of `turns`."""
        return (
            Job(
                scenario=batch.scenario,
                layout=batch.layout,
                run=run,
                seed=batch.seed,
                settings=batch.settings,
                changes=batch.changes,
            )
            for batch, run in self.turns()
        )


def first_lot(batches: Sequence[Batch], *, runs: int, precision: Precision | None) -> Lot:
    """Return the runs before the first look.

    Parameters
    ----------
    batches
        Of all points.
    runs, precision
        As `play_sweep`.
    """
    until = runs if precision is None else min(max(runs, FIRST_LOT), precision.most)
    return Lot(tuple(batches), until)


def next_lot(lot: Lot, *, precision: Precision | None) -> Lot | None:
    """Return what is played after a lot; None where nothing is.

    Parameters
    ----------
    lot
        That was played to its end.
    precision
        As `play_sweep`.
    """
    if precision is None or lot.until >= precision.most:
        return None
    going = tuple(batch for batch in lot.batches if not narrow_enough(batch, precision))
    return Lot(going, min(next_look(lot.until), precision.most)) if going else None


def next_look(runs: int) -> int:
    """Return after how many runs a width is looked at again: a quarter more, in whole sets."""
    return runs + RUNS_PER_SET * math.ceil(LOT_SHARE * runs / RUNS_PER_SET)


def narrow_enough(batch: Batch, precision: Precision) -> bool:
    """Return whether the interval of a point is as narrow as was asked."""
    summary = Summary(batch)
    column = summary.run_column(precision.outcome)
    figure = figure_of(MEASURES[precision.outcome], column, draw=summary.cluster)
    if figure is None or not figure.bounded:
        return False
    return 0.5 * (figure.estimate.high - figure.estimate.low) <= precision.half_width


def _further(progress: Progress | None, *, done: int) -> Progress | None:
    if progress is None:
        return None
    return lambda now, total: progress(done + now, done + total)
