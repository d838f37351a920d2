r"""Breed: the stages of a brood, and how one follows another.

Courting, digging, eggs, wrigglers, fry, rest, and again, each with its length. Where a pair spawns
is in `nest`, what the parents do for their young in `parent`. Fry are a cloud that wanders from
site to site, and the claim of the parents with it.

Breeding is *on* from a day, when the stages of one pair pass whatever comes, or *spontaneous*,
when pairs form of themselves (see `pair`), the young are counted (see `young`) and a brood is
raised, eaten, lost or taken by the keeper. A spontaneous pair courts when the female is ready,

.. math:: \dot r = g / \tau, \qquad \tau = s\, I\, e^{0.2 z} / d(T)

with :math:`r` set to 0 at a spawning, :math:`I` the usual interval of the species, :math:`s`
`ripening_share`, :math:`d` the rate of development at the temperature, and :math:`g` 1, or
`guard_ripening` while she has young. Young that have swum for `fry_least_days` are sent off when
she is ready again.

References
----------
None found for the interval: it is from memory, its spread assumed. The lengths of stages are those
of the species.
"""

from __future__ import annotations

import math

from sim.compiler import rule
from sim.draws import BROOD, chain, exponential, normal, uniform
from sim.rules.codes import (
    COURTING,
    DIGGING,
    EGGS,
    FRY,
    IN_TANK,
    MALE,
    NO_BROOD,
    ON,
    RESTING,
    SPONTANEOUS,
    WATCHED,
    WRIGGLERS,
)
from sim.rules.dig import digging_time, uproot
from sim.rules.hours import DAY
from sim.rules.mate import has_young
from sim.rules.nest import nest_for
from sim.rules.parent import apply_stage, parents_left
from sim.rules.young import lay, live_and_die, lure
from sim.state import State
from sim.tables import Floor

RETRY = 3.0 * DAY  # s, assumed: a pair without a nest looks again
RIPE_SPREAD = 0.2  # sd of ln ripening time, assumed


@rule
def set_tank_stage(state: State) -> None:
    """Set the stage of the tank: that of the pair that is farthest on, rest counting least."""
    t = state.tank[0]
    t.stage = NO_BROOD
    for k in range(len(state.broods)):
        row = state.broods[k]
        if row.there == 1 and (t.stage in (NO_BROOD, RESTING) or t.stage < row.stage < RESTING):
            t.stage = row.stage if row.stage != NO_BROOD or t.stage == NO_BROOD else t.stage


@rule
def part(state: State, k: int) -> None:
    """Free the row of a pair; what they hold stays with whom it belongs to."""
    t = state.tank[0]
    row = state.broods[k]
    row.stage = NO_BROOD
    apply_stage(state, k)
    for side in range(2):
        i = row.mother if side == 0 else row.father
        if i >= 0:
            state.fish[i].brood = -1
            if t.breeding == SPONTANEOUS:
                state.fish[i].mate = -1
    row.there = 0
    t.changed = 1


@rule
def end_brood(state: State, k: int) -> None:
    """End a brood of whatever fate: its parents rest, at the nest."""
    t = state.tank[0]
    row = state.broods[k]
    row.stage = RESTING
    row.stage_since = t.clock
    row.place = row.nest
    row.young = 0.0
    if t.breeding == SPONTANEOUS:
        row.stage_until = t.clock
    else:
        row.stage_until += state.par[0].brood_rest_days * DAY
    apply_stage(state, k)
    t.changed = 1
    t.next_area = t.awake


@rule
def count_spawning(state: State, k: int) -> None:
    """Count a spawning and set the clock of the mother back."""
    t = state.tank[0]
    p = state.par[0]
    row = state.broods[k]
    row.spawnings += 1
    t.spawnings += 1
    t.first_spawn_day = min(t.first_spawn_day, t.clock / DAY)
    state.tally[row.mother].spawnings += 1
    state.tally[row.father].spawnings += 1
    lay(state, k)
    kind = state.kinds[state.fish[row.mother].species]
    mother = state.fish[row.mother]
    key = chain(chain(mother.key, BROOD), 500 + state.tally[row.mother].spawnings)
    mother.ripe = 0.0
    mother.ripening = p.ripening_share * kind.interval_s * math.exp(RIPE_SPREAD * normal(key))


@rule
def count_raised(state: State, k: int) -> None:
    """Count a brood as raised, where young are counted."""
    t = state.tank[0]
    if t.breeding == SPONTANEOUS:
        t.raised += 1
        t.fry_raised += state.broods[k].young


