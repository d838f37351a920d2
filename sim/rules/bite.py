r"""Bite and injury: what a bite does, and when it kills.

A landed bite takes scales or tears a fin with a chance (`wound_chance`); the wound is an
exponential amount of mean

.. math:: h / p_w \; (W_i / W_j)^{0.5} \, (1 - \mathrm{armour})

with :math:`h` the mean harm of a bite between equals (`harm_per_bite`), so that the mean harm of a
bite is :math:`h` whatever the chance. Three tenths of it is skin, which closes in 10 h, the rest
is scales and fins, which take 14 days. The sum is the injury: 0.15 minor, 0.5 serious, 1 dead.
A fish whose body is less deep and wide than the biter's gape may be swallowed: its own cause of
death.

References
----------
Healing: zebrafish skin and scales, in the evidence page. Harm per bite: assumed; only its product
with bites and healing time enters the outcome.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiler import rule
from sim.draws import chain, exponential, uniform
from sim.rules.codes import DEAD, IN_TANK
from sim.rules.hours import DAY, day_row
from sim.rules.leave import leave
from sim.state import State


@rule
def injury(state: State, i: int) -> float:
    """Return the injury a fish carries, 0 to 1."""
    return min(1.0, state.fish[i].skin + state.fish[i].scales)


@rule
def die(state: State, i: int) -> None:
    """Take a dead fish out of everything it had a part in."""
    t = state.tank[0]
    leave(state, i, DEAD)
    state.tally[i].death_day = t.clock / DAY
    t.deaths += 1


@rule
def wound(state: State, i: int, j: int, bites: int, weight: float, key: np.uint64) -> float:
    """Let `bites` landed bites of fish `i` do their harm to fish `j`.

    Parameters
    ----------
    state
        State of the run.
    i, j
        Biter and bitten.
    bites
        Number of bites that landed.
    weight
        Share of the usual harm (a bite in a contest differs from one in a chase).
    key
        Key of these bites.

    Returns
    -------
    float
        Injury added; the fish may be dead afterwards.
    """
    p = state.par[0]
    f = state.fish[i]
    g = state.fish[j]
    if g.presence != IN_TANK or bites <= 0:
        return 0.0
    tally = state.tally[j]
    tally.bites_taken += bites
    state.tally[i].bites_given += bites
    state.pair[i, j].bites += bites
    state.tank[0].bites += bites
    day = state.days[day_row(state)]
    day.bites += bites
    ratio = min(max(f.mass / g.mass, 0.05), 20.0)
    size = math.exp(p.harm_size_power * math.log(ratio))
    mean = weight * p.harm_per_bite / p.wound_chance * size * (1.0 - g.armour)
    small = max(g.depth, g.width) < f.gape
    harm = 0.0
    for k in range(bites):
        bite = chain(key, k)
        if small and uniform(chain(bite, 3)) < p.swallow_chance * weight:
            tally.eaten = 1
            state.tally[i].swallowed += 1
            f.eaten_today += g.mass
            f.hunger = 0.0
            die(state, j)
            return harm
        if uniform(chain(bite, 1)) < p.wound_chance:
            harm += mean * exponential(chain(bite, 2))
    before = injury(state, j)
    g.skin += p.skin_share * harm
    g.scales += (1.0 - p.skin_share) * harm
    tally.dose += harm
    day.harm += harm
    after = g.skin + g.scales
    now = state.tank[0].clock / DAY
    tally.worst = max(tally.worst, min(after, 1.0))
    # An injury that was carried in counts from the first bite that adds to it.
    if harm > 0.0 and after >= p.minor_injury:
        tally.minor_day = min(tally.minor_day, now)
    if harm > 0.0 and after >= p.serious_injury:
        if tally.serious_day > now:
            state.tank[0].changed = 1
        tally.serious_day = min(tally.serious_day, now)
    if before < p.serious_injury <= after and g.mate == i:
        tally.mate_hurt_day = min(tally.mate_hurt_day, now)
    if after >= 1.0:
        die(state, j)
    return harm
