"""SweepJob: what `holdwater sweep` plays, behind a page, with the same seed, words and numbers.

What a value gains, and past which no more is shown, is said once all is played; before, the points
so far. It can be stopped at any time and gone on with from there, to the same bytes.
"""

from __future__ import annotations

import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused
from viz.app.behind import TELL_S, Behind, Standing
from viz.app.kept_runs import opened
from viz.app.repeating.pool import Pool, shared_pool
from viz.app.sweeping.asking import FULL, SweepAsked, in_page, read_asked

if TYPE_CHECKING:
    from sim.crew import Job
    from sim.outcome import Outcome
    from sim.sweep import Lot, Sweep
    from sim.varied import Varied
    from viz.app.open_tank import OpenTank
    from viz.app.sweeping.offers import Offer
    from viz.sweep_results import SweepResults

RESULTS_SHARE = 0.2  # of the time, at most, goes into figures that are not the last ones


@dataclass(frozen=True, eq=False, kw_only=True)
class SweepNow(Standing):
    """How a sweep stands.

    Parameters
    ----------
    building
        Whether the tanks of its points are still being built.
    points
        How many there are.
    done, planned
        Runs of all points, finished and planned so far.
    results
        As the command line has them, once every point has runs; they may lag behind `done` until
        no more is played.
    unwise
        What `check` calls unwise at the points.
    found
        Runs that had been kept and were not played anew.
    unkept
        Why runs cannot be kept, or not be read; they are played all the same.
    """

    building: bool = True
    points: int = 0
    done: int = 0
    planned: int = 0
    results: SweepResults | None = None
    unwise: tuple[Problem, ...] = ()
    found: int = 0
    unkept: tuple[Problem, ...] = ()


