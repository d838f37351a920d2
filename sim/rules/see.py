"""See: nothing behind a piece taller than the line of sight; a fish in a room only at its doors.

The table of sight holds, for each sum of two layers, whether the middle of one cell sees the
middle of another. A fish in a hiding place is seen only by one that is near a door of it.

References
----------
Imre2002 (visibility and territory size); the heights of the lines of sight are assumed.
"""

from __future__ import annotations

import numpy as np

from sim.compiler import rule, rule_entry, small_rule
from sim.rules.codes import IN_TANK
from sim.state import State
from sim.tables import Floor

DOOR_VIEW = 0.15  # m, assumed: from how near a door one sees who is inside
BITS, REST = np.uint32(3), np.uint32(7)  # eight cells of a table of sight share a byte


@small_rule
def cell_at(floor: Floor, x: float, y: float) -> int:
    """Return the cell that holds a point of the footprint (m)."""
    dims = floor.dims
    nx = int(dims[4])
    ix = min(max(int(x * dims[8]), 0), nx - 1)
    iy = min(max(int(y * dims[8]), 0), int(dims[5]) - 1)
    return iy * nx + ix


@small_rule
def line_is_clear(floor: Floor, cell_a: int, cell_b: int, layers: int) -> bool:
    """Return whether two cells see each other at the height of a sum of two layers."""
    table = floor.sight_of[layers]
    return table < 0 or (floor.sight[table, cell_a, cell_b >> BITS] >> (cell_b & REST)) & 1 == 1


@rule
def near_door(floor: Floor, x: float, y: float, room: int) -> bool:
    """Return whether a point lies within view of a door of a room."""
    first = floor.room_door[room, 0]
    for d in range(first, first + floor.room_door[room, 1]):
        dx = floor.door_out[d, 0] - x
        dy = floor.door_out[d, 1] - y
        if dx * dx + dy * dy < DOOR_VIEW * DOOR_VIEW:
            return True
    return False


@small_rule
def in_sight(state: State, floor: Floor, one: np.record, other: np.record) -> bool:
    """Return whether two fish see each other.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    one, other
        Rows of `fish`, as they are now, or of `looks`, as they were at the last look.

    Returns
    -------
    bool
        True also for everyone where the null model takes occlusion away.
    """
    if state.tank[0].no_occlusion == 1:
        return True
    if one.room >= 0:
        return one.room == other.room or (
            other.room < 0 and near_door(floor, other.x, other.y, one.room)
        )
    if other.room >= 0:
        return near_door(floor, one.x, one.y, other.room)
    return line_is_clear(floor, one.cell, other.cell, one.layer + other.layer)


@small_rule
def saw_each_other(state: State, floor: Floor, i: int, j: int) -> bool:
    """Return whether two fish saw each other at the last look; not where one was not there."""
    if state.fish[i].glance == 0 or state.fish[j].glance == 0:
        return False
    return in_sight(state, floor, state.looks[min(i, j)], state.looks[max(i, j)])


@small_rule
def see_each_other(state: State, floor: Floor, i: int, j: int) -> bool:
    """Return whether two fish in the tank see each other now."""
    return in_sight(state, floor, state.fish[i], state.fish[j])


def fill_seen(state: State, floor: Floor, i: int, seen: np.ndarray) -> None:
    """Write whom a fish saw at the last look.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i
        The fish.
    seen
        Filled, shape (n_fish,): 1 where it saw that fish, which is in the tank.
    """
    for j in range(len(state.fish)):
        there = j != i and state.fish[j].presence == IN_TANK
        seen[j] = 1 if there and saw_each_other(state, floor, i, j) else 0


seen_by = rule_entry(fill_seen)
