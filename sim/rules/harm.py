r"""Harm: where an injury is taken, on whose ground and how far from cover. It changes nothing.

Each harm that bites do is added up by the way it was taken (in a contest, in a chase in the open,
against glass or stone, or in a hiding place that the biter passes into), by whose territory it was
taken in, by the brood stage of the biter (its own, else that of the tank), by how far its victim
would have had to swim to a hiding place that it fits, and by a grid of the floor whose blocks are
two cells wide. Whose ground a place is follows from the claims of that moment, before the bite: a
fish that dies of it still held its site. Bites of a fish that is swallowed at once are no injury
received, here as elsewhere.

In leapt time nobody swims. A chase there is drawn from the watched ones, and its harm is taken
where that chase was: at one of its bites, each as likely. A contest that is leapt is placed by a
watched chase of the same two in the same way, and where none has been watched yet, where its victim
was last seen; a challenge for a site is fought at that site.

References
----------
None: bookkeeping; where the distances are cut is assumed.
"""

from __future__ import annotations

from sim.compiler import rule, small_rule
from sim.rules.claim import holder_of
from sim.rules.codes import (
    CHASED_INSIDE,
    COVER_FAR,
    COVER_INSIDE,
    COVER_MIDDLE,
    COVER_NEAR,
    COVER_NONE,
    COVER_REACH,
    GROUND_BITER,
    GROUND_OPEN,
    GROUND_OTHER,
    GROUND_PAIR,
    GROUND_VICTIM,
)
from sim.rules.mate import stage_seen
from sim.rules.see import cell_at
from sim.state import HARM_BLOCK, State
from sim.tables import Floor

NEAR_M, REACH_M, FAR_M = 0.1, 0.2, 0.4  # m to swim


@rule
def way_to_cover(state: State, floor: Floor, j: int, cell: int) -> float:
    """Return how far (m) a fish would swim from a cell to a hiding place it fits; -1 for none."""
    best = -1.0
    for d in range(len(floor.door_room)):
        away = float(floor.door_dist[d, cell])
        if state.fits[j, d] == 1 and away < 90.0 and (best < 0.0 or away < best):
            best = away
    return best


@rule
def cover_band(state: State, floor: Floor, j: int, cell: int, way: int) -> int:
    """Return how far fish `j` is from cover at a cell, as one of the bands of `codes`."""
    if way == CHASED_INSIDE:
        return COVER_INSIDE
    away = way_to_cover(state, floor, j, cell)
    if away < 0.0:
        return COVER_NONE
    if away < NEAR_M:
        return COVER_NEAR
    if away < REACH_M:
        return COVER_REACH
    return COVER_MIDDLE if away < FAR_M else COVER_FAR


@rule
def ground_of(state: State, i: int, j: int, holder: int) -> int:
    """Return whose ground a place held by `holder` (-1 nobody) is, as the bitten `j` of `i` has it.

    What one of a pair holds is its mate's too.
    """
    if holder < 0:
        return GROUND_OPEN
    fish = state.fish
    biters = holder == i or fish[i].mate == holder
    own = holder == j or fish[j].mate == holder
    if biters and own:
        return GROUND_PAIR
    if biters:
        return GROUND_BITER
    return GROUND_VICTIM if own else GROUND_OTHER


@rule
def place_of_harm(
    state: State, floor: Floor, i: int, j: int, x: float, y: float, way: int
) -> tuple[int, int, int, int, int]:
    """Return where a bite of `i` at `j` is taken, before it is.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i, j
        Biter and bitten.
    x, y
        Where, m.
    way
        How it is taken, as in `codes`.

    Returns
    -------
    tuple of int
        Holder of the ground (-1 nobody), whose ground, brood stage, distance to cover, block.
    """
    cell = cell_at(floor, x, y)
    nx = int(floor.dims[4])
    across = (nx + HARM_BLOCK - 1) // HARM_BLOCK
    block = (cell // nx) // HARM_BLOCK * across + (cell % nx) // HARM_BLOCK
    holder = holder_of(state, floor, cell)
    ground = ground_of(state, i, j, holder)
    return holder, ground, stage_seen(state, i), cover_band(state, floor, j, cell, way), block


@small_rule
def add_harm(
    state: State, i: int, j: int, harm: float, way: int, place: tuple[int, int, int, int, int]
) -> None:
    """Add harm done by `i` to `j`, in one way and at one place, to what is kept of it."""
    holder, ground, stage, band, block = place
    state.harm[j, way, ground, stage, band] += harm
    state.harm_spots[j, block] += harm
    state.pair[i, j].harm += harm
    if holder >= 0:
        state.pair[j, holder].harm_on += harm
    else:
        state.tally[j].open_harm += harm
