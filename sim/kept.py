"""Kept runs: what was played before is read, and only the rest is played, in the same order.

A run hangs on its question and its number alone, so a batch of kept and of fresh runs has the very
bytes of a batch that was played whole: asked again, gone on with, or resumed after the program was
killed in the middle.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import numpy as np

from sim.crew import Job, play, play_one
from sim.errors import Problem, Refused
from sim.kept_question import Question, question_of
from sim.kept_run import Damaged
from sim.kept_store import Store
from sim.settings import Settings

if TYPE_CHECKING:
    from sim.outcome import Outcome
    from sim.scenario import Scenario

SLICE_RUNS = 16  # written at one time, at most
SLICE_S = 0.5  # s after which what there is is written

Jobs = Callable[[], Iterator[Job]]


def play_jobs(jobs: Jobs, *, workers: int | None = None, keep: Store | None) -> Iterator[Outcome]:
    """Play runs, or read those that are kept, and yield their outcomes in the order of the jobs.

    Parameters
    ----------
    jobs
        Makes the jobs, each time the same; all of one seed, settings and changes.
    workers
        As `sim.crew.play`.
    keep
        Where they are kept; None for nowhere.

    Yields
    ------
    Outcome
        Of each job.

    Raises
    ------
    Refused
        If a scenario cannot be played as asked, or what was played cannot be kept.
    """
    if keep is None:
        return play(jobs(), workers=workers)
    return _Keeping(keep).play(jobs, workers=workers)


class _Keeping:
    """One batch that is kept: its questions, and what there was of them when it began."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self.asked: dict[int, tuple[Scenario, Question, np.ndarray]] = {}
        self.fresh: list[tuple[Question, Outcome]] = []
        self.written = time.monotonic()

    def play(self, jobs: Jobs, *, workers: int | None) -> Iterator[Outcome]:
        if not self.store.writable:
            self._refuse_to_add(jobs)
        played = play((job for job in jobs() if not self.there(job)), workers=workers)
        try:
            for job in jobs():
                if self.there(job):
                    yield self.read(job)
                else:
                    outcome = next(played)
                    self.store.added += 1
                    self.add(job, outcome)
                    yield outcome
        finally:
            played.close()  # type: ignore[attr-defined]
            self.write()

    def question(self, job: Job) -> tuple[Question, np.ndarray]:
        """Return the question of a job and, by number, which of its runs were there at first."""
        found = self.asked.get(id(job.scenario))
        if found is None:
            own = job.scenario.seed if job.scenario.seed is not None else 1
            question = question_of(
                job.scenario,
                seed=own if job.seed is None else job.seed,
                settings=job.settings or Settings(),
                changes=job.changes or {},
            )
            numbers = self.store.numbers(question)
            kept = np.zeros(int(numbers.max(initial=-1)) + 1, dtype=bool)
            kept[numbers] = True
            # The scenario is held, so that its id stays its own.
            found = self.asked[id(job.scenario)] = (job.scenario, question, kept)
        return found[1], found[2]

    def there(self, job: Job) -> bool:
        kept = self.question(job)[1]
        return job.run < len(kept) and bool(kept[job.run])

    def read(self, job: Job) -> Outcome:
        """Return a kept run; one that is damaged is played again."""
        question, _ = self.question(job)
        self.store.found += 1
        try:
            return self.store.get(question, job.run)
        except Damaged:
            self.store.damaged += 1
            outcome = play_one(job)
            if self.store.writable:
                self.add(job, outcome)
            return outcome

    def add(self, job: Job, outcome: Outcome) -> None:
        self.fresh.append((self.question(job)[0], outcome))
        now = time.monotonic()
        if len(self.fresh) >= SLICE_RUNS or now - self.written >= SLICE_S:
            self.write()

    def write(self) -> None:
        self.written = time.monotonic()
        if self.fresh:
            fresh, self.fresh = self.fresh, []
            self.store.put(fresh)

    def _refuse_to_add(self, jobs: Jobs) -> None:
        there = asked = 0
        for job in jobs():
            asked += 1
            there += self.there(job)
        if there < asked:
            raise Refused(
                Problem(
                    self.store.where,
                    f"{there} of {asked} runs are kept, and no more can be written "
                    f"({self.store.why_not}); expected a folder one may write to, with room left. "
                    "Ask for fewer runs, make it writable, or name another folder.",
                )
            )
