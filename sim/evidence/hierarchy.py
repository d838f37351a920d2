"""P4: ranks form a nearly straight line, headed by a fish that has a part in most of what happens.

A decided encounter is a contest won or a fish chased off. That the line is straight supports
nothing: it is straight without any one of the mechanisms. The part of the top fish, and how often
ranks are turned over from week to week, say more.

References
----------
Oliveira1996a, Oliveira1996b
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, pairwise

import numpy as np

from sim.dominance import david_score, landau_h
from sim.engine import History
from sim.evidence.study import Observables, Study, Unit, column, share


def decided(history: History) -> np.ndarray:
    """Return encounters won so far, row over column."""
    return np.array(history.state.pair.wins + history.state.pair.chases)


def top_share(wins: np.ndarray) -> float:
    """Return the share of all encounters in which the top fish has a part."""
    total = wins.sum()
    if total == 0:
        return float("nan")
    top = int(np.argmax(david_score(wins)))
    return float((wins[top].sum() + wins[:, top].sum()) / total)


def reversals(weeks: list[np.ndarray]) -> float:
    """Return the share of pairs whose order of one week is turned over in the next."""
    turned = asked = 0
    for before, after in pairwise(weeks):
        for i, j in combinations(range(len(before)), 2):
            one, two = before[i, j] - before[j, i], after[i, j] - after[j, i]
            if one != 0 and two != 0:
                asked += 1
                turned += one * two < 0
    return turned / asked if asked else float("nan")


def unit(study: Study, k: int) -> Unit:
    """Keep one group of five for four weeks, and one of four for ten days."""
    five = study.begin("group-of-5", k)
    counts = [np.zeros((5, 5))]
    found: Unit = {}
    for day in (7, 10, 14, 21, 28):
        five.advance(until_day=day)
        if day == 10:
            wins = decided(five)
            found |= {"h": landau_h(wins), "top_share": top_share(wins)}
            found["h_contests"] = landau_h(np.array(five.state.pair.wins))
        else:
            counts.append(decided(five))
    found["reversals"] = reversals([b - a for a, b in pairwise(counts)])
    four = decided(study.play("group-of-4", k))
    found["linear_4"] = float(landau_h(four) > 1.0 - 1e-9)
    return found


def measure(units: Sequence[Unit]) -> Observables:
    """Return means over groups."""
    return {name: share(column(units, name)) for name in units[0]}
