"""Watched: runs in which what a keeper would count for each fish is counted, in given sittings.

The tank is watched tick by tick in every sitting, so that chases are seen and not drawn; counting
changes nothing in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.care import Observation
from sim.crew import Job
from sim.engine import History
from sim.outcome import Outcome
from sim.sittings import KINDS, Sitting, stretches_watched

if TYPE_CHECKING:
    from sim.scenario import Scenario

CLOSE = 1e-9  # days
HIDDEN = KINDS.index("minutes_hidden")


@dataclass(frozen=True, slots=True)
class Counted(Outcome):
    """What a run left behind, and what was counted in its sittings.

    Parameters
    ----------
    counts
        By sitting, fish and `sim.sittings.KINDS`: chases given, chases taken, minutes hidden;
        shape (n_sittings, n_fish, 3).
    """

    counts: np.ndarray


@dataclass(frozen=True, kw_only=True)
class WatchedJob(Job):
    """One run to play in which somebody counts.

    Parameters
    ----------
    scenario
        With the sittings in it, of `watched_scenario`.
    sittings
        When somebody counts.
    """

    sittings: tuple[Sitting, ...]

    def begin(self) -> WatchedHistory:
        """Return the history to be played to its end; as `sim.crew.Job`."""
        return WatchedHistory(self)


class WatchedHistory(History):
    """A history that counts in the sittings of its job.

    Parameters
    ----------
    job
        What is played.
    """

    def __init__(self, job: WatchedJob) -> None:
        super().__init__(
            job.scenario,
            job.layout,
            run=job.run,
            seed=job.seed,
            settings=job.settings,
            changes=job.changes,
            tempers_of=job.tempers_of,
            tempers=job.tempers,
        )
        self.sittings = job.sittings
        times = {time for one in job.sittings for time in (one.begins, one.ends)}
        self._marks = sorted(times)
        self._so_far: dict[float, np.ndarray] = {}

    def advance(self, *, until_day: float | None = None) -> None:
        """Advance as `sim.engine.History` does, noting the tallies at each end of a sitting."""
        while self._marks and (until_day is None or self._marks[0] <= until_day + CLOSE):
            mark = self._marks[0]
            super().advance(until_day=mark)
            if self.day < mark - CLOSE and not self.finished:
                return
            self._so_far[self._marks.pop(0)] = self._tallies()
        super().advance(until_day=until_day)

    def _tallies(self) -> np.ndarray:
        tally = self.state.tally
        columns = (tally.chases_given, tally.chases_taken, tally.hidden_s / 60.0)
        return np.stack([np.asarray(one, dtype=np.float64) for one in columns], axis=-1)

    def outcome(self) -> Counted:
        """Return what the run has left behind, with the counts of sittings that are over."""
        nothing = np.zeros((len(self.state.fish), len(KINDS)))
        counts = np.array(
            [
                self._so_far.get(one.ends, nothing) - self._so_far.get(one.begins, nothing)
                for one in self.sittings
            ]
        ).reshape(len(self.sittings), *nothing.shape)
        # Time in hiding is added up every few seconds, so it may run over an end by as much.
        most = np.array([one.minutes for one in self.sittings])
        counts[..., HIDDEN] = np.minimum(counts[..., HIDDEN], most[:, None])
        plain = super().outcome()
        return Counted(
            **{name: getattr(plain, name) for name in Outcome.__dataclass_fields__},
            counts=counts,
        )


def watched_scenario(scenario: Scenario, sittings: Sequence[Sitting]) -> Scenario:
    """Return a tank in which somebody watches in the given sittings, and at no other time.

    Parameters
    ----------
    scenario
        The tank; without meetings.
    sittings
        When.
    """
    watching = tuple(
        Observation(
            name=f"sitting {number}",
            from_day=float(one.day),
            at_h=one.at_h,
            minutes=one.minutes,
        )
        for number, one in enumerate(stretches_watched(sittings), start=1)
    )
    return scenario.model_copy(update={"observe": watching})
