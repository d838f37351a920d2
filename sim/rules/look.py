"""Look: one pass over all pairs, in which fish see, claim, fear, school and attack.

Attack hazards of the moment are summed for each fish and one draw decides, so that the order of
the pairs does not matter. The exposure of each ordered pair, with the slow factors left out, is
added up for the leaps.
"""

from __future__ import annotations

import math

from sim.compiler import rule, small_rule
from sim.draws import ATTACK, chain, uniform
from sim.rules.attack import available, free_to_attack, pick_victim
from sim.rules.claim import exposure
from sim.rules.codes import IN_TANK, PURSUE, SPONTANEOUS
from sim.rules.encounter import attack
from sim.rules.fear import COVER_BEAT, in_top_corner, seek_cover
from sim.rules.feed import meal_exposure, meal_look
from sim.rules.hours import day_row, lights_off
from sim.rules.hunt import hunting_range
from sim.rules.see import see_each_other
from sim.state import State
from sim.tables import Floor


@small_rule
def push_away(state: State, i: int, j: int, dx: float, dy: float, d: float) -> None:
    """Lean fish `i` away from fish `j` that it has learned to avoid, the nearer the more."""
    strength = state.pair[i, j].avoid
    if strength < 0.02:
        return
    f = state.fish[i]
    far = state.par[0].avoid_distance * state.fish[j].length
    if d < far:
        push = strength * (1.0 - d / far) / (d + 1e-6)
        f.push_x += push * dx
        f.push_y += push * dy


@small_rule
def school_with(state: State, i: int, j: int) -> None:
    """Count fish `j` as one of `i`'s school, and as a calm fish in view."""
    f = state.fish[i]
    g = state.fish[j]
    if g.shoaling > 0.3 and g.fear < 0.3 and g.act != PURSUE and g.hiding == 0:
        f.calm += 1.0
    if f.species == g.species and f.shoaling > 0.0:
        f.school_x += g.x
        f.school_y += g.y
        f.school_n += 1.0


@small_rule
def weigh_attack(
    state: State, floor: Floor, i: int, j: int, d2: float, dt: float, counted: bool
) -> None:
    """Add the hazard and the exposure of `j` to the attack of `i`, if both are free for it."""
    link = state.pair[i, j]
    if (
        link.slow <= 0.0
        or state.fish[i].mate == j
        or not free_to_attack(state, i)
        or not available(state, floor, i, j)
    ):
        return
    if link.prey == 1:
        e = hunting_range(state, i, j, d2)
    elif state.tank[0].meal == 1:
        e = meal_exposure(state, floor, i, j, d2)
    else:
        e = exposure(state, floor, i, j, d2)
    if e <= 0.0 or state.fish[i].compartment != state.fish[j].compartment:
        return  # seen through a clear divider it is out of reach
    if counted:
        if state.fish[j].hiding == 1:
            link.window_exposure_covered += e * dt
        else:
            link.window_exposure += e * dt
    link.now = link.slow * e
    state.fish[i].hazard += link.now


@rule
def weigh_mate(state: State, floor: Floor, i: int, dt: float, counted: bool) -> None:
    """Add the hazard and the exposure of the mate: less while another fish in view draws it off."""
    j = state.fish[i].mate
    link = state.pair[i, j]
    g = state.fish[j]
    link.now = 0.0
    if link.slow <= 0.0 or g.presence != IN_TANK or link.seen == 0:
        return
    if g.compartment != state.fish[i].compartment:
        return
    if not free_to_attack(state, i) or not available(state, floor, i, j):
        return
    dx = state.fish[i].x - g.x
    dy = state.fish[i].y - g.y
    e = exposure(state, floor, i, j, dx * dx + dy * dy)
    for k in range(len(state.fish)):
        if k != i and k != j and state.fish[k].presence == IN_TANK and state.pair[i, k].seen == 1:
            e *= state.par[0].mate_company
            break
    if e <= 0.0:
        return
    if counted:
        if g.hiding == 1:
            link.window_exposure_covered += e * dt
        else:
            link.window_exposure += e * dt
    link.now = link.slow * e
    state.fish[i].hazard += link.now


