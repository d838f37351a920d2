r"""Settle: taking a site, challenging for one, giving one up; each on its own clock.

These events change the tank, so they are never extrapolated: each fish carries a unit exponential
waiting time for each, used up by waking time over `settle_time`, `challenge_time` (divided by its
aggression) and `give_up_time`. A fish settles only where nobody else's claim reaches. An owner
whose territory the neighbours have squeezed under half of its free size gives up in time.

References
----------
Wood2012 (territories shrink with density to a floor of size). Times assumed.
"""

from __future__ import annotations

from sim.compiler import rule
from sim.draws import SETTLE, chain, exponential, uniform
from sim.rules.attack import decide
from sim.rules.chase import learn_from_chase
from sim.rules.claim import keep_calm_reach, site_claim
from sim.rules.codes import (
    CAVE,
    CHASED,
    EDGE,
    FOUGHT,
    IN_TANK,
    MALE,
    NO_BROOD,
    OPEN_FLOOR,
    RESTING,
    SPONTANEOUS,
    SWIM,
)
from sim.rules.contest import fight
from sim.rules.encounter import conclude_at, next_contest
from sim.state import State
from sim.tables import Floor


@rule
def is_parent(state: State, i: int) -> bool:
    """Return whether a fish is one of a pair; a resting male is an owner like others."""
    k = state.fish[i].brood
    if k < 0 or state.broods[k].stage == NO_BROOD:
        return False
    rests = state.broods[k].stage == RESTING and state.fish[i].sex == MALE
    return not (rests and state.tank[0].breeding == SPONTANEOUS)


@rule
def too_young(state: State, i: int) -> bool:
    """Return whether a fish that grows has not yet the length at which it takes ground."""
    f = state.fish[i]
    return state.tank[0].growing == 1 and f.length < f.ripe_length


@rule
def hold(state: State, i: int, site: int) -> None:
    """Let a fish hold a site from now on."""
    f = state.fish[i]
    f.site = site
    f.site_since = state.tank[0].clock
    keep_calm_reach(state, i)


@rule
def redraw(state: State, i: int) -> None:
    """Draw a fish's waiting times anew after one of its own events."""
    f = state.fish[i]
    key = chain(chain(f.key, SETTLE), f.events)
    f.events += 1
    f.settle_left = exponential(chain(key, 1))
    f.challenge_left = exponential(chain(key, 2))
    f.give_up_left = exponential(chain(key, 3))


@rule
def free_site(state: State, floor: Floor, i: int) -> int:
    """Return the site a fish likes best where nobody's claim reaches, or -1.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i
        A fish without a site.

    Returns
    -------
    int
        A row of the sites; liking is a draw in 0-1 plus the charm of a cave or an edge.
    """
    f = state.fish[i]
    edge = state.par[0].claim_edge
    key = chain(chain(f.key, SETTLE), f.events)
    best = -1.0
    choice = -1
    for s in range(len(floor.site_kind)):
        kind = floor.site_kind[s]
        if floor.site_compartment[s] != f.compartment:
            continue
        if kind == CAVE:
            door = floor.room_door[floor.site_room[s], 0]
            if state.fits[i, door] == 0:
                continue
        taken = False
        for j in range(len(state.fish)):
            if j != i and state.fish[j].site >= 0 and state.fish[j].presence == IN_TANK:
                claim = site_claim(state, floor, j, floor.site_cell[s], state.pair[j, i].kind_reach)
                taken = taken or claim > edge
        if taken:
            continue
        liking = uniform(chain(key, 100 + s))
        if kind == CAVE:
            liking += state.par[0].cave_charm
        elif kind == EDGE:
            liking += state.par[0].edge_charm
        elif kind != OPEN_FLOOR:
            liking += 0.5 * state.par[0].edge_charm
        if liking > best:
            best = liking
            choice = s
    return choice


@rule
def challenge(state: State, floor: Floor, i: int) -> None:
    """Let a fish without a site challenge an owner for its own."""
    f = state.fish[i]
    key = chain(chain(f.key, SETTLE), f.events)
    best = -1.0
    owner = -1
    for j in range(len(state.fish)):
        g = state.fish[j]
        if j == i or g.site < 0 or g.presence != IN_TANK or is_parent(state, j) or f.mate == j:
            continue
        if g.compartment != f.compartment:
            continue
        wish = uniform(chain(key, 50 + j)) * state.pair[i, j].likeness
        if wish > best:
            best = wish
            owner = j
    if owner < 0 or state.fish[owner].act != SWIM or f.act != SWIM:
        return
    outcome = decide(state, i, owner, state.fish[owner].room >= 0)
    beaten = outcome == CHASED
    if outcome == FOUGHT:
        number = next_contest(state, i, owner)
        won, seconds, contact, m_i, v_i, m_j, v_j = fight(state, i, owner, number)
        home = state.fish[owner].site
        x = floor.site_xy[home, 0]
        y = floor.site_xy[home, 1]
        at = (x, y, x, y)
        loser = conclude_at(state, floor, i, owner, at, won, seconds, contact, m_i, v_i, m_j, v_j)
        beaten = loser == owner
    elif beaten:
        learn_from_chase(state, i, owner)
    if beaten and f.presence == IN_TANK:
        site = state.fish[owner].site
        if state.fish[owner].presence == IN_TANK:
            state.fish[owner].site = -1
            redraw(state, owner)
        if site >= 0:
            hold(state, i, site)
        state.tank[0].changed = 1


@rule
def own_clocks(state: State, floor: Floor, dt: float) -> None:
    """Use up each fish's waiting times and let fall due what does.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    dt
        Waking time that has passed, s.
    """
    p = state.par[0]
    for i in range(len(state.fish)):
        f = state.fish[i]
        if f.presence != IN_TANK or f.territorial == 0 or is_parent(state, i):
            continue
        if too_young(state, i):
            continue
        if f.site < 0:
            f.settle_left -= dt / (3600.0 * p.settle_time)
            f.challenge_left -= dt / (3600.0 * p.challenge_time) * f.aggression
            if f.settle_left <= 0.0:
                site = free_site(state, floor, i)
                redraw(state, i)
                if site >= 0:
                    hold(state, i, site)
                    state.tank[0].changed = 1
            elif f.challenge_left <= 0.0:
                challenge(state, floor, i)
                redraw(state, i)
        elif f.area < p.give_up_share * f.free_area:
            f.give_up_left -= dt / (3600.0 * p.give_up_time)
            if f.give_up_left <= 0.0:
                f.site = -1
                redraw(state, i)
                state.tank[0].changed = 1


@rule
def time_to_own_event(state: State) -> float:
    """Return the waking time (s) until the first own clock falls due, or a very long one."""
    p = state.par[0]
    soonest = 1e12
    for i in range(len(state.fish)):
        f = state.fish[i]
        if f.presence != IN_TANK or f.territorial == 0 or is_parent(state, i):
            continue
        if too_young(state, i):
            continue
        if f.site < 0:
            soonest = min(soonest, f.settle_left * 3600.0 * p.settle_time)
            if f.aggression > 0.0:
                due = f.challenge_left * 3600.0 * p.challenge_time / f.aggression
                soonest = min(soonest, due)
        elif f.area < p.give_up_share * f.free_area:
            soonest = min(soonest, f.give_up_left * 3600.0 * p.give_up_time)
    return max(soonest, 1.0)
