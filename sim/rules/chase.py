r"""Chase and retreat: a pair swept in sub-steps of 12.5 ms until something ends it.

The pursuer goes for its victim at 4.5 lengths a second; the victim flees at up to 10, tires, and
makes for the nearest room whose door it passes. Both turn with a time constant; speeds fall with
stamina. In each sub-step the share spent within reach is found in closed form, and a bite lands
there with rate `bite_rate`. The chase ends because the victim has left the claim, is out of sight
for a second, has reached a hiding place the pursuer cannot enter, because the pursuer tires, or
because a cornered victim submits. A wall ends nothing: it only takes away the first ending.

References
----------
Speeds: Cichlasoma facetum and 27 species of fish, in the evidence page. Rest after a chase,
stamina and submission: assumed.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiler import rule
from sim.draws import CHASE, WOUND, chain, exponential, uniform
from sim.rules.claim import site_claim
from sim.rules.codes import (
    CHASED_OPEN,
    FLEE,
    HIDDEN,
    IN_TANK,
    KILLED,
    LEFT,
    LOST,
    NOWHERE,
    PURSUE,
    SUBMITTED,
    SWIM,
    TIRED,
    TO_DOOR,
    WATCHED,
)
from sim.rules.contest import pair_key
from sim.rules.fear import cover_for, frighten, make_for_cover
from sim.rules.hours import day_row
from sim.rules.learn import avoid, experience
from sim.rules.mate import stage_seen
from sim.rules.move import way
from sim.rules.observe import CHASE_ACT, count_act
from sim.rules.raid import bite_in_chase, raid
from sim.rules.risk import ASK_S, forget_risk, risk_in_open
from sim.rules.room import enter_if_there, passes_a_door
from sim.rules.see import cell_at, saw_each_other, see_each_other
from sim.rules.sweep import slide
from sim.state import State
from sim.tables import Floor


@rule
def likeness_share(state: State, i: int, j: int) -> float:
    """Return how much a fish learns from beating one of another kind (1 for its own)."""
    return min(1.0, state.pair[i, j].likeness / state.par[0].like_own_kind)


@rule
def start_chase(state: State, floor: Floor, i: int, j: int, row: int) -> None:
    """Set fish `i` after fish `j`."""
    t = state.tank[0]
    f = state.fish[i]
    g = state.fish[j]
    f.act = PURSUE
    f.target = j
    f.act_start = t.clock
    f.unseen_time = 0.0
    f.chase_bites = 0
    f.chase_wall = 0
    forget_risk(state, i)
    f.chase_cause = row
    f.goal = NOWHERE
    g.act = FLEE
    g.target = i
    g.act_start = t.clock
    g.goal = NOWHERE
    if g.room < 0:
        door = cover_for(state, floor, j, i)
        if door >= 0:
            g.goal = TO_DOOR
            g.goal_index = door
    count_chase(state, floor, i, j)


@rule
def count_chase(state: State, floor: Floor, i: int, j: int) -> None:
    """Count a chase of `j` by `i`, watched or leapt, in every tally."""
    t = state.tank[0]
    t.chases += 1
    count_act(state, i, j, CHASE_ACT)
    state.pair[i, j].chases += 1
    state.tally[i].chases_given += 1
    state.tally[j].chases_taken += 1
    state.days[day_row(state)].chases += 1
    k = state.fish[i].brood
    if state.fish[i].mate == j:
        t.mate_chases += 1
    elif k >= 0:
        state.defence[state.fish[i].sex, state.broods[k].stage] += 1
    if k >= 0 and state.broods[k].place >= 0:
        t.pair_chases += 1
        if t.phase == WATCHED:  # where a leapt one begins is not known
            t.pair_chases_seen += 1
            away = floor.site_dist[state.broods[k].place, state.fish[j].cell]
            if away < 0.5 * state.fish[i].reach:
                t.pair_chases_near += 1


@rule
def learn_from_chase(state: State, i: int, j: int) -> None:
    """Let a bully and its victim learn from a chase, and frighten the victim."""
    p = state.par[0]
    share = likeness_share(state, i, j)
    experience(state, i, j, p.retreat_counts * share)
    avoid(state, j, i, 1.0)
    frighten(state, j, p.fear_of_chase)


@rule
def pool_chase(state: State, i: int, j: int, end: int, seconds: float) -> None:
    """Keep a watched chase, for the leaps to draw from.

    It weighs by the root of the stretch its window speaks for: by the stretch itself a few chases
    of the longest gaps would speak for all, alike the many just after a change would.
    """
    t = state.tank[0]
    row = state.pool[t.pool_rows % len(state.pool)]
    t.pool_rows += 1
    f = state.fish[i]
    row.attacker = i
    row.victim = j
    row.end = end
    row.seconds = seconds
    row.x = state.fish[j].x
    row.y = state.fish[j].y
    row.risk = f.risk
    row.risk_x = f.risk_x if f.risk > 0.0 else row.x
    row.risk_y = f.risk_y if f.risk > 0.0 else row.y
    row.risk_way = f.risk_way if f.risk > 0.0 else CHASED_OPEN
    row.entries = f.entries
    row.stay = f.stay
    row.in_x = f.in_x
    row.in_y = f.in_y
    row.in_wall = f.in_wall
    row.weight = math.sqrt(t.stands_for)


@rule
def end_chase(state: State, floor: Floor, i: int, j: int, end: int, seconds: float) -> None:
    """End a watched chase that lasted `seconds`, tell all who saw it, and let the pursuer rest."""
    t = state.tank[0]
    p = state.par[0]
    f = state.fish[i]
    g = state.fish[j]
    state.ends[stage_seen(state, i), end] += 1
    pool_chase(state, i, j, end, seconds)
    row = state.log[f.chase_cause]
    row.end = end
    row.seconds = seconds
    row.bites = f.chase_bites
    row.wall_bites = f.chase_wall
    f.act = SWIM
    f.target = -1
    key = chain(pair_key(state, i, j, CHASE), state.pair[i, j].chases)
    f.rest_until = t.clock + p.rest_after_chase * exponential(chain(key, 7))
    if g.presence == IN_TANK:
        g.act = SWIM
        g.target = -1
        learn_from_chase(state, i, j)
        if g.room < 0:
            g.goal = NOWHERE
            if g.hiding == 1:
                make_for_cover(state, floor, j)
        else:
            g.hiding = 1
    f.shown += 1.0
    for k in range(len(state.fish)):
        if k in (i, j) or state.fish[k].presence != IN_TANK:
            continue
        if saw_each_other(state, floor, k, i):
            state.pair[k, i].saw += 1.0
            frighten(state, k, p.fear_of_sight)


@rule
def share_in_reach(rx: float, ry: float, dx: float, dy: float, reach: float) -> float:
    """Return the share of a step in which two points are within reach.

    Parameters
    ----------
    rx, ry
        Where the other is at the start (m).
    dx, dy
        How that changes over the step (m).
    reach
        Distance within which a bite can land (m).

    Returns
    -------
    float
        0 to 1, from the roots of |r + s d|^2 = reach^2.
    """
    a = dx * dx + dy * dy
    b = rx * dx + ry * dy
    c = rx * rx + ry * ry - reach * reach
    if a < 1e-18:
        return 1.0 if c < 0.0 else 0.0
    disc = b * b - a * c
    if disc <= 0.0:
        return 0.0
    root = math.sqrt(disc)
    low = max((-b - root) / a, 0.0)
    high = min((-b + root) / a, 1.0)
    return max(high - low, 0.0)


@rule
def turn(hx: float, hy: float, wx: float, wy: float, share: float) -> tuple[float, float]:
    """Return a unit heading turned toward a wanted one by a share of the way."""
    x = hx + share * (wx - hx)
    y = hy + share * (wy - hy)
    norm = math.sqrt(x * x + y * y)
    if norm < 1e-6:
        # Straight back: turn by the side, not through zero.
        return -hy, hx
    return x / norm, y / norm


@rule
def change_layer_in_chase(
    state: State, floor: Floor, i: int, j: int, dt: float, key: np.uint64
) -> None:
    """Let a pursuer follow its victim up or down by a layer, in half a second or so."""
    f = state.fish[i]
    g = state.fish[j]
    if f.layer != g.layer and uniform(chain(key, 50)) < 1.0 - math.exp(-dt / 0.5):
        if g.layer > f.layer:
            f.layer += 1
        elif floor.clear[f.layer - 1, f.cell] > 0.75 * floor.dims[3]:
            f.layer -= 1


@rule
def pursue(state: State, floor: Floor, i: int) -> None:
    """Advance a chase by one tick, pursuer and victim together.

    How it may end is asked every twentieth of a second, whatever the tick: asked once in a tick of
    0.2 s, a chase of a second or two would last too long by a tenth.
    """
    t = state.tank[0]
    s = state.settings[0]
    f = state.fish[i]
    j = f.target
    if j < 0 or state.fish[j].presence != IN_TANK:
        f.act = SWIM
        f.target = -1
        return
    dt = s.tick / s.micro
    each = max(1, min(s.micro, int(ASK_S / dt + 0.5)))
    key = chain(chain(pair_key(state, i, j, WOUND), state.pair[i, j].chases), t.tick)
    done = 0
    while done < s.micro:
        steps = min(each, s.micro - done)
        part = chain(key, done)
        passed = t.clock - f.act_start + done * dt
        if state.fish[j].room >= 0:
            end = raid(state, floor, i, j, steps * dt, part)
        elif state.fish[j].compartment != f.compartment:
            end = HIDDEN  # out by the far door of a divider's doorway
        else:
            end = dash(state, floor, i, j, steps, dt, passed, part)
        done += steps
        if end >= 0:
            end_chase(state, floor, i, j, end, t.clock - f.act_start + done * dt)
            return


@rule
def dash(
    state: State,
    floor: Floor,
    i: int,
    j: int,
    steps: int,
    dt: float,
    passed: float,
    key: np.uint64,
) -> int:
    """Sweep a chase in the open through a few sub-steps.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i, j
        Pursuer and victim.
    steps, dt
        Number of sub-steps and their length, s.
    passed
        How long the chase has lasted, s.
    key
        Key of this chase and moment.

    Returns
    -------
    int
        How the chase ended, or -1 while it goes on.
    """
    p = state.par[0]
    f = state.fish[i]
    g = state.fish[j]
    share = 1.0 - math.exp(-dt / p.turn_time)
    reach = p.bite_reach * f.length + 0.2 * g.length
    limit = 0.8 * floor.dims[7]
    stuck = 0
    f.speed = f.chase
    for k in range(steps):
        dx = g.x - f.x
        dy = g.y - f.y
        d = math.sqrt(dx * dx + dy * dy) + 1e-9
        # The victim: away, or to cover when the door is nearer to it than to the pursuer.
        wx = dx / d
        wy = dy / d
        if g.goal == TO_DOOR:
            cx, cy, way_j = way(floor, g.cell, g.x, g.y, g.goal_index)
            way_i = float(floor.door_dist[g.goal_index, f.cell])
            if float(way_j) < way_i + 0.1:
                wx, wy = cx, cy
                if g.layer > 0 and floor.clear[0, g.cell] > 0.75 * floor.dims[3]:
                    g.layer = 0
        v_j = 0.0
        if passed + k * dt >= p.reaction_time:
            g.head_x, g.head_y = turn(g.head_x, g.head_y, wx, wy, share)
            v_j = g.cruise + (g.burst - g.cruise) * g.stamina
        f.head_x, f.head_y = turn(f.head_x, f.head_y, dx / d, dy / d, share)
        v_i = f.cruise + (f.chase - f.cruise) * min(1.0, 2.0 * f.stamina)
        step_i = min(v_i * dt, limit)
        # A pursuer does not swim through its victim.
        step_i = min(step_i, max(d - 0.3 * reach, 0.0))
        step_j = min(v_j * dt, limit)
        jx, jy, met = slide(floor, g.x, g.y, g.head_x * step_j, g.head_y * step_j, g.layer)
        ix, iy, _ = slide(floor, f.x, f.y, f.head_x * step_i, f.head_y * step_i, f.layer)
        part = share_in_reach(dx, dy, (jx - g.x) - (ix - f.x), (jy - g.y) - (iy - f.y), reach)
        moved = math.sqrt((jx - g.x) * (jx - g.x) + (jy - g.y) * (jy - g.y))
        if met > 0:
            if moved > 0.3 * step_j and moved > 1e-9:
                g.head_x = (jx - g.x) / moved
                g.head_y = (jy - g.y) / moved
            elif v_j > 0.0:
                stuck += 1
                # Into a wall or corner: turn along it, away from the pursuer.
                side = 1.0 if uniform(chain(key, 100 + k)) < 0.5 else -1.0
                g.head_x, g.head_y = -side * g.head_y, side * g.head_x
        f.x, f.y = ix, iy
        g.x, g.y = jx, jy
        f.cell = cell_at(floor, ix, iy)
        g.cell = cell_at(floor, jx, jy)
        f.stamina = max(0.0, f.stamina - dt / p.stamina_time * v_i / f.burst)
        g.stamina = max(0.0, g.stamina - dt / p.stamina_time * v_j / g.burst)
        g.speed = g.burst * g.stamina
        if part > 0.0:
            apart = 1.0 if f.layer == g.layer else 0.5
            h = p.bite_rate * part * dt * apart
            risk_in_open(state, floor, i, j, h, chain(key, 200 + k))
            if uniform(chain(key, k)) < 1.0 - math.exp(-h):
                bite_in_chase(state, floor, i, j, chain(chain(key, k), 1))
                if g.presence != IN_TANK:
                    return KILLED
        if g.goal == TO_DOOR and enter_if_there(state, floor, j):
            g.hiding = 1
            return -1 if passes_a_door(state, floor, i, g.room) else HIDDEN
    span = steps * dt
    change_layer_in_chase(state, floor, i, j, span, key)
    return ending(state, floor, i, j, stuck * 2 > steps, span, key)


@rule
def ending(
    state: State, floor: Floor, i: int, j: int, stuck: bool, dt: float, key: np.uint64
) -> int:
    """Return how a chase has ended by now, or -1.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i, j
        Pursuer and victim.
    stuck
        Whether the victim could not get on for most of the time since it was last asked.
    dt
        That time, s.
    key
        Key of this chase and moment.
    """
    p = state.par[0]
    f = state.fish[i]
    g = state.fish[j]
    dx = g.x - f.x
    dy = g.y - f.y
    d = math.sqrt(dx * dx + dy * dy)
    if see_each_other(state, floor, i, j):
        f.unseen_time = 0.0
    else:
        f.unseen_time += dt
        if f.unseen_time >= p.lost_after:
            return LOST
    clear = d > p.own_space * f.length
    if f.site >= 0:
        kind = state.pair[i, j].kind_reach
        clear = clear and site_claim(state, floor, i, g.cell, kind) < p.claim_edge
    else:
        clear = d > 1.6 * p.own_space * f.length
    if clear:
        return LEFT
    if f.stamina < 0.1:
        return TIRED
    near = p.bite_reach * f.length + 0.2 * g.length
    slow = g.stamina < p.worn_out or stuck
    chance = 1.0 - math.exp(-p.submit_rate * dt)
    if slow and d < 1.5 * near and uniform(chain(key, 60)) < chance:
        return SUBMITTED
    return -1
