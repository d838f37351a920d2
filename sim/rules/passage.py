"""Passage: who goes through the doorway of a divider.

A doorway is a hiding place with a door on either side that holds one fish: a fish that fits makes
for it when it is frightened, and comes out on either side with even chances; a pursuer that does
not fit is left behind. A calm fish that holds no site also tries it now and then: it carries a
unit exponential waiting time, used up by waking time over `doorway_time`.

References
----------
None found; all of it assumed.
"""

from __future__ import annotations

from sim.compiler import rule
from sim.draws import DOORWAY, chain, exponential, uniform
from sim.rules.codes import IN_TANK, LEAPT, SWIM, TO_DOOR
from sim.rules.room import leave_room
from sim.state import State
from sim.tables import Floor


@rule
def doorway_for(state: State, floor: Floor, i: int, u: float) -> int:
    """Return a door, on its own side, of a doorway that fish `i` fits, drawn with `u`; or -1."""
    count = 0
    for d in range(len(floor.door_room)):
        if fits_through(state, floor, i, d):
            count += 1
    at = int(u * count)
    for d in range(len(floor.door_room)):
        if fits_through(state, floor, i, d):
            if at == 0:
                return d
            at -= 1
    return -1


@rule
def fits_through(state: State, floor: Floor, i: int, d: int) -> bool:
    """Return whether door `d` is that of a doorway, on the side of fish `i`, which it passes."""
    return (
        floor.room_through[floor.door_room[d]] == 1
        and state.fits[i, d] == 1
        and floor.door_compartment[d] == state.fish[i].compartment
    )


@rule
def try_doorways(state: State, floor: Floor, dt: float) -> None:
    """Let calm fish without a site try a doorway now and then.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    dt
        Waking time that has passed, s.
    """
    some = False
    for room in range(len(floor.room_through)):
        some = some or floor.room_through[room] == 1
    if not some:
        return
    t = state.tank[0]
    for i in range(len(state.fish)):
        f = state.fish[i]
        if f.presence != IN_TANK or f.site >= 0 or f.act != SWIM or f.room >= 0 or f.hiding == 1:
            continue
        f.doorway_left -= dt / (3600.0 * state.par[0].doorway_time)
        if f.doorway_left > 0.0:
            continue
        key = chain(chain(f.key, DOORWAY), int(t.clock))
        f.doorway_left = exponential(chain(key, 1))
        d = doorway_for(state, floor, i, uniform(chain(key, 2)))
        if d < 0:
            continue
        if t.phase == LEAPT:
            first = floor.room_door[floor.door_room[d], 0]
            leave_room(state, floor, i, first + int(2.0 * uniform(chain(key, 3))))
        else:
            f.hiding = 1
            f.goal = TO_DOOR
            f.goal_index = d
