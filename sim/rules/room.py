"""Room: who passes a door, who still has space inside, going in and coming out.

References
----------
None: geometry. The space a fish takes and how near a door it turns in are assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule, small_rule
from sim.rules.codes import IN_TANK, NOWHERE, SWIM
from sim.rules.see import cell_at
from sim.rules.sweep import way_is_open
from sim.state import State
from sim.tables import Floor


@small_rule
def at_door(length: float) -> float:
    """Return from how near (m) a fish of a length (m) turns into a door."""
    return 0.02 + 0.4 * length


@small_rule
def passes_a_door(state: State, floor: Floor, i: int, room: int) -> bool:
    """Return whether fish `i` passes any door of a room."""
    first = floor.room_door[room, 0]
    for d in range(first, first + floor.room_door[room, 1]):
        if state.fits[i, d] == 1:
            return True
    return False


@rule
def room_left(state: State, floor: Floor, i: int, room: int) -> bool:
    """Return whether a room holds fish `i` beside those that are in it.

    Each fish takes twice its length times its width of floor (assumed); an empty room always
    holds one fish that passes its door.
    """
    fish = state.fish
    used = 0.0
    for j in range(len(fish)):
        if j != i and fish[j].room == room and fish[j].presence == IN_TANK:
            used += 2.0 * fish[j].length * fish[j].width
    if used == 0.0:
        return True
    return used + 2.0 * fish[i].length * fish[i].width <= floor.room_area[room]


@rule
def enter_if_there(state: State, floor: Floor, i: int) -> bool:
    """Put a fish into the room it makes for, once it is at the door; return whether it went in."""
    f = state.fish[i]
    door = f.goal_index
    dx = floor.door_out[door, 0] - f.x
    dy = floor.door_out[door, 1] - f.y
    near = at_door(f.length)
    if f.layer != 0 or dx * dx + dy * dy > near * near:
        return False
    # The way to the door's outside must be open: a fish never enters through the wall.
    if not way_is_open(floor, f.x, f.y, dx, dy, 0):
        return False
    if not room_left(state, floor, i, floor.door_room[door]):
        return False
    room = floor.door_room[door]
    f.x = floor.room_xy[room, 0]
    f.y = floor.room_xy[room, 1]
    f.room = room
    f.cell = cell_at(floor, floor.door_out[door, 0], floor.door_out[door, 1])
    f.goal = NOWHERE
    f.speed = 0.0
    return True


@rule
def leave_room(state: State, floor: Floor, i: int, door: int) -> None:
    """Put a fish just outside a door of the room it is in."""
    f = state.fish[i]
    f.room = -1
    f.x = floor.door_out[door, 0]
    f.y = floor.door_out[door, 1]
    f.head_x = floor.door_out[door, 0] - floor.door_in[door, 0]
    f.head_y = floor.door_out[door, 1] - floor.door_in[door, 1]
    norm = math.sqrt(f.head_x * f.head_x + f.head_y * f.head_y)
    if norm > 1e-9:
        f.head_x /= norm
        f.head_y /= norm
    else:
        f.head_x, f.head_y = 1.0, 0.0
    f.layer = 0
    f.cell = cell_at(floor, f.x, f.y)
    f.compartment = floor.door_compartment[door]
    f.act = SWIM
