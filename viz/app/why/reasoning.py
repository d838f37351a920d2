"""Reasoning: why the fish of a batch are hurt, and what is taken away to see, behind a page.

It tells of runs that are played what `holdwater why` tells of them, and plays nothing of them
again. What is taken away is really played: the same runs with the same fish and one thing fewer, on
the threads that all pages share. A difference is said once all its runs are played.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Generator, Iterator
from contextlib import closing, suppress
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from viz.app.batches import BatchJob
from viz.app.behind import TELL_S
from viz.app.kept_runs import opened
from viz.app.repeating.pool import Pool, shared_pool
from viz.hurt_spots import Spots, spots_of
from viz.why_command import USUAL, to_take
from viz.why_results import (
    NotPlayedResult,
    Reasons,
    TakenResult,
    WhyResults,
    not_played_results,
    reasons_of,
    taken_result,
    temper_result,
)

if TYPE_CHECKING:
    from sim.batch import Batch
    from sim.crew import Job
    from sim.kept_store import Store
    from sim.outcome import Outcome
    from sim.summary import Summary
    from sim.taken_away import Variant
    from viz.played import Played
    from viz.results import Number, Results

MORE = ("hiding", "learning", "assessment")
AS_IT_IS = ""  # the key of the tank itself, among what is shown on the floor

_log = logging.getLogger("holdwater.app")


@dataclass(frozen=True, slots=True)
class Offer:
    """One thing that can be taken away from a tank.

    Parameters
    ----------
    key
        As in `viz.why_results.TakenResult`; `sim.taken_away.TEMPERS` for the tempers alone.
    on
        Whether it is asked for.
    done, asked
        Runs played, and to be played.
    playing
        Whether it is being played just now, and does not wait for another.
    took_s
        Seconds so far.
    """

    key: str
    on: bool
    done: int
    asked: int
    playing: bool
    took_s: float

    @property
    def whole(self) -> bool:
        """Whether all its runs are played."""
        return self.done == self.asked


@dataclass(frozen=True, eq=False)
class WhyNow:
    """What is known; each telling makes another, and two are the same only if they are one.

    Parameters
    ----------
    why
        The answer with its reasons, of what is asked for and played; None before the first.
    offers
        Of each tank, what can be taken away.
    left
        Of each tank, what would change nothing, and why.
    spots
        Of each tank, where on the floor they are hurt: as it is, and without what is taken away.
    shown
        Of each tank, the key of what of `spots` lies on the floor.
    fault
        What hinders it.
    unkept
        Why runs could not be kept; they are played all the same.
    """

    why: WhyResults | None = None
    offers: tuple[tuple[Offer, ...], ...] = ()
    left: tuple[tuple[NotPlayedResult, ...], ...] = ()
    spots: tuple[dict[str, Spots], ...] = ()
    shown: tuple[str, ...] = ()
    fault: tuple[Problem, ...] = ()
    unkept: tuple[Problem, ...] = ()

    @property
    def most(self) -> float:
        """The greatest injury of one block of floor, of all that can be laid on a floor."""
        return max((one.most for spots in self.spots for one in spots.values()), default=0.0)

    @property
    def busy(self) -> bool:
        """Whether something is being played or waits for it."""
        return any(one.on and not one.whole for offers in self.offers for one in offers)


@dataclass
class _Part:
    """One thing taken away from one tank, while it is played."""

    place: int
    variant: Variant
    batch: Batch
    asked: int
    on: bool = False
    took_s: float = 0.0
    stop: threading.Event = field(default_factory=threading.Event)
    taken: TakenResult | None = None
    tempers: Number | None = None
    spots: Spots | None = None

    @property
    def whole(self) -> bool:
        return self.batch.done == self.asked and self.spots is not None


class Reasoning:
    """Why the fish of a batch are hurt.

    Parameters
    ----------
    job
        A batch that is whole, its days kept.
    told
        Called after every advance, from whichever thread made it.
    only
        The place of one tank of it, as if it alone had been played; None for all.
    tanks
        Their places in `Session.tanks`; those of the batch where None.
    note
        What runs these are, where they are not those of Repeat.
    pool
        Threads that play; those of the process where None.

    Attributes
    ----------
    now
        What is known.
    """

    def __init__(
        self,
        job: BatchJob,
        *,
        told: Callable[[], None] = lambda: None,
        only: int | None = None,
        tanks: tuple[int, ...] | None = None,
        note: str = "",
        pool: Pool | None = None,
    ) -> None:
        self.job = job
        self.only = only
        self.designs = job.designs if only is None else (job.designs[only],)
        self.batches = job.batches if only is None else (job.batches[only],)
        self.tanks = tanks or job.tanks
        self.note = note
        self.now = WhyNow()
        self._told = told
        self._pool = pool or shared_pool()
        self._lock = threading.RLock()
        self._closed = False
        self._thread: threading.Thread | None = None
        self._parts: tuple[_Part, ...] = ()
        self._playing: _Part | None = None
        self._summaries: tuple[Summary, ...] = ()
        self._base: tuple[Reasons, ...] = ()
        self._left: tuple[tuple[NotPlayedResult, ...], ...] = ()
        self._results: Results | None = None
        self._as_it_is: tuple[Spots, ...] = ()
        self._fault: tuple[Problem, ...] = ()
        self._unkept: tuple[Problem, ...] = ()
        self._shown: dict[int, str] = {}

    @property
    def runs(self) -> int:
        """Runs of each tank, and of each thing that is taken away."""
        return self.job.runs

    # --- asked by the page ----------------------------------------------------------------------

    def start(self) -> Reasoning:
        """Begin, or go on; return the reasoning."""
        with self._lock:
            if self._thread is None and not self._closed and not self._fault:
                self._thread = threading.Thread(target=self._run, name="holdwater-why", daemon=True)
                self._thread.start()
        return self

    def take_away(self, place: int, key: str, on: bool) -> None:
        """Take one thing away from a tank and play it, or leave it as it is and stop that.

        What is played already is kept: switched on again it goes on from there.

        Parameters
        ----------
        place
            Of the tank.
        key
            Of one of its offers; another is as if it had not been asked.
        on
            Whether it is to be taken away.
        """
        with self._lock:
            for part in self._parts:
                if (part.place, part.variant.key) == (place, key):
                    self._turn(part, on)
        self.start()
        self._say()

    def take_usual(self, place: int) -> None:
        """Take away from a tank, one at a time, all that `holdwater why` takes away.

        Parameters
        ----------
        place
            Of the tank.
        """
        with self._lock:
            for part in self._parts:
                if part.place == place and part.variant.key not in MORE:
                    self._turn(part, True)
        self.start()
        self._say()

    def show(self, place: int, key: str) -> None:
        """Lay on the floor of a tank where they are hurt without one thing, or as it is.

        Parameters
        ----------
        place
            Of the tank.
        key
            Of `WhyNow.spots`; the tank as it is where there is none of it.
        """
        with self._lock:
            self._shown[place] = key
        self._say()

    def stop(self) -> None:
        """Play no further; what is played stays."""
        with self._lock:
            for part in self._parts:
                if part.on and not part.whole:
                    self._turn(part, False)
        self._say()

    def close(self) -> None:
        """Give it up; nothing more is told."""
        with self._lock:
            self._closed = True
            for part in self._parts:
                part.stop.set()

    def wait(self, seconds: float) -> bool:
        """Wait until nothing is played; return whether that came in time."""
        thread = self._thread
        if thread is not None:
            thread.join(seconds)
            return not thread.is_alive()
        return True

    def played(self) -> Played:
        """Return the tanks as they are, as the commands have them."""
        return self.job.played(only=self.only)

    # --- its own thread -------------------------------------------------------------------------

    def _turn(self, part: _Part, on: bool) -> None:
        if part.on == on:
            return
        part.on = on
        if not on:
            part.stop.set()

    def _run(self) -> None:
        try:
            if not self._base:
                self._reckon()
            while (part := self._next()) is not None:
                self._play(part)
        except Refused as refusal:
            self._end(refusal.problems)
        except Exception as error:
            _log.error("the reasons failed", exc_info=error)
            problem = Problem("why", f"it ended with a fault of the program ({error!r}).")
            self._end((problem,))

    def _end(self, problems: tuple[Problem, ...]) -> None:
        with self._lock:
            self._fault, self._thread, self._playing = problems, None, None
        self._say()

    def _reckon(self) -> None:
        """What the runs tell as they are, and what can be taken away."""
        from sim.taken_away import empty_batch

        played = self.played()
        self._summaries = played.summaries()
        plans = [
            to_take(self.designs, place, mechanisms=(*USUAL, *MORE))
            for place in range(len(self.designs))
        ]
        self._left = tuple(not_played_results(plan.not_played) for plan in plans)
        parts = tuple(
            _Part(
                place,
                variant,
                empty_batch(
                    variant,
                    runs=self.runs,
                    seed=batch.seed,
                    settings=batch.settings,
                    changes=batch.changes,
                ),
                self.runs,
            )
            for place, (plan, batch) in enumerate(zip(plans, self.batches, strict=True))
            for variant in plan.variants
            if variant.key != _tempers() or self.runs >= least_for_tempers()
        )
        spots = tuple(spots_of(batch) for batch in self.batches)
        base = tuple(reasons_of(one, number=k) for k, one in enumerate(self._summaries))
        results = played.results()
        with self._lock:
            self._parts, self._as_it_is, self._results, self._base = parts, spots, results, base
        self._say()

    def _next(self) -> _Part | None:
        with self._lock:
            for part in self._parts:
                if part.on and not part.whole and not self._closed:
                    part.stop = threading.Event()
                    self._playing = part
                    return part
            self._thread = None
            return None

    def _play(self, part: _Part) -> None:
        from sim.crew import Stopped

        began, before, told = time.monotonic(), part.took_s, 0.0
        self._say()
        batch = part.batch
        # Runs with the tempers of others are those of no scenario, and are not kept.
        folder = None if part.variant.key == _tempers() else self.job.keep
        with (
            suppress(Stopped),
            opened(folder, trouble=self._trouble) as store,
            closing(self._outcomes(part, store)) as outcomes,
        ):
            for outcome in outcomes:
                batch.add(outcome)
                now = time.monotonic()
                part.took_s = before + now - began
                if part.stop.is_set():
                    break
                if now - told > TELL_S:
                    told = now
                    self._say()
        if batch.done == part.asked:
            self._tell_of(part)
        with self._lock:
            self._playing = None
        self._say()

    def _outcomes(self, part: _Part, store: Store | None) -> Generator[Outcome, None, None]:
        """Yield the outcomes that are still missing, kept or played."""
        from sim.kept import play_jobs
        from sim.taken_away import jobs_of

        batch = part.batch

        def jobs() -> Iterator[Job]:
            every = jobs_of([part.variant], part.asked, batch.seed, batch.settings, batch.changes)
            return islice(every, first, None)

        def player(jobs: Iterator[Job]) -> Iterator[Outcome]:
            yield from self._pool.play(jobs, stop=part.stop)

        first = batch.done
        yield from play_jobs(jobs, keep=store, workers=player, trouble=self._trouble)

    def _trouble(self, refusal: Refused) -> None:
        with self._lock:
            new = tuple(one for one in refusal.problems if one not in self._unkept)
            self._unkept += new

    def _tell_of(self, part: _Part) -> None:
        """What a part that is whole tells."""
        summaries, key = self._summaries, part.variant.key
        if key == _tempers():
            part.tempers = temper_result(part.batch, base=summaries[part.place])
        else:
            part.taken = taken_result(key, part.batch, summaries=summaries, number=part.place)
        part.spots = spots_of(part.batch)

    def _say(self) -> None:
        with self._lock:
            if self._closed:
                return
            self.now = self._standing()
        self._told()

    def _standing(self) -> WhyNow:
        if self._results is None:
            return WhyNow(fault=self._fault)
        places = range(len(self.designs))
        shown = [part for part in self._parts if part.on and part.whole]
        spots = tuple(
            {
                AS_IT_IS: self._as_it_is[place],
                **{
                    part.variant.key: part.spots
                    for part in shown
                    if part.place == place and part.taken is not None and part.spots is not None
                },
            }
            for place in places
        )
        return WhyNow(
            why=WhyResults(self._results, tuple(self._reasons(place, shown) for place in places)),
            offers=tuple(tuple(self._offers(place)) for place in places),
            left=self._left,
            spots=spots,
            shown=tuple(
                key if (key := self._shown.get(place, AS_IT_IS)) in spots[place] else AS_IT_IS
                for place in places
            ),
            fault=self._fault,
            unkept=self._unkept,
        )

    def _reasons(self, place: int, shown: list[_Part]) -> Reasons:
        mine = [part for part in shown if part.place == place]
        return replace(
            self._base[place],
            tempers=next((part.tempers for part in mine if part.tempers is not None), None),
            taken=tuple(part.taken for part in mine if part.taken is not None),
            not_played=tuple(one for one in self._left[place] if one.key not in MORE),
        )

    def _offers(self, place: int) -> list[Offer]:
        return [
            Offer(
                part.variant.key,
                on=part.on,
                done=part.batch.done if part.whole else min(part.batch.done, part.asked - 1),
                asked=part.asked,
                playing=part is self._playing,
                took_s=part.took_s,
            )
            for part in self._parts
            if part.place == place
        ]


def _tempers() -> str:
    from sim.taken_away import TEMPERS

    return TEMPERS


def least_for_tempers() -> int:
    """Return how many runs are needed to tell what tempers make of the spread."""
    from sim.taken_away import LEAST_SETS
    from sim.unmeasured import RUNS_PER_SET

    return LEAST_SETS * RUNS_PER_SET
