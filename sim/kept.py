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

from sim.crew import Job, Workers, play, play_one
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
Trouble = Callable[[Refused], None]


def play_jobs(
    jobs: Jobs,
    *,
    workers: Workers = None,
    keep: Store | None,
    trouble: Trouble | None = None,
) -> Iterator[Outcome]:
    """Play runs, or read those that are kept, and yield their outcomes in the order of the jobs.

    Parameters
    ----------
    jobs
        Makes the jobs, each time the same; all of one seed, settings and changes.
    workers
        As `sim.crew.play`.
    keep
        Where they are kept; None for nowhere.
    trouble
        Told why nothing can be read or written, at most once each; what is not kept is then played
        all the same. Where None, that is refused.

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
    return _Keeping(keep, trouble=trouble).play(jobs, workers=workers)


class _Keeping:
    """One batch that is kept: its questions, and what there was of them when it began."""

    def __init__(self, store: Store, *, trouble: Trouble | None = None) -> None:
        self.store = store
        self.trouble = trouble
        self.adding = store.writable
        self.told: set[str] = set()
        self.asked: dict[int, tuple[Scenario, Question, np.ndarray]] = {}
        self.known: dict[str, np.ndarray] = {}  # by key: what was there of a question at first
        self.fresh: list[tuple[Question, Outcome]] = []
        self.written = time.monotonic()

    def play(self, jobs: Jobs, *, workers: Workers) -> Iterator[Outcome]:
        if not self.adding:
            self._check_all_is_there(jobs)
        played = play((job for job in jobs() if not self.there(job)), workers=workers)
        try:
            for job in jobs():
                if self.there(job):
                    yield self.read(job)
                else:
                    outcome = next(played)
                    self.add(job, outcome, new=True)
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
            kept = self.known.get(question.key)  # of a scenario that was made anew since
            if kept is None:
                numbers = self.numbers(question)
                kept = np.zeros(int(numbers.max(initial=-1)) + 1, dtype=bool)
                kept[numbers] = True
                self.known[question.key] = kept
            # The scenario is held, so that its id stays its own.
            found = self.asked[id(job.scenario)] = (job.scenario, question, kept)
        return found[1], found[2]

    def numbers(self, question: Question) -> np.ndarray:
        try:
            return self.store.numbers(question)
        except Refused as refusal:
            self.tell("read", refusal)
            return np.zeros(0, dtype=np.int64)

    def tell(self, what: str, refusal: Refused) -> None:
        """Tell that something does not work, once; raise it where nobody is to be told."""
        if self.trouble is None:
            raise refusal
        if what not in self.told:
            self.told.add(what)
            self.trouble(refusal)

    def there(self, job: Job) -> bool:
        kept = self.question(job)[1]
        return job.run < len(kept) and bool(kept[job.run])

    def read(self, job: Job) -> Outcome:
        """Return a kept run; one that is damaged is played again."""
        question, _ = self.question(job)
        try:
            outcome = self.store.get(question, job.run)
        except Damaged:
            self.store.damaged += 1
            outcome = play_one(job)
            self.add(job, outcome)
        except Refused as refusal:
            self.tell("read", refusal)
            return play_one(job)
        self.store.found += 1
        return outcome

    def add(self, job: Job, outcome: Outcome, *, new: bool = False) -> None:
        if not self.adding:
            return
        self.store.added += new
        self.fresh.append((self.question(job)[0], outcome))
        now = time.monotonic()
        if len(self.fresh) >= SLICE_RUNS or now - self.written >= SLICE_S:
            self.write()

    def write(self) -> None:
        self.written = time.monotonic()
        if self.fresh:
            fresh, self.fresh = self.fresh, []
            try:
                self.store.put(fresh)
            except Refused as refusal:
                self.adding = False
                self.tell("write", refusal)

    def _check_all_is_there(self, jobs: Jobs) -> None:
        there = asked = 0
        for job in jobs():
            asked += 1
            there += self.there(job)
        if there < asked:
            self.tell(
                "write",
                Refused(
                    Problem(
                        self.store.where,
                        f"{there} of {asked} runs are kept, and no more can be written "
                        f"({self.store.why_not}); expected a folder one may write to, with room "
                        "left. Ask for fewer runs, make it writable, or name another folder.",
                    )
                ),
            )
