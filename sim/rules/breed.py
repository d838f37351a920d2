r"""Breed: the stages of a brood, and what each does to its parents.

Courting, digging, eggs, wrigglers, fry, rest, and again; each with its length, reach, heat and
division of labour. The claim of the parents hangs on the brood: on the nest until the young
swim, then on the cloud of fry, which wanders from site to site. Reach changes what is defended,
heat how readily: the claim itself never exceeds 1. That two parents do not both chase the same
intruder comes from attention (one pursuer for each victim), not from a number.

References
----------
Lavery1991 (effort rises with the age of the brood); Teresa2011 (who does what); Sturmbauer2008
(ground of a pair). Orders are published, the multipliers are assumed.
"""

from __future__ import annotations

from sim.compiler import rule
from sim.draws import BROOD, chain, exponential, uniform
from sim.rules.claim import body_reach, keep_calm_reach
from sim.rules.codes import (
    CAVE,
    COURTING,
    DIGGING,
    EDGE,
    EGGS,
    FLAT,
    FRY,
    IN_TANK,
    NO_BROOD,
    OPEN_FLOOR,
    RESTING,
    WRIGGLERS,
)
from sim.rules.hours import DAY
from sim.state import State
from sim.tables import Floor


@rule
def nest_for(state: State, floor: Floor, mother: int, father: int) -> int:
    """Return the site a pair spawns at: of the kind of its species, near what it holds already.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    mother, father
        The pair.

    Returns
    -------
    int
        A row of the sites, or -1 where the layout has none.
    """
    t = state.tank[0]
    if t.asked_site >= 0:
        return t.asked_site
    wanted = state.fish[mother].spawns_in
    key = chain(chain(state.fish[mother].key, BROOD), t.broods)
    held = state.fish[father].site
    if held < 0:
        held = state.fish[mother].site
    best = -100.0
    choice = -1
    for s in range(len(floor.site_kind)):
        kind = floor.site_kind[s]
        if floor.site_compartment[s] != state.fish[mother].compartment:
            continue
        if kind == CAVE and state.fits[mother, floor.room_door[floor.site_room[s], 0]] == 0:
            continue
        liking = uniform(chain(key, s))
        if kind == wanted or (wanted == FLAT and kind == EDGE):
            liking += 2.0
        elif kind != OPEN_FLOOR:
            liking += 0.5
        if held >= 0:
            liking -= min(float(floor.site_dist[held, floor.site_cell[s]]), 2.0)
        if liking > best:
            best = liking
            choice = s
    return choice


@rule
def set_parent(state: State, i: int, reach: float, heat: float, tether: float) -> None:
    """Give a parent its reach (lengths, x stage), heat and tether (x reach) at the brood."""
    f = state.fish[i]
    t = state.tank[0]
    f.reach = reach * body_reach(state, f.length, state.par[0].reach_breeding)
    f.heat = heat
    f.tether = tether * f.reach
    if f.site != t.brood_site:
        f.site = t.brood_site
        f.site_since = min(f.site_since, t.clock) if f.site_since > 0.0 else t.clock


@rule
def apply_stage(state: State) -> None:
    """Set the reach, heat and tether of both parents for the stage of their brood."""
    t = state.tank[0]
    p = state.par[0]
    reach = 1.0
    female = 1.0
    male = 1.0
    near = p.mother_tether
    far = p.father_tether
    heat = p.heat_courting
    if t.stage == COURTING or t.stage == DIGGING:
        reach = p.stage_reach_courting
        female = p.female_share_before
    elif t.stage == EGGS:
        reach = p.stage_reach_eggs
        female = p.female_share_eggs
        heat = p.heat_eggs
    elif t.stage == WRIGGLERS:
        reach = p.stage_reach_wrigglers
        female = p.female_share_eggs
        heat = p.heat_wrigglers
    elif t.stage == FRY:
        male = p.male_share_fry
        heat = p.heat_fry
        near = 0.5 * (near + far)
        far = near
    for k in range(2):
        i = t.mother if k == 0 else t.father
        if i < 0 or state.fish[i].presence != IN_TANK:
            continue
        if t.stage == NO_BROOD or t.stage == RESTING:
            state.fish[i].heat = 1.0
            keep_calm_reach(state, i)
        elif k == 0:
            set_parent(state, i, reach, heat * female, near)
        else:
            set_parent(state, i, reach, heat * male, far)


