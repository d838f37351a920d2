r"""Pair: grown fish choose a mate of themselves, and part again.

A grown female without a mate chooses after a waiting time of mean `pair_time`, five times as long
while she is far from ready. She looks at every grown male of her species that is free and takes
the one with the greatest

.. math:: v = 1 - \left|\frac{\ln(L_m / L_f) - s_0}{0.3}\right| + h + 0.5\,f - 2\,a - n + 0.5\,z

if that is above `choosy`: he should be larger by :math:`s_0` = `mate_size` (ln length); :math:`h`
is 1 where he holds a site; :math:`f` is familiarity, :math:`a` how much she has learned to avoid
him, which is how his temper enters; :math:`n` is `no_site_cost` where the tank has no site of the
kind the species spawns in; :math:`z` is a normal draw. From then on they are a pair, and court
when she is ready (see `breed`). A female that is not ready is driven (see `mate`), and the more
she avoids him the sooner the bond breaks: hazard :math:`a / ` `bond_time` while they rest or court.

References
----------
None with numbers: that pairs seldom form where there is no site is in the evidence page (read);
that the male of a pair is the larger, from memory. Assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule
from sim.draws import PAIRING, chain, exponential, normal
from sim.rules.breed import part
from sim.rules.claim import keep_calm_reach
from sim.rules.codes import (
    CAVE,
    COURTING,
    EDGE,
    FEMALE,
    FLAT,
    IN_TANK,
    MALE,
    NO_BROOD,
    RESTING,
    SPONTANEOUS,
)
from sim.rules.hours import DAY
from sim.rules.nest import nest_kind
from sim.state import State
from sim.tables import Floor

FAR_FROM_READY = 0.2  # x the pace of a ready female, assumed


@rule
def can_pair(state: State, i: int) -> bool:
    """Return whether a fish is grown, in the tank, without a mate, and of a kind that spawns."""
    f = state.fish[i]
    return (
        f.presence == IN_TANK
        and f.brood < 0
        and f.length >= f.ripe_length
        and state.kinds[f.species].spawns == 1
    )


@rule
def has_nest(state: State, floor: Floor, i: int) -> bool:
    """Return whether the tank has a site of the kind that a fish's species spawns in."""
    wanted = nest_kind(state, i)
    for s in range(len(floor.site_kind)):
        kind = floor.site_kind[s]
        if floor.site_compartment[s] != state.fish[i].compartment:
            continue
        if kind == CAVE and state.fits[i, floor.room_door[floor.site_room[s], 0]] == 0:
            continue
        if kind == wanted or (wanted == FLAT and kind == EDGE):
            return True
    return False


@rule
def liking(state: State, floor: Floor, f: int, m: int) -> float:
    """Return how much female `f` likes male `m`, without the draw."""
    p = state.par[0]
    link = state.pair[f, m]
    ratio = math.log(state.fish[m].length / state.fish[f].length)
    value = 1.0 - abs(ratio - p.mate_size) / 0.3 + 0.5 * link.familiar - 2.0 * link.avoid
    if state.fish[m].site >= 0:
        value += 1.0
    if not has_nest(state, floor, f):
        value -= p.no_site_cost
    return value


@rule
def choose(state: State, floor: Floor, f: int) -> int:
    """Return the male that a female takes, or -1."""
    p = state.par[0]
    key = chain(chain(state.fish[f].key, PAIRING), state.fish[f].choices)
    best = p.choosy
    choice = -1
    for m in range(len(state.fish)):
        if state.fish[m].sex != MALE or state.fish[m].species != state.fish[f].species:
            continue
        if not can_pair(state, m) or state.fish[m].compartment != state.fish[f].compartment:
            continue
        value = liking(state, floor, f, m) + 0.5 * normal(key ^ state.fish[m].key)
        if value > best:
            best = value
            choice = m
    return choice


