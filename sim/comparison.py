"""Comparison: several designs over the same draws of fish, and which is better for them.

The first design is the reference; every difference is the other design less the reference, and
"better" and "worse" are said of the other design. Fish that live in both are matched by their
group and number, and only what happens to these counts as better or worse for the same fish.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from sim.batch import Batch, Progress, collect, seed_of
from sim.crew import Job, Workers
from sim.errors import Problem, Refused
from sim.figures import (
    FISH_MEASURES,
    KEEPER_MEASURES,
    MEASURES,
    OF_FISH,
    SETTLING_MEASURES,
    Figure,
    Vector,
    unasked,
)
from sim.kept import Trouble, play_jobs
from sim.pairing import ALIKE, Difference, difference_of
from sim.scenario import Member
from sim.scenario_file import scenario_hash
from sim.settings import Settings
from sim.summary import Summary
from sim.verdict import CRITERIA, JudgedDraws, Verdict, decide, judge_draws

if TYPE_CHECKING:
    from sim.kept_store import Store
    from sim.layout import Layout
    from sim.scenario import Scenario

MOST_DESIGNS = 4
FISH_DIFFERENCES = ("serious", "dose", "bites_taken_per_h", "hidden_h_per_day")


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """One tank of a comparison.

    Parameters
    ----------
    name
        What it is called.
    path
        File it was read from, or None.
    scenario, layout
        The checked scenario and its layout.
    hash
        Digest of the resolved scenario.
    """

    name: str
    path: str | os.PathLike[str] | None
    scenario: Scenario
    layout: Layout
    hash: str

    @classmethod
    def of(
        cls, scenario: Scenario, layout: Layout, *, name: str, path: str | os.PathLike[str] | None
    ) -> Design:
        """Return a tank as a design, with the digest of its scenario.

        Parameters
        ----------
        scenario, layout
            The checked scenario and its layout.
        name, path
            As in the class.
        """
        return cls(
            name=name, path=path, scenario=scenario, layout=layout, hash=scenario_hash(scenario)
        )


class Comparison:
    """Several designs over the same draws of fish; each part is computed when first asked for.

    Parameters
    ----------
    designs
        The first is the reference.
    batches
        One for each design.
    level
        Coverage of the intervals, 0 to 1.
    """

    def __init__(
        self, designs: Sequence[Design], batches: Sequence[Batch], *, level: float = 0.95
    ) -> None:
        self.designs = tuple(designs)
        self.batches = tuple(batches)
        self.level = level

    @property
    def asked(self) -> int:
        """Runs of each design that were asked for."""
        return self.batches[0].asked

    @property
    def done(self) -> int:
        """Runs that all designs have finished."""
        return min(batch.done for batch in self.batches)

    @property
    def interrupted(self) -> bool:
        """Whether it was stopped before all runs were finished."""
        return any(batch.interrupted for batch in self.batches)

    @cached_property
    def summaries(self) -> tuple[Summary, ...]:
        """What each design says, over the runs that all have finished; empty where none has."""
        if self.done == 0:
            return ()
        return tuple(Summary(batch, level=self.level, runs=self.done) for batch in self.batches)

    @cached_property
    def differences(self) -> tuple[Difference, ...]:
        """Every other design against the reference, by `sim.figures.MEASURES`."""
        return tuple(
            row
            for other in range(1, len(self.summaries))
            for row in self._differences(other)
            if row is not None
        )

    @cached_property
    def fish_differences(self) -> tuple[Difference, ...]:
        """Every other design against the reference, fish by fish, for those that live in both."""
        rows = []
        for other in range(1, len(self.summaries)):
            a, b = self.summaries[0], self.summaries[other]
            for name in FISH_DIFFERENCES:
                x, y = a.fish_column(name), b.fish_column(name)
                for i, j in self.matched(other):
                    row = difference_of(
                        FISH_MEASURES[name],
                        np.asarray(x[:, i], dtype=np.float64),
                        np.asarray(y[:, j], dtype=np.float64),
                        draw=a.draw,
                        cluster=a.cluster,
                        other=other,
                        member=a.members[i],
                        known=(a.fish[i].figures.get(name), b.fish[j].figures.get(name)),
                        level=self.level,
                    )
                    if row is not None:
                        rows.append(row)
        return tuple(rows)

    @cached_property
    def verdicts(self) -> tuple[Verdict, ...]:
        """Whether every other design is better than the reference for the same fish."""
        return tuple(
            decide(
                {name: self._columns(name, other) for name in CRITERIA},
                draw=self.summaries[0].draw,
                cluster=self.summaries[0].cluster,
                harm=self.summaries[0].harm,
                reference=0,
                other=other,
                alike=ALIKE,
                level=self.level,
            )
            for other in range(1, len(self.summaries))
        )

    def judged(self, other: int) -> JudgedDraws:
        """Return draw by draw whether a design is better than the reference for the same fish.

        Parameters
        ----------
        other
            Number of the design, 1 or more.
        """
        return judge_draws(
            {name: self._columns(name, other) for name in CRITERIA},
            draw=self.summaries[0].draw,
            harm=self.summaries[0].harm,
            alike=ALIKE,
        )

    def matched(self, other: int) -> tuple[tuple[int, int], ...]:
        """Return the fish that live in both, as their places in the reference and in the other."""
        return matched_fish(self.summaries[0], self.summaries[other])

    def unmatched(self, other: int) -> tuple[tuple[Member, ...], tuple[Member, ...]]:
        """Return the fish that live in the reference alone, and in the other alone."""
        both = self.matched(other)
        left, right = {i for i, _ in both}, {j for _, j in both}
        return (
            tuple(m for i, m in enumerate(self.summaries[0].members) if i not in left),
            tuple(m for j, m in enumerate(self.summaries[other].members) if j not in right),
        )

    def _differences(self, other: int) -> list[Difference | None]:
        skip = unasked(*(self.designs[k].scenario.breeding.mode for k in (0, other)))
        if not all(self.summaries[k].keeper_looks for k in (0, other)):
            skip += KEEPER_MEASURES
        if not all(self.designs[k].scenario.settling_days for k in (0, other)):
            skip += SETTLING_MEASURES
        return [
            difference_of(
                measure,
                *self._columns(name, other),
                draw=self.summaries[0].draw,
                cluster=self.summaries[0].cluster,
                other=other,
                known=self._known(name, other),
                level=self.level,
            )
            for name, measure in MEASURES.items()
            if name not in skip
        ]

    def _known(self, name: str, other: int) -> tuple[Figure | None, Figure | None]:
        """Return the figures of both designs where they are of the fish that live in both."""
        a, b = self.summaries[0], self.summaries[other]
        if name in OF_FISH and any(self.unmatched(other)):
            return None, None
        return a.figures.get(name), b.figures.get(name)

    def _columns(self, name: str, other: int) -> tuple[Vector, Vector]:
        """Return a measure of each run in both designs, of the fish that live in both."""
        return paired_columns(name, self.summaries[0], self.summaries[other])


def matched_fish(first: Summary, second: Summary) -> tuple[tuple[int, int], ...]:
    """Return the fish that live in both tanks, as their places in each."""
    there = {(member.group, member.index): j for j, member in enumerate(second.members)}
    return tuple(
        (i, there[member.group, member.index])
        for i, member in enumerate(first.members)
        if (member.group, member.index) in there
    )


def paired_columns(name: str, first: Summary, second: Summary) -> tuple[Vector, Vector]:
    """Return a measure of each run in two tanks, of the fish that live in both.

    Parameters
    ----------
    name
        One of `sim.figures.MEASURES`.
    first, second
        Of as many runs with the same seed.

    Returns
    -------
    ndarray, ndarray
        Shape (n_runs,) each.
    """
    both = matched_fish(first, second)
    found = []
    for side, summary in enumerate((first, second)):
        if name not in OF_FISH or len(both) == len(summary.members):
            column = summary.run_column(name)
        else:
            column = summary.column_for(name, [pair[side] for pair in both])
        found.append(np.asarray(column, dtype=np.float64))
    return found[0], found[1]


def compare(
    designs: Sequence[Design],
    *,
    runs: int,
    seed: int | None = None,
    workers: Workers = None,
    settings: Settings | None = None,
    changes: Mapping[str, float] | None = None,
    keep_days: bool = True,
    progress: Progress | None = None,
    keep: Store | None = None,
    trouble: Trouble | None = None,
) -> Comparison:
    """Play several designs over the same draws of fish, run by run in turn.

    An interruption from the keyboard ends it within a second and keeps what was finished.

    Parameters
    ----------
    designs
        Two to four; the first is the reference.
    runs
        Of each design.
    seed
        Of all designs; that of the first, else 1, where None.
    workers, settings, changes, keep_days
        As `sim.batch.play_batch`, the same for every design.
    progress
        Told how many runs of all designs are done, of how many, after each.
    keep, trouble
        Where runs are kept: those that are there are read, the others added; and who is told why
        not, as of `sim.kept.play_jobs`.

    Returns
    -------
    Comparison
        Statistics are computed when they are first asked for.

    Raises
    ------
    Refused
        If there are too few or too many designs, their days differ, or one cannot be played.
    """
    check_designs(designs)
    seed = seed_of(designs[0].scenario, seed=seed)
    settings = settings or Settings()
    changes = dict(changes or {})
    batches = tuple(
        Batch(
            scenario=design.scenario,
            layout=design.layout,
            seed=seed,
            settings=settings,
            changes=changes,
            asked=runs,
            keep_days=keep_days,
        )
        for design in designs
    )

    def jobs() -> Iterator[Job]:
        return (
            Job(
                scenario=design.scenario,
                layout=design.layout,
                run=run,
                seed=seed,
                settings=settings,
                changes=changes,
            )
            for run in range(runs)
            for design in designs
        )

    outcomes = play_jobs(jobs, workers=workers, keep=keep, trouble=trouble)
    collect(outcomes, into=batches, total=runs * len(designs), progress=progress)
    return Comparison(designs, batches)


def check_designs(designs: Sequence[Design]) -> None:
    """Refuse designs that cannot be compared.

    Parameters
    ----------
    designs
        Two to four, of the same number of days.

    Raises
    ------
    Refused
        If they are too few, too many, or their days differ.
    """
    if not 2 <= len(designs) <= MOST_DESIGNS:
        raise Refused(
            Problem("compare", f"got {len(designs)} tanks; expected 2 to {MOST_DESIGNS}.")
        )
    days = {design.scenario.days for design in designs}
    if len(days) > 1:
        got = ", ".join(f"{design.name} {design.scenario.days:g}" for design in designs)
        raise Refused(
            Problem(
                "days",
                f"got {got}; expected the same number of days for all, or they cannot be "
                "compared. Say how many with --days, or in the files.",
            )
        )
