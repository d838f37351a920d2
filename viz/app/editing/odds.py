"""Rough odds: twenty runs of the tank as it stands, by the calls and in the words of `run`."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Generator, Iterator
from contextlib import closing, suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from viz.app.kept_runs import opened
from viz.app.repeating.pool import Pool, shared_pool

if TYPE_CHECKING:
    from pathlib import Path

    from sim.batch import Batch
    from sim.check import Checked
    from sim.kept_store import Store
    from sim.outcome import Outcome
    from viz.phrases import Said
    from viz.results import Results

RUNS = 20
TELL_S = 0.2  # at most five tellings a second
SETTLE_S = 0.15  # a change that follows at once spares the runs of the one before


@dataclass(frozen=True, slots=True)
class Odds:
    """Rough odds, as far as they are known.

    Parameters
    ----------
    done, asked
        Runs played, and to be played.
    results
        When all are played: as `holdwater run` has them.
    refused
        Why the tank cannot be played; empty where it can.
    took_s
        Seconds from the change to the last run.
    hurt
        In how many of the runs so far a fish was seriously hurt.
    unkept
        Why runs cannot be kept, or not be read; they are played all the same.
    """

    done: int
    asked: int
    results: Results | None = None
    refused: tuple[Problem, ...] = ()
    took_s: float = 0.0
    hurt: int = 0
    unkept: tuple[Problem, ...] = ()

    @property
    def said(self) -> tuple[Said, ...]:
        """The sentences of `holdwater run`, the answer first; none before all runs are played."""
        from viz.sure_words import pressed
        from viz.words import in_words

        return () if self.results is None else tuple(pressed(in_words(self.results)))

    @property
    def how_sure(self) -> tuple[str, ...]:
        """How rough they are, and what nobody has measured."""
        return () if self.results is None else how_sure_words(self.results)


def how_sure_words(results: Results) -> tuple[str, ...]:
    """Return how sure runs are, in a page: how rough, the spreads, how firm the level is.

    Parameters
    ----------
    results
        Of one tank or several.

    Returns
    -------
    tuple of str
        The first is empty from 40 runs on.
    """
    from viz.cautions import ABSOLUTE, ABSOLUTE_ALONE
    from viz.sure_words import pressed, spread_words

    return (
        rough_words(results),
        *(said.words for said in pressed(spread_words(results))),
        ABSOLUTE_ALONE if len(results.designs) == 1 else ABSOLUTE,
    )


def rough_words(results: Results) -> str:
    """Return how rough few runs are, from the width of their own interval; nothing from 40 on.

    Parameters
    ----------
    results
        Of one tank.
    """
    from sim.unmeasured import LEAST_VARIED
    from viz.phrases import hundredths

    design = results.designs[0]
    serious = design.outcomes["serious"]
    if design.runs >= LEAST_VARIED:
        return ""
    words = f"Rough: {design.runs} runs."
    if serious.low is not None and serious.high is not None:
        words += (
            f" In 100 runs like these, anything from {hundredths(serious.low)} to "
            f"{hundredths(serious.high)} with a fish seriously hurt would agree with them."
        )
    return f"{words} Take 100 in Repeat before you decide."


@dataclass
class OddsJob:
    """The runs of one state of a tank, kept or played, until they are cancelled.

    Parameters
    ----------
    checked
        The tank.
    tell
        Told of every advance, from that thread, at most five times a second and of the end.
    runs
        How many.
    wait_s
        Seconds to wait before the first.
    pool
        Threads that play; those that all pages share where None.
    keep
        Folder in which the runs are kept; None for nowhere.
    """

    checked: Checked
    tell: Callable[[Odds], None]
    runs: int = RUNS
    wait_s: float = SETTLE_S
    pool: Pool | None = None
    keep: Path | None = None
    _stop: threading.Event = field(default_factory=threading.Event)
    _thread: threading.Thread | None = None
    _unkept: tuple[Problem, ...] = ()

    def start(self) -> OddsJob:
        """Begin; return the job."""
        self._thread = threading.Thread(target=self._play, name="rough-odds", daemon=True)
        self._thread.start()
        return self

    def cancel(self) -> None:
        """Give the runs up; nothing more is told."""
        self._stop.set()

    @property
    def cancelled(self) -> bool:
        """Whether they were given up."""
        return self._stop.is_set()

    def wait(self, seconds: float) -> bool:
        """Wait for the end; return whether it came in time."""
        if self._thread is not None:
            self._thread.join(seconds)
            return not self._thread.is_alive()
        return True

    def _play(self) -> None:
        began = time.monotonic()
        if self._stop.wait(self.wait_s):
            return
        try:
            batch = self._batch(began)
            if batch is not None:
                results = results_of(self.checked, batch)
                took = time.monotonic() - began
                self._say(
                    Odds(batch.done, self.runs, results=results, took_s=took, unkept=self._unkept)
                )
        except Refused as refusal:
            self._say(Odds(0, self.runs, refused=refusal.problems))
        except Exception as error:
            # A fault of the program is told in the page; the tank stays as it is.
            problem = Problem("rough odds", f"they ended with a fault of the program ({error!r}).")
            self._say(Odds(0, self.runs, refused=(problem,)))

    def _say(self, odds: Odds) -> None:
        if not self._stop.is_set():
            self.tell(odds)

    def _batch(self, began: float) -> Batch | None:
        """Play the runs, telling how many are done; None where they were given up."""
        from sim.batch import Batch, seed_of
        from sim.crew import Stopped
        from sim.settings import Settings

        scenario, layout = self.checked.scenario, self.checked.layout
        batch = Batch(
            scenario=scenario,
            layout=layout,
            seed=seed_of(scenario, seed=None),
            settings=Settings(),
            changes={},
            asked=self.runs,
            keep_days=False,
        )
        self._say(Odds(0, self.runs))
        told = began
        with (
            suppress(Stopped),
            opened(self.keep, trouble=self._trouble) as store,
            closing(self._outcomes(batch, store)) as outcomes,
        ):
            for outcome in outcomes:
                if self._stop.is_set():
                    return None
                batch.add(outcome)
                if time.monotonic() - told > TELL_S and batch.done < self.runs:
                    told = time.monotonic()
                    hurt = int(batch.runs.column("serious").sum())
                    self._say(Odds(batch.done, self.runs, hurt=hurt))
        return batch if batch.done == self.runs else None

    def _outcomes(self, batch: Batch, store: Store | None) -> Generator[Outcome, None, None]:
        """Yield every run in the order of the numbers, kept or played."""
        from sim.crew import Job
        from sim.kept import play_jobs

        pool = self.pool or shared_pool()

        def jobs() -> Iterator[Job]:
            return (
                Job(
                    scenario=batch.scenario,
                    layout=batch.layout,
                    run=run,
                    seed=batch.seed,
                    settings=batch.settings,
                    changes=batch.changes,
                )
                for run in range(self.runs)
            )

        yield from play_jobs(
            jobs,
            keep=store,
            workers=lambda wanted: pool.play(wanted, stop=self._stop),
            trouble=self._trouble,
        )

    def _trouble(self, refusal: Refused) -> None:
        self._unkept += refusal.problems


def results_of(checked: Checked, batch: Batch) -> Results:
    """Return a batch as the results that `holdwater run` prints.

    Parameters
    ----------
    checked
        The tank.
    batch
        Its runs.
    """
    from sim.comparison import Design
    from sim.summary import summarise
    from viz.gathered import results_of_one
    from viz.record import provenance

    scenario = checked.scenario
    name = scenario.title or "this tank"
    design = Design.of(scenario, checked.layout, name=name, path=None)
    origin = provenance(
        seed=batch.seed, settings=batch.settings, watch="auto", changes=batch.changes
    )
    return results_of_one(summarise(batch), design=design, provenance=origin)
