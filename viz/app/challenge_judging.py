"""Judging a try at a challenge: fresh runs, one look, the lower end of the interval at the line.

The seed hangs on the challenge and the tank alone. It is none that anybody has tried the tank with,
and the same tank asked twice gets the same answer: asking again is no second chance.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from viz.app.challenges import SITTING, Challenge, Condition

if TYPE_CHECKING:
    from sim.batch import Batch
    from sim.check import Checked
    from sim.scenario import Scenario
    from sim.settings import Settings
    from sim.statistics import Estimate
    from sim.summary import Summary

Told = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What came of a try.

    Parameters
    ----------
    share
        Of the runs in which everything held that must, with its interval.
    line
        What its lower end must reach.
    each
        Of each condition: its words and the share of runs in which it held.
    runs, seed
        How many were played, and with which seed; run numbers are those of `holdwater run`.
    worst
        Number of the run in which it failed with the greatest injury received; None where it never
        failed.
    held
        Of each run: its draw of fish, and whether everything held.
    """

    share: Estimate
    line: float
    each: tuple[tuple[str, float], ...]
    runs: int
    seed: int
    worst: int | None
    held: tuple[tuple[int, bool], ...] = ()

    @property
    def passed(self) -> bool:
        """Whether the lower end of the interval reaches the line."""
        return self.share.low >= self.line

    @property
    def words(self) -> str:
        """What came of it, in two sentences."""
        from viz.phrases import hundredths

        low, high = hundredths(self.share.low), hundredths(self.share.high)
        held = hundredths(self.share.value)
        said = f"It held in {held} in 100 runs ({low} to {high})."
        line = hundredths(self.line)
        if self.passed:
            return f"{said} Even the lower end reaches the line, {line}: passed."
        if self.share.value >= self.line:
            return f"{said} The lower end does not reach the line, {line}: not sure enough."
        return f"{said} The line is {line}: not passed."


def seed_for(challenge: Challenge, tried: Scenario) -> int:
    """Return the seed with which a try is judged.

    Parameters
    ----------
    challenge, tried
        They alone decide.
    """
    from sim.scenario_file import scenario_hash

    text = f"{challenge.key} {scenario_hash(tried)}"
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:4], "big")


def settings_of(challenge: Challenge) -> Settings:
    """Return how a try is played: as `holdwater run` plays so many runs.

    Parameters
    ----------
    challenge
        Says how many.
    """
    from sim.settings import settings_for
    from sim.unmeasured import LEAST_VARIED

    return settings_for("auto", vary=challenge.passed.runs >= LEAST_VARIED)


def needs_start(challenge: Challenge) -> bool:
    """Return whether the start must be played beside the try, with the same fish and numbers.

    Parameters
    ----------
    challenge
        Its conditions decide.
    """
    return any(one.of_start is not None for one in challenge.passed.when)


def needs_days(challenge: Challenge) -> bool:
    """Return whether the table of days must be kept to judge a try.

    Parameters
    ----------
    challenge
        Its conditions decide.
    """
    return any(one.days_after is not None for one in challenge.passed.when)


def play_try(
    challenge: Challenge, tried: Checked, *, workers: int | None = None, told: Told | None = None
) -> tuple[Judged, Batch]:
    """Play a try and judge it, once.

    Parameters
    ----------
    challenge
        What is tried.
    tried
        A tank in which nothing differs that may not, as `refuse_what_is_not_allowed` sees to.
    workers
        Threads; as many as there are cores where None.
    told
        Told how many runs are done, of how many.

    Returns
    -------
    what came of it, and its runs.

    Raises
    ------
    Refused
        If something was changed that may not be, or the tank cannot be played.
    """
    from sim.batch import play_batch
    from viz.app.challenge_rules import refuse_what_is_not_allowed

    refuse_what_is_not_allowed(challenge, tried.scenario)
    seed, settings = seed_for(challenge, tried.scenario), settings_of(challenge)
    tanks = [tried, challenge.start] if needs_start(challenge) else [tried]
    runs = challenge.passed.runs
    batches = []
    for number, tank in enumerate(tanks):
        begun = number * runs

        def progress(done: int, _: int, begun: int = begun) -> None:
            if told is not None:
                told(begun + done, runs * len(tanks))

        batches.append(
            play_batch(
                tank.scenario,
                tank.layout,
                runs=runs,
                seed=seed,
                settings=settings,
                workers=workers,
                keep_days=needs_days(challenge),
                progress=progress,
            )
        )
    return judge(challenge, *batches), batches[0]