@small_rule
def count_free(state: State, i: int, j: int, dt: float) -> None:
    """Count time in which fish `i` is in the open, by whether `j` is."""
    if state.fish[i].hiding == 0:
        if state.fish[j].hiding == 0:
            state.pair[i, j].window_free += dt
        else:
            state.pair[i, j].window_free_covered += dt


@rule
def look(state: State, floor: Floor) -> None:
    """Let every fish look round once, and attack if it comes to that.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    """
    t = state.tank[0]
    s = state.settings[0]
    fish = state.fish
    n = len(fish)
    dt = s.tick * s.look_every
    # A window that waits for a contest to end is not counted while it waits: it would stop
    # only at moments that are free of them.
    counted = t.burn_until <= t.clock < t.until
    if counted:
        t.window_time += dt
    for i in range(n):
        f = fish[i]
        f.push_x = 0.0
        f.push_y = 0.0
        f.school_x = 0.0
        f.school_y = 0.0
        f.school_n = 0.0
        f.calm = 0.0
        f.hazard = 0.0
    if t.meal == 1:
        meal_look(state, floor, dt)
    for i in range(n):
        if fish[i].presence != IN_TANK:
            continue
        for j in range(i + 1, n):
            if fish[j].presence != IN_TANK:
                continue
            there = state.pair[i, j]
            back = state.pair[j, i]
            there.now = 0.0
            back.now = 0.0
            if counted and t.clock >= max(fish[i].act_until, fish[j].act_until):
                count_free(state, i, j, dt)
                count_free(state, j, i, dt)
            if not see_each_other(state, floor, i, j):
                there.seen = 0
                back.seen = 0
                continue
            there.seen = 1
            back.seen = 1
            dx = fish[i].x - fish[j].x
            dy = fish[i].y - fish[j].y
            d2 = dx * dx + dy * dy
            d = math.sqrt(d2)
            school_with(state, i, j)
            school_with(state, j, i)
            push_away(state, i, j, dx, dy, d)
            push_away(state, j, i, -dx, -dy, d)
            weigh_attack(state, floor, i, j, d2, dt, counted)
            weigh_attack(state, floor, j, i, d2, dt, counted)
    if t.breeding == SPONTANEOUS:
        for i in range(n):
            if fish[i].presence == IN_TANK and fish[i].mate >= 0:
                weigh_mate(state, floor, i, dt, counted)
    if t.clock < lights_off(state):
        for i in range(n):
            if fish[i].presence == IN_TANK and fish[i].hazard > 0.0:
                strike(state, floor, i, dt)
    if (t.tick // s.look_every) % COVER_BEAT == 0:
        for i in range(n):
            if fish[i].presence == IN_TANK:
                take_cover(state, floor, i, dt * COVER_BEAT, counted)


@rule
def strike(state: State, floor: Floor, i: int, dt: float) -> None:
    """Let a fish attack with the chance 1 - exp(-hazard dt), if its victim is still free."""
    f = state.fish[i]
    key = chain(chain(f.key, ATTACK), state.tank[0].tick)
    if uniform(key) >= 1.0 - math.exp(-f.hazard * dt):
        return
    j = pick_victim(state, i, chain(key, 1))
    if j < 0 or not free_to_attack(state, i) or not available(state, floor, i, j):
        return
    attack(state, floor, i, j, state.pair[i, j].now / state.pair[i, j].slow)


@rule
def take_cover(state: State, floor: Floor, i: int, dt: float, counted: bool) -> None:
    """Let a fish decide about cover, and count how long it has been hiding."""
    f = state.fish[i]
    seek_cover(state, floor, i, dt)
    hidden = dt if f.room >= 0 and f.hiding == 1 else 0.0
    corner = dt if f.room < 0 and f.hiding == 1 and in_top_corner(floor, f.x, f.y, f.layer) else 0.0
    tally = state.tally[i]
    tally.hidden_s += hidden
    state.days[day_row(state)].hidden_s += hidden
    tally.corner_s += corner
    if counted:
        f.covered_window += dt * f.hiding
        f.hidden_window += hidden
        f.corner_window += corner
