"""Move: a correlated walk at cruising speed, round pieces, never through glass or stone.

The heading turns by a random vector of variance 2 D dt and leans toward home, school, cover and
away from feared fish, then is made one long again. Steps are swept (see `sweep`).

References
----------
Cruising under one body length a second: Cichlasoma facetum, in the evidence page. The strengths
of the leanings are assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule, small_rule
from sim.draws import LAYER, WALK, chain, high_half, low_half
from sim.rules.codes import NOWHERE, TO_CORNER, TO_DOOR, TO_FOOD
from sim.rules.room import enter_if_there
from sim.rules.see import cell_at
from sim.rules.sweep import GLASS, slide
from sim.state import State
from sim.tables import Floor

PACE_TIME = 5.0  # s, assumed: mean time at one pace
NO_WAY = 90.0  # m, more than any way


@rule
def way(floor: Floor, cell: int, x: float, y: float, door: int) -> tuple[float, float, float]:
    """Return the unit direction toward a door's outside, and the distance to swim (m)."""
    dist = floor.door_dist[door, cell]
    wx = floor.door_next[door, cell, 0]
    wy = floor.door_next[door, cell, 1]
    ox = floor.door_out[door, 0] - x
    oy = floor.door_out[door, 1] - y
    straight = math.sqrt(ox * ox + oy * oy)
    dx = wx - x
    dy = wy - y
    d = math.sqrt(dx * dx + dy * dy)
    if straight < 2.0 * floor.dims[3] or d < 1e-6:
        dx, dy, d = ox, oy, straight
    if d < 1e-6:
        return 0.0, 0.0, 0.0
    return dx / d, dy / d, dist


@rule
def way_to_food(state: State, floor: Floor, i: int) -> tuple[float, float, float]:
    """Return the unit direction toward the food a fish makes for, and how far it is (m)."""
    f = state.fish[i]
    spot = state.food[f.goal_index]
    dx = spot.x - f.x
    dy = spot.y - f.y
    straight = math.sqrt(dx * dx + dy * dy)
    far = straight
    if straight > 3.0 * floor.dims[3] and spot.site >= 0:
        away = float(floor.site_dist[spot.site, f.cell])
        if away < NO_WAY:
            far = max(away, straight)
            dx = floor.site_next[spot.site, f.cell, 0] - f.x
            dy = floor.site_next[spot.site, f.cell, 1] - f.y
    d = math.sqrt(dx * dx + dy * dy)
    if d < 1e-6:
        return 0.0, 0.0, far
    return dx / d, dy / d, far


@rule
def feeding_speed(state: State, floor: Floor, i: int) -> float:
    """Return how fast (m/s) a hungry fish swims: hurrying to the food, then all but still there."""
    f = state.fish[i]
    _, _, far = way_to_food(state, floor, i)
    return 2.5 * f.cruise if far > 0.5 * f.length else 0.5 * f.cruise


@rule
def corner_of(floor: Floor, index: int) -> tuple[float, float]:
    """Return a corner of the footprint (m), 0 to 3, 4 cm off the glass."""
    inset = min(0.04, 0.1 * floor.dims[1])
    x = inset if index % 2 == 0 else floor.dims[0] - inset
    y = inset if index < 2 else floor.dims[1] - inset
    return x, y


@small_rule
def change_layer(state: State, floor: Floor, i: int, dt: float) -> None:
    """Let a fish change its layer by its habit, where no piece is in the way.

    A fish that seeks a door goes to the floor, one that seeks a corner to the surface.
    """
    f = state.fish[i]
    key = chain(chain(f.key, LAYER), state.tank[0].tick)
    wanted = f.layer
    if f.goal == TO_DOOR:
        wanted = 0
    elif f.goal == TO_CORNER:
        wanted = 2
    elif low_half(key) < dt / state.par[0].layer_dwell:
        u = high_half(key)
        if u < f.floor_share:
            wanted = 0
        elif u < f.floor_share + f.middle_share:
            wanted = 1
        else:
            wanted = 2
    if wanted > f.layer:
        f.layer += 1
    elif wanted < f.layer and floor.clear[f.layer - 1, f.cell] > 0.75 * floor.dims[3]:
        f.layer -= 1


