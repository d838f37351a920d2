r"""Young: how many are laid, how many are left, and who eats them.

.. math:: N_0 = N_k\,(L / L_k)^{2.6}\,e^{s z}, \qquad
   \frac{dN}{dt} = -\lambda N - \text{eaten}, \qquad
   \lambda = \frac{c\,\ln(1 / S)}{T}

with :math:`N_k` the clutch of a female of length :math:`L_k`, :math:`S` the published share that
reaches independence over the time :math:`T` of the whole brood, and :math:`c` `quiet_loss` the
part of those losses that is nobody's meal. With the chance `brood_failure` a brood fails whole,
at a moment drawn evenly over eggs and wrigglers.

Eggs and fry are food. A fish that is no parent and not in hiding sets out for a brood that it sees
after a mean of `lure_gap` (longer the more it fears) and gives it up after `lure_time` or when
chased. Each second that it is free (neither chased nor chasing) within `raid_distance` of the
young it takes `raid_rate` mouthfuls of a size in proportion to its length; of fry, which flee,
the share `fry_caught`. Whether it gets so far is left to the claim, the place and the attention of
the parents. In leapt time the seconds at the brood are those pooled from watched time. At night a
fish that is about takes `night_meal` at each visit to a nest (see `dark`).

References
----------
Ishikawa2010 (batch 65 to 345 eggs of females of 32.2 to 61.2 mm SL: the power is derived from the
ends of both ranges); Wisenden1994 (young at independence). The rest is assumed.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiler import rule, small_rule
from sim.draws import LURE, YOUNG, chain, normal, poisson, uniform
from sim.rules.codes import EGGS, FRY, IN_TANK, SPONTANEOUS, SWIM, WATCHED
from sim.rules.mate import has_young
from sim.state import NEVER, State
from sim.tables import Floor

CLUTCH_POWER = 2.6  # derived: ln(345 / 65) / ln(61.2 / 32.2)
CLUTCH_SPREAD = 0.2  # sd of ln eggs among clutches of like females, assumed
MOUTHFUL_LENGTH = 0.10  # m, length of the fish that takes `mouthful` at once


@rule
def clutch_of(state: State, i: int, key: np.uint64) -> float:
    """Return how many eggs a female lays, by her length and a draw."""
    kind = state.kinds[state.fish[i].species]
    size = math.log(state.fish[i].length / kind.clutch_length)
    return kind.clutch * math.exp(CLUTCH_POWER * size + CLUTCH_SPREAD * normal(key))


@rule
def lay(state: State, k: int) -> None:
    """Let the pair of a row spawn: count the eggs, and draw whether the brood fails of itself."""
    t = state.tank[0]
    row = state.broods[k]
    key = chain(chain(state.fish[row.mother].key, YOUNG), row.spawnings)
    row.laid = clutch_of(state, row.mother, chain(key, 1))
    row.young = row.laid
    row.eaten = 0.0
    row.fails_at = NEVER
    if uniform(chain(key, 2)) < state.par[0].brood_failure:
        row.fails_at = t.clock + uniform(chain(key, 3)) * (row.eggs_s + row.wrigglers_s)
    row.visit_pool = 0.0
    row.visit_window = 0.0
    for j in range(len(state.fish)):
        state.visits[k, j].window = 0.0
        state.visits[k, j].pooled = 0.0


@rule
def begin_visits(state: State) -> None:
    """Begin to measure the visits of a new window."""
    for k in range(len(state.broods)):
        if state.broods[k].there == 1:
            state.broods[k].visit_window = 0.0
            for j in range(len(state.fish)):
                state.visits[k, j].window = 0.0


@rule
def pool_visits(state: State, keep: float, weight: float) -> None:
    """Add the visits of a window to the pool, the older ones fading by `keep`."""
    for k in range(len(state.broods)):
        row = state.broods[k]
        if row.there == 1:
            row.visit_pool = keep * row.visit_pool + weight * row.visit_window
            for j in range(len(state.fish)):
                visit = state.visits[k, j]
                visit.pooled = keep * visit.pooled + weight * visit.window


@small_rule
def at_brood(state: State, floor: Floor, k: int, j: int) -> bool:
    """Return whether fish `j` is free to eat of the brood of a row."""
    g = state.fish[j]
    if g.act != SWIM or g.room >= 0 or g.hiding == 1 or g.layer > 1:
        return False
    return floor.site_dist[state.broods[k].place, g.cell] < state.par[0].raid_distance


@rule
def mouthfuls(state: State, k: int, j: int, seconds: float) -> None:
    """Let fish `j` eat of a brood for so many seconds at it."""
    p = state.par[0]
    row = state.broods[k]
    key = chain(chain(chain(state.fish[j].key, YOUNG), state.tank[0].beats), k)
    size = p.mouthful * state.fish[j].length / MOUTHFUL_LENGTH
    if row.stage == FRY:
        size *= p.fry_caught
    taken = min(poisson(key, p.raid_rate * seconds) * size, row.young)
    row.young -= taken
    row.eaten += taken
    state.tally[j].young_eaten += taken


@rule
def eat_at_night(state: State, k: int, j: int, visits: int) -> None:
    """Let fish `j` eat of a nest so often in the dark, where young are counted."""
    if state.tank[0].breeding != SPONTANEOUS or visits == 0:
        return
    row = state.broods[k]
    size = state.par[0].night_meal * state.fish[j].length / MOUTHFUL_LENGTH
    taken = min(visits * size, row.young)
    row.young -= taken
    row.eaten += taken
    state.tally[j].young_eaten += taken


@rule
def lure(state: State, floor: Floor, j: int, dt: float) -> None:
    """Let a fish set out for a brood that it sees, or give one up."""
    p = state.par[0]
    g = state.fish[j]
    key = chain(chain(g.key, LURE), state.tank[0].beats)
    if g.lured >= 0:
        gone = not has_young(state, g.lured) or g.act != SWIM or g.hiding == 1
        if gone or uniform(key) < 1.0 - math.exp(-dt / p.lure_time):
            g.lured = -1
        return
    if g.act != SWIM or g.room >= 0 or g.hiding == 1 or g.brood >= 0:
        return
    if uniform(key) >= 1.0 - math.exp(-dt * (1.0 - g.fear) / (60.0 * p.lure_gap)):
        return
    best = 1e9
    for k in range(len(state.broods)):
        if not has_young(state, k) or state.broods[k].place < 0:
            continue
        if floor.site_compartment[state.broods[k].place] != g.compartment:
            continue
        if floor.site_seen[state.broods[k].place, g.cell] == 1:
            away = float(floor.site_dist[state.broods[k].place, g.cell])
            if away < best:
                best = away
                g.lured = k


@rule
def live_and_die(state: State, floor: Floor, k: int, dt: float, passed: float) -> None:
    """Let young of a brood die of themselves and be eaten.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    k
        Row of the broods, with young in it.
    dt
        Waking time that has passed, s.
    passed
        Clock time that has passed, the night included, s.
    """
    t = state.tank[0]
    p = state.par[0]
    row = state.broods[k]
    kind = state.kinds[state.fish[row.mother].species]
    whole = row.eggs_s + row.wrigglers_s + row.fry_s
    row.young *= math.exp(p.quiet_loss * math.log(kind.survival) * passed / whole)
    if t.clock >= row.fails_at:
        row.young = 0.0
        return
    watched = t.phase == WATCHED
    counted = watched and t.burn_until <= t.clock < t.until + dt
    if counted:
        row.visit_window += dt
    for j in range(len(state.fish)):
        if state.fish[j].presence != IN_TANK or state.fish[j].brood == k:
            continue
        seconds = 0.0
        if watched:
            if at_brood(state, floor, k, j):
                seconds = dt
                if counted:
                    state.visits[k, j].window += dt
        elif row.visit_pool > 0.0:
            seconds = dt * state.visits[k, j].pooled / row.visit_pool
        if seconds > 0.0:
            mouthfuls(state, k, j, seconds)


@rule
def survival_of_swimmers(state: State) -> float:
    """Return the chance over the whole time of a brood that does not fail of itself."""
    p = state.par[0]
    return min(p.brood_survival / (1.0 - p.brood_failure), 1.0)


@rule
def value_of_young(state: State, k: int) -> float:
    """Return the chance that a young of this age reaches independence, as its parents hold it."""
    row = state.broods[k]
    nest = row.eggs_s + row.wrigglers_s
    whole = nest + row.fry_s
    age = state.tank[0].clock - row.stage_since
    if row.stage > EGGS:
        age += row.eggs_s
    if row.stage > EGGS + 1:
        age += row.wrigglers_s
    left = max(1.0 - age / whole, 0.0)
    fails = state.par[0].brood_failure
    stands = (1.0 - fails) / (1.0 - fails * min(age / nest, 1.0))
    return stands * math.exp(math.log(survival_of_swimmers(state)) * left)
