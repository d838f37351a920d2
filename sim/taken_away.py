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
from sim.crew import Job
from sim.errors import Refused
from sim.figures import MEASURES, Vector
from sim.kept import play_jobs
from sim.pairing import Difference, difference_of
from sim.scenario import company
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
SHIFT = 250_013 * RUNS_PER_SET  # runs: other fish, other numbers, other luck
LEAST_DRAWS = 20  # below them the share that temperament explains is not told, assumed
RESAMPLES = 4999
SEED = 20_011


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
    workers: int | None = None,
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
        Batch(
            scenario=variant.scenario, layout=variant.layout, seed=seed, settings=settings,
            changes=changes, asked=runs, keep_days=False,
        )
        for variant in variants
    )  # fmt: skip
    total, done = runs * len(batches), 0
    for apart in (False, True):  # runs of two questions are not kept in one go
        both = zip(variants, batches, strict=True)
        some = [(one, batch) for one, batch in both if (one.key == TEMPERS) == apart]
        if not some or any(batch.interrupted for batch in batches):
            continue
        outcomes = play_jobs(
            partial(_jobs, [variant for variant, _ in some], runs, seed, settings, changes),
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


def _jobs(
    variants: Sequence[Variant],
    runs: int,
    seed: int,
    settings: Settings,
    changes: Mapping[str, float],
) -> Iterator[Job]:
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
    """Return the share of the variance between runs that the tempers of the fish explain.

    With :math:`y` an outcome of a run and :math:`y'` that of a run of fish with the same tempers
    (boldness and aggression) and everything else drawn anew, the share is

    .. math:: S = \\frac{\\overline{y y'} - m^2}{\\overline{(y^2 + y'^2)/2} - m^2},
              \\quad m = \\overline{(y + y')/2},

    the first-order index of the tempers. Its interval is a bootstrap over what is independent.

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
        0 to 1; None with fewer than 20 draws, or where nothing varies.

    References
    ----------
    Janon2014
    """
    y = np.asarray(base.run_column(outcome), dtype=np.float64)
    parts = _sums(y, partner, base.cluster)
    if base.draws < LEAST_DRAWS:
        return None
    value = float(_index(parts.sum(axis=0)))
    if not math.isfinite(value):
        return None
    rng = np.random.default_rng(SEED)
    picked = rng.integers(0, len(parts), (RESAMPLES, len(parts)))
    again = _index(parts[picked].sum(axis=1))
    again = again[np.isfinite(again)]
    low, high = np.quantile(again, [(1.0 - base.level) / 2.0, (1.0 + base.level) / 2.0])
    return Estimate(
        min(max(value, 0.0), 1.0),
        float(min(max(low, 0.0), 1.0)),
        float(min(max(high, 0.0), 1.0)),
        len(parts),
        "same tempers, all else anew; bootstrap",
    )


def _sums(y: Vector, other: Vector, cluster: np.ndarray) -> Vector:
    """Sums of what the index is made of, by what is independent, shape (n_clusters, 4)."""
    number = np.unique(cluster, return_inverse=True)[1]
    columns = (y * other, 0.5 * (y * y + other * other), 0.5 * (y + other), np.ones(len(y)))
    return np.column_stack([np.bincount(number, weights=column) for column in columns])


def _index(sums: Vector) -> Vector:
    product, square, mean = np.moveaxis(sums[..., :3] / sums[..., 3:], -1, 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray((product - mean * mean) / (square - mean * mean))