@small_rule
def lean(state: State, floor: Floor, i: int) -> tuple[float, float]:
    """Return the vector (1/s) by which a fish's heading leans toward what it wants."""
    f = state.fish[i]
    p = state.par[0]
    px = p.flee_pull * f.push_x
    py = p.flee_pull * f.push_y
    if f.goal == TO_DOOR:
        dx, dy, _ = way(floor, f.cell, f.x, f.y, f.goal_index)
        return px + p.cover_pull * dx, py + p.cover_pull * dy
    if f.goal == TO_CORNER:
        cx, cy = corner_of(floor, f.goal_index)
        dx = cx - f.x
        dy = cy - f.y
        d = math.sqrt(dx * dx + dy * dy) + 1e-6
        return px + p.cover_pull * dx / d, py + p.cover_pull * dy / d
    if f.goal == TO_FOOD:
        fx, fy, _ = way_to_food(state, floor, i)
        return px + p.food_pull * fx, py + p.food_pull * fy
    if f.lured >= 0 and state.broods[f.lured].place >= 0:
        there = state.broods[f.lured].place
        dx = floor.site_next[there, f.cell, 0] - f.x
        dy = floor.site_next[there, f.cell, 1] - f.y
        d = math.sqrt(dx * dx + dy * dy) + 1e-6
        px += p.lure_pull * dx / d
        py += p.lure_pull * dy / d
    elif f.site >= 0:
        away = floor.site_dist[f.site, f.cell]
        if f.tether < away < NO_WAY:
            dx = floor.site_next[f.site, f.cell, 0] - f.x
            dy = floor.site_next[f.site, f.cell, 1] - f.y
            d = math.sqrt(dx * dx + dy * dy) + 1e-6
            pull = p.home_pull * min(away / f.tether - 0.5, 2.0)
            px += pull * dx / d
            py += pull * dy / d
    elif f.school_n > 0.0:
        dx = f.school_x / f.school_n - f.x
        dy = f.school_y / f.school_n - f.y
        d = math.sqrt(dx * dx + dy * dy) + 1e-6
        pull = p.school_pull * f.shoaling * min(d / (3.0 * f.length), 1.0)
        px += pull * dx / d
        py += pull * dy / d
    near = 1.5 * f.length
    if f.x < near:
        px += p.glass_pull * (1.0 - f.x / near)
    elif f.x > floor.dims[0] - near:
        px -= p.glass_pull * (1.0 - (floor.dims[0] - f.x) / near)
    if f.y < near:
        py += p.glass_pull * (1.0 - f.y / near)
    elif f.y > floor.dims[1] - near:
        py -= p.glass_pull * (1.0 - (floor.dims[1] - f.y) / near)
    return px, py


@small_rule
def steer(state: State, floor: Floor, i: int, dt: float) -> None:
    """Turn one calm fish for the next look's time, and set its speed.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i
        The fish.
    dt
        Time since it last steered, s.
    """
    f = state.fish[i]
    p = state.par[0]
    f.stamina = min(1.0, f.stamina + dt / p.recovery_time)
    if f.room >= 0:
        f.speed = 0.0
        return
    key = chain(chain(f.key, WALK), state.tank[0].tick)
    px, py = lean(state, floor, i)
    # Two uniform numbers of variance 1/12 make a random vector of the wanted variance.
    spread = p.wander * math.sqrt(12.0 * dt)
    hx = f.head_x + px * dt + spread * (low_half(key) - 0.5)
    hy = f.head_y + py * dt + spread * (high_half(key) - 0.5)
    norm = math.sqrt(hx * hx + hy * hy)
    if norm > 1e-9:
        norm = 1.0 / norm
        f.head_x = hx * norm
        f.head_y = hy * norm
    pace = chain(key, 1)
    if low_half(pace) < dt / PACE_TIME:
        f.pace = 0.2 + 1.6 * high_half(pace)
    speed = f.cruise * f.pace
    if f.goal == TO_FOOD:
        speed = feeding_speed(state, floor, i)
    elif f.goal != NOWHERE:
        speed = 2.5 * f.cruise
    elif f.push_x != 0.0 or f.push_y != 0.0:
        speed = max(speed, 1.5 * f.cruise)
    f.speed = speed


@small_rule
def cruise(state: State, floor: Floor, i: int) -> None:
    """Advance one calm fish by one tick along its heading."""
    f = state.fish[i]
    if f.room >= 0:
        return
    step = f.speed * state.settings[0].tick
    x = f.x + f.head_x * step
    y = f.y + f.head_y * step
    if (
        step < floor.dims[7]
        and floor.clear[f.layer, f.cell] > step + floor.dims[3]
        and GLASS < x < floor.dims[0] - GLASS
        and GLASS < y < floor.dims[1] - GLASS
    ):
        # Open water all round: nothing to meet.
        f.x = x
        f.y = y
        f.cell = cell_at(floor, x, y)
    else:
        advance_fish(state, floor, i, step)
    if f.goal == TO_DOOR:
        enter_if_there(state, floor, i)


@rule
def advance_fish(state: State, floor: Floor, i: int, distance: float) -> None:
    """Move a fish by a distance (m) along its heading, in pieces no longer than the margin."""
    f = state.fish[i]
    parts = int(distance / (0.8 * floor.dims[7])) + 1
    step = distance / parts
    for _ in range(parts):
        x, y, met = slide(floor, f.x, f.y, f.head_x * step, f.head_y * step, f.layer)
        mx = x - f.x
        my = y - f.y
        f.x = x
        f.y = y
        if met > 0:
            moved = math.sqrt(mx * mx + my * my)
            if moved > 0.05 * step and moved > 1e-9:
                f.head_x = mx / moved
                f.head_y = my / moved
            else:
                f.head_x = -f.head_x
                f.head_y = -f.head_y
    f.cell = cell_at(floor, f.x, f.y)
