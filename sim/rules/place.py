"""Place: where a fish that is put into the tank finds itself.

References
----------
None: a newcomer starts somewhere in the open, drawn evenly over the free cells, or near the place
where the scenario puts it in, on that side of any divider (assumed).
"""

from __future__ import annotations

import math

from sim.compiler import rule
from sim.draws import DOORWAY, PLACE, chain, exponential, uniform
from sim.rules.codes import IN_TANK, NOWHERE, SWIM
from sim.rules.see import cell_at
from sim.rules.settle import redraw
from sim.state import NEVER, State
from sim.tables import Floor

PUT_PULL = 10.0  # 1/m, assumed: a fish that is put in at a place is within a hand's breadth of it


@rule
def join(state: State, floor: Floor, i: int) -> None:
    """Put a fish into the tank, at the middle of a free cell well clear of pieces.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i
        The fish.
    """
    f = state.fish[i]
    key = chain(f.key, PLACE)
    if state.tally[i].moves_out > 0:
        key = chain(key, 1_000_000 + state.tally[i].moves_out)  # past the cells
    beside = -1
    if f.put_x >= 0.0:
        beside = floor.cell_compartment[cell_at(floor, f.put_x, f.put_y)]
    cells = int(floor.dims[6])
    nx = int(floor.dims[4])
    cell = floor.dims[3]
    layer = 0
    if f.floor_share < 0.5:
        layer = 1 if f.floor_share + f.middle_share >= 0.5 else 2
    chosen = -1
    best = -1e9
    for c in range(cells):
        x = (c % nx + 0.5) * cell
        y = (c // nx + 0.5) * cell
        if x > floor.dims[0] - 0.01 or y > floor.dims[1] - 0.01 or floor.free[layer, c] == 0:
            continue
        # A cell with room round it goes before a cramped one.
        wish = uniform(chain(key, c))
        if floor.clear[layer, c] > 0.75 * cell:
            wish += 1.0
        if beside >= 0:
            if floor.cell_compartment[c] != beside:
                continue
            dx = x - f.put_x
            dy = y - f.put_y
            wish -= PUT_PULL * math.sqrt(dx * dx + dy * dy)
        if wish > best:
            best = wish
            chosen = c
    f.presence = IN_TANK
    f.act = SWIM
    f.layer = layer
    f.room = -1
    if chosen >= 0:
        f.x = (chosen % nx + 0.5) * cell
        f.y = (chosen // nx + 0.5) * cell
    angle = 2.0 * math.pi * uniform(chain(key, cells + 1))
    f.head_x = math.cos(angle)
    f.head_y = math.sin(angle)
    f.cell = cell_at(floor, f.x, f.y)
    f.compartment = 0
    if chosen >= 0:
        f.compartment = floor.cell_compartment[chosen]
    f.hiding = 0
    f.goal = NOWHERE
    f.back_at = NEVER
    f.doorway_left = exponential(chain(chain(f.key, DOORWAY), state.tally[i].moves_out))
    redraw(state, i)