@rule
def bond(state: State, f: int, m: int) -> int:
    """Make two fish a pair; return its row of the broods, or -1 where all are taken."""
    t = state.tank[0]
    k = -1
    for free in range(len(state.broods)):
        if state.broods[free].there == 0:
            k = free
            break
    if k < 0:
        return -1
    row = state.broods[k]
    kind = state.kinds[state.fish[f].species]
    row.there = 1
    row.mother = f
    row.father = m
    row.stage = RESTING
    row.stage_since = t.clock
    row.stage_until = t.clock
    row.eggs_s = kind.eggs_s
    row.wrigglers_s = kind.wrigglers_s
    row.fry_s = kind.fry_s
    row.place = state.fish[m].site
    row.nest = row.place
    row.asked = t.asked_site
    row.young = 0.0
    row.visit_pool = 0.0
    row.bond_left = exponential(chain(chain(state.fish[f].key, PAIRING), 10000 + t.pairs_formed))
    state.fish[f].brood = k
    state.fish[m].brood = k
    state.fish[f].mate = m
    state.fish[m].mate = f
    if state.fish[f].ripe < 1.0:
        state.fish[f].site = -1
    for i in (f, m):
        state.fish[i].lured = -1
        keep_calm_reach(state, i)
        state.tally[i].paired_day = min(state.tally[i].paired_day, t.clock / DAY)
    t.pairs_formed += 1
    t.first_pair_day = min(t.first_pair_day, t.clock / DAY)
    t.changed = 1
    return k


@rule
def choosing_rate(state: State, f: int) -> float:
    """Return the rate (1/s) at which a female's clock of choosing runs."""
    ripe = min(state.fish[f].ripe, 1.0)
    return (FAR_FROM_READY + (1.0 - FAR_FROM_READY) * ripe) / (DAY * state.par[0].pair_time)


@rule
def breaking_rate(state: State, k: int) -> float:
    """Return the hazard (1/s) with which a bond breaks now."""
    row = state.broods[k]
    if row.stage != RESTING and row.stage != COURTING:
        return 0.0
    return state.pair[row.mother, row.father].avoid / (DAY * state.par[0].bond_time)


@rule
def pair_clocks(state: State, floor: Floor, dt: float) -> None:
    """Let bonds form and break that fall due.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    dt
        Waking time that has passed, s.
    """
    t = state.tank[0]
    if t.breeding != SPONTANEOUS or t.no_brood == 1:
        return
    for k in range(len(state.broods)):
        row = state.broods[k]
        if row.there == 1 and row.stage != NO_BROOD:
            row.bond_left -= dt * breaking_rate(state, k)
            if row.bond_left <= 0.0:
                part(state, k)
                t.pairs_broken += 1
    for f in range(len(state.fish)):
        g = state.fish[f]
        if g.sex != FEMALE or not can_pair(state, f):
            continue
        g.pair_left -= dt * choosing_rate(state, f)
        if g.pair_left > 0.0:
            continue
        m = choose(state, floor, f)
        g.choices += 1
        g.pair_left = exponential(chain(chain(g.key, PAIRING), 20000 + g.choices))
        if m >= 0:
            bond(state, f, m)


@rule
def time_to_pairing(state: State) -> float:
    """Return the waking time (s) until a bond may form or break, or a very long one."""
    t = state.tank[0]
    soonest = 1e12
    if t.breeding != SPONTANEOUS or t.no_brood == 1:
        return soonest
    for k in range(len(state.broods)):
        if state.broods[k].there == 1:
            rate = breaking_rate(state, k)
            if rate > 0.0:
                soonest = min(soonest, state.broods[k].bond_left / rate + 0.5)
    for f in range(len(state.fish)):
        if state.fish[f].sex == FEMALE and can_pair(state, f):
            soonest = min(soonest, state.fish[f].pair_left / choosing_rate(state, f) + 0.5)
    return max(soonest, 1.0)
