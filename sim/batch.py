"""Batch: many runs of one scenario, kept in tables that grow a slice at a time.

One worker or many give the same bytes: runs come back in the order of their numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from sim.crew import Job, Workers, play_one
from sim.dominance import david_score, de_vries_h, landau_h
from sim.elo import elo_ratings
from sim.harm_rows import HARM_ROW, HOLDER_ROW, harm_rows, holder_rows
from sim.kept import play_jobs
from sim.observed import ACTS_ROW, SITTING_ROW, act_rows, sitting_rows
from sim.outcome import DAY_ROW, FISH_ROW, OUTGROWN_ROW, RUN_ROW, Outcome
from sim.rules.codes import CHASE_ENDS, CHASED, STAGES
from sim.settings import Settings
from sim.slices import SlicedTable

if TYPE_CHECKING:
    from sim.kept_store import Store
    from sim.layout import Layout
    from sim.scenario import Scenario

ELO_BOUTS = 100  # an old bout has little weight in a rating, and each costs time

Progress = Callable[[int, int], None]


@dataclass(kw_only=True)
class Batch:
    """Many runs of one scenario, as they come in.

    Parameters
    ----------
    scenario, layout
        The checked scenario and its layout.
    seed
        Seed of the study.
    settings
        Time steps and watching.
    changes
        Parameters that differ from the defaults.
    asked
        Runs asked for.
    keep_days
        Whether to keep the table of days, which is the longest.
    done
        Runs finished.
    interrupted
        Whether it was stopped before all were finished.
    runs, fish, days, outgrown, sittings, acts
        Tables of `RUN_ROW`, `FISH_ROW`, `DAY_ROW`, `OUTGROWN_ROW`, `SITTING_ROW` and `ACTS_ROW`;
        all but the last slice lie on disk. The last two are of what somebody watches.
    harms, holders
        Tables of `HARM_ROW` and `HOLDER_ROW`: how and where the injury was taken.
    chases, wins
        Who chased whom, and who beat whom in contests, summed over runs, row over column,
        shape (n_fish, n_fish).
    ends
        Chases by brood stage and end, summed over runs, shape (7, 6).
    harm_by
        Injury done by row to column, summed over runs, shape (n_fish, n_fish).
    harm_spots
        Injury received by fish and block of the floor, summed over runs, shape (n_fish, blocks
        along y, blocks along x); None before the first run.
    landau, de_vries
        Linearity of the contests of each run, shape (done,); empty below two fish.
    david
        Normalised David's scores summed over runs, shape (n_fish,).
    elo
        Elo ratings after a run's last chases, summed over runs, shape (n_fish,).
    """

    scenario: Scenario
    layout: Layout
    seed: int
    settings: Settings
    changes: Mapping[str, float]
    asked: int = 0
    keep_days: bool = True
    done: int = 0
    interrupted: bool = False
    runs: SlicedTable = field(default_factory=lambda: SlicedTable(RUN_ROW))
    fish: SlicedTable = field(default_factory=lambda: SlicedTable(FISH_ROW))
    days: SlicedTable = field(default_factory=lambda: SlicedTable(DAY_ROW))
    outgrown: SlicedTable = field(default_factory=lambda: SlicedTable(OUTGROWN_ROW))
    sittings: SlicedTable = field(default_factory=lambda: SlicedTable(SITTING_ROW))
    acts: SlicedTable = field(default_factory=lambda: SlicedTable(ACTS_ROW))
    harms: SlicedTable = field(default_factory=lambda: SlicedTable(HARM_ROW))
    holders: SlicedTable = field(default_factory=lambda: SlicedTable(HOLDER_ROW))
    chases: np.ndarray = field(init=False)
    wins: np.ndarray = field(init=False)
    ends: np.ndarray = field(init=False)
    harm_by: np.ndarray = field(init=False)
    harm_spots: np.ndarray | None = field(init=False, default=None)
    landau: list[float] = field(default_factory=list)
    de_vries: list[float] = field(default_factory=list)
    david: np.ndarray = field(init=False)
    elo: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        """Make room for the sums."""
        n = self.n_fish
        self.chases, self.wins = np.zeros((n, n), np.int64), np.zeros((n, n), np.int64)
        self.harm_by = np.zeros((n, n))
        self.ends = np.zeros((len(STAGES), len(CHASE_ENDS)), np.int64)
        self.david, self.elo = np.zeros(n), np.zeros(n)

    @property
    def n_fish(self) -> int:
        """Number of fish of the scenario."""
        return sum(group.count for group in self.scenario.fish)

    def add(self, outcome: Outcome) -> None:
        """Take in the outcome of the next run.

        Parameters
        ----------
        outcome
            Of a run of this batch's scenario.
        """
        self.runs.extend(outcome.row)
        self.fish.extend(outcome.fish)
        self.outgrown.extend(outcome.outgrown)
        self.sittings.extend(sitting_rows(outcome))
        self.acts.extend(act_rows(outcome))
        self.harms.extend(harm_rows(outcome))
        self.holders.extend(holder_rows(outcome))
        if self.keep_days:
            self.days.extend(outcome.days)
        self.chases += outcome.chases
        self.wins += outcome.wins
        self.ends += outcome.ends
        self.harm_by += outcome.harm_by
        before = 0.0 if self.harm_spots is None else self.harm_spots
        self.harm_spots = before + outcome.harm_spots
        if self.n_fish > 1:
            self.landau.append(landau_h(outcome.wins))
            self.de_vries.append(de_vries_h(outcome.wins))
            self.david += david_score(outcome.wins, normalised=True)
        self.elo += last_ratings(outcome)
        self.done += 1


def last_ratings(outcome: Outcome) -> np.ndarray:
    """Return Elo ratings after the last chases of a run, the pursuer counted as the winner.

    Parameters
    ----------
    outcome
        Its log keeps the last attacks; the last `ELO_BOUTS` of those that were chases count.

    Returns
    -------
    ndarray
        Points, shape (n_fish,).
    """
    log = outcome.log[outcome.log["outcome"] == CHASED][-ELO_BOUTS:]
    bouts = np.column_stack((log["attacker"], log["victim"]))
    return elo_ratings(bouts, n_fish=len(outcome.fish))


def run_one(
    scenario: Scenario,
    layout: Layout,
    *,
    run: int = 0,
    seed: int | None = None,
    settings: Settings | None = None,
    changes: Mapping[str, float] | None = None,
) -> Outcome:
    """Play one run to its end.

    Parameters
    ----------
    scenario, layout
        The checked scenario and its layout.
    run
        Number of the run.
    seed
        Seed of the study; the scenario's own, else 1, where None.
    settings
        Time steps and watching.
    changes
        Parameters that differ from the defaults.

    Returns
    -------
    Outcome
        The same whenever and wherever the run is played.

    Raises
    ------
    Refused
        If the scenario cannot be played as asked.
    """
    return play_one(
        Job(
            scenario=scenario,
            layout=layout,
            run=run,
            seed=seed,
            settings=settings,
            changes=changes,
        )
    )


def run_batch(
    scenario: Scenario,
    layout: Layout,
    *,
    runs: int,
    seed: int | None = None,
    workers: Workers = None,
    settings: Settings | None = None,
    changes: Mapping[str, float] | None = None,
    first: int = 0,
    keep: Store | None = None,
) -> Iterator[Outcome]:
    """Play many runs and yield each as its turn comes, in the order of their numbers.

    Closing the iterator ends the workers within a second.

    Parameters
    ----------
    scenario, layout
        The checked scenario and its layout.
    runs
        How many.
    seed, settings, changes
        As `run_one`.
    workers
        Threads, as many as there are cores where None; or who else plays, as
        `sim.crew.play`.
    first
        Number of the first run.
    keep
        Where runs are kept: those that are there are read, the others added.

    Yields
    ------
    Outcome
        Of each run.

    Raises
    ------
    Refused
        If the scenario cannot be played as asked.
    """

    def jobs() -> Iterator[Job]:
        return (
            Job(
                scenario=scenario,
                layout=layout,
                run=run,
                seed=seed,
                settings=settings,
                changes=changes,
            )
            for run in range(first, first + runs)
        )

    return play_jobs(jobs, workers=workers, keep=keep)


def play_batch(
    scenario: Scenario,
    layout: Layout,
    *,
    runs: int,
    seed: int | None = None,
    workers: Workers = None,
    settings: Settings | None = None,
    changes: Mapping[str, float] | None = None,
    keep_days: bool = True,
    progress: Progress | None = None,
    keep: Store | None = None,
) -> Batch:
    """Play many runs of one scenario and keep them; an interruption keeps what was finished.

    Parameters
    ----------
    scenario, layout, runs, seed, workers, settings, changes
        As `run_batch`.
    keep_days
        Whether to keep the table of days.
    progress
        Told how many runs are done, of how many, after each.
    keep
        As `run_batch`.

    Returns
    -------
    Batch
        With `interrupted` set where it was stopped from the keyboard.

    Raises
    ------
    Refused
        If the scenario cannot be played as asked.
    """
    batch = Batch(
        scenario=scenario,
        layout=layout,
        seed=seed_of(scenario, seed=seed),
        settings=settings or Settings(),
        changes=dict(changes or {}),
        asked=runs,
        keep_days=keep_days,
    )
    outcomes = run_batch(
        scenario,
        layout,
        runs=runs,
        seed=batch.seed,
        workers=workers,
        settings=batch.settings,
        changes=batch.changes,
        keep=keep,
    )
    collect(outcomes, into=(batch,), total=runs, progress=progress)
    return batch


def collect(
    outcomes: Iterator[Outcome],
    *,
    into: tuple[Batch, ...],
    total: int,
    progress: Progress | None = None,
) -> None:
    """Take outcomes into batches in turn until they end or the keyboard interrupts.

    Parameters
    ----------
    outcomes
        The first for the first batch, the second for the second, and so round and round.
    into
        The batches; those that were cut short are marked.
    total
        Outcomes expected in all.
    progress
        Told how many are done, of how many, after each.
    """
    try:
        if progress is not None:
            progress(0, total)
        for number, outcome in enumerate(outcomes, start=1):
            into[(number - 1) % len(into)].add(outcome)
            if progress is not None:
                progress(number, total)
    except KeyboardInterrupt:
        for batch in into:
            batch.interrupted = True
    finally:
        close = getattr(outcomes, "close", None)
        if close is not None:
            close()


def seed_of(scenario: Scenario, *, seed: int | None) -> int:
    """Return the seed that is used: the one given, else the scenario's own, else 1."""
    return seed if seed is not None else scenario.seed if scenario.seed is not None else 1