@rule
def next_stage(state: State, floor: Floor, k: int) -> None:
    """Pass to the next stage of a brood."""
    t = state.tank[0]
    p = state.par[0]
    row = state.broods[k]
    due = row.stage_until if t.breeding == ON else t.clock
    row.stage_since = row.stage_until if t.breeding == ON else t.clock
    if row.stage == NO_BROOD or row.stage == RESTING:
        row.stage = COURTING
        row.nest = nest_for(state, floor, k)
        row.place = row.nest
        if row.place < 0:
            if t.breeding == SPONTANEOUS:
                row.stage = RESTING
                row.stage_until = t.clock + RETRY
                return
            row.stage = NO_BROOD
            row.there = 0
            state.fish[row.mother].brood = -1
            state.fish[row.father].brood = -1
            t.breeding = 0
            return
        state.fish[row.mother].mate = row.father
        state.fish[row.father].mate = row.mother
        row.stage_until = due + max(p.courting_days - p.digging_days, 0.1) * DAY
    elif row.stage == COURTING:
        row.stage = DIGGING
        work = p.digging_days * DAY if t.breeding == ON else digging_time(state, k)
        row.stage_until = due + work
    elif row.stage == DIGGING:
        row.stage = EGGS
        count_spawning(state, k)
        row.stage_until = due + row.eggs_s
    elif row.stage == EGGS:
        row.stage = WRIGGLERS
        row.stage_until = due + row.wrigglers_s
    elif row.stage == WRIGGLERS:
        row.stage = FRY
        row.stage_until = due + row.fry_s
        key = chain(chain(state.fish[row.mother].key, BROOD), 7919 + row.fry_moves)
        row.fry_left = exponential(key)
    else:
        count_raised(state, k)
        end_brood(state, k)
        return
    apply_stage(state, k)
    t.changed = 1
    t.next_area = t.awake


@rule
def move_fry(state: State, floor: Floor, k: int) -> None:
    """Let the cloud of fry wander to a neighbouring place within its roam of the nest."""
    p = state.par[0]
    row = state.broods[k]
    key = chain(chain(state.fish[row.mother].key, BROOD), 7919 + row.fry_moves)
    row.fry_moves += 1
    best = -1.0
    choice = row.place
    for s in range(len(floor.site_kind)):
        cell = floor.site_cell[s]
        step = floor.site_dist[row.place, cell]
        if step < 0.25 and floor.site_dist[row.nest, cell] < p.fry_roam:
            wish = uniform(chain(key, 10 + s))
            if wish > best:
                best = wish
                choice = s
    row.place = choice
    row.fry_left = exponential(chain(key, 1))
    for side in range(2):
        i = row.mother if side == 0 else row.father
        if state.fish[i].presence == IN_TANK:
            state.fish[i].site = choice


@rule
def take_fry(state: State) -> float:
    """Let the keeper take all free-swimming fry out of the tank: their parents rest.

    Parameters
    ----------
    state
        State of the run.

    Returns
    -------
    float
        How many young were taken; where breeding is on from a day they are not counted, and 0.
    """
    t = state.tank[0]
    taken = 0.0
    for k in range(len(state.broods)):
        row = state.broods[k]
        if row.there == 1 and row.stage == FRY:
            if t.breeding == SPONTANEOUS:
                taken += row.young
            else:
                row.stage_until = t.clock
            t.taken += 1
            end_brood(state, k)
    t.fry_taken += taken
    set_tank_stage(state)
    return taken


@rule
def lose_nest(state: State, k: int) -> None:
    """End a brood whose nest has been taken away under it: the pair rests and begins again."""
    t = state.tank[0]
    row = state.broods[k]
    if row.there == 0 or not COURTING <= row.stage <= FRY:
        return
    if t.breeding == SPONTANEOUS:
        t.lost += int(has_young(state, k))
    else:
        row.stage_until = t.clock
    end_brood(state, k)
    set_tank_stage(state)


@rule
def ripen(state: State, passed: float) -> None:
    """Let every grown female come nearer to being ready, by `passed` seconds of clock time."""
    p = state.par[0]
    for i in range(len(state.fish)):
        f = state.fish[i]
        if f.sex == MALE or f.presence != IN_TANK or f.length < f.ripe_length or f.ripening <= 0.0:
            continue
        pace = p.guard_ripening if f.brood >= 0 and has_young(state, f.brood) else 1.0
        f.ripe += pace * passed / f.ripening


