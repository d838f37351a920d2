r"""Parent: how readily, how far and from where parents defend their brood.

The claim of the parents hangs on the brood: on the nest until the young swim, then on the cloud of
fry. Reach changes what is defended, heat how readily: the claim itself never exceeds 1. Both follow
from what the young are worth,

.. math:: V = \frac{1 - F}{1 - F \min(a/T_n,\,1)} \left(\frac{S_p}{1 - F}\right)^{1 - a/T}, \qquad
   H = 1 + (H_1 - 1)\,V, \qquad R = R_b \sqrt{H / H_f}

with :math:`V` the chance that a young of age :math:`a` reaches independence at :math:`T`, if a
share :math:`S_p` (`brood_survival`) of all does and the share :math:`F` (`brood_failure`) of broods
fails whole before :math:`T_n`, when they swim: who has come so far may count on what the others
lost; :math:`H_1` `brood_heat` the effort for young
that will surely live; :math:`R_b` the breeding reach, held when the young begin to swim, at the
effort :math:`H_f`: the ground is in proportion to the effort.
Two parents hold one ground between them, by the mean of their lengths.
The mother stays nearer the young than the father until they swim, and is busy with nest and
young for a share of her time (`nest_work`, `brood_care`), in which she attacks nobody. That two
parents do not both chase the same intruder comes from attention (one pursuer for each victim),
and who chases more from her work and from where each of them is, not from a share.

References
----------
Wisenden1994 (survival of broods); Sturmbauer2008 (ground of a pair); Teresa2011 (the female nearer
the eggs, a direction). That effort rises with the age of the brood (Lavery1991) follows here from
its rising worth. Effort and tethers are assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule
from sim.rules.claim import body_reach, keep_calm_reach
from sim.rules.codes import (
    COURTING,
    DIGGING,
    EGGS,
    FRY,
    IN_TANK,
    NO_BROOD,
    RESTING,
    SPONTANEOUS,
    WRIGGLERS,
)
from sim.rules.mate import has_young
from sim.rules.young import survival_of_swimmers, value_of_young
from sim.state import State


@rule
def effort(state: State, k: int) -> float:
    """Return how readily parents attack (x the usual rate) for what their young are worth now."""
    if not has_young(state, k):
        return 1.0
    return 1.0 + (state.par[0].brood_heat - 1.0) * value_of_young(state, k)


@rule
def effort_for_first_swimmers(state: State, k: int) -> float:
    """Return the effort of parents at the moment at which their young begin to swim."""
    row = state.broods[k]
    whole = row.eggs_s + row.wrigglers_s + row.fry_s
    worth = math.exp(math.log(survival_of_swimmers(state)) * row.fry_s / whole)
    return 1.0 + (state.par[0].brood_heat - 1.0) * worth


@rule
def parents_left(state: State, k: int) -> int:
    """Return how many of a pair are alive and in the tank."""
    row = state.broods[k]
    count = 0
    for side in range(2):
        i = row.mother if side == 0 else row.father
        if i >= 0 and state.fish[i].presence == IN_TANK:
            count += 1
    return count


@rule
def at_work(state: State, k: int) -> float:
    """Return the share of her time that a mother builds the nest or tends the young."""
    stage = state.broods[k].stage
    if stage in (COURTING, DIGGING):
        return state.par[0].nest_work
    if stage in (EGGS, WRIGGLERS):
        return state.par[0].brood_care
    return 0.0


@rule
def length_of_holder(state: State, k: int, i: int) -> float:
    """Return the length (m) by which parent `i` reaches: the mean of both while both are there."""
    row = state.broods[k]
    if parents_left(state, k) == 2:
        return 0.5 * (float(state.fish[row.mother].length) + float(state.fish[row.father].length))
    return float(state.fish[i].length)


@rule
def set_parent(state: State, k: int, i: int, tether: float) -> None:
    """Give a parent its heat, its reach (m) and its tether (x reach) at the brood."""
    f = state.fish[i]
    t = state.tank[0]
    p = state.par[0]
    f.heat = effort(state, k)
    ground = math.sqrt(f.heat / effort_for_first_swimmers(state, k))
    if i == state.broods[k].mother and parents_left(state, k) == 2:
        f.heat *= 1.0 - at_work(state, k)
    length = length_of_holder(state, k, i)
    f.reach = ground * body_reach(state, length, p.reach_breeding, p.breeding_length)
    f.tether = tether * f.reach
    place = state.broods[k].place
    if f.site != place:
        f.site = place
        f.site_since = min(f.site_since, t.clock) if f.site_since > 0.0 else t.clock


@rule
def apply_stage(state: State, k: int) -> None:
    """Set the heat, reach and tether of both parents for the stage and age of their brood."""
    t = state.tank[0]
    p = state.par[0]
    row = state.broods[k]
    for side in range(2):
        i = row.mother if side == 0 else row.father
        if i < 0 or state.fish[i].presence != IN_TANK:
            continue
        if row.stage == NO_BROOD or row.stage == RESTING:
            state.fish[i].heat = 1.0
            keep_calm_reach(state, i)
            if t.breeding == SPONTANEOUS and side == 0 and state.fish[i].ripe < 1.0:
                state.fish[i].site = -1  # not let in until she is ready
        elif row.stage == FRY:
            set_parent(state, k, i, 0.5 * (p.mother_tether + p.father_tether))
        else:
            set_parent(state, k, i, p.mother_tether if side == 0 else p.father_tether)
