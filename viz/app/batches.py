"""Batches of a page: many runs of its tanks over the same fish, played behind it, row by row.

They are the runs that `holdwater run` and `holdwater compare` play, with the same settings, seed
and draws, and come out as the same results. Whoever looks is told at most five times a second.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.batch import Batch, seed_of
from sim.comparison import Comparison, Design
from sim.crew import Job, play
from sim.errors import Problem, Refused
from sim.summary import summarise
from viz.played import Asked, read_options

if TYPE_CHECKING:
    from sim.outcome import Outcome
    from viz.app.open_tank import OpenTank
    from viz.results import Results

TELL_S = 0.2
SUM_UP_S = 2.5  # between two results that are not the last
SUM_UP_SHARE = 0.2  # of the time that may go into them
FIRST_SUM = 8  # runs of each tank, before which there are rows only
RUNS = (20, 100, 400)


@dataclass(frozen=True, slots=True)
class RunRow:
    """What a row of the batch shows of one run; days are nan where it did not come to that.

    Parameters
    ----------
    run
        Its number, from 0.
    hurt_day, serious_day, moved_day, death_day
        First day with torn fins, with a serious injury, on which the keeper moved a fish out, on
        which a fish died.
    dose
        Dose of injury over all fish, fish-days.
    draw
        Draw of fish.
    """

    run: int
    hurt_day: float
    serious_day: float
    moved_day: float
    death_day: float
    dose: float
    draw: int

    @property
    def badness(self) -> tuple[bool, bool, float]:
        """What runs are ordered by: a death, a serious injury, then the dose."""
        return (math.isfinite(self.death_day), math.isfinite(self.serious_day), self.dose)


def row_of(outcome: Outcome) -> RunRow:
    """Return the row of a run.

    Parameters
    ----------
    outcome
        What it left behind.
    """
    row, fish = outcome.row[0], outcome.fish

    def first(column: np.ndarray) -> float:
        return float(np.min(column)) if np.isfinite(column).any() else math.nan

    def day(value: Any) -> float:
        return float(value) if np.isfinite(value) else math.nan

    return RunRow(
        run=int(row["run"]),
        hurt_day=first(fish["minor_day"]),
        serious_day=day(row["serious_day"]),
        moved_day=first(fish["moved_day"]),
        death_day=day(row["death_day"]),
        dose=float(row["dose"]),
        draw=int(row["draw"]),
    )


@dataclass(frozen=True)
class BatchNow:
    """How far a batch has come; two that are equal look the same.

    Parameters
    ----------
    done, asked
        Runs of each tank.
    rows
        For each tank, its runs in the order of their numbers.
    results
        What they say so far, as the command line has it; None before `FIRST_SUM` runs.
    over
        Whether nothing more is played.
    cancelled
        Whether it was given up before the end.
    refused
        Why it cannot be played.
    took_s
        Seconds so far.
    """

    done: int
    asked: int
    rows: tuple[tuple[RunRow, ...], ...]
    results: Results | None = None
    over: bool = False
    cancelled: bool = False
    refused: tuple[Problem, ...] = ()
    took_s: float = 0.0


class BatchJob:
    """Many runs of one to four tanks, played by threads of their own.

    Parameters
    ----------
    designs
        The tanks; the first is the reference.
    asked
        Runs, seed and settings, as `viz.played.read_options` returns them.
    told
        Called, from another thread, when `now` is another.
    keep_days
        Whether the tables of days are kept.

    Attributes
    ----------
    now
        How far it has come.
    seed, settings, changes
        Those of every run; with its number they name it.
    """

    def __init__(
        self,
        designs: Sequence[Design],
        *,
        asked: Asked,
        told: Callable[[], None] = lambda: None,
        keep_days: bool = False,
    ) -> None:
        self.designs = tuple(designs)
        self.asked = asked
        self.seed = seed_of(self.designs[0].scenario, seed=asked.seed)
        self.settings = asked.settings
        self.changes = dict(asked.changes)
        self._told = told
        self._keep_days = keep_days
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._rows: tuple[list[RunRow], ...] = tuple([] for _ in self.designs)
        self.now = BatchNow(0, asked.runs, tuple(() for _ in self.designs))
        self.batches: tuple[Batch, ...] = ()

    def start(self) -> BatchJob:
        """Begin to play; return the job."""
        self._thread = threading.Thread(target=self._run, name="holdwater-batch", daemon=True)
        self._thread.start()
        return self

    def cancel(self) -> None:
        """Play no more; what was played stays."""
        self._stop.set()

    def close(self) -> None:
        """Play no more, and tell nobody."""
        self._told = lambda: None
        self._stop.set()

    def wait(self, seconds: float) -> bool:
        """Wait for the end; return whether it came in time."""
        if self._thread is not None:
            self._thread.join(seconds)
            return not self._thread.is_alive()
        return True

    # ------------------------------------------------------------------------------------------

    def _run(self) -> None:
        began = time.monotonic()
        try:
            self._play(began)
        except Refused as refusal:
            self._say(began, over=True, refused=refusal.problems)
        except Exception as error:
            problem = Problem("batch", f"it ended with a fault of the program ({error!r}).")
            self._say(began, over=True, refused=(problem,))

    def _play(self, began: float) -> None:
        days = {design.scenario.days for design in self.designs}
        if len(days) > 1:
            raise Refused(
                Problem(
                    "days",
                    "the tanks are played for different numbers of days; expected the same for "
                    "all. Make them equal in Build.",
                )
            )
        self.batches = tuple(
            Batch(
                scenario=design.scenario,
                layout=design.layout,
                seed=self.seed,
                settings=self.settings,
                changes=self.changes,
                asked=self.asked.runs,
                keep_days=self._keep_days,
            )
            for design in self.designs
        )
        outcomes = play(
            (
                Job(
                    scenario=design.scenario,
                    layout=design.layout,
                    run=run,
                    seed=self.seed,
                    settings=self.settings,
                    changes=self.changes,
                )
                for run in range(self.asked.runs)
                for design in self.designs
            ),
            workers=self.asked.workers,
        )
        told = summed = began
        spent = 0.0
        try:
            for number, outcome in enumerate(outcomes):
                if self._stop.is_set():
                    break
                k = number % len(self.designs)
                self.batches[k].add(outcome)
                self._rows[k].append(row_of(outcome))
                clock = time.monotonic()
                if clock - told < TELL_S:
                    continue
                told = clock
                due = clock - summed > SUM_UP_S and spent < SUM_UP_SHARE * (clock - began)
                if k == len(self.designs) - 1 and self.batches[0].done >= FIRST_SUM and due:
                    results = self.results()
                    summed = time.monotonic()
                    spent += summed - clock
                    self._say(began, results=results)
                else:
                    self._say(began)
        finally:
            outcomes.close()  # type: ignore[attr-defined]
        done = min(batch.done for batch in self.batches)
        self._say(
            began,
            over=True,
            cancelled=done < self.asked.runs,
            results=self.results() if done else None,
        )

    def results(self) -> Results:
        """Return what the runs so far say, as the command line would."""
        from viz.gathered import results_of_comparison, results_of_one
        from viz.record import provenance

        origin = provenance(
            seed=self.seed, settings=self.settings, watch=self.asked.watch, changes=self.changes
        )
        if len(self.designs) == 1:
            return results_of_one(
                summarise(self.batches[0]), design=self.designs[0], provenance=origin
            )
        return results_of_comparison(Comparison(self.designs, self.batches), provenance=origin)

    def _say(
        self,
        began: float,
        *,
        over: bool = False,
        cancelled: bool = False,
        refused: tuple[Problem, ...] = (),
        results: Results | None = None,
    ) -> None:
        self.now = BatchNow(
            done=min(len(rows) for rows in self._rows),
            asked=self.asked.runs,
            rows=tuple(tuple(rows) for rows in self._rows),
            results=results or self.now.results,
            over=over,
            cancelled=cancelled,
            refused=refused,
            took_s=round(time.monotonic() - began, 1),
        )
        self._told()


def asked_for(runs: int, *, seed: int | None = None) -> Asked:
    """Return what `holdwater run --runs N` asks for.

    Parameters
    ----------
    runs
        Of each tank.
    seed
        Instead of that of the file.
    """
    return read_options(
        runs=str(runs), days=None, seed=None if seed is None else str(seed), workers=None,
        watch="auto", injury_scale=None, hold_assumed=False, changes=(), without=(), json=None,
        csv=None,
    )  # fmt: skip


def designs_of_tanks(tanks: Sequence[OpenTank]) -> tuple[Design, ...]:
    """Return open tanks as the designs of a batch.

    Parameters
    ----------
    tanks
        They can all be played.

    Raises
    ------
    Refused
        If one of them cannot.
    """
    found = []
    for tank in tanks:
        if tank.checked is None:
            raise Refused(
                Problem(tank.name, "it cannot be played yet. Build says what hinders it.")
            )
        checked = tank.checked
        found.append(
            Design.of(checked.scenario, checked.layout, name=tank.name, path=tank.file)
        )
    return tuple(found)


def typical(rows: Sequence[RunRow]) -> RunRow:
    """Return the run whose dose lies nearest to the middle one.

    Parameters
    ----------
    rows
        One or more.
    """
    middle = float(np.median([row.dose for row in rows]))
    return min(rows, key=lambda row: (abs(row.dose - middle), row.run))


def best(rows: Sequence[RunRow]) -> RunRow:
    """Return the run without deaths or serious injuries, if there is one, with the least dose."""
    return min(rows, key=lambda row: (row.badness, row.run))


def worst(rows: Sequence[RunRow]) -> RunRow:
    """Return the run with a death or a serious injury, if there is one, and the largest dose."""
    return max(rows, key=lambda row: (row.badness, -row.run))


def in_order(rows: Sequence[RunRow]) -> list[RunRow]:
    """Return runs from the worst to the best."""
    return sorted(rows, key=lambda row: (row.badness, -row.run), reverse=True)


@dataclass(frozen=True, slots=True)
class Dot:
    """One draw of fish in two tanks: mean dose of injury over its runs, fish-days."""

    draw: int
    first: float
    second: float


def paired_dots(first: Sequence[RunRow], second: Sequence[RunRow]) -> list[Dot]:
    """Return the doses of each draw of fish in two tanks, over the runs both have played.

    Parameters
    ----------
    first, second
        Rows of two tanks of one batch.
    """
    done = min(len(first), len(second))
    draws: dict[int, list[tuple[float, float]]] = {}
    for a, b in zip(first[:done], second[:done], strict=True):
        draws.setdefault(a.draw, []).append((a.dose, b.dose))
    return [
        Dot(draw, float(np.mean([a for a, _ in pairs])), float(np.mean([b for _, b in pairs])))
        for draw, pairs in draws.items()
    ]
