"""Reasons: where the injury of a batch is taken, and what the floor offered there.

Shares are of all injury received, over all runs; a run with much of it weighs more. Intervals take
the draws of fish (or the sets of drawn numbers) as what is independent, as everywhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.figures import ratio_of_counts
from sim.rules.codes import (
    CHASE_ENDS,
    COVER_BANDS,
    COVER_FAR,
    COVER_MIDDLE,
    COVER_NEAR,
    COVER_NONE,
    COVER_REACH,
    GROUNDS,
    HARM_WAYS,
    STAGES,
)
from sim.rules.harm import FAR_M, NEAR_M, REACH_M
from sim.start import draw_fish, fits_of
from sim.statistics import Estimate

if TYPE_CHECKING:
    from sim.batch import Batch
    from sim.slices import SlicedTable
    from sim.summary import Summary

NAMES: dict[str, tuple[str, ...]] = {
    "way": HARM_WAYS,
    "ground": GROUNDS,
    "stage": STAGES,
    "cover": COVER_BANDS,
}
FINE = 1e6  # injury is no count: in millionths, the number of "fish" never bounds how sure it is
MOST_DRAWS = 50  # of fish, over which what the floor offers is averaged


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the injury.

    Parameters
    ----------
    name
        What tells it from the others.
    share
        Of all injury received, 0 to 1.
    """

    name: str
    share: Estimate


def injury_parts(summary: Summary, by: str) -> tuple[Part, ...]:
    """Return how the injury divides by how or where it was taken.

    Parameters
    ----------
    summary
        Of a batch.
    by
        "way", "ground", "stage" or "cover".

    Returns
    -------
    tuple of Part
        In the order of `NAMES`, those of which there was none at the end left out; empty where
        nobody was hurt.
    """
    names = NAMES[by]
    table = by_run(summary.batch.harms, by, runs=summary.runs, places=len(names))
    return _parts(summary, table, names)


def ground_by_stage(summary: Summary) -> dict[str, tuple[Part, ...]]:
    """Return for each brood stage how the injury taken in it divides by whose ground it was.

    Parameters
    ----------
    summary
        Of a batch.

    Returns
    -------
    dict
        By stage, those in which nobody was hurt left out; shares are of the injury of the stage.
    """
    table = np.zeros((summary.runs, len(STAGES), len(GROUNDS)))
    for part in summary.batch.harms.slices():
        kept = part[part["run"] < summary.runs]
        np.add.at(table, (kept["run"], kept["stage"], kept["ground"]), kept["dose"])
    return {
        stage: parts
        for k, stage in enumerate(STAGES)
        if (parts := _parts(summary, table[:, k], GROUNDS))
    }


def holder_parts(summary: Summary) -> tuple[Part, ...]:
    """Return how the injury divides by the fish in whose territory it was taken.

    Parameters
    ----------
    summary
        Of a batch.

    Returns
    -------
    tuple of Part
        By the names of the fish, the greatest first; "" is open ground. What a pair holds counts
        for the mate that claims more there.
    """
    names = (*(member.name for member in summary.members), "")
    table = by_run(summary.batch.holders, "holder", runs=summary.runs, places=len(names))
    found = _parts(summary, table, names)
    return tuple(sorted(found, key=lambda part: -part.share.value))


def by_run(table: SlicedTable, by: str, *, runs: int, places: int) -> np.ndarray:
    """Return the injury of each run in each place of a table of harm, shape (runs, places).

    Parameters
    ----------
    table
        Rows with the columns `run`, `dose` and `by`.
    by
        Column of places; -1 is the last of them.
    runs, places
        How many.
    """
    total = np.zeros((runs, places))
    for part in table.slices():
        kept = part[part["run"] < runs]
        np.add.at(total, (kept["run"], kept[by].astype(np.int64) % places), kept["dose"])
    return total


def _parts(summary: Summary, table: np.ndarray, names: Sequence[str]) -> tuple[Part, ...]:
    every = table.sum(axis=1)
    if not every.any():
        return ()
    return tuple(
        Part(
            name,
            ratio_of_counts(
                FINE * column, of=FINE * every, draw=summary.cluster, level=summary.level
            ),
        )
        for name, column in zip(names, table.T, strict=True)
        if column.any()
    )


def floor_by_cover(summary: Summary) -> dict[str, float]:
    """Return what share of the open floor lies how far from a hiding place that a fish fits.

    Parameters
    ----------
    summary
        Of a batch.

    Returns
    -------
    dict
        Share by the words of `COVER_BANDS`, the mean over the fish and their draws, each fish
        weighing by the injury it received; empty where nobody was hurt. The furniture of the
        first day and the lengths of the first day.
    """
    harm = summary.batch.harm_by.sum(axis=0)
    if not harm.any():
        return {}
    floor = summary.batch.layout.floor()
    open_floor = floor.free[0] == 1
    away = floor.door_dist[:, open_floor]
    draws = min(summary.draws, MOST_DRAWS)
    total = np.zeros(len(COVER_BANDS))
    for draw in range(draws):
        people = draw_fish(
            summary.batch.scenario,
            seed=summary.batch.seed,
            draw=draw,
            quality_sd=0.0,
            daring_sd=0.0,
        )
        for weight, fish in zip(harm, people, strict=True):
            fits = fits_of(fish, floor)
            if not fits.any():
                total[COVER_NONE] += weight
                continue
            nearest = away[fits].min(axis=0)
            bands = np.select(
                [nearest < NEAR_M, nearest < REACH_M, nearest < FAR_M, nearest < 90.0],
                [COVER_NEAR, COVER_REACH, COVER_MIDDLE, COVER_FAR],
                COVER_NONE,
            )
            total += weight * np.bincount(bands, minlength=len(COVER_BANDS)) / len(nearest)
    shares = total / (draws * harm.sum())
    return {name: float(share) for name, share in zip(COVER_BANDS, shares, strict=True)}


def ends_by_stage(batch: Batch) -> dict[str, dict[str, int]]:
    """Return how many chases ended in each way at each brood stage in which there were any.

    Parameters
    ----------
    batch
        The runs.
    """
    return {
        stage: {words: int(count) for words, count in zip(CHASE_ENDS, row, strict=True)}
        for stage, row in zip(STAGES, batch.ends, strict=True)
        if row.any()
    }
