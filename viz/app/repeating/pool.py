"""Pool: the threads that play the runs of all pages, so that no page takes them from another.

There is one pool for the process. Who asks gets an iterator of outcomes in the order of its jobs.
Of several who ask, a free thread plays for the one that has had the least of the threads' time
since it came, so that long runs of one do not take it from short runs of another. Only few jobs of
each are in hand at a time. The
threads rank below everything else of the program where the system allows it: a living tank that is
watched, and the page itself, go first.
"""

from __future__ import annotations

import os
import sys
import threading
import time
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, wait
from contextlib import suppress
from itertools import islice

from sim.crew import Job, Stopped, play_one, usual_workers
from sim.outcome import Outcome

AHEAD = 2  # jobs in hand for each thread, of each who asks
LOOK_S = 0.05  # between two looks whether it is to stop
LOWER = 4  # steps of priority below the rest of the program; many more would starve it

Task = tuple[Job, "Future[Outcome]"]


class _Stop(threading.Event):
    """Set when who asked wants no more, or is gone; the event that was handed in stays as it is."""

    def __init__(self, asked: threading.Event) -> None:
        super().__init__()
        self._asked = asked

    def is_set(self) -> bool:
        return super().is_set() or self._asked.is_set()


class Asker:
    """One who has runs played; the pool's side of `Pool.play`.

    Parameters
    ----------
    stop
        Once set, its runs are given up.
    had_s
        Time (s) of the threads that it has had; one that comes later begins with the least that
        anybody has had, and not with a claim to all that went before.

    Attributes
    ----------
    playing
        Runs of it that are being played.
    """

    def __init__(self, stop: threading.Event, *, had_s: float = 0.0) -> None:
        self.stop = _Stop(stop)
        self.had_s = had_s
        self.waiting: deque[Task] = deque()
        self.playing = 0

    def wants(self) -> bool:
        """Return whether a thread can play for it."""
        return bool(self.waiting) and not self.stop.is_set()


class Pool:
    """Threads that play runs for whoever asks, in turn.

    Parameters
    ----------
    workers
        Threads; as many as there are cores where None.
    """

    def __init__(self, workers: int | None = None) -> None:
        self.workers = workers or usual_workers()
        self._askers: list[Asker] = []
        self._some = threading.Condition()
        self._started = False

    def play(self, jobs: Iterable[Job], *, stop: threading.Event) -> Iterator[Outcome]:
        """Play runs and yield their outcomes in the order of the jobs.

        Parameters
        ----------
        jobs
            Taken as they are needed.
        stop
            Once set, it ends within a fraction of a second.

        Yields
        ------
        Outcome
            Of each job.

        Raises
        ------
        sim.crew.Stopped
            When `stop` was set before the last outcome.
        sim.errors.Refused
            If a scenario cannot be played as asked.
        """
        self.begin()
        coming = iter(jobs)
        ahead: deque[Future[Outcome]] = deque()
        with self._some:
            asker = Asker(stop, had_s=min((one.had_s for one in self._askers), default=0.0))
            self._askers.append(asker)
        try:
            for job in islice(coming, AHEAD * self.workers):
                ahead.append(self._hand_in(asker, job))
            while ahead:
                future = ahead.popleft()
                while not wait((future,), timeout=LOOK_S).done:
                    if stop.is_set():
                        raise Stopped
                outcome = future.result()
                for job in islice(coming, 1):
                    ahead.append(self._hand_in(asker, job))
                yield outcome
        finally:
            with self._some:
                asker.waiting.clear()
                self._askers.remove(asker)
            asker.stop.set()  # nobody waits for those that are still played

    def _hand_in(self, asker: Asker, job: Job) -> Future[Outcome]:
        job.layout.floors()  # made here once, or every thread would make its own
        future: Future[Outcome] = Future()
        with self._some:
            asker.waiting.append((job, future))
            self._some.notify()
        return future

    def begin(self) -> None:
        """Start the threads, if they are not there; each ask does so.

        The program does it once before there are pages: a thread that is started for a page holds
        that page as long as it lives.
        """
        with self._some:
            if self._started:
                return
            self._started = True
        for number in range(self.workers):
            # Daemons, and no executor: that one waits when Python ends, for a minute of compiling.
            threading.Thread(target=self._work, name=f"pool-{number}", daemon=True).start()

    def _next(self) -> tuple[Asker, Job, Future[Outcome]]:
        with self._some:
            while True:
                wanting = [asker for asker in self._askers if asker.wants()]
                if wanting:
                    # Of equals the one with fewer runs under way: what those cost is not known yet.
                    asker = min(wanting, key=lambda one: (one.had_s, one.playing))
                    asker.playing += 1
                    return (asker, *asker.waiting.popleft())
                self._some.wait()

    def _work(self) -> None:
        _step_back()
        while True:
            asker, job, future = self._next()
            began = time.monotonic()
            try:
                future.set_result(play_one(job, stop=asker.stop))
            except BaseException as error:
                future.set_exception(error)
            with self._some:
                asker.playing -= 1
                asker.had_s += time.monotonic() - began
            del asker, job, future  # a thread that waits holds nothing of a page that is closed


def _step_back() -> None:
    """Lower the priority of this thread; on Linux a thread has its own."""
    if sys.platform == "linux":
        with suppress(OSError):
            own = threading.get_native_id()
            lower = min(os.getpriority(os.PRIO_PROCESS, own) + LOWER, 19)
            os.setpriority(os.PRIO_PROCESS, own, lower)


_shared: list[Pool] = []
_making = threading.Lock()


def shared_pool() -> Pool:
    """Return the one pool of this process, made when it is first asked for."""
    with _making:
        if not _shared:
            _shared.append(Pool())
        return _shared[0]
