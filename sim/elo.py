"""Elo ratings: a rank that follows the bouts one by one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np
import numpy.typing as npt

Curve = Literal["normal", "logistic"]
Rounding = Literal["none", "every bout"]


def win_chance(rating: float, *, against: float, curve: Curve = "normal") -> float:
    """Return the chance that the fish with `rating` beats the one rated `against`.

    normal: p = Phi((R1 - R2) / (200 sqrt 2)); logistic: p = 1 / (1 + 10^(-(R1 - R2) / 400)).

    Parameters
    ----------
    rating, against
        Elo ratings, in points.
    curve
        "normal" or "logistic".

    Returns
    -------
    float
        Chance, 0 to 1.

    Raises
    ------
    ValueError
        If the curve is unknown.

    References
    ----------
    Albers2001, Neumann2011
    """
    lead = rating - against
    if curve == "normal":
        # Phi(x) = erfc(-x / sqrt 2) / 2, and 200 sqrt 2 sqrt 2 = 400.
        return 0.5 * math.erfc(-lead / 400.0)
    if curve == "logistic":
        # Far apart, 10^x would overflow where the chance is zero to the last digit.
        return 0.0 if lead < -100_000.0 else 1.0 / (1.0 + 10.0 ** (-lead / 400.0))
    raise ValueError(f'win_chance: the curve is "{curve}"; expected "normal" or "logistic".')


def elo_history(
    bouts: npt.ArrayLike,
    *,
    n_fish: int,
    draws: Sequence[bool] | npt.NDArray[np.bool_] | None = None,
    start: float | npt.ArrayLike = 1000.0,
    k: float = 100.0,
    curve: Curve = "normal",
    rounding: Rounding = "none",
) -> npt.NDArray[np.float64]:
    """Return every fish's Elo rating before the first bout and after each.

    With p the chance that the winner would win: R_winner += k (1 - p), R_loser -= k (1 - p);
    after a draw each moves by k (0.5 - its own chance).

    Parameters
    ----------
    bouts
        Winner and loser of each bout as fish indices in order of time, shape (n_bouts, 2).
    n_fish
        Number of fish.
    draws
        Whether each bout was a draw, shape (n_bouts,); none was if left out.
    start
        Rating at the start in points, one number or shape (n_fish,).
    k
        Points at stake in a bout.
    curve
        "normal" or "logistic", as in `win_chance`.
    rounding
        "none", or "every bout": both ratings go to the nearest whole point after each bout
        (halves to even), as the reference implementation of Neumann2011 does.

    Returns
    -------
    ndarray
        Ratings in points, shape (n_bouts + 1, n_fish).

    Raises
    ------
    ValueError
        If an index, the curve, the rounding or a shape is not as above.

    References
    ----------
    Albers2001, Neumann2011
    """
    pairs = checked_bouts(bouts, n_fish=n_fish)
    if rounding not in ("none", "every bout"):
        raise ValueError(
            f'elo_history: the rounding is "{rounding}"; expected "none" or "every bout".'
        )
    drawn = np.zeros(len(pairs), dtype=bool) if draws is None else np.asarray(draws, dtype=bool)
    if drawn.shape != (len(pairs),):
        raise ValueError(
            f"elo_history: draws has shape {drawn.shape}; expected one per bout, {len(pairs)}."
        )
    rating = np.broadcast_to(np.asarray(start, dtype=np.float64), (n_fish,)).tolist()
    history = np.empty((len(pairs) + 1, n_fish), dtype=np.float64)
    history[0] = rating
    for bout, (winner, loser) in enumerate(pairs.tolist()):
        chance = win_chance(rating[winner], against=rating[loser], curve=curve)
        gain = k * ((0.5 if drawn[bout] else 1.0) - chance)
        for fish, change in ((winner, gain), (loser, -gain)):
            changed = rating[fish] + change
            rating[fish] = float(round(changed)) if rounding == "every bout" else changed
        history[bout + 1] = rating
    return history


def elo_ratings(
    bouts: npt.ArrayLike,
    *,
    n_fish: int,
    draws: Sequence[bool] | npt.NDArray[np.bool_] | None = None,
    start: float | npt.ArrayLike = 1000.0,
    k: float = 100.0,
    curve: Curve = "normal",
    rounding: Rounding = "none",
) -> npt.NDArray[np.float64]:
    """Return every fish's Elo rating after the last bout.

    Parameters
    ----------
    bouts, n_fish, draws, start, k, curve, rounding
        As in `elo_history`; unlike the reference implementation nothing is rounded unless asked.

    Returns
    -------
    ndarray
        Ratings in points, shape (n_fish,).

    Raises
    ------
    ValueError
        As `elo_history`.

    References
    ----------
    Albers2001, Neumann2011
    """
    history = elo_history(
        bouts, n_fish=n_fish, draws=draws, start=start, k=k, curve=curve, rounding=rounding
    )
    last: npt.NDArray[np.float64] = history[-1]
    return last


def checked_bouts(bouts: npt.ArrayLike, *, n_fish: int) -> npt.NDArray[np.int64]:
    """Return the bouts as an array of winner and loser, shape (n_bouts, 2), or raise ValueError.

    Parameters
    ----------
    bouts
        Winner and loser of each bout as fish indices, shape (n_bouts, 2).
    n_fish
        Number of fish.
    """
    pairs = np.asarray(bouts, dtype=np.int64).reshape(-1, 2)
    if np.any(pairs < 0) or np.any(pairs >= n_fish):
        raise ValueError(
            f"bouts: an index is {int(pairs[(pairs < 0) | (pairs >= n_fish)][0])}; "
            f"expected 0 to {n_fish - 1}."
        )
    if np.any(pairs[:, 0] == pairs[:, 1]):
        raise ValueError("bouts: a fish meets itself; expected two different fish in every bout.")
    return pairs