class SweepJob(Behind[SweepNow]):
    """A sweep of one tank.

    Parameters
    ----------
    tank
        Open, and can be played.
    asked
        What is varied, and how often each point is played.
    told, keep, pool
        As `viz.app.batches.BatchJob`.

    Attributes
    ----------
    typed
        What was asked for, as it was chosen or typed; `wanted` and `asked` are what it means.
    sweep
        What was played; None before its tanks are built.

    Raises
    ------
    Refused
        If what was typed has no sense.
    """

    def __init__(
        self,
        tank: OpenTank,
        asked: SweepAsked,
        *,
        told: Callable[[], None] = lambda: None,
        keep: Path | None = None,
        pool: Pool | None = None,
    ) -> None:
        super().__init__(SweepNow(), called="sweep", told=told)
        self.tank, self.typed = tank, asked
        self.wanted, self.asked = read_asked(asked)
        self.keep, self._pool = keep, pool or shared_pool()
        self.sweep: Sweep | None = None
        self._lot: Lot | None = None

    @property
    def until_narrow(self) -> bool:
        """Whether each point is played until its interval is narrow."""
        return self.wanted.precision is not None

    @property
    def file(self) -> Path | None:
        """The file of the tank, if it stands there as it is played."""
        return self.tank.file if not self.tank.changed else None

    def tank_at(self, point: int) -> Varied:
        """Return a point as a tank that can be played.

        Parameters
        ----------
        point
            Its number, from 0.
        """
        assert self.sweep is not None
        return self.sweep.tanks[point]

    def work(self, stop: threading.Event) -> None:
        """Build the points, and play them."""
        from sim.batch import seed_of
        from sim.sweep import Sweep, batches_of, first_lot, next_lot

        if self.sweep is None:
            tanks, unwise = self._built()
            self.check(stop)
            seed = seed_of(tanks[0].scenario, seed=self.asked.seed)
            batches = batches_of(
                tanks, runs=self.asked.runs, seed=seed, settings=self.asked.settings,
                changes=self.asked.changes,
            )  # fmt: skip
            self.sweep = Sweep(self.wanted.factors, tanks, batches, plan=self.wanted.plan)
            self._lot = first_lot(batches, runs=self.asked.runs, precision=self.wanted.precision)
            planned = sum(1 for _ in self._lot.turns())
            self.say(building=False, points=len(tanks), planned=planned, unwise=unwise)
        try:
            while self._lot is not None:
                self._play(self._lot, stop)
                self._lot = next_lot(self._lot, precision=self.wanted.precision)
                if self._lot is not None:
                    self.say(planned=self.now.done + sum(1 for _ in self._lot.turns()))
        finally:
            if self._least > 0 and not self._closed:
                self.say(soon=False, results=self.results())

    def _play(self, lot: Lot, stop: threading.Event) -> None:
        from sim.kept import play_jobs

        began = time.monotonic()
        already, found, reckoned, cost = self.now.took_s, self.now.found, began, 0.0

        def player(jobs: Iterator[Job]) -> Iterator[Outcome]:
            return self._pool.play(jobs, stop=stop)

        with ExitStack() as closes:
            store = closes.enter_context(opened(self.keep, trouble=self._trouble))
            outcomes = play_jobs(lot.jobs, keep=store, workers=player, trouble=self._trouble)
            closes.callback(outcomes.close)  # type: ignore[attr-defined]
            for (batch, _), outcome in zip(lot.turns(), outcomes, strict=True):
                batch.add(outcome)
                now = time.monotonic()
                values: dict[str, Any] = {
                    "done": self.now.done + 1,
                    "took_s": already + now - began,
                    "found": found + (0 if store is None else store.found),
                }
                due = now - reckoned > max(cost * (1.0 / RESULTS_SHARE - 1.0), TELL_S)
                if self._least > 1 and due and not stop.is_set():
                    values["results"] = self.results()
                    reckoned = time.monotonic()
                    cost = reckoned - now
                self.say(soon="results" in values, **values)
                self.check(stop)

    def _trouble(self, refusal: Refused) -> None:
        new = tuple(problem for problem in refusal.problems if problem not in self.now.unkept)
        self.say(unkept=self.now.unkept + new)

    @property
    def _least(self) -> int:
        """Runs that all points have."""
        return 0 if self.sweep is None else min(batch.done for batch in self.sweep.batches)

    def results(self) -> SweepResults:
        """Return what the runs so far say, as the command line has it; every point has one.

        Raises
        ------
        Refused
            If an outcome that was asked for is made by nothing in this tank.
        """
        from sim.sweep import Sweep
        from viz.record import provenance
        from viz.sweep_command import known_outcomes
        from viz.sweep_results import results_of_sweep

        assert self.sweep is not None
        sweep = self.sweep
        # anew each time: a sweep keeps what it has reckoned
        sweep = Sweep(sweep.factors, sweep.tanks, sweep.batches, plan=sweep.plan)
        for batch in sweep.batches:
            batch.asked = batch.done
        known_outcomes(sweep, self.wanted.outcomes)
        first = sweep.batches[0]
        return results_of_sweep(
            sweep,
            file=str(self.file) if self.file is not None else self.tank.name,
            shown=self.wanted.outcomes,
            precision=self.wanted.precision,
            provenance=provenance(
                seed=first.seed, settings=first.settings, watch=self.asked.watch,
                changes=first.changes,
            ),
        )  # fmt: skip

    def _built(self) -> tuple[tuple[Varied, ...], tuple[Problem, ...]]:
        """Return the tanks of the points, and what is unwise about them."""
        from sim.varied import build_points, unwise_of
        from sim.varying import plan_points

        factors = self.wanted.factors
        with file_of(self.tank) as (path, hide):
            try:
                points = plan_points(
                    factors, plan=self.wanted.plan, points=self.wanted.points,
                    seed=self.asked.seed or 1,
                )  # fmt: skip
                tanks = build_points(path, factors, points)
            except Refused as refusal:
                raise Refused([in_page(one, hide=hide) for one in refusal.problems]) from None
            unwise = unwise_of(path, factors, tanks)
        return tanks, tuple(in_page(one, hide=hide) for one in unwise)


@contextmanager
def file_of(tank: OpenTank) -> Iterator[tuple[Path, tuple[str, ...]]]:
    """Yield a file that holds a tank as it stands, and what a sentence about it leaves out.

    Parameters
    ----------
    tank
        Its own file is taken where it was not changed since.
    """
    from sim.scenario_file import write_scenario

    if tank.file is not None and not tank.changed:
        yield tank.file, (f"{tank.file} with ", f"{tank.file}, ")
        return
    with tempfile.TemporaryDirectory(prefix="holdwater-") as folder:
        path = Path(folder) / "this tank"
        path.write_text(write_scenario(tank.scenario), encoding="utf-8", newline="")
        yield path, (f"{path} with ", f"{path}, ", f"{folder}/")


def first_values(tank: OpenTank, offer: Offer) -> str:
    """Return the values that something begins with: those with which the tank can be built.

    Parameters
    ----------
    tank
        That can be played.
    offer
        What is varied; all its values where fewer than two of them can be built, so that whoever
        plays them is told why.
    """
    from sim.varied import build_points
    from sim.varying import plan_points, read_factors

    factors = read_factors([f"{offer.key}={offer.values}"])
    kept = []
    with file_of(tank) as (path, _):
        for point in plan_points(factors, plan=FULL):
            try:
                build_points(path, factors, [point])
            except Refused:
                continue
            kept.append(point[0].text)
    whole = len(kept) in (0, 1, len(factors[0].values))
    return offer.values if whole else ", ".join(kept)