@rule
def next_stage(state: State, floor: Floor) -> None:
    """Pass to the next stage of the brood."""
    t = state.tank[0]
    p = state.par[0]
    if t.stage == NO_BROOD or t.stage == RESTING:
        t.stage = COURTING
        t.nest_site = nest_for(state, floor, t.mother, t.father)
        t.brood_site = t.nest_site
        if t.brood_site < 0:
            t.breeding = 0
            t.stage = NO_BROOD
            return
        state.fish[t.mother].mate = t.father
        state.fish[t.father].mate = t.mother
        t.stage_until += max(p.courting_days - p.digging_days, 0.1) * DAY
    elif t.stage == COURTING:
        t.stage = DIGGING
        t.stage_until += p.digging_days * DAY
    elif t.stage == DIGGING:
        t.stage = EGGS
        t.broods += 1
        t.stage_until += t.eggs_s
    elif t.stage == EGGS:
        t.stage = WRIGGLERS
        t.stage_until += t.wrigglers_s
    elif t.stage == WRIGGLERS:
        t.stage = FRY
        t.stage_until += t.fry_s
        key = chain(chain(state.fish[t.mother].key, BROOD), 7919 + t.fry_moves)
        t.fry_left = exponential(key)
    else:
        t.stage = RESTING
        t.brood_site = t.nest_site
        t.stage_until += p.brood_rest_days * DAY
    apply_stage(state)
    t.changed = 1
    t.next_area = t.awake


@rule
def take_fry(state: State, floor: Floor) -> None:
    """Let the keeper take the free-swimming fry: the pair rests and begins again."""
    t = state.tank[0]
    if t.breeding == 1 and t.no_brood == 0 and t.stage == FRY:
        t.stage_until = t.clock
        next_stage(state, floor)


@rule
def lose_nest(state: State, floor: Floor) -> None:
    """End a brood whose nest has been taken away under it: the pair rests and begins again."""
    t = state.tank[0]
    if t.breeding == 1 and t.no_brood == 0 and COURTING <= t.stage <= FRY:
        t.stage = FRY
        t.stage_until = t.clock
        next_stage(state, floor)


@rule
def parents_left(state: State) -> int:
    """Return how many of the pair are alive and in the tank."""
    t = state.tank[0]
    count = 0
    for k in range(2):
        i = t.mother if k == 0 else t.father
        if i >= 0 and state.fish[i].presence == IN_TANK:
            count += 1
    return count


@rule
def move_fry(state: State, floor: Floor) -> None:
    """Let the cloud of fry wander to a neighbouring place within its roam of the nest."""
    t = state.tank[0]
    p = state.par[0]
    key = chain(chain(state.fish[t.mother].key, BROOD), 7919 + t.fry_moves)
    t.fry_moves += 1
    best = -1.0
    choice = t.brood_site
    for s in range(len(floor.site_kind)):
        cell = floor.site_cell[s]
        step = floor.site_dist[t.brood_site, cell]
        if step < 0.25 and floor.site_dist[t.nest_site, cell] < p.fry_roam:
            wish = uniform(chain(key, 10 + s))
            if wish > best:
                best = wish
                choice = s
    t.brood_site = choice
    t.fry_left = exponential(chain(key, 1))
    for k in range(2):
        i = t.mother if k == 0 else t.father
        if state.fish[i].presence == IN_TANK:
            state.fish[i].site = choice


@rule
def brood_clock(state: State, floor: Floor, dt: float) -> None:
    """Pass stages that fall due, and let fry wander.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    dt
        Time that has passed, s.
    """
    t = state.tank[0]
    if t.breeding == 0 or t.no_brood == 1:
        return
    left = parents_left(state)
    if left < 2:
        before = t.stage == NO_BROOD and t.clock < t.stage_until
        if t.stage < EGGS or t.stage == RESTING or left == 0:
            if not before:
                if t.stage != NO_BROOD:
                    t.stage = NO_BROOD
                    apply_stage(state)
                t.breeding = 0
            return
    while t.clock >= t.stage_until and t.breeding == 1:
        if left < 2 and t.stage == FRY:
            t.stage = NO_BROOD
            apply_stage(state)
            t.breeding = 0
            return
        next_stage(state, floor)
    if t.stage == FRY:
        t.fry_left -= dt / (60.0 * state.par[0].fry_step_time)
        if t.fry_left <= 0.0:
            move_fry(state, floor)
