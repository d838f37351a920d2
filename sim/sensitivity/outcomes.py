"""Outcomes: what a keeper cares about, read from runs of the same fish in both tanks.

An outcome is a number of each run, so that its mean over runs and the part of luck in it can be
told. Doses and wounds are taken in logarithms, where a harm per bite twice as great adds the same
everywhere; a little is added first, for runs in which nobody is hurt.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sim.figures import MEASURES
from sim.start import RUNS_PER_DRAW

LITTLE = 0.01  # injury that is added before a logarithm, assumed
RAW = ("serious", "death", "dose", "worst_injury", "hidden_h_per_day", "open_share")
IN_LOG = ("dose", "worst_injury")

Seen = Mapping[str, Mapping[str, list[float]]]


@dataclass(frozen=True, slots=True)
class Outcome:
    """One outcome of a pair of tanks.

    Parameters
    ----------
    raw
        As in `sim.outcome.RUN_ROW`.
    differs
        Whether it is six feet less four, else four feet alone.
    """

    raw: str
    differs: bool

    @property
    def name(self) -> str:
        """Its name."""
        return f"{self.raw}_difference" if self.differs else self.raw

    @property
    def in_log(self) -> bool:
        """Whether it is a natural logarithm."""
        return self.raw in IN_LOG

    @property
    def unit(self) -> str:
        """Unit of its numbers."""
        return "ln" if self.in_log else MEASURES[self.raw].unit

    def of_runs(self, seen: Seen) -> np.ndarray:
        """Return it for each run of a point, shape (n_runs,)."""

        def one(tank: str) -> np.ndarray:
            values = np.asarray(seen[tank][self.raw], dtype=np.float64)
            return np.log(values + LITTLE) if self.in_log else values

        return one("six") - one("four") if self.differs else one("four")


OUTCOMES = tuple(Outcome(raw, differs) for differs in (False, True) for raw in RAW)


def table_of(outcome: Outcome, seen: list[Seen]) -> np.ndarray:
    """Return an outcome for each point and run, shape (n_points, n_runs)."""
    return np.array([outcome.of_runs(one) for one in seen], dtype=np.float64)


def luck_variance(runs: np.ndarray) -> np.ndarray:
    """Return the variance that luck leaves in the mean over runs, for each point.

    Two runs in succession hold the same fish, so half the square of what they differ by is luck
    alone. Which fish are drawn is no luck here: they are the same in every point.

    Parameters
    ----------
    runs
        Shape (n_points, n_runs), n_runs even.

    Returns
    -------
    ndarray, shape (n_points,)
    """
    n = runs.shape[-1]
    pairs = runs.reshape(*runs.shape[:-1], n // RUNS_PER_DRAW, RUNS_PER_DRAW)
    found: np.ndarray = np.mean(np.var(pairs, axis=-1, ddof=1), axis=-1) / n
    return found
