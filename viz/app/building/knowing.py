"""Knowing: what counts tell of the fish of a tank, learnt behind the page.

It plays what `holdwater observe` plays, with its seed and numbers of runs, on the threads that all
pages share, and says it in the same words. While it goes on it tells how far it is.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from viz.app.batches import asked_for, check_days
from viz.app.behind import Behind, Standing
from viz.app.repeating.pool import Pool, shared_pool

if TYPE_CHECKING:
    from sim.batch import Batch
    from sim.comparison import Design
    from sim.crew import Job
    from sim.known import Known
    from sim.outcome import Outcome
    from sim.sittings import Row
    from viz.observe_results import WatchedResults

LEARN_RUNS = 600
RUNS = 100


@dataclass(frozen=True, eq=False, kw_only=True)
class KnowingNow(Standing):
    """How it stands.

    Parameters
    ----------
    done, total
        Runs of all tanks.
    found
        What it tells, as the command has it; None before the end.
    known, batches
        What is known of the fish, and the runs with them; nothing before the end.
    """

    done: int
    total: int
    found: WatchedResults | None = None
    known: Known | None = None
    batches: tuple[Batch, ...] = ()


class KnowingJob(Behind[KnowingNow]):
    """What counts tell of the fish of one tank, and of others with the same fish.

    Parameters
    ----------
    designs
        The tank that was watched, then up to three others.
    rows
        What was counted, of `sim.sittings.check_rows`.
    told
        Called after every advance, from the job's own thread.
    learn, runs
        Runs of each tank from which it is learnt, and with the fish as they are then known.
    pool
        Threads that play; those of the process where None.
    """

    def __init__(
        self,
        designs: Sequence[Design],
        rows: Sequence[Row],
        *,
        told: Callable[[], None] = lambda: None,
        learn: int | None = None,
        runs: int | None = None,
        pool: Pool | None = None,
    ) -> None:
        self.designs = tuple(designs)
        self.rows = tuple(rows)
        self.learn = LEARN_RUNS if learn is None else learn
        self.runs = RUNS if runs is None else runs
        self._pool = pool
        total = (self.learn + self.runs) * len(self.designs)
        super().__init__(KnowingNow(done=0, total=total), called="knowing", told=told)

    def work(self, stop: threading.Event) -> None:
        """Learn from runs that were counted alike, and play the fish as they are then known."""
        check_days(self.designs)
        found, known, batches = self._play(stop)
        self.say(soon=False, done=self.now.total, found=found, known=known, batches=batches)

    def _play(self, stop: threading.Event) -> tuple[WatchedResults, Known, tuple[Batch, ...]]:
        from sim.batch import seed_of
        from sim.known import known_of
        from sim.watching import Watching
        from viz.observe_command import batches_for, play_these, take_all, these_results
        from viz.observe_results import watched_results

        asked = asked_for(self.runs)
        watching = Watching(
            self.designs,
            self.rows,
            runs=self.learn,
            seed=seed_of(self.designs[0].scenario, seed=None),
            settings=replace(asked.settings, vary=True),
            changes={},
        )
        pool = self._pool or shared_pool()

        def play(jobs: Iterator[Job]) -> Iterator[Outcome]:
            return pool.play(jobs, stop=stop)

        began = time.monotonic()

        def tell(done: int) -> None:
            self.say(soon=False, done=done, took_s=time.monotonic() - began)

        for done in take_all(watching, play=play):
            tell(done)
        known = known_of(watching)
        assert known is not None
        batches = batches_for(watching, asked=asked)
        for done in play_these(batches, watching, known, play=play):
            tell(watching.total + done)
        results = these_results(batches, watching, watch=asked.watch)
        return watched_results(results, watching=watching, known=known), known, batches
