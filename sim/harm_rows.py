"""Harm rows: where the injury of a run was taken, as rows of tidy tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from sim.outcome import Outcome

HARM_ROW = np.dtype(
    [
        ("run", "i4"),
        ("fish", "i2"),  # that received it
        ("way", "u1"),  # of `HARM_WAYS` of `sim.rules.codes`
        ("ground", "u1"),  # of `GROUNDS`
        ("stage", "u1"),  # of `STAGES`, of the biter's brood, else of the tank's
        ("cover", "u1"),  # of `COVER_BANDS`
        ("dose", "f8"),  # injury
    ]
)

HOLDER_ROW = np.dtype(
    [
        ("run", "i4"),
        ("fish", "i2"),  # that received it
        ("holder", "i2"),  # in whose territory; -1 on open ground
        ("dose", "f8"),
    ]
)


def harm_rows(outcome: Outcome) -> np.ndarray:
    """Return how the injury of a run was taken, a row of `HARM_ROW` for each way that occurred."""
    at = np.nonzero(outcome.harm > 0.0)
    rows = np.zeros(len(at[0]), HARM_ROW)
    rows["run"] = outcome.run
    for name, values in zip(("fish", "way", "ground", "stage", "cover"), at, strict=True):
        rows[name] = values
    rows["dose"] = outcome.harm[at]
    return rows


def holder_rows(outcome: Outcome) -> np.ndarray:
    """Return in whose territory the fish of a run were hurt, rows of `HOLDER_ROW`."""
    fish, holder = np.nonzero(outcome.harm_on > 0.0)
    rows = np.zeros(len(fish), HOLDER_ROW)
    rows["run"], rows["fish"] = outcome.run, fish
    rows["holder"] = np.where(holder == len(outcome.harm_on), -1, holder)
    rows["dose"] = outcome.harm_on[fish, holder]
    return rows
