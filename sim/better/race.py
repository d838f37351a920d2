"""Race: many candidates played a few runs each, the better ones more, over the same runs.

Every candidate is played over runs 0, 1, 2 ... of one study, so that two of them are judged on the
same fish and the same draws (common random numbers), and successive halving (Jamieson2016) drops
the worse half before the runs of the others are doubled.

References
----------
Jamieson2016
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Sequence
from typing import Generic, TypeVar

import numpy as np
import numpy.typing as npt

F8 = npt.NDArray[np.float64]
C = TypeVar("C", bound=Hashable)

# Plays candidates, each from its first run on for so many, and returns what each run cost.
Play = Callable[[Sequence[tuple[C, int, int]]], Sequence[F8]]


class OutOfRuns(Exception):  # noqa: N818
    """The runs that were allowed, or the time, do not suffice for what was asked."""


class Ledger(Generic[C]):
    """What every candidate has cost in the runs it has been played, and how many are left.

    Parameters
    ----------
    play
        Plays runs.
    budget
        Runs that may be played in all.
    over
        Whether to stop for another reason; asked before anything is played.
    """

    def __init__(
        self, play: Play[C], *, budget: int, over: Callable[[], bool] = lambda: False
    ) -> None:
        self._play, self._over = play, over
        self.budget = budget
        self.spent = 0
        self._costs: dict[C, F8] = {}

    @property
    def left(self) -> int:
        """Runs that may still be played."""
        return self.budget - self.spent

    @property
    def candidates(self) -> tuple[C, ...]:
        """All that have been played, in the order in which they were first."""
        return tuple(self._costs)

    def costs(self, candidate: C) -> F8:
        """Return what a candidate cost in each of its runs, shape (n_runs,)."""
        return self._costs.get(candidate, np.empty(0))

    def mean(self, candidate: C, *, runs: int) -> float:
        """Return the mean cost of a candidate over its first runs."""
        return float(np.mean(self._costs[candidate][:runs]))

    def need(self, candidates: Sequence[C], *, runs: int) -> None:
        """Have candidates played up to a number of runs; those they have had are not played again.

        Parameters
        ----------
        candidates
            Any.
        runs
            Each is to have had, from run 0 on.

        Raises
        ------
        OutOfRuns
            If fewer runs are left than that needs, or it is over; then nothing is played.
        """
        wanted = list(dict.fromkeys(c for c in candidates if len(self.costs(c)) < runs))
        jobs = [(c, len(self.costs(c)), runs - len(self.costs(c))) for c in wanted]
        total = sum(count for _, _, count in jobs)
        if total > self.left or (jobs and self._over()):
            raise OutOfRuns
        if not jobs:
            return
        played = self._play(jobs)
        for (candidate, _, _), costs in zip(jobs, played, strict=True):
            self._costs[candidate] = np.concatenate([self.costs(candidate), costs])
        self.spent += total


def halving(ledger: Ledger[C], candidates: Sequence[C], *, first: int, most: int) -> list[C]:
    """Race candidates by successive halving and return them, the best first.

    Parameters
    ----------
    ledger
        Has them played.
    candidates
        Those that run; each counts once.
    first
        Runs of each in the first rung.
    most
        Runs of the last ones at most.

    Returns
    -------
    list
        Those that stayed longer come first; of one rung, the one that cost less.

    Raises
    ------
    OutOfRuns
        If not even the first rung can be played. A later rung that cannot be is left out.
    """
    running = list(dict.fromkeys(candidates))
    behind: list[C] = []
    runs = first
    ledger.need(running, runs=runs)
    while True:
        running.sort(key=lambda one: ledger.mean(one, runs=runs))  # stable: ties keep their order
        if len(running) < 2 or 2 * runs > most:
            break
        keep = math.ceil(len(running) / 2)
        try:
            ledger.need(running[:keep], runs=2 * runs)
        except OutOfRuns:
            break
        behind = running[keep:] + behind
        running, runs = running[:keep], 2 * runs
    return running + behind
