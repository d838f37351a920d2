"""Place: where a fish that is put into the tank finds itself.

References
----------
None: a newcomer starts somewhere in the open, drawn evenly over the free cells (assumed).
"""

from __future__ import annotations

import math

from sim.compiler import rule
from sim.draws import PLACE, chain, uniform
from sim.rules.codes import IN_TANK, SWIM
from sim.rules.see import cell_at
from sim.rules.settle import redraw
from sim.state import State
from sim.tables import Floor


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
    cells = int(floor.dims[6])
    nx = int(floor.dims[4])
    cell = floor.dims[3]
    layer = 0
    if f.floor_share < 0.5:
        layer = 1 if f.floor_share + f.middle_share >= 0.5 else 2
    chosen = -1
    best = -1.0
    for c in range(cells):
        x = (c % nx + 0.5) * cell
        y = (c // nx + 0.5) * cell
        if x > floor.dims[0] - 0.01 or y > floor.dims[1] - 0.01 or floor.free[layer, c] == 0:
            continue
        # A cell with room round it goes before a cramped one.
        wish = uniform(chain(key, c))
        if floor.clear[layer, c] > 0.75 * cell:
            wish += 1.0
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
    redraw(state, i)
