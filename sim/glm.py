r"""Lines on another scale: how a mean or a share goes with the unknowns of a run.

:math:`\log E[y] = x^\top b` for an amount and :math:`\log\frac{p}{1-p} = x^\top b` for a share, by
iteratively reweighted least squares with a ridge, which keeps a column
of no effect near none.

References
----------
McCullaghNelder1989
"""

from __future__ import annotations

import numpy as np

STEPS = 60
RIDGE = 1.0
MOST = 12.0  # of the scale, either way: what lies beyond is all or nothing


def log_mean(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Return the weights of a line for the logarithm of a mean.

    Parameters
    ----------
    x
        Columns, the first of ones, shape (n, p).
    y
        At or above zero, not all of it zero, shape (n,).

    Returns
    -------
    ndarray
        Shape (p,).
    """
    scale = float(np.mean((y - y.mean()) ** 2) / y.mean()) or 1.0  # spread over mean

    def step(line: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        mean = np.exp(line)
        return mean / scale, line + (y - mean) / mean

    return _reweighted(x, step, start=float(np.log(y.mean())))


def log_odds(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Return the weights of a line for the logarithm of the odds.

    Parameters
    ----------
    x
        Columns, the first of ones, shape (n, p).
    y
        0 or 1, not all alike, shape (n,).

    Returns
    -------
    ndarray
        Shape (p,).
    """

    def step(line: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        share = 1.0 / (1.0 + np.exp(-line))
        weight = share * (1.0 - share)
        return weight, line + (y - share) / weight

    share = float(y.mean())
    return _reweighted(x, step, start=float(np.log(share / (1.0 - share))))


def _reweighted(x: np.ndarray, step: object, *, start: float) -> np.ndarray:
    assert callable(step)
    ridge = RIDGE * np.eye(x.shape[1])
    ridge[0, 0] = 0.0
    weights = np.zeros(x.shape[1])
    weights[0] = start
    for _ in range(STEPS):
        weight, aim = step(np.clip(x @ weights, -MOST, MOST))
        new = np.linalg.solve(x.T @ (weight[:, None] * x) + ridge, x.T @ (weight * aim))
        if np.max(np.abs(new - weights)) < 1e-8:
            return np.asarray(new)
        weights = 0.5 * (weights + new)  # by halves: an amount of few large values overshoots
    return weights
