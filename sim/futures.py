"""Futures: what may still become of a tank from one moment on, many times over.

A moment of a run is copied; each future goes on from the copy with luck of its own. The fish, what
they hold, remember and carry are those of that moment, and everything counts from then on. Two
moments that differ in one thing are compared future by future, with the same luck as long as the
fish meet alike.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sim.batch import Batch, seed_of
from sim.comparison import Comparison, Design
from sim.crew import Job, Workers, play
from sim.day_zero import DAY_S, DayZero, begin_to_count
from sim.draws import named_key
from sim.errors import Problem, Refused
from sim.figures import FISH_MEASURES, MEASURES, OF_FISH, Figure, Vector
from sim.pairing import Difference, difference_of
from sim.rules.occasion import CATCH_UP, GO_ON, do
from sim.settings import Settings

if TYPE_CHECKING:
    from sim.engine import History
    from sim.hands import Played
    from sim.outcome import Outcome
    from sim.state import State

LEAST_DAYS = 0.25  # less than that shows nothing


@dataclass(frozen=True, kw_only=True)
class Fork:
    """A moment of a run, from which it can go on in many ways.

    Parameters
    ----------
    played
        What was played up to it.
    state
        A copy of the state, with nobody in a chase or a contest; never changed.
    day
        Days since midnight of day 0.
    name
        What is said of it: "as it is", or what was done.
    """

    played: Played
    state: State
    day: float
    name: str = "as it is"

    def history(self) -> History:
        """Return a history that stands at this moment."""
        history = self.played.begin()
        history.restore(self.state)
        return history


def fork_of(played: Played, history: History, *, name: str = "as it is") -> Fork:
    """Return the moment a run has come to.

    Parameters
    ----------
    played, history
        What is played, and how far it has come: nobody is in a chase or a contest.
    name
        As in `Fork`.
    """
    return Fork(played=played, state=history.snapshot(), day=history.day, name=name)


@dataclass(frozen=True, kw_only=True)
class Future(Job):
    """One future of a moment, as a run for `sim.crew.play`.

    Parameters
    ----------
    fork
        Where it begins.
    until_day
        Where it ends, days since midnight of day 0.
    """

    fork: Fork
    until_day: float

    def begin(self) -> History:
        """Return the history of the fork with the luck of this future."""
        history = self.fork.history()
        go_another_way(history, number=self.run)
        end_s = DAY_S * (self.until_day + (history.zero.days if history.zero else 0))
        history.state.tank.end[0] = min(float(history.state.tank.end[0]), end_s)
        history.run = self.run
        return history


def go_another_way(history: History, *, number: int) -> None:
    """Let a history go on from here with other luck, watched as a batch is, counted from now.

    Parameters
    ----------
    history
        With nobody in a chase or a contest.
    number
        Of the future; the same number brings the same luck.
    """
    state, zero = history.state, history.zero
    do(state, history.floor, CATCH_UP, -1, 0.0, 0.0)
    begin_to_count(state, DayZero(days=zero.days if zero else 0, time_s=0.0, injuries=()))
    for i, key in enumerate(state.fish.key.tolist()):
        state.fish.key[i] = named_key("future", number, key)
    state.tank.seed[0] = named_key("future", number, int(state.tank.seed[0]))
    if state.settings.watch_all[0]:
        varied = int(state.settings.varied[0])
        state.settings[...] = Settings().record()
        state.settings.varied[0] = varied
    do(state, history.floor, GO_ON, 0, 0.0, 0.0)


def last_day(fork: Fork, *, days: float) -> float:
    """Return the day up to which the futures of a moment are played.

    Parameters
    ----------
    fork
        The moment.
    days
        How many days are asked for; no more than the run has left are played.

    Raises
    ------
    Refused
        If the run is nearly over.
    """
    end = min(fork.day + days, float(fork.played.scenario.days))
    if end - fork.day < LEAST_DAYS:
        raise Refused(
            Problem("branch", "this run is nearly over, so that nothing can follow; branch before.")
        )
    return end


class Branches:
    """Futures of a moment as it is, and with one thing changed, as they come in.

    Parameters
    ----------
    forks
        The moment as it is, then changed; of the same fish.
    futures
        How many of each.
    days
        How many days of each; no more than the run has left.

    Attributes
    ----------
    until_day
        Day on which they end.
    batches
        Two, the futures of each; ``draw`` of a run is its number, since every future is an
        independent one of the same fish.

    Raises
    ------
    Refused
        If the run is nearly over.
    """

    def __init__(self, forks: tuple[Fork, Fork], *, futures: int, days: float) -> None:
        self.forks = forks
        self.futures = futures
        self.until_day = last_day(forks[0], days=days)
        self.batches = (self._batch(forks[0]), self._batch(forks[1]))

    def _batch(self, fork: Fork) -> Batch:
        played = fork.played
        return Batch(
            scenario=played.scenario,
            layout=played.layout,
            seed=seed_of(played.scenario, seed=played.seed),
            # The numbers that nobody has measured are those of this run in every future.
            settings=replace(played.settings or Settings(), vary=False),
            changes=dict(played.changes or {}),
            asked=self.futures,
            keep_days=False,
        )

    @property
    def done(self) -> int:
        """Futures of each that have been played."""
        return self.batches[1].done

    def play(self, *, workers: Workers = None) -> Generator[int, None, None]:
        """Play them all, in turn; closing the iterator ends it within a second.

        Parameters
        ----------
        workers
            As `sim.crew.play`.

        Yields
        ------
        int
            `done`, after each pair.
        """
        jobs: Iterator[Job] = (
            Future(
                scenario=fork.played.scenario,
                layout=fork.played.layout,
                run=number,
                fork=fork,
                until_day=self.until_day,
            )
            for number in range(self.futures)
            for fork in self.forks
        )
        outcomes = play(jobs, workers=workers)
        for place, outcome in enumerate(outcomes):
            self.batches[place % 2].add(_independent(outcome))
            if place % 2 == 1:
                yield self.done

    def comparison(self) -> BranchComparison:
        """Return what has come in so far, the changed moment against the one as it is."""
        return BranchComparison(self)


class BranchComparison(Comparison):
    """Futures with one thing changed against futures of the moment as it is.

    What happens to fish counts for those that are in the tank after the change as before it: one
    that was moved out is not better off for being attacked by nobody.

    Parameters
    ----------
    branches
        With one future of each or more.

    Attributes
    ----------
    staying
        Rows of the fish that count.
    """

    def __init__(self, branches: Branches) -> None:
        designs = [
            Design(
                name=fork.name, path=None, scenario=fork.played.scenario,
                layout=fork.played.layout, hash="",
            )
            for fork in branches.forks
        ]  # fmt: skip
        super().__init__(designs, branches.batches)
        before, after = (fork.state.fish.presence for fork in branches.forks)
        self.staying: tuple[int, ...] = tuple(np.flatnonzero(before == after).tolist())

    def matched(self, other: int) -> tuple[tuple[int, int], ...]:
        """Return the fish that count, as their places in both."""
        return tuple((i, i) for i in self.staying)

    def _known(self, name: str, other: int) -> tuple[Figure | None, Figure | None]:
        if name in OF_FISH:
            return None, None
        return super()._known(name, other)

    def _columns(self, name: str, other: int) -> tuple[Vector, Vector]:
        x, y = (
            np.asarray(
                summary.column_for(name, self.staying)
                if name in OF_FISH
                else summary.run_column(name),
                dtype=np.float64,
            )
            for summary in (self.summaries[0], self.summaries[other])
        )
        return x, y

    def difference(self, name: str) -> Difference | None:
        """Return how one measure differs, which is quicker than `differences`.

        Parameters
        ----------
        name
            One of `sim.figures.MEASURES`.

        Returns
        -------
        Difference or None
            None where no pair of futures has a value in both.
        """
        draw = self.summaries[0].draw
        return difference_of(MEASURES[name], *self._columns(name, 1), draw=draw, level=self.level)

    def doses(self) -> tuple[Difference, ...]:
        """Return how the injury that each fish takes differs, for those that count."""
        first, second = (summary.fish_column("dose") for summary in self.summaries)
        summary = self.summaries[0]
        rows = (
            difference_of(
                FISH_MEASURES["dose"],
                np.asarray(first[:, i], dtype=np.float64),
                np.asarray(second[:, i], dtype=np.float64),
                draw=summary.draw,
                member=summary.members[i],
                level=self.level,
            )
            for i in self.staying
        )
        return tuple(row for row in rows if row is not None)

    def worst(self, side: int) -> np.ndarray:
        """Return the worst that comes to any fish that counts in each future, shape (n_futures,).

        Parameters
        ----------
        side
            0 as it is, 1 changed.

        Returns
        -------
        ndarray
            0 nothing, 1 torn fins, 2 a serious injury, 3 a death.
        """
        summary, which = self.summaries[side], list(self.staying)
        found = np.zeros(summary.runs, np.int64)
        for level, name in enumerate(("minor_day", "serious_day", "death_day"), start=1):
            come = np.isfinite(summary.fish_column(name)[:, which]).any(axis=1)
            found[come] = level
        return found


def _independent(outcome: Outcome) -> Outcome:
    """Return an outcome that is a draw of its own."""
    row = np.array(outcome.row)
    row["draw"] = outcome.run
    return replace(outcome, row=row)