def judge(challenge: Challenge, tried: Batch, start: Batch | None = None) -> Judged:
    """Judge the runs of a try.

    Parameters
    ----------
    challenge
        What must hold, and the line.
    tried
        Its runs.
    start
        Runs of the start with the same seed, where `needs_start` says so.
    """
    from sim.figures import share_of_runs
    from sim.summary import Summary

    runs = min(tried.done, start.done) if start is not None else tried.done
    mine = Summary(tried, runs=runs)
    other = Summary(start, runs=runs) if start is not None else None
    held = [holds(one, mine, other) for one in challenge.passed.when]
    all_held = np.logical_and.reduce(held)
    dose = np.where(all_held, -1.0, mine.run_column("dose"))
    return Judged(
        share=share_of_runs(all_held, draw=mine.cluster),
        line=challenge.passed.line,
        each=tuple(
            (one.said, float(np.mean(h)))
            for one, h in zip(challenge.passed.when, held, strict=True)
        ),
        runs=runs,
        seed=tried.seed,
        worst=None if all_held.all() else int(np.argmax(dose)),
        held=tuple(zip(mine.cluster.tolist(), all_held.tolist(), strict=True)),
    )


def holds(condition: Condition, tried: Summary, start: Summary | None) -> np.ndarray:
    """Return in which runs a condition holds, shape (n_runs,); not where it has no value.

    Parameters
    ----------
    condition
        What must hold.
    tried, start
        The runs; of the start only where the condition speaks of it.

    Raises
    ------
    ValueError
        If the start is needed and missing.
    """
    if condition.measure == SITTING:
        return told_by_sitting(tried)
    values = _values(condition, tried)
    with np.errstate(invalid="ignore"):
        if condition.most is not None:
            return np.asarray(values <= condition.most)
        if condition.least is not None:
            return np.asarray(values >= condition.least)
        if start is None or condition.of_start is None:
            raise ValueError(f"{condition.measure}: the runs of the start are missing.")
        return np.asarray(values <= condition.of_start * _values(condition, start))


def _values(condition: Condition, summary: Summary) -> np.ndarray:
    """The value of each run, shape (n_runs,): of the tank, or of its fish together."""
    from sim.figures import OF_FISH

    if condition.days_after is not None:
        return _after_event(condition.measure, summary, *condition.days_after)
    if not condition.fish:
        return np.asarray(summary.run_column(condition.measure), dtype=np.float64)
    names = {name.lower() for name in condition.fish}
    which = [
        k
        for k, member in enumerate(summary.members)
        if member.name.lower() in names or member.group.lower() in names
    ]
    if not which:
        return np.full(summary.runs, np.nan)
    if condition.measure in OF_FISH:
        return np.asarray(summary.column_for(condition.measure, which), dtype=np.float64)
    return np.asarray(summary.fish_column(condition.measure)[:, which].sum(axis=1), dtype=float)


def _after_event(measure: str, summary: Summary, event: str, days: int) -> np.ndarray:
    """A column of the table of days, summed from the day of an event on, shape (n_runs,)."""
    when = {one.name.lower(): one.on_day for one in summary.batch.scenario.events}
    if event.lower() not in when:
        return np.full(summary.runs, np.nan)
    first = int(when[event.lower()])
    total = np.zeros(summary.runs)
    for part in summary.batch.days.slices():
        here = (part["day"] >= first) & (part["day"] < first + days) & (part["run"] < len(total))
        np.add.at(total, part["run"][here], part[measure][here])
    return total


def told_by_sitting(summary: Summary) -> np.ndarray:
    """Return in which runs the fish that took most in the sittings also took most bites in all.

    Parameters
    ----------
    summary
        Of a tank that somebody watches.

    Returns
    -------
    shape (n_runs,); false where nobody took anything in the sittings, or two took as much.
    """
    from sim.observed import ACTS

    n = len(summary.members)
    taken = np.zeros((summary.runs, n))
    for part in summary.batch.acts.slices():
        part = part[part["run"] < summary.runs]
        np.add.at(taken, (part["run"], part["other"]), np.sum([part[a] for a in ACTS], axis=0))
    bites = summary.fish_column("bites_taken")
    most = taken.max(axis=1, keepdims=True)
    alone = ((taken == most).sum(axis=1) == 1) & (most[:, 0] > 0.0)
    return np.asarray(alone & (taken.argmax(axis=1) == bites.argmax(axis=1)))
