"""Raid: a chase that goes on in a room whose door the pursuer passes too.

Inside, bites land at `bite_rate` until the victim gets out by another door, submits or dies. A
pursuer that cannot get in leaves its victim hidden.

References
----------
None found; assumed.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiler import rule
from sim.draws import chain, uniform
from sim.rules.bite import wound
from sim.rules.codes import (
    CHASED_INSIDE,
    CHASED_OPEN,
    CHASED_WALL,
    FLEE,
    HIDDEN,
    IN_TANK,
    KILLED,
    LOST,
    NOWHERE,
    PURSUE,
    SUBMITTED,
    TO_DOOR,
)
from sim.rules.fear import frighten
from sim.rules.harm import add_harm, place_of_harm
from sim.rules.move import way
from sim.rules.observe import BITE_ACT, count_act
from sim.rules.risk import at_wall, risk_in_room
from sim.rules.room import at_door, enter_if_there, leave_room
from sim.rules.see import cell_at
from sim.rules.sweep import slide, way_is_open
from sim.state import State
from sim.tables import Floor

AT_DOOR = 0.01  # m


@rule
def land_bites(
    state: State,
    floor: Floor,
    i: int,
    j: int,
    bites: int,
    at: tuple[float, float],
    how: int,
    key: np.uint64,
) -> float:
    """Let bites of a chase wound its victim at a place (m), and return the injury they add."""
    place = place_of_harm(state, floor, i, j, at[0], at[1], how)
    dose = state.tally[j].dose
    harm = wound(state, i, j, bites, 1.0, key)
    add_harm(state, i, j, state.tally[j].dose - dose, how, place)
    return harm


@rule
def bite_in_chase(state: State, floor: Floor, i: int, j: int, key: np.uint64) -> None:
    """Let one bite of a chase land."""
    f = state.fish[i]
    g = state.fish[j]
    f.chase_bites += 1
    count_act(state, i, j, BITE_ACT)
    wall = at_wall(state, floor, j)
    if wall:
        f.chase_wall += 1
    way = CHASED_INSIDE if g.room >= 0 else CHASED_WALL if wall else CHASED_OPEN
    harm = land_bites(state, floor, i, j, 1, (g.x, g.y), way, key)
    row = state.log[f.chase_cause]
    row.harm += harm
    row.x = g.x
    row.y = g.y
    frighten(state, j, state.par[0].fear_of_bite)


@rule
def raid(state: State, floor: Floor, i: int, j: int, dt: float, key: np.uint64) -> int:
    """Advance a chase whose victim sits in a room.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i, j
        Pursuer and victim.
    dt
        Time to advance by, s.
    key
        Key of this chase and moment.

    Returns
    -------
    int
        How the chase ended, or -1 while it goes on.
    """
    t = state.tank[0]
    p = state.par[0]
    f = state.fish[i]
    g = state.fish[j]
    first = floor.room_door[g.room, 0]
    count = floor.room_door[g.room, 1]
    door = -1
    best = 1e9
    for d in range(first, first + count):
        dx = floor.door_out[d, 0] - f.x
        dy = floor.door_out[d, 1] - f.y
        if state.fits[i, d] == 1 and dx * dx + dy * dy < best:
            best = dx * dx + dy * dy
            door = d
    if door < 0:
        return HIDDEN
    if f.room == g.room:
        # Inside with it: bites land until it gets out by another door, submits or dies.
        if uniform(chain(key, 1)) < 1.0 - math.exp(-p.bite_rate * dt):
            bite_in_chase(state, floor, i, j, chain(key, 2))
            if g.presence != IN_TANK:
                leave_room(state, floor, i, door)
                f.act = PURSUE
                return KILLED
        if count > 1 and uniform(chain(key, 3)) < 1.0 - math.exp(-dt / p.slip_time):
            out = first + int(uniform(chain(key, 4)) * count)
            leave_room(state, floor, j, out)
            g.act = FLEE
            leave_room(state, floor, i, door)
            f.act = PURSUE
            return -1
        if uniform(chain(key, 5)) < 1.0 - math.exp(-p.submit_rate * dt):
            leave_room(state, floor, i, door)
            f.act = PURSUE
            return SUBMITTED
        return -1
    f.goal_index = door
    if floor.clear[0, f.cell] > 0.75 * floor.dims[3]:
        f.layer = 0
    near = at_door(f.length)
    if best < near * near:
        # It may still swim above the piece: down only where nothing stands before the door.
        dx = floor.door_out[door, 0] - f.x
        dy = floor.door_out[door, 1] - f.y
        if way_is_open(floor, f.x, f.y, dx, dy, 0):
            f.layer = 0
        f.goal = TO_DOOR
        entered = enter_if_there(state, floor, i)
        f.goal = NOWHERE
        if entered:
            risk_in_room(state, floor, i, j)
            return -1
        # Near the door but round the corner from it: it swims on, and gives up only at the door.
        if best < AT_DOOR * AT_DOOR:
            return HIDDEN
    dx, dy, _ = way(floor, f.cell, f.x, f.y, door)
    step = min(f.chase * dt, math.sqrt(best))
    parts = int(step / (0.8 * floor.dims[7])) + 1
    for _ in range(parts):
        f.x, f.y, _met = slide(floor, f.x, f.y, dx * step / parts, dy * step / parts, f.layer)
    f.cell = cell_at(floor, f.x, f.y)
    if t.clock - f.act_start > 10.0:
        return LOST
    return -1
