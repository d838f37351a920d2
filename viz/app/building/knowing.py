"""Knowing: what counts tell of the fish of a tank, learnt behind the page.

It plays what `holdwater observe` plays, with its seed and numbers of runs, on the threads that all
pages share, and says it in the same words. While it goes on it tells how far it is.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from viz.app.batches import asked_for, check_days
from viz.app.repeating.pool import Pool, shared_pool

if TYPE_CHECKING:
    from sim.comparison import Design
    from sim.crew import Job
    from sim.outcome import Outcome
    from sim.sittings import Row
    from viz.observe_results import WatchedResults

LEARN_RUNS = 600
RUNS = 100
TELL_S = 0.25

_log = logging.getLogger("holdwater.app")


@dataclass(frozen=True, eq=False)
class KnowingNow:
    """How it stands; each telling makes another.

    Parameters
    ----------
    done, total
        Runs of all tanks.
    over
        Whether nothing more is played.
    stopped
        Whether it was stopped before the end.
    refused
        Why it cannot be played.
    found
        What it tells, as the command has it; None before the end.
    took_s
        Seconds so far.
    """

    done: int
    total: int
    over: bool = False
    stopped: bool = False
    refused: tuple[Problem, ...] = ()
    found: WatchedResults | None = None
    took_s: float = 0.0


class KnowingJob:
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

    Attributes
    ----------
    now
        How it stands.
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
        self._told = told
        self._pool = pool
        self._stop = threading.Event()
        self._closed = False
        self._thread: threading.Thread | None = None
        self.now = KnowingNow(0, (self.learn + self.runs) * len(self.designs))

    def start(self) -> KnowingJob:
        """Begin; return the job."""
        self._thread = threading.Thread(target=self._run, name="holdwater-knowing", daemon=True)
        self._thread.start()
        return self

    def cancel(self) -> None:
        """Play no further."""
        self._stop.set()

    def close(self) -> None:
        """Give it up; nothing more is told."""
        self._closed = True
        self._stop.set()

    def wait(self, seconds: float) -> bool:
        """Wait until it is no longer played; return whether that came in time."""
        if self._thread is not None:
            self._thread.join(seconds)
            return not self._thread.is_alive()
        return True

    def _run(self) -> None:
        from sim.crew import Stopped

        total = self.now.total
        began = time.monotonic()
        try:
            check_days(self.designs)
            found = self._play(began)
            now = KnowingNow(total, total, over=True, found=found, took_s=time.monotonic() - began)
        except Stopped:
            now = KnowingNow(self.now.done, total, over=True, stopped=True)
        except Refused as refusal:
            now = KnowingNow(self.now.done, total, over=True, refused=refusal.problems)
        except Exception as error:
            _log.error("learning from counts failed", exc_info=error)
            problem = Problem("the runs", f"they ended with a fault of the program ({error!r}).")
            now = KnowingNow(self.now.done, total, over=True, refused=(problem,))
        self._say(now)

    def _play(self, began: float) -> WatchedResults:
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
            return pool.play(jobs, stop=self._stop)

        told = 0.0

        def tell(done: int) -> None:
            nonlocal told
            now = time.monotonic()
            if now - told >= TELL_S:
                told = now
                self._say(KnowingNow(done, self.now.total, took_s=now - began))

        for done in take_all(watching, play=play):
            tell(done)
        known = known_of(watching)
        assert known is not None
        batches = batches_for(watching, asked=asked)
        for done in play_these(batches, watching, known, play=play):
            tell(watching.total + done)
        results = these_results(batches, watching, watch=asked.watch)
        return watched_results(results, watching=watching, known=known)

    def _say(self, now: KnowingNow) -> None:
        if not self._closed:
            self.now = now
            self._told()
