"""Measures of a dominance hierarchy, from who beat whom.

Every function takes counts of wins, shape (n_fish, n_fish): `wins[i, j]` is how often i beat j.
A dyad that never met is *unknown*; one with equal wins is *tied*.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from typing import Literal

import numpy as np
import numpy.typing as npt

from sim.elo import checked_bouts

Form = Literal["Dij", "Pij"]

# The exact null is counted over lists of scores: a second for eleven animals, six for twelve.
_LARGEST_EXACT = 11


@dataclass(frozen=True, slots=True)
class Steepness:
    """The line of normalised David's scores on rank; the hierarchy's steepness is -slope."""

    slope: float
    intercept: float


@dataclass(frozen=True, slots=True)
class Transitivity:
    """Triads in which all three dyads have a winner, and the share of them in line."""

    share: float
    t_tri: float
    triads: int
    circular: int


@dataclass(frozen=True, slots=True)
class LinearityNull:
    """Every complete tournament of so many animals, each equally likely, by circular triads."""

    circular: npt.NDArray[np.int64]
    h: npt.NDArray[np.float64]
    chance_at_most: npt.NDArray[np.float64]


def win_matrix(bouts: npt.ArrayLike, *, n_fish: int) -> npt.NDArray[np.int64]:
    """Count the wins of every fish over every other.

    Parameters
    ----------
    bouts
        Winner and loser of each bout as fish indices, shape (n_bouts, 2).
    n_fish
        Number of fish, fought or not.

    Returns
    -------
    ndarray
        Wins, row over column, shape (n_fish, n_fish).

    Raises
    ------
    ValueError
        If an index is out of range or a fish meets itself.
    """
    pairs = checked_bouts(bouts, n_fish=n_fish)
    wins = np.zeros((n_fish, n_fish), dtype=np.int64)
    np.add.at(wins, (pairs[:, 0], pairs[:, 1]), 1)
    return wins


def landau_h(wins: npt.ArrayLike) -> float:
    """Return Landau's linearity, 0 for all equal to 1 for a straight line.

    h = 12 / (N^3 - N) * sum_i (V_i - (N - 1) / 2)^2, where V_i is the number of animals that i
    dominates, counting one half for each tied and each unknown dyad.  (Some programs leave out
    the half of unknown dyads; their h is then larger.)

    Parameters
    ----------
    wins
        Wins of row over column, shape (n_fish, n_fish), at least two fish.

    Returns
    -------
    float
        h, no unit.

    Raises
    ------
    ValueError
        If `wins` is not such a matrix.

    References
    ----------
    Landau1951, deVries1995
    """
    counts = _wins(wins, least=2)
    n = len(counts)
    dominates = (counts > counts.T) + 0.5 * (counts == counts.T)
    np.fill_diagonal(dominates, 0.0)
    value = dominates.sum(axis=1)
    return float(12.0 / (n**3 - n) * np.sum((value - (n - 1) / 2) ** 2))


def de_vries_h(wins: npt.ArrayLike) -> float:
    """Return Landau's linearity corrected for dyads that were never seen to meet.

    h' = h + 6 u / (N^3 - N), u = number of unknown dyads.  It is the mean of h over every way
    of giving each unknown dyad a winner.

    Parameters
    ----------
    wins
        Wins of row over column, shape (n_fish, n_fish), at least two fish.

    Returns
    -------
    float
        h', no unit.

    Raises
    ------
    ValueError
        If `wins` is not such a matrix.

    References
    ----------
    deVries1995
    """
    counts = _wins(wins, least=2)
    n = len(counts)
    return landau_h(counts) + 6.0 * unknown_dyads(counts) / (n**3 - n)


def unknown_dyads(wins: npt.ArrayLike) -> int:
    """Return the number of pairs never seen to meet, of a (n_fish, n_fish) matrix of wins."""
    counts = _wins(wins, least=2)
    return int(np.sum(np.triu((counts + counts.T) == 0, k=1)))


def circular_triads(wins: npt.ArrayLike) -> int:
    """Return how many triads go round in a circle, A over B over C over A.

    Only triads whose three dyads all have a winner are looked at.  For a complete tournament
    h = 1 - 24 d / (N^3 - N), d = circular triads.

    Parameters
    ----------
    wins
        Wins of row over column, shape (n_fish, n_fish), at least three fish.

    Returns
    -------
    int
        Number of circular triads.

    Raises
    ------
    ValueError
        If `wins` is not such a matrix.

    References
    ----------
    Landau1951, Appleby1983
    """
    return triangle_transitivity(wins).circular


def triangle_transitivity(wins: npt.ArrayLike) -> Transitivity:
    """Return how many of the complete triads are transitive, and how far above chance.

    P_t = transitive / (transitive + circular) over triads whose three dyads all have a winner;
    t_tri = 4 (P_t - 0.75): 0 for what chance gives, 1 when no triad is circular.

    Parameters
    ----------
    wins
        Wins of row over column, shape (n_fish, n_fish), at least three fish.

    Returns
    -------
    Transitivity
        P_t and t_tri (no unit; nan if no triad is complete), and the numbers of triads.

    Raises
    ------
    ValueError
        If `wins` is not such a matrix.

    References
    ----------
    Shizuka2012
    """
    counts = _wins(wins, least=3)
    over = (counts > counts.T).astype(np.int64)
    decided = over + over.T
    # A closed walk of three steps passes a circle once from each of its three corners, and a
    # triangle of an undirected graph twice from each.
    circular = int(np.trace(over @ over @ over)) // 3
    triads = int(np.trace(decided @ decided @ decided)) // 6
    share = (triads - circular) / triads if triads else math.nan
    return Transitivity(share=share, t_tri=4.0 * (share - 0.75), triads=triads, circular=circular)


@lru_cache(maxsize=16)
def linearity_null(n_fish: int) -> LinearityNull:
    """Return the exact chances of circular triads in a random complete tournament.

    All 2^(N (N - 1) / 2) tournaments are counted, by their lists of scores, with
    d = C(N, 3) - sum_i C(s_i, 2) circular triads for scores s_i.

    Parameters
    ----------
    n_fish
        Number of animals, 3 to 11.

    Returns
    -------
    LinearityNull
        Rising numbers of circular triads that can occur, the h of each, and the chance of at
        most so many.

    Raises
    ------
    ValueError
        If `n_fish` is out of range.

    References
    ----------
    Appleby1983
    """
    if not 3 <= n_fish <= _LARGEST_EXACT:
        raise ValueError(
            f"linearity_null: the number of animals is {n_fish}; "
            f"expected 3 to {_LARGEST_EXACT}. Larger groups need random tournaments."
        )
    ways: dict[tuple[int, ...], int] = {(0,): 1}
    for _ in range(n_fish - 1):
        ways = _with_one_more(ways)
    by_triads: Counter[int] = Counter()
    for scores, number in ways.items():
        by_triads[math.comb(n_fish, 3) - sum(math.comb(s, 2) for s in scores)] += number
    circular = sorted(by_triads)
    so_far = np.cumsum([by_triads[d] for d in circular], dtype=object)
    every = 2 ** math.comb(n_fish, 2)
    count = np.array(circular, dtype=np.int64)
    return LinearityNull(
        circular=count,
        h=1.0 - 24.0 * count / (n_fish**3 - n_fish),
        chance_at_most=np.array([number / every for number in so_far], dtype=np.float64),
    )


def linearity_chance(wins: npt.ArrayLike) -> float:
    """Return how often chance alone makes a complete tournament at least this linear.

    Parameters
    ----------
    wins
        Wins of row over column, shape (n_fish, n_fish), every dyad with a winner.

    Returns
    -------
    float
        P(d <= observed circular triads).

    Raises
    ------
    ValueError
        If a dyad is unknown or tied, or the group is outside 3 to 11.

    References
    ----------
    Appleby1983
    """
    counts = _wins(wins, least=3)
    open_dyads = int(np.sum(np.triu(counts == counts.T, k=1)))
    if open_dyads:
        raise ValueError(
            f"linearity_chance: {open_dyads} dyads have no winner; "
            "expected a winner in every dyad. Use de_vries_h, which allows for them."
        )
    null = linearity_null(len(counts))
    at = int(np.searchsorted(null.circular, circular_triads(counts)))
    return float(null.chance_at_most[at])


def david_score(
    wins: npt.ArrayLike, *, form: Form = "Dij", normalised: bool = False
) -> npt.NDArray[np.float64]:
    """Return David's score of every fish, which weighs a win by whom it was won against.

    DS = w + w2 - l - l2 with w_i = sum_j X_ij, w2_i = sum_j X_ij w_j, l_i = sum_j X_ji,
    l2_i = sum_j X_ji l_j.  X is P_ij = s_ij / n_ij, or D_ij = (s_ij + 0.5) / (n_ij + 1), which
    trusts few meetings less; a dyad that never met adds nothing.  Normalised:
    (DS + N (N - 1) / 2) / N, from 0 to N - 1.

    Parameters
    ----------
    wins
        Wins of row over column, shape (n_fish, n_fish), at least two fish.
    form
        "Dij" or "Pij".
    normalised
        Whether to normalise.

    Returns
    -------
    ndarray
        Scores, no unit, shape (n_fish,).

    Raises
    ------
    ValueError
        If `wins` is not such a matrix or `form` is unknown.

    References
    ----------
    David1987, Gammell2003, deVries2006
    """
    counts = _wins(wins, least=2)
    met = counts + counts.T
    if form == "Dij":
        share = np.where(met > 0, (counts + 0.5) / (met + 1.0), 0.0)
    elif form == "Pij":
        share = counts / np.where(met > 0, met, 1.0)
    else:
        raise ValueError(f'david_score: the form is "{form}"; expected "Dij" or "Pij".')
    won, lost = share.sum(axis=1), share.sum(axis=0)
    score: npt.NDArray[np.float64] = won + share @ won - lost - share.T @ lost
    n = len(counts)
    return (score + n * (n - 1) / 2) / n if normalised else score


def steepness(wins: npt.ArrayLike, *, form: Form = "Dij") -> Steepness:
    """Return the least-squares line of normalised David's scores on their rank, best = 1.

    Parameters
    ----------
    wins
        Wins of row over column, shape (n_fish, n_fish), at least two fish.
    form
        "Dij" or "Pij", as in `david_score`.

    Returns
    -------
    Steepness
        Slope (never above zero) and intercept, in normalised score and score per rank.

    Raises
    ------
    ValueError
        If `wins` is not such a matrix or `form` is unknown.

    References
    ----------
    deVries2006
    """
    score = np.sort(david_score(wins, form=form, normalised=True))[::-1]
    rank = np.arange(1, len(score) + 1) - (len(score) + 1) / 2
    slope = float(rank @ score / (rank @ rank))
    return Steepness(slope, float(score.mean()) - slope * (len(score) + 1) / 2)


def _with_one_more(ways: dict[tuple[int, ...], int]) -> dict[tuple[int, ...], int]:
    """Count the tournaments with one more animal, from those without, by sorted scores."""
    after: Counter[tuple[int, ...]] = Counter()
    for scores, number in ways.items():
        groups = sorted(Counter(scores).items())
        # Animals with equal scores are alike: choose how many of each group beat the newcomer.
        for beaten_by in product(*(range(size + 1) for _, size in groups)):
            new = [len(scores) - sum(beaten_by)]
            chosen = number
            for (score, size), winners in zip(groups, beaten_by, strict=True):
                new += [score + 1] * winners + [score] * (size - winners)
                chosen *= math.comb(size, winners)
            after[tuple(sorted(new))] += chosen
    return dict(after)


def _wins(wins: npt.ArrayLike, *, least: int) -> npt.NDArray[np.float64]:
    counts = np.asarray(wins, dtype=np.float64)
    if counts.ndim != 2 or counts.shape[0] != counts.shape[1] or len(counts) < least:
        raise ValueError(
            f"wins: the shape is {counts.shape}; expected a square of {least} animals or more."
        )
    if not np.all(np.isfinite(counts)) or np.any(counts < 0.0):
        raise ValueError("wins: there is a negative or missing count; expected counts of wins.")
    if np.any(np.diagonal(counts) != 0.0):
        raise ValueError("wins: an animal has beaten itself; expected zeros on the diagonal.")
    return counts
