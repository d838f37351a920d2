"""P9: territories scale with the fish, level off in a crowd, and shrink among barriers.

References
----------
Grant1990, Wood2012, Sturmbauer2008, Imre2002. The slope and the level of a lone fish are held by
parameters (`reach_growth`, `reach_calm`, `reach_breeding`, `shade`): no credit for them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sim.engine import History
from sim.evidence.study import Observables, Study, Unit, column, share

LENGTHS = (0.05, 0.07, 0.09, 0.12)  # m
ROOM = 0.95  # share of its disc inside the glass with which a territory counts as free


def area(history: History, row: int) -> float:
    """Return the ground (m2) that a fish holds now; nan where it holds no site."""
    fish = history.state.fish
    return float(fish.area[row]) if fish.site[row] >= 0 else float("nan")


def free_of_glass(history: History) -> bool:
    """Return whether no wall cuts into the ground of the fish that reaches farthest."""
    return bool(history.outcome().row["glass_cut_share"][0] <= 1.0 - ROOM)


def unit(study: Study, k: int) -> Unit:
    """Settle lone fish of several lengths, a crowd, a pair, and a fish among stones."""
    found: Unit = {}
    for length in LENGTHS:
        history = study.play("open-arena", k, fish=(("Settler", (("length_m", length),)),))
        name = f"free_{1000 * length:.0f}"
        found[name] = area(history, 0) if free_of_glass(history) else float("nan")
    pair = study.begin("arena-pair", k)
    pair.advance(until_day=11.5)
    found["pair"] = area(pair, 0)
    found["stony"] = area(study.play("stony-arena", k), 0)
    found["clear"] = area(study.play("clear-arena", k), 0)
    if k < 4:  # a crowd is many fish already
        crowd = study.play("crowded-arena", k)
        held = [area(crowd, i) for i in range(len(crowd.state.fish))]
        found["crowd"] = share(np.array(held))
        found["crowd_holders"] = float(np.isfinite(held).sum())
    else:
        found["crowd"] = found["crowd_holders"] = float("nan")
    return found


def measure(units: Sequence[Unit]) -> Observables:
    """Return the slope of area on length, levels, and what barriers do."""
    found = {name: share(column(units, name)) for name in units[0]}
    free = np.array([found[f"free_{1000 * length:.0f}"] for length in LENGTHS])
    known = np.isfinite(free)
    found["slope"] = float("nan")
    if known.sum() >= 2:
        log_length = np.log10(np.array(LENGTHS)[known])
        found["slope"] = float(np.polyfit(log_length, np.log10(free[known]), 1)[0])
    found["crowd_over_free"] = found["crowd"] / found["free_50"]
    found["stony_over_clear"] = found["stony"] / found["clear"]
    return found
