r"""Fear, hiding and dither: chases drive fish into cover, calm schools draw them out.

A fish in the open seeks cover at the rate :math:`F (1 - k) / T_h` and leaves it at
:math:`(1 - F)(1 + k) / T_e`, with :math:`F` its fear, :math:`k = k_0 n / (n + n_{1/2})` the calm it
takes from :math:`n` unafraid shoaling fish in view. A fish that is not active by day rests in
cover whatever it fears. Cover is the nearest room whose door it passes and that has space, else
the top corner farthest from the fish it fears most. Whether dither fish help is left to this
and to the bully's divided attention; no paper gives a sign.

References
----------
Barlow1968 (dither, a direction). All numbers assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule, small_rule
from sim.draws import COVER, chain, falls, high_half, low_half
from sim.rules.codes import IN_TANK, NOWHERE, SWIM, TO_CORNER, TO_DOOR
from sim.rules.dark import activity_now
from sim.rules.move import corner_of
from sim.rules.room import leave_room, room_left
from sim.rules.see import cell_at
from sim.state import State
from sim.tables import Floor

COVER_BEAT = 5  # looks between two decisions about cover
CALM_SHARE = 0.05  # of a new look in the running mean of calm: over some forty seconds


@rule
def frighten(state: State, i: int, amount: float) -> None:
    """Add to a fish's fear; bold fish take less."""
    f = state.fish[i]
    f.fear += (1.0 - f.fear) * amount * (1.5 - f.boldness)
    f.fear = min(f.fear, 1.0)


@rule
def cover_for(state: State, floor: Floor, i: int, bully: int) -> int:
    """Return the door of the best hiding place for a fish, or -1.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i
        The fish that seeks cover.
    bully
        The fish it flees from, or -1. A door that is nearer to the bully counts as farther.

    Returns
    -------
    int
        A door whose room it fits and that has space, by distance to swim.
    """
    f = state.fish[i]
    if state.tank[0].no_hiding == 1:
        return -1
    best = 90.0
    door = -1
    for d in range(len(floor.door_room)):
        if state.fits[i, d] == 0 or not room_left(state, floor, i, floor.door_room[d]):
            continue
        if floor.door_compartment[d] != f.compartment:
            continue
        away = float(floor.door_dist[d, f.cell])
        if bully >= 0:
            away += max(0.0, away - float(floor.door_dist[d, state.fish[bully].cell]))
            if state.fits[bully, d] == 1:
                away += 0.3
        if away < best:
            best = away
            door = d
    return door


@rule
def far_corner(state: State, floor: Floor, i: int) -> int:
    """Return the corner of the footprint farthest from the fish that `i` avoids most."""
    f = state.fish[i]
    worst = 0.02
    bully = -1
    for j in range(len(state.fish)):
        if state.fish[j].presence == IN_TANK and state.pair[i, j].avoid > worst:
            worst = state.pair[i, j].avoid
            bully = j
    best = -1.0
    corner = 0
    first = True
    for c in range(4):
        x, y = corner_of(floor, c)
        if floor.cell_compartment[cell_at(floor, x, y)] != f.compartment:
            continue
        dx = x - f.x
        dy = y - f.y
        score = -math.sqrt(dx * dx + dy * dy)
        if bully >= 0:
            dx = x - state.fish[bully].x
            dy = y - state.fish[bully].y
            score = math.sqrt(dx * dx + dy * dy)
        if first or score > best:
            best = score
            corner = c
            first = False
    return corner


@small_rule
def calming(state: State, fish_in_view: float) -> float:
    """Return the calm, 0 to 1, that a number of unafraid shoaling fish in view give."""
    p = state.par[0]
    return p.dither_calm * fish_in_view / (fish_in_view + p.dither_half)


@small_rule
def hide_rate(state: State, i: int, k: float) -> float:
    """Return the rate (1/s) at which a fish in the open, calmed by `k`, goes into cover."""
    f = state.fish[i]
    p = state.par[0]
    rate = f.fear * (1.0 - k) * (1.5 - f.boldness) / p.hide_time
    return rate + (1.0 - activity_now(state, i)) / p.day_rest_time


