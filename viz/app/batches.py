"""BatchJob: many runs of one tank, or of two to four over the same fish, behind a page.

It plays what `holdwater run` and `holdwater compare` play, with the same seed and settings, and
says it in the same words and numbers; whole, its results are the very bytes that `--json` and
`--csv` write. While it goes on it tells how things stand, at most five times a second.

Runs that are kept are read, and those that are played are kept, so that the same question is
answered at once, and a batch that was stopped goes on after a restart too.

Which tank is better is said once all runs that were asked for are played. Somebody who looks all
the while and stops when it looks clear finds a difference where there is none, far more often than
one time in twenty.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused
from viz.app.behind import TELL_S, Behind, Standing
from viz.app.kept_runs import opened
from viz.app.repeating.pairs import Pair, pairs_of
from viz.app.repeating.pool import Pool, shared_pool
from viz.app.repeating.rows import RunRow, row_of

if TYPE_CHECKING:
    from sim.comparison import Comparison, Design
    from sim.crew import Job
    from sim.kept_store import Store
    from sim.outcome import Outcome
    from viz.app.open_tank import OpenTank
    from viz.played import Asked, Played
    from viz.results import Results

RUNS = (20, 100, 400)
RESULTS_SHARE = 0.2  # of the time, at most, goes into figures that are not the last ones


@dataclass(frozen=True, eq=False)
class BatchNow(Standing):
    """How a batch stands; stopped before its end it can be gone on with.

    Parameters
    ----------
    done, asked
        Runs of each tank that all tanks have finished, and that were asked for.
    rows
        Of each tank, a row for each run that is finished, in the order of their numbers.
    results
        Of the runs that all tanks have finished, as the command line has them; None before the
        first. They may lag some runs behind `done` until no more is played.
    pairs
        Of each tank but the first, draw by draw against the first; empty before all is played.
    found
        Runs, of all tanks together, that had been kept and were not played anew.
    unkept
        Why runs cannot be kept, or not be read; they are played all the same.
    """

    done: int
    asked: int
    rows: tuple[tuple[RunRow, ...], ...]
    results: Results | None = None
    pairs: tuple[tuple[Pair, ...], ...] = ()
    found: int = 0
    unkept: tuple[Problem, ...] = ()


class BatchJob(Behind[BatchNow]):
    """Runs of one tank or of several, played on the threads that all pages share.

    Parameters
    ----------
    designs
        One to four; of several the first is the reference.
    asked
        Runs, seed and settings, as `asked_for` returns them.
    told
        Called after every advance, from the job's own thread.
    keep_days
        Whether the tables of days are kept, which the reasons and the files need.
    tanks
        The places of the designs in `Session.tanks`; their own where None.
    pool
        Threads that play; those of the process where None.
    keep
        Folder in which the runs are kept; None for nowhere.

    Attributes
    ----------
    now
        How it stands.
    batches
        Of the designs; to be read once nothing more is played.
    """

    def __init__(
        self,
        designs: Sequence[Design],
        *,
        asked: Asked,
        told: Callable[[], None] = lambda: None,
        keep_days: bool = True,
        tanks: Sequence[int] | None = None,
        pool: Pool | None = None,
        keep: Path | None = None,
    ) -> None:
        from sim.batch import Batch, seed_of

        self.designs = tuple(designs)
        self.tanks = tuple(range(len(designs)) if tanks is None else tanks)
        self.asked = asked
        self.seed = seed_of(self.designs[0].scenario, seed=asked.seed)
        self.settings = asked.settings
        self.changes = dict(asked.changes)
        self._pool = pool or shared_pool()
        self.keep = keep
        self._found = 0
        self._unkept: tuple[Problem, ...] = ()
        self.batches = tuple(
            Batch(
                scenario=design.scenario,
                layout=design.layout,
                seed=self.seed,
                settings=self.settings,
                changes=self.changes,
                asked=asked.runs,
                keep_days=keep_days,
            )
            for design in self.designs
        )
        self._rows: tuple[list[RunRow], ...] = tuple([] for _ in self.designs)
        super().__init__(
            BatchNow(0, asked.runs, tuple(() for _ in self.designs)), called="batch", told=told
        )

    @property
    def runs(self) -> int:
        """Runs of each tank that were asked for."""
        return self.asked.runs

    # --- asked by the page ----------------------------------------------------------------------

    def start(self, *, only_kept: bool = False) -> BatchJob:
        """Begin, or go on where it was stopped; return the job.

        Parameters
        ----------
        only_kept
            Read what is kept and stop there, as if it had been stopped by hand.
        """
        self.begin(partial(self.work, only_kept=only_kept))
        return self

    # --- its own thread -------------------------------------------------------------------------

    def work(self, stop: threading.Event, *, only_kept: bool = False) -> None:
        """Play what is missing, and reckon what there is when no more is played."""
        from sim.crew import Stopped

        check_days(self.designs)
        with suppress(Stopped):
            self._play(stop, only_kept=only_kept)
        if self._closed:
            raise Stopped
        whole = all(batch.done == self.runs for batch in self.batches)
        self.now = self._standing(self.results() if self._done else None)
        if not whole:
            raise Stopped
        if len(self.designs) > 1:
            comparison = self.comparison()
            others = range(1, len(self.designs))
            pairs = tuple(pairs_of(comparison, other) for other in others)
            self.now = replace(self.now, pairs=pairs)

    def _play(self, stop: threading.Event, *, only_kept: bool) -> None:
        began = told = reckoned = time.monotonic()
        already, cost, first = self.now.took_s, 0.0, True
        found, self._unkept = self._found, ()
        self.say()
        with (
            opened(self.keep, trouble=self._trouble) as store,
            closing(self._outcomes(store, stop, only_kept=only_kept)) as outcomes,
        ):
            for outcome in outcomes:
                number = self._next_tank()
                self.batches[number].add(outcome)
                self._rows[number].append(row_of(outcome))
                self._found = found + (0 if store is None else store.found)
                now = time.monotonic()
                if stop.is_set():
                    break
                if not first and now - told < TELL_S:
                    continue
                results = self.now.results
                due = now - reckoned > cost * (1.0 / RESULTS_SHARE - 1.0)
                if self._done and (results is None or due):
                    results = self.results()
                    reckoned = time.monotonic()
                    cost = reckoned - now
                    first = False
                self.now = self._standing(results)
                self.say(took_s=already + now - began)
                told = time.monotonic()

    def _outcomes(
        self, store: Store | None, stop: threading.Event, *, only_kept: bool
    ) -> Generator[Outcome, None, None]:
        """Yield the outcomes that are still missing, kept or played, in their turns."""
        from sim.crew import Stopped
        from sim.kept import play_jobs

        first = sum(batch.done for batch in self.batches)

        def player(jobs: Iterator[Job]) -> Iterator[Outcome]:
            if not only_kept:
                yield from self._pool.play(jobs, stop=stop)
            elif next(jobs, None) is not None:
                raise Stopped

        yield from play_jobs(
            lambda: self._jobs(first), keep=store, workers=player, trouble=self._trouble
        )

    def _trouble(self, refusal: Refused) -> None:
        new = tuple(problem for problem in refusal.problems if problem not in self._unkept)
        self._unkept += new

    @property
    def _done(self) -> int:
        return min(batch.done for batch in self.batches)

    def _next_tank(self) -> int:
        """The tank whose next run comes: they take turns, as in `sim.comparison.compare`."""
        return sum(batch.done for batch in self.batches) % len(self.batches)

    def _jobs(self, first: int) -> Iterator[Job]:
        from sim.crew import Job

        tanks = len(self.designs)
        for turn in range(first, self.runs * tanks):
            design = self.designs[turn % tanks]
            yield Job(
                scenario=design.scenario,
                layout=design.layout,
                run=turn // tanks,
                seed=self.seed,
                settings=self.settings,
                changes=self.changes,
            )

    def _standing(self, results: Results | None) -> BatchNow:
        return BatchNow(
            self._done,
            self.runs,
            tuple(tuple(rows) for rows in self._rows),
            results=results,
            took_s=self.now.took_s,
            found=self._found,
            unkept=self._unkept,
        )

    def comparison(self) -> Comparison:
        """Return what is played as a comparison of two tanks or more."""
        from sim.comparison import Comparison

        return Comparison(self.designs, self.batches)

    def results(self) -> Results:
        """Return what the runs so far say, as the command line has it; every tank has one."""
        return self.played().results()

    def played(self, *, only: int | None = None) -> Played:
        """Return what was played as the commands have it; for the report and the reasons.

        Parameters
        ----------
        only
            The place of one tank, as if it alone had been asked for; None for all.
        """
        from sim.summary import summarise
        from viz.gathered import results_of_comparison, results_of_one
        from viz.played import Played
        from viz.record import provenance

        origin: dict[str, Any] = provenance(
            seed=self.seed, settings=self.settings, watch=self.asked.watch, changes=self.changes
        )
        if only is not None or len(self.designs) == 1:
            place = only or 0
            design, batch = self.designs[place], self.batches[place]
            summary = summarise(batch)
            return Played(
                designs=(design,),
                batches=(batch,),
                summaries=lambda: (summary,),
                results=lambda: results_of_one(summary, design=design, provenance=origin),
            )
        comparison = self.comparison()
        return Played(
            designs=self.designs,
            batches=self.batches,
            summaries=lambda: comparison.summaries,
            results=lambda: results_of_comparison(comparison, provenance=origin),
        )


def check_days(designs: Sequence[Design]) -> None:
    """Refuse tanks that are played for different numbers of days.

    Parameters
    ----------
    designs
        One or more.

    Raises
    ------
    Refused
        If their days differ.
    """
    if len({design.scenario.days for design in designs}) > 1:
        raise Refused(
            Problem(
                "days",
                "the tanks are played for different numbers of days; expected the same for all. "
                "Make them equal in Build.",
            )
        )


def asked_for(runs: int, *, seed: int | None = None) -> Asked:
    """Return what `holdwater run --runs N` asks for.

    Parameters
    ----------
    runs
        Of each tank.
    seed
        Instead of that of the file.
    """
    from viz.played import read_options

    return read_options(
        runs=str(runs), days=None, seed=None if seed is None else str(seed), workers=None,
        watch="auto", injury_scale=None, hold_assumed=False, changes=(), without=(), json=None,
        csv=None,
    )  # fmt: skip


def designs_of_tanks(tanks: Sequence[OpenTank]) -> tuple[Design, ...]:
    """Return open tanks as the designs of the command line, called as it calls them.

    Parameters
    ----------
    tanks
        One to four that can be played. One that was changed since it was saved has no file.

    Raises
    ------
    Refused
        With what hinders those that cannot be played.
    """
    from viz.played import designs_of

    problems = [
        replace(problem, where=f"{tank.name}, {problem.where}" if len(tanks) > 1 else problem.where)
        for tank in tanks
        if tank.checked is None
        for problem in tank.problems
    ]
    if problems:
        raise Refused(problems)
    checked = [tank.checked for tank in tanks if tank.checked is not None]
    named = designs_of([tank.file or Path(tank.name) for tank in tanks], checked=checked)
    return tuple(
        replace(design, path=tank.file if tank.file is not None and not tank.changed else None)
        for design, tank in zip(named, tanks, strict=True)
    )
