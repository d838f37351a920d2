"""Taken away: the same fish played once more with one thing different, and what that changes.

A reason is shown by taking it away. Every difference is of the same runs, so of the same fish:
without the brood, without the walls that pieces are to sight, with everyone average, or the fish of
one tank in the other. How much temperament makes of the spread is found by playing every run a
second time with the tempers of its fish kept and all else drawn anew.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from sim.batch import Batch, Progress, collect
from sim.check import check_scenario
from sim.crew import Job, Workers
from sim.errors import Refused
from sim.figures import MEASURES, Vector
from sim.kept import play_jobs
from sim.pairing import Difference, difference_of
from sim.scenario import company
from sim.start import RUNS_PER_DRAW
from sim.statistics import Estimate
from sim.summary import Summary
from sim.unmeasured import RUNS_PER_SET

if TYPE_CHECKING:
    from sim.kept_store import Store
    from sim.layout import Layout
    from sim.scenario import Scenario
    from sim.settings import Settings

TEMPERS = "tempers"
TOLD = ("dose", "serious", "hidden_h_per_day")
SHIFT = 1_000_000  # runs: other fish, other luck
LEAST_SETS = 20  # below them the share that temperament explains is not told, assumed


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """One tank to be played beside the tank as it is.

    Parameters
    ----------
    key
        "brood", "occlusion", "individuality" and so on: the mechanism switched off; `TEMPERS`:
        the same tempers and all else anew; "fish of A": the fish of tank A.
    scenario, layout
        What is played.
    """

    key: str
    scenario: Scenario
    layout: Layout


@dataclass(frozen=True, slots=True)
class NotPlayed:
    """A variant that has no sense here, or cannot be played, and why.

    Parameters
    ----------
    key
        As `Variant`.
    why
        A sentence without its first capital and full stop.
    """

    key: str
    why: str


@dataclass(frozen=True, slots=True)
class Change:
    """What taking one thing away changes, for the same fish.

    Parameters
    ----------
    key
        Of the variant.
    differences
        The variant less the tank as it is, of `TOLD`.
    """

    key: str
    differences: tuple[Difference, ...]


def variants_of(
    scenario: Scenario, layout: Layout, *, mechanisms: Sequence[str]
) -> tuple[list[Variant], list[NotPlayed]]:
    """Return the tank with each mechanism switched off.

    Parameters
    ----------
    scenario, layout
        The tank as it is.
    mechanisms
        Of `sim.scenario.Mechanism`.

    Returns
    -------
    list of Variant, list of NotPlayed
        Those that change something, and those that would not.
    """
    found, left = [], []
    for name in mechanisms:
        why = _no_sense(name, scenario, layout)
        if why:
            left.append(NotPlayed(name, why))
            continue
        without = (*scenario.without, name)
        changed = scenario.model_copy(update={"without": without})
        found.append(Variant(key=name, scenario=changed, layout=layout))
    return found, left


def _no_sense(name: str, scenario: Scenario, layout: Layout) -> str:
    if name in scenario.without:
        return "it is switched off in this tank already"
    if name == "brood" and scenario.breeding.mode == "off":
        return "no brood is played in this tank"
    if name == "occlusion" and not any(piece.blocks_sight for piece in layout.pieces):
        return "nothing in this tank blocks the view"
    if name == "hiding" and not layout.rooms:
        return "there is no hiding place in this tank"
    return ""


def fish_in_other_tank(
    scenario: Scenario, other: Scenario, *, letter: str
) -> Variant | NotPlayed | None:
    """Return the other tank with the fish of this one.

    Parameters
    ----------
    scenario
        Whose fish.
    other
        The tank they are put into.
    letter
        Of the tank whose fish they are, for the key.

    Returns
    -------
    Variant or NotPlayed or None
        None where the other tank holds the very same fish: it is the answer already.
    """
    key = f"fish of {letter}"
    if tuple(company(scenario)) == tuple(company(other)):
        return None
    try:
        checked = check_scenario(other.model_copy(update={"fish": scenario.fish}))
    except Refused as refusal:
        return NotPlayed(key, str(refusal.problems[0]).rstrip("."))
    return Variant(key=key, scenario=checked.scenario, layout=checked.layout)


def play_variants(
    variants: Sequence[Variant],
    *,
    runs: int,
    seed: int,
    settings: Settings,
    changes: Mapping[str, float],
    workers: Workers = None,
    progress: Progress | None = None,
    keep: Store | None = None,
) -> tuple[Batch, ...]:
    """Play variants with the runs of the tank as it is.

    Parameters
    ----------
    variants
        What to play; one with the key "tempers" keeps the tempers alone.
    runs, seed, settings, changes
        As the tank as it is was played.
    workers, progress, keep
        As `sim.batch.play_batch`; runs with the tempers of others are not kept.

    Returns
    -------
    tuple of Batch
        One for each variant; interrupted where it was stopped from the keyboard.
    """
    batches = tuple(
        empty_batch(variant, runs=runs, seed=seed, settings=settings, changes=changes)
        for variant in variants
    )
    total, done = runs * len(batches), 0
    for apart in (False, True):  # runs of two questions are not kept in one go
        both = zip(variants, batches, strict=True)
        some = [(one, batch) for one, batch in both if (one.key == TEMPERS) == apart]
        if not some or any(batch.interrupted for batch in batches):
            continue
        outcomes = play_jobs(
            partial(jobs_of, [variant for variant, _ in some], runs, seed, settings, changes),
            workers=workers,
            keep=None if apart else keep,
        )
        collect(
            outcomes,
            into=tuple(batch for _, batch in some),
            total=runs * len(some),
            progress=None if progress is None else partial(_shifted, progress, done, total),
        )
        done += runs * len(some)
    return batches


def _shifted(progress: Progress, done: int, total: int, now: int, _: int) -> None:
    progress(done + now, total)


def empty_batch(
    variant: Variant, *, runs: int, seed: int, settings: Settings, changes: Mapping[str, float]
) -> Batch:
    """Return what the runs of a variant are put into.

    Parameters
    ----------
    variant, runs, seed, settings, changes
        As in `play_variants`.
    """
    return Batch(
        scenario=variant.scenario, layout=variant.layout, seed=seed, settings=settings,
        changes=changes, asked=runs, keep_days=False,
    )  # fmt: skip


def jobs_of(
    variants: Sequence[Variant],
    runs: int,
    seed: int,
    settings: Settings,
    changes: Mapping[str, float],
) -> Iterator[Job]:
    """Yield the runs of variants, one of each in turn.

    Parameters
    ----------
    variants, runs, seed, settings, changes
        As in `play_variants`.
    """
    for run in range(runs):
        for variant in variants:
            apart = variant.key == TEMPERS
            yield Job(
                scenario=variant.scenario,
                layout=variant.layout,
                run=run + SHIFT if apart else run,
                seed=seed,
                settings=settings,
                changes=changes,
                tempers_of=run if apart else None,
            )


def change_of(key: str, base: Summary, varied: Summary) -> Change:
    """Return what a variant changes for the fish that live in both.

    Parameters
    ----------
    key
        Of the variant.
    base, varied
        The tank as it is and the variant, of as many runs with the same seed.
    """
    from sim.comparison import paired_columns

    rows = []
    for name in TOLD:
        x, y = paired_columns(name, base, varied)
        row = difference_of(
            MEASURES[name], x, y, draw=base.draw, cluster=base.cluster, level=base.level
        )
        if row is not None:
            rows.append(row)
    return Change(key, tuple(rows))


def temper_share(base: Summary, partner: Vector, *, outcome: str = "dose") -> Estimate | None:
    r"""Return the share of the variance between runs that the tempers of the fish explain.

    Four runs share a set of unmeasured numbers: two draws of fish by two lucks. With :math:`y_d`
    the mean of an outcome over the lucks of draw :math:`d`, and :math:`y'_d` that of fish with the
    same tempers (boldness and aggression), the same numbers and everything else drawn anew,

    .. math:: S = \frac{\overline{y_d y'_d} - \overline{y_d y'_{d'}}}
                       {\overline{y^2} - \overline{y_d y_{d'}}}, \quad d' \ne d,

    averaged over sets, where the denominator is that of both halves: the first-order index of the
    tempers, the numbers held. Its interval leaves out one set at a time.

    Parameters
    ----------
    base
        The tank as it is.
    partner
        The outcome in the runs with the same tempers, shape (n_runs,).
    outcome
        A column of the table of runs.

    Returns
    -------
    Estimate or None
        0 to 1; None with fewer than 20 sets, or where nothing varies.

    References
    ----------
    Saltelli2010
    """
    y, other = _by_set(base.run_column(outcome)), _by_set(partner)
    mine, theirs = y.mean(axis=2), other.mean(axis=2)
    same = (mine * theirs).mean(axis=1)
    crossed = (mine * theirs[:, ::-1]).mean(axis=1)
    spread = 0.5 * (_spread(y) + _spread(other))
    return _ratio(same - crossed, spread, level=base.level, method="same tempers, all else anew")


def fish_share(base: Summary, *, outcome: str = "dose") -> Estimate | None:
    """Return the share of the variance between runs that comes from which fish one gets.

    As `temper_share`, of two runs with the very same fish and other luck.

    Parameters
    ----------
    base
        The tank as it is.
    outcome
        A column of the table of runs.

    Returns
    -------
    Estimate or None
        0 to 1; None with fewer than 20 sets, or where nothing varies.

    References
    ----------
    Saltelli2010
    """
    y = _by_set(base.run_column(outcome))
    same = (y[:, :, 0] * y[:, :, 1]).mean(axis=1)
    crossed = np.prod(y.mean(axis=2), axis=1)
    return _ratio(same - crossed, _spread(y), level=base.level, method="same fish, other luck")


def _by_set(values: Vector) -> Vector:
    """An outcome by set of numbers, draw of fish and luck, shape (n_sets, 2, 2)."""
    whole = len(values) // RUNS_PER_SET
    table = np.asarray(values[: whole * RUNS_PER_SET], dtype=np.float64)
    return table.reshape(whole, RUNS_PER_SET // RUNS_PER_DRAW, RUNS_PER_DRAW)


def _spread(y: Vector) -> Vector:
    """Variance between runs within each set, unbiased, shape (n_sets,)."""
    return np.asarray((y * y).mean(axis=(1, 2)) - np.prod(y.mean(axis=2), axis=1))


def _ratio(part: Vector, whole: Vector, *, level: float, method: str) -> Estimate | None:
    if len(part) < LEAST_SETS or whole.sum() <= 0.0:
        return None
    from scipy.special import stdtrit

    # Leaving out one set at a time, with Student's t: a bootstrap of so few sets covers too little.
    n = len(part)
    without = (part.sum() - part) / np.maximum(whole.sum() - whole, 1e-300)
    value = float(part.sum() / whole.sum())
    error = math.sqrt((n - 1) / n * float(np.sum((without - without.mean()) ** 2)))
    half = float(stdtrit(n - 1, 0.5 + 0.5 * level)) * error
    low, value, high = (min(max(x, 0.0), 1.0) for x in (value - half, value, value + half))
    return Estimate(value, low, high, n, f"{method}; jackknife over sets")
