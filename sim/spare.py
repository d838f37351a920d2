"""Spare places: how many a keeper should have ready, by when, and what became of the fish.

Runs with a keeper only. That a fish was moved out because it was hurt makes the moving informative:
the others would not have gone on like it. So deaths are given as cumulative incidence beside the
moves, and what would happen without the keeper is a run without one, never an estimate from these.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.figures import share_of_runs
from sim.statistics import Estimate
from sim.survival import Curve, cumulative_incidence

NINE_IN_TEN = 0.9  # of the runs, what is called enough (ours)
DIED, MOVED = 1, 2


@dataclass(frozen=True, slots=True)
class Spare:
    """Spare places that are needed, and how runs with a keeper first came to harm.

    Parameters
    ----------
    places
        Places that are enough in nine of ten runs.
    day
        Day by which one run in ten has needed the first; None where fewer have.
    enough
        Share of runs in which so many places are enough.
    short
        Share of runs in which the places of the plan did not suffice.
    died, moved
        Chance that by a day the first thing to happen was a death, or a fish moved out; None
        where it never was.
    """

    places: int
    day: float | None
    enough: Estimate
    short: Estimate
    died: Curve | None
    moved: Curve | None


def spare_places(
    *,
    needed: npt.ArrayLike,
    first_day: npt.ArrayLike,
    short: npt.ArrayLike,
    death_day: npt.ArrayLike,
    moved_day: npt.ArrayLike,
    days: float,
    draw: npt.ArrayLike,
    level: float = 0.95,
) -> Spare:
    """Return how many spare places a tank needs, by when, and what came first in its runs.

    Parameters
    ----------
    needed
        Places wanted at once, the most of each run, shape (n_runs,).
    first_day
        Day on which the first was wanted, not finite where none was.
    short
        Whether the keeper's places did not suffice.
    death_day, moved_day
        Day of the first death, and of the first fish moved out; not finite where none.
    days
        Length of a run.
    draw
        Draw of fish of each run.
    level
        Coverage asked for, 0 to 1.

    Returns
    -------
    Spare

    References
    ----------
    AalenJohansen1978
    """
    wanted = np.asarray(needed, dtype=np.int64)
    first = np.sort(np.where(np.isfinite(first_day), first_day, np.inf))
    places = int(np.sort(wanted)[math.ceil(NINE_IN_TEN * len(wanted)) - 1])
    tenth = float(first[math.ceil((1.0 - NINE_IN_TEN) * len(first)) - 1])
    died, moved = np.asarray(death_day, dtype=float), np.asarray(moved_day, dtype=float)
    at = np.minimum(np.minimum(died, moved), days)
    cause = np.where(moved <= died, MOVED, DIED)
    cause[~np.isfinite(np.minimum(died, moved))] = 0
    curves = cumulative_incidence(at, cause=cause, level=level)
    return Spare(
        places=places,
        day=tenth if math.isfinite(tenth) else None,
        enough=share_of_runs(wanted <= places, draw=draw, level=level),
        short=share_of_runs(np.asarray(short, dtype=float), draw=draw, level=level),
        died=curves.get(DIED),
        moved=curves.get(MOVED),
    )
