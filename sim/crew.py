"""Crew: threads that play runs side by side and hand back their outcomes in order.

The kernel releases the lock, so threads run side by side, and one set of tables of a layout serves
them all. A run hangs on its seed and number alone, so it does not matter which thread plays it.
"""

from __future__ import annotations

import os
import queue
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import Future, wait
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

from sim.engine import History
from sim.errors import Problem, Refused
from sim.outcome import Outcome
from sim.settings import Settings

if TYPE_CHECKING:
    from sim.layout import Layout
    from sim.scenario import Scenario
    from sim.start import Tempers

AHEAD = 3  # runs handed out and not yet taken back, for each worker
LOOK_S = 0.2  # s a worker may go without looking whether it should stop
PATIENCE_S = 0.3  # s that are waited for workers that were told to stop


@dataclass(frozen=True, kw_only=True)
class Job:
    """One run to play.

    Parameters
    ----------
    scenario, layout
        The checked scenario and its layout.
    run
        Number of the run.
    seed
        Seed of the study; the scenario's own, else 1, where None.
    settings
        Time steps and watching; the defaults where None.
    changes
        Parameters that differ from the defaults.
    tempers_of
        Run whose tempers the fish have, as `sim.engine.History`; `run` itself where None. A run
        with the tempers of another answers another question, and is not kept.
    tempers
        Tempers that are given, as `sim.start.draw_fish`; not kept either.
    """

    scenario: Scenario
    layout: Layout
    run: int
    seed: int | None = None
    settings: Settings | None = None
    changes: Mapping[str, float] | None = None
    tempers_of: int | None = None
    tempers: Tempers | None = None

    def begin(self) -> History:
        """Return the history to be played to its end.

        Raises
        ------
        Refused
            If the scenario cannot be played as asked.
        """
        return History(
            self.scenario,
            self.layout,
            run=self.run,
            seed=self.seed,
            settings=self.settings,
            changes=self.changes,
            tempers_of=self.tempers_of,
            tempers=self.tempers,
        )


# Whoever plays runs elsewhere than on threads of a crew: yields their outcomes in the order of the
# jobs, and is an iterator that can be closed early.
Player = Callable[[Iterator[Job]], Iterator[Outcome]]
Workers = int | Player | None


def play(jobs: Iterable[Job], *, workers: Workers = None) -> Iterator[Outcome]:
    """Play runs on threads, or elsewhere, and yield their outcomes in the order of the jobs.

    Few more are handed out than can be played at once, so memory does not grow with their number.

    Parameters
    ----------
    jobs
        Runs to play, taken as they are needed.
    workers
        Threads, as many as there are cores where None; or who else plays.

    Yields
    ------
    Outcome
        Of each job.

    Raises
    ------
    Refused
        If a scenario cannot be played as asked, or there is no worker.
    """
    if workers is not None and not isinstance(workers, int):
        return workers(iter(jobs))
    count = usual_workers() if workers is None else workers
    if count < 1:
        raise Refused(Problem("workers", f"got {count}; expected 1 or more."))
    return _play(iter(jobs), count)


def usual_workers() -> int:
    """Return the number of cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return max(1, len(os.sched_getaffinity(0)))
    return os.cpu_count() or 1


def _play(jobs: Iterator[Job], workers: int) -> Iterator[Outcome]:
    # Our own threads and not an executor's: those are waited for when Python ends, and the first
    # run may be compiling for half a minute, which nothing can cut short.
    todo: queue.SimpleQueue[tuple[Job, Future[Outcome]] | None] = queue.SimpleQueue()
    stop = threading.Event()
    crew = [
        threading.Thread(target=_work, args=(todo, stop), name=f"run-{k}", daemon=True)
        for k in range(workers)
    ]
    waiting: deque[Future[Outcome]] = deque()

    def hand_out(job: Job) -> None:
        job.layout.floors()  # made here once, or every worker would make its own
        future: Future[Outcome] = Future()
        waiting.append(future)
        todo.put((job, future))

    try:
        for job in islice(jobs, AHEAD * workers):
            hand_out(job)
        for thread in crew:
            thread.start()
        while waiting:
            future = waiting.popleft()
            while not wait((future,), timeout=LOOK_S).done:
                pass  # a signal may reach another thread, and only this one can act on it
            outcome = future.result()
            for job in islice(jobs, 1):
                hand_out(job)
            yield outcome
    finally:
        stop.set()
        for _ in crew:
            todo.put(None)
        until = time.monotonic() + PATIENCE_S
        for thread in crew:
            if thread.ident is not None:
                thread.join(max(until - time.monotonic(), 0.0))


def _work(
    todo: queue.SimpleQueue[tuple[Job, Future[Outcome]] | None], stop: threading.Event
) -> None:
    while (item := todo.get()) is not None and not stop.is_set():
        job, future = item
        try:
            future.set_result(play_one(job, stop=stop))
        except BaseException as error:
            future.set_exception(error)


class Stopped(Exception):  # noqa: N818
    """The run was given up because nobody waits for it any more."""


def play_one(job: Job, *, stop: threading.Event | None = None) -> Outcome:
    """Play one run to its end.

    Parameters
    ----------
    job
        The run.
    stop
        Once set, the run is given up within a fraction of a second.

    Returns
    -------
    Outcome
        The same whenever and wherever the run is played.

    Raises
    ------
    Refused
        If the scenario cannot be played as asked.
    Stopped
        If it was given up.
    """
    history = job.begin()
    days = 1.0
    while not history.finished:
        if stop is not None and stop.is_set():
            raise Stopped
        began = time.monotonic()
        history.advance(until_day=history.day + days)
        took = time.monotonic() - began
        if took > LOOK_S:
            days = max(0.5 * days, 1.0 / 96.0)
        elif took < 0.25 * LOOK_S:
            days *= 2.0
    return history.outcome()