@small_rule
def emerge_rate(state: State, i: int, k: float) -> float:
    """Return the rate (1/s) at which a fish in cover, calmed by `k`, comes out."""
    f = state.fish[i]
    p = state.par[0]
    rate = (1.0 - f.fear) * (1.0 + k) * (0.5 + f.boldness) * (0.1 + 0.9 * activity_now(state, i))
    return rate / p.emerge_time


@rule
def make_for_cover(state: State, floor: Floor, i: int) -> None:
    """Let a fish make for the nearest hiding place, or for a corner where there is none."""
    f = state.fish[i]
    door = cover_for(state, floor, i, -1)
    if door >= 0:
        f.goal = TO_DOOR
        f.goal_index = door
    else:
        f.goal = TO_CORNER
        f.goal_index = far_corner(state, floor, i)


@rule
def come_out(state: State, floor: Floor, i: int, u: float) -> None:
    """Let a fish leave its cover, by a door drawn with `u` in 0 to 1."""
    f = state.fish[i]
    f.hiding = 0
    f.goal = NOWHERE
    if f.room >= 0:
        first = floor.room_door[f.room, 0]
        count = floor.room_door[f.room, 1]
        leave_room(state, floor, i, first + int(u * count))


@small_rule
def seek_cover(state: State, floor: Floor, i: int, dt: float) -> None:
    """Let a fish decide whether to hide or come out.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i
        A fish in the tank.
    dt
        Time since its last such decision, s.
    """
    f = state.fish[i]
    if f.act != SWIM:
        return
    key = chain(chain(f.key, COVER), state.tank[0].tick)
    k = calming(state, f.calm)
    if f.hiding == 0:
        f.calm_open += CALM_SHARE * (k - f.calm_open)
        if falls(low_half(key), hide_rate(state, i, k) * dt):
            f.hiding = 1
            make_for_cover(state, floor, i)
        return
    f.calm_cover += CALM_SHARE * (k - f.calm_cover)
    if falls(low_half(key), emerge_rate(state, i, k) * dt):
        come_out(state, floor, i, high_half(key))
    elif f.goal == TO_DOOR and not room_left(state, floor, i, floor.door_room[f.goal_index]):
        make_for_cover(state, floor, i)


@rule
def pass_cover(state: State, i: int, dt: float) -> float:
    """Carry a fish's chance of being in cover through leapt time, and return its mean.

    In and out of cover is a chain of two states; with rates :math:`a` in and :math:`b` out the
    chance goes from :math:`h_0` to :math:`p + (h_0 - p) e^{-(a + b) t}`, :math:`p = a / (a + b)`.

    Parameters
    ----------
    state
        State of the run; sets the fish's `cover`.
    i
        The fish.
    dt
        Leapt time, s.

    Returns
    -------
    float
        Mean chance over the time.
    """
    f = state.fish[i]
    a = hide_rate(state, i, f.calm_open)
    b = emerge_rate(state, i, f.calm_cover)
    x = (a + b) * dt
    if x < 1e-9:
        return f.cover
    p = a / (a + b)
    fade = math.exp(-x)
    mean = p + (f.cover - p) * (1.0 - fade) / x
    f.cover = p + (f.cover - p) * fade
    return mean


@rule
def draw_cover(state: State, floor: Floor, i: int) -> None:
    """Draw at the end of a leap whether a fish is in cover, by the chance it carried there."""
    f = state.fish[i]
    if f.act != SWIM:
        return
    key = chain(chain(chain(f.key, COVER), state.tank[0].tick), state.tank[0].pieces)
    if low_half(key) < f.cover:
        if f.hiding == 0:
            f.hiding = 1
            make_for_cover(state, floor, i)
    elif f.hiding == 1:
        come_out(state, floor, i, high_half(key))


@rule
def in_top_corner(floor: Floor, x: float, y: float, layer: int) -> bool:
    """Return whether a place is a top corner: the surface, within 15 cm of two panes."""
    return layer == 2 and min(x, floor.dims[0] - x) < 0.15 and min(y, floor.dims[1] - y) < 0.15