@rule
def gone(state: State, floor: Floor, k: int, dt: float, passed: float) -> bool:
    """Let young of a spontaneous pair live and die; return whether none is left."""
    t = state.tank[0]
    row = state.broods[k]
    live_and_die(state, floor, k, dt, passed)
    if row.young >= 1.0:
        return False
    if row.eaten > 0.5 * row.laid:
        t.eaten += 1
    else:
        t.lost += 1
    end_brood(state, k)
    return True


@rule
def pass_stages(state: State, floor: Floor, k: int, left: int) -> None:
    """Pass the stages of a pair that fall due."""
    t = state.tank[0]
    p = state.par[0]
    row = state.broods[k]
    while row.there == 1 and t.clock >= row.stage_until:
        if left < 2 and row.stage == FRY:
            count_raised(state, k)
            part(state, k)
            return
        mother = state.fish[row.mother]
        parted = mother.compartment != state.fish[row.father].compartment
        waits = t.breeding == SPONTANEOUS and row.stage == RESTING
        if waits and (parted or mother.ripe < 1.0):
            return
        next_stage(state, floor, k)
    ready = t.breeding == SPONTANEOUS and left == 2 and state.fish[row.mother].ripe >= 1.0
    if ready and row.stage == FRY and t.clock >= row.stage_since + p.fry_least_days * DAY:
        next_stage(state, floor, k)


@rule
def brood_clock(state: State, floor: Floor, dt: float) -> None:
    """Pass stages that fall due, and let fry wander.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    dt
        Waking time that has passed, s.
    """
    t = state.tank[0]
    if t.breeding == 0 or t.no_brood == 1:
        return
    t.beats += 1
    passed = t.clock - t.ripened_at
    t.ripened_at = t.clock
    if t.breeding == SPONTANEOUS:
        ripen(state, passed)
        for j in range(len(state.fish)):
            if t.phase == WATCHED and state.fish[j].presence == IN_TANK:
                lure(state, floor, j, dt)
    for k in range(len(state.broods)):
        row = state.broods[k]
        if row.there == 0:
            continue
        if row.place < 0 and NO_BROOD < row.stage < RESTING:
            row.nest = nest_for(state, floor, k)  # a brood that was there at the start
            row.place = row.nest
            if row.place < 0:
                end_brood(state, k)
            apply_stage(state, k)
        left = parents_left(state, k)
        state.stage_time[row.stage] += dt
        if left < 2:
            before = row.stage == NO_BROOD and t.clock < row.stage_until
            if row.stage < EGGS or row.stage == RESTING or left == 0:
                if not before:
                    part(state, k)
                continue
        if t.breeding == SPONTANEOUS and has_young(state, k):
            t.guarded_s += dt
            area = 0.0
            for side in range(2):
                i = row.mother if side == 0 else row.father
                if state.fish[i].presence == IN_TANK:
                    area = max(area, state.fish[i].area)
            t.guarded_area += dt * area
            if gone(state, floor, k, dt, passed):
                continue
        if row.stage == DIGGING:
            uproot(state, floor, k, dt)
        pass_stages(state, floor, k, left)
        if has_young(state, k):
            apply_stage(state, k)  # their worth has risen
        if row.there == 1 and row.stage == FRY:
            row.fry_left -= dt / (60.0 * state.par[0].fry_step_time)
            if row.fry_left <= 0.0:
                move_fry(state, floor, k)
    set_tank_stage(state)


@rule
def time_to_brood_event(state: State) -> float:
    """Return the waking time (s) until a stage falls due or fry move, or a very long one."""
    t = state.tank[0]
    p = state.par[0]
    soonest = 1e12
    if t.breeding == 0 or t.no_brood == 1:
        return soonest
    for k in range(len(state.broods)):
        row = state.broods[k]
        if row.there == 0:
            continue
        due = row.stage_until
        if t.breeding == SPONTANEOUS:
            mother = state.fish[row.mother]
            ripe = t.clock + max(1.0 - mother.ripe, 0.0) * mother.ripening
            if row.stage == RESTING:
                due = max(due, ripe)
            elif row.stage == FRY:
                slow = t.clock + (ripe - t.clock) / p.guard_ripening
                due = min(due, max(slow, row.stage_since + p.fry_least_days * DAY))
            if has_young(state, k):
                due = min(due, row.fails_at)
        if due > t.clock:
            soonest = min(soonest, due - t.clock + 0.5)
        if row.stage == FRY:
            soonest = min(soonest, max(60.0, row.fry_left * 60.0 * p.fry_step_time + 0.5))
    return soonest
