"""Look: one pass over all pairs, in which fish see, claim, fear, school and attack.

Attack hazards of the moment are summed for each fish and one draw decides, so that the order of
the pairs does not matter. The exposure of each ordered pair, with the slow factors left out, is
added up for the leaps.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiler import only_rule, rule, small_rule
from sim.draws import ATTACK, chain, falls, uniform
from sim.rules.attack import available, free_to_attack, pick_victim
from sim.rules.claim import exposure
from sim.rules.codes import IN_TANK, PURSUE, SPONTANEOUS, SWIM, TO_FOOD
from sim.rules.encounter import attack
from sim.rules.fear import COVER_BEAT, in_top_corner, seek_cover
from sim.rules.feed import meal_exposure, meal_look
from sim.rules.hours import day_row, lights_off
from sim.rules.hunt import hunting_range
from sim.rules.see import in_sight, saw_each_other
from sim.state import State
from sim.tables import Floor

WIDER = 1.0 + 1e-9  # what rounding may add to a squared distance
ANYWHERE = 1e300  # m2


@small_rule
def push_away(state: State, i: int, j: int, dx: float, dy: float, d2: float) -> None:
    """Lean fish `i` away from fish `j` that it has learned to avoid, the nearer the more."""
    strength = state.pair[i, j].avoid
    f = state.fish[i]
    far = state.par[0].avoid_distance * state.fish[j].length
    d = math.sqrt(d2)
    if d < far:
        push = strength * (1.0 - d / far) / (d + 1e-6)
        f.push_x += push * dx
        f.push_y += push * dy


@small_rule
def weigh_attack(
    state: State, floor: Floor, i: int, j: int, d2: float, dt: float, counted: bool
) -> None:
    """Add the hazard and the exposure of `j` to the attack of `i`, if both are free for it."""
    link = state.pair[i, j]
    if link.slow <= 0.0 or state.fish[i].mate == j or not available(state, floor, i, j):
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
    hazard = link.slow * e
    state.hazards[i, j] = hazard
    state.fish[i].hazard += hazard


@rule
def weigh_mate(state: State, floor: Floor, i: int, dt: float, counted: bool) -> None:
    """Add the hazard and the exposure of the mate: less while another fish in view draws it off."""
    j = state.fish[i].mate
    link = state.pair[i, j]
    g = state.fish[j]
    state.hazards[i, j] = 0.0
    if link.slow <= 0.0 or g.presence != IN_TANK or not saw_each_other(state, floor, i, j):
        return
    if g.compartment != state.fish[i].compartment:
        return
    if not free_to_attack(state, i) or not available(state, floor, i, j):
        return
    dx = state.fish[i].x - g.x
    dy = state.fish[i].y - g.y
    e = exposure(state, floor, i, j, dx * dx + dy * dy)
    for k in range(len(state.fish)):
        if k in (i, j) or state.fish[k].presence != IN_TANK:
            continue
        if saw_each_other(state, floor, i, k):
            e *= state.par[0].mate_company
            break
    if e <= 0.0:
        return
    if counted:
        if g.hiding == 1:
            link.window_exposure_covered += e * dt
        else:
            link.window_exposure += e * dt
    hazard = link.slow * e
    state.hazards[i, j] = hazard
    state.fish[i].hazard += hazard


@small_rule
def glance_at(state: State, floor: Floor, i: int) -> None:
    """Gather into its row of `looks` what a look asks of fish `i` for each other fish."""
    f = state.fish[i]
    g = state.looks[i]
    p = state.par[0]
    g.x = f.x
    g.y = f.y
    g.cell = f.cell
    g.layer = f.layer
    g.species = f.species
    g.room = f.room
    g.free = 1 if f.act == SWIM and state.tank[0].clock >= f.act_until else 0
    g.schools = 1 if f.shoaling > 0.0 else 0
    if g.schools == 1:
        g.school_x = 0.0
        g.school_y = 0.0
        g.school_n = 0.0
        g.fellow = state.kinds[f.species].fellow
        state.kinds[f.species].fellow = i
    g.reach = 0.0
    g.site = -1
    claims = 0.0  # m2, from which on it claims nothing
    if free_to_attack(state, i):
        # A hunter's range is two radii; a claim from the site ends at one reach, and within the
        # widest for any kind; one on food ends elsewhere.
        near = 2.0 * p.own_space * f.length
        g.reach = ANYWHERE if f.goal == TO_FOOD else WIDER * near * near
        claims = g.reach
        if f.site >= 0:
            g.site = f.site
            widest = max(p.reach_own_kind, max(p.reach_similar, p.reach_other))
            g.claim_to = 1.01 * widest * f.reach
            dx = f.x - floor.site_xy[f.site, 0]
            dy = f.y - floor.site_xy[f.site, 1]
            # Who is farther from the fish is farther from its site than it claims.
            far = math.sqrt(dx * dx + dy * dy) + g.claim_to + floor.dims[9]
            claims = max(claims, WIDER * far * far)
    far = p.avoid_distance * f.length
    state.spots[0, i] = f.x
    state.spots[1, i] = f.y
    state.spots[2, i] = claims
    state.spots[3, i] = WIDER * far * far


@small_rule
def gather(state: State, floor: Floor, dt: float, counted: bool) -> None:
    """Make ready for a look.

    Parameters
    ----------
    state
        Sets `looks`, `spots` and, where the look is counted, `loose`.
    floor
        Tables of the layout.
    dt
        Time that the look stands for, s.
    counted
        Whether it is counted for the leaps.
    """
    t = state.tank[0]
    fish = state.fish
    n = len(fish)
    for k in range(len(state.kinds)):
        state.kinds[k].fellow = -1
    for back in range(n):  # from the last on, so that a school is linked in the order of its fish
        i = n - 1 - back
        f = fish[i]
        f.push_x = 0.0
        f.push_y = 0.0
        f.school_n = 0.0
        if f.hazard > 0.0:
            f.hazard = 0.0
            for j in range(n):
                state.hazards[i, j] = 0.0
        if counted:
            state.loose[0, i] = 0.0
            state.loose[1, i] = 0.0
            if f.presence == IN_TANK and t.clock >= f.act_until:
                state.loose[f.hiding, i] = dt
        f.glance = 1 if f.presence == IN_TANK else 0
        if f.glance == 1:
            glance_at(state, floor, i)
        else:
            state.spots[0, i] = math.inf


@small_rule
def count_together(state: State) -> None:
    """Count the time in which the fish of a pair are free, the one in the open, by the other.

    Each row is added to as a whole, whoever it is: adding 0 changes nothing, and several numbers
    are added at once.
    """
    together = state.together
    loose = state.loose
    n = len(state.fish)
    covered = False
    for j in range(n):
        covered = covered or loose[1, j] > 0.0
    for i in range(n):
        if loose[0, i] > 0.0:
            for j in range(loose.shape[1]):
                together[0, i, j] += loose[0, j]
            if covered:
                for j in range(loose.shape[1]):
                    together[1, i, j] += loose[1, j]


@small_rule
def may_attack(state: State, floor: Floor, a: int, b: int, d2: float) -> bool:
    """Return whether fish `a` may have a claim on where fish `b` is.

    Mostly it has none; then what the two are to each other need not be fetched, which in a large
    company lies far away.
    """
    g = state.looks[a]
    if d2 < g.reach:
        return True
    return g.site >= 0 and floor.site_dist[g.site, state.looks[b].cell] < g.claim_to


@rule
def school_round(state: State, floor: Floor) -> None:
    """Sum up for each fish that keeps to a school where those of it are that it sees."""
    for i in range(len(state.fish)):
        f = state.fish[i]
        g = state.looks[i]
        if f.glance == 0 or g.schools == 0:
            continue
        j = g.fellow
        while j >= 0:
            h = state.looks[j]
            if in_sight(state, floor, g, h):
                g.school_x += h.x
                g.school_y += h.y
                g.school_n += 1.0
                h.school_x += g.x
                h.school_y += g.y
                h.school_n += 1.0
            j = h.fellow
        f.school_x = g.school_x
        f.school_y = g.school_y
        f.school_n = g.school_n


@rule
def sift(state: State, i: int) -> None:
    """Mark the fish for which fish `i` or they may claim water at the other, or shun the other.

    Distances are all that is asked. In a large company hardly any pair is near, and the processor
    asks it of several at once: to which end what is asked of fish `i` is fetched before, and all
    are gone through, also those before it.
    """
    spots = state.spots
    x = spots[0, i]
    y = spots[1, i]
    claims = spots[2, i]
    dread = spots[3, i]
    for j in range(spots.shape[1]):
        dx = x - spots[0, j]
        dy = y - spots[1, j]
        d2 = dx * dx + dy * dy
        claimed = (d2 < claims) | (d2 < spots[2, j])
        shuns = (d2 < spots[3, j]) & (state.shuns[0, i, j] == 1)
        shunned = (d2 < dread) & (state.shuns[1, i, j] == 1)
        state.sifted[j] = claimed | shuns | shunned


@small_rule
def look_round(state: State, floor: Floor, dt: float, counted: bool) -> None:
    """Go over all pairs once: who sees whom, who schools, shuns and would attack whom.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout; adds to what `gather` has set to 0.
    dt
        Time that the look stands for, s.
    counted
        Whether it is counted for the leaps.
    """
    n = len(state.fish)
    school_round(state, floor)
    for i in range(n):
        if state.fish[i].glance == 0:
            continue
        g = state.looks[i]
        sift(state, i)
        for j in range(i + 1, n):
            if state.sifted[j] == 0:
                continue
            h = state.looks[j]
            if not in_sight(state, floor, g, h):
                continue
            dx = g.x - h.x
            dy = g.y - h.y
            d2 = dx * dx + dy * dy
            if d2 < state.spots[3, j] and state.shuns[0, i, j] == 1:
                push_away(state, i, j, dx, dy, d2)
            if d2 < state.spots[3, i] and state.shuns[1, i, j] == 1:
                push_away(state, j, i, -dx, -dy, d2)
            if h.free == 1 and may_attack(state, floor, i, j, d2):
                weigh_attack(state, floor, i, j, d2, dt, counted)
            if g.free == 1 and may_attack(state, floor, j, i, d2):
                weigh_attack(state, floor, j, i, d2, dt, counted)


@small_rule
def count_calm(state: State, floor: Floor) -> None:
    """Count for each fish the calm shoaling fish that it has in view."""
    fish = state.fish
    n = len(fish)
    for i in range(n):
        fish[i].calm = 0.0
    for j in range(n):
        g = fish[j]
        if g.presence != IN_TANK or g.act == PURSUE or g.hiding != 0:
            continue
        if g.shoaling > 0.3 and g.fear < 0.3:
            for i in range(n):
                if i != j and fish[i].presence == IN_TANK and saw_each_other(state, floor, i, j):
                    fish[i].calm += 1.0


@only_rule
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
    if t.meal == 1:
        meal_look(state, floor, dt)
    gather(state, floor, dt, counted)
    if counted:
        count_together(state)
    look_round(state, floor, dt, counted)
    cover = (t.tick // s.look_every) % COVER_BEAT == 0
    if cover:
        count_calm(state, floor)
    if t.breeding == SPONTANEOUS:
        for i in range(n):
            if fish[i].presence == IN_TANK and fish[i].mate >= 0:
                weigh_mate(state, floor, i, dt, counted)
    if t.clock < lights_off(state):
        for i in range(n):
            if fish[i].presence == IN_TANK and fish[i].hazard > 0.0:
                key = chain(chain(fish[i].key, ATTACK), t.tick)
                if falls(uniform(key), fish[i].hazard * dt):
                    strike(state, floor, i, key)
    if cover:
        for i in range(n):
            if fish[i].presence == IN_TANK:
                take_cover(state, floor, i, dt * COVER_BEAT, counted)


@rule
def strike(state: State, floor: Floor, i: int, key: np.uint64) -> None:
    """Let a fish attack, if its victim is still free."""
    j = pick_victim(state, i, chain(key, 1))
    if j < 0 or not free_to_attack(state, i) or not available(state, floor, i, j):
        return
    attack(state, floor, i, j, state.hazards[i, j] / state.pair[i, j].slow)


@small_rule
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
