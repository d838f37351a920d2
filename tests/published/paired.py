"""How sure a difference between two tanks over the same fish is, as the published checks ask it."""

from __future__ import annotations

import numpy as np


def errors_above(difference: np.ndarray) -> float:
    """By how many standard errors a mean over runs, shape (n_runs,), is above zero."""
    return float(difference.mean() / (difference.std(ddof=1) / np.sqrt(len(difference))))
