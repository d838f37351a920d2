"""Risk: how many bites a chase was likely to bring, whatever it brought; leaps draw from it.

A watched chase stands in for many in leapt time. Its own few bites are luck. What it was worth is
told more surely by the bites to be expected of it: in the open the sum of the hazards of its
moments, in a room the pursuer's going in, after which bites and the end come at rates that do not
hang on the chase. So a leapt chase draws its bites anew, by the same rates. With those that were
seen instead, the chases of four days would stand for one pair's luck of an hour.

References
----------
None found; the rates are those of `chase` and `raid`, assumed there. That an expectation is surer
than a count is the law of total variance.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiler import rule, small_rule
from sim.draws import chain, uniform
from sim.rules.codes import CHASED_OPEN, CHASED_WALL
from sim.state import State
from sim.tables import Floor

ASK_S = 0.05  # s between two looks at whether a chase has ended
AT_WALL = 0.05  # m from glass or stone
LONGEST = 2000  # looks in a room


@small_rule
def at_wall(state: State, floor: Floor, j: int) -> bool:
    """Return whether fish `j` is within 5 cm of glass or stone."""
    g = state.fish[j]
    return (
        min(g.x, floor.dims[0] - g.x) < AT_WALL
        or min(g.y, floor.dims[1] - g.y) < AT_WALL
        or floor.clear[g.layer, g.cell] < AT_WALL
    )


@rule
def forget_risk(state: State, i: int) -> None:
    """Begin a chase by fish `i`, of which nothing is known yet."""
    f = state.fish[i]
    f.risk = 0.0
    f.entries = 0
    f.stay = 0.0


@rule
def risk_in_open(
    state: State, floor: Floor, i: int, j: int, bites: float, key: np.uint64
) -> None:
    """Add the bites (expected number) of a moment of a chase in the open.

    Of the moments so far one is kept, each in proportion to its bites, as the place of all.
    """
    f = state.fish[i]
    g = state.fish[j]
    f.risk += bites
    if uniform(key) * f.risk < bites:
        f.risk_x = g.x
        f.risk_y = g.y
        f.risk_way = CHASED_WALL if at_wall(state, floor, j) else CHASED_OPEN


@small_rule
def leaving_rate(state: State, doors: int) -> float:
    """Return the rate (1/s) at which a chase in a room ends or leaves it: submission, a door."""
    p = state.par[0]
    return p.submit_rate + (1.0 / p.slip_time if doors > 1 else 0.0)


@rule
def risk_in_room(state: State, floor: Floor, i: int, j: int) -> None:
    """Note that fish `i` has come into the room of fish `j`, to bite it there."""
    f = state.fish[i]
    g = state.fish[j]
    f.entries += 1
    f.stay += 1.0 / leaving_rate(state, floor.room_door[g.room, 1])
    f.in_x = g.x
    f.in_y = g.y
    f.in_wall = 1 if at_wall(state, floor, j) else 0


@rule
def bites_in_rooms(state: State, entries: int, stay: float, key: np.uint64) -> int:
    """Draw the bites of a chase that goes into rooms, as `raid` draws them.

    Parameters
    ----------
    state
        State of the run.
    entries
        How often the pursuer goes in.
    stay
        Seconds inside that are to be expected in all.
    key
        Key of this chase.
    """
    if entries == 0:
        return 0
    lands = 1.0 - math.exp(-state.par[0].bite_rate * ASK_S)
    leaves = 1.0 - math.exp(-entries * ASK_S / stay)
    bites = 0
    left = entries
    for k in range(LONGEST):
        if uniform(chain(key, 2 * k)) < lands:
            bites += 1
        if uniform(chain(key, 2 * k + 1)) < leaves:
            left -= 1
            if left == 0:
                break
    return bites
