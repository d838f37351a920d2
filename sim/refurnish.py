"""Refurnish: what becomes of the fish and what they hold when the pieces of a tank change.

Fish that would stand in a stone are put to the nearest free place. Places are followed by the
piece they belong to, or by where they are: an owner loses a site whose place has gone, has moved,
or lies behind a divider now. Re-arranging takes the place memory of the others, too: they are
residents of today.

References
----------
None found: that a re-arranged tank has no owners is common practice, no source; what ends an
ownership, and by which distance, is assumed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from sim.compartments import GLASS_M
from sim.rules.codes import IN_TANK, NO_BROOD, NOWHERE, ON, RESTING
from sim.rules.occasion import LOSE_NEST, LOSE_SITE, do
from sim.start import fill_fits
from sim.state import State
from sim.tables import cell_of

if TYPE_CHECKING:
    from sim.layout import Layout, Site

SAME_M = 0.02  # a place that is no farther off is the same place (assumed)
CLEAR_M = 0.004  # a fish keeps at least this far from a piece


def refurnish(state: State, old: Layout, new: Layout, *, rearranged: bool) -> None:
    """Carry a run over from one stage of the furniture to another.

    Parameters
    ----------
    state
        State of the run, between two strides, with nobody in a chase or a contest.
    old, new
        The layouts before and after.
    rearranged
        Whether pieces were given new places, which ends every owner's advantage of residence.
    """
    floor = new.floor()
    fill_fits(state, floor)
    state.fish["glance"] = 0  # what was seen is told by the tables of the layout it was seen in
    _move_fish(state, old, new)
    where = np.array([same_site(site, old, new) for site in old.sites] or [-1], dtype=np.int64)
    for i, fish in enumerate(state.fish):
        if fish.site < 0:
            continue
        site = int(where[fish.site])
        if site >= 0 and floor.site_compartment[site] == fish.compartment:
            fish.site = site
            if rearranged:
                fish.site_since = state.tank.clock[0]
        else:
            do(state, floor, LOSE_SITE, i, 0.0, 0.0)
    _move_brood(state, old, new, where)


def _move_fish(state: State, old: Layout, new: Layout) -> None:
    """Put every fish where it can be, in its room where that is still there."""
    floor = new.floor()
    dims = floor.dims
    rooms = [_same_room(index, old, new) for index in range(len(old.rooms))]
    for fish in state.fish:
        if fish.presence != IN_TANK:
            continue
        fish.goal = NOWHERE
        if fish.room >= 0:
            fish.room = rooms[int(fish.room)]
            if fish.room >= 0:
                continue
            fish.layer = 0
        fish.hiding = 0
        at = shapely.Point(fish.x, fish.y)
        solid = [piece.outline for piece in new.solid(int(fish.layer))]
        if any(outline.distance(at) < CLEAR_M for outline in solid):
            fish.x, fish.y = _nearest_free(new, float(fish.x), float(fish.y))
        fish.x = min(max(fish.x, GLASS_M), new.length_m - GLASS_M)
        fish.y = min(max(fish.y, GLASS_M), new.width_m - GLASS_M)
        fish.compartment = new.compartments.of([(fish.x, fish.y)])[0]
    xy = np.stack([state.fish.x, state.fish.y], axis=1)
    outside = (state.fish.presence == IN_TANK) & (state.fish.room < 0)
    cells = cell_of(xy, nx=int(dims[4]), ny=int(dims[5]), cell_m=float(dims[3]))
    state.fish.cell[outside] = cells[outside]
    for fish in state.fish:
        if fish.presence == IN_TANK and fish.room >= 0:
            door = int(floor.room_door[fish.room, 0])
            fish.x, fish.y = floor.room_xy[fish.room]
            fish.cell = cell_of(
                floor.door_out[door : door + 1],
                nx=int(dims[4]),
                ny=int(dims[5]),
                cell_m=float(dims[3]),
            )[0]
            fish.compartment = floor.door_compartment[door]


def _nearest_free(new: Layout, x: float, y: float) -> tuple[float, float]:
    """Return the nearest point (m) where a fish can swim near the floor."""
    moved = new.ways.free_points([(x, y)])[0]
    return (x, y) if np.isnan(moved).any() else (float(moved[0]), float(moved[1]))


def _same_room(index: int, old: Layout, new: Layout) -> int:
    """Return the room of the new layout that is the old one, in its place; -1 where it is gone."""
    room = old.rooms[index]
    for number, other in enumerate(new.rooms):
        near = np.hypot(other.point[0] - room.point[0], other.point[1] - room.point[1]) < SAME_M
        if other.name == room.name and near:
            return number
    return -1


def same_site(site: Site, old: Layout, new: Layout) -> int:
    """Return the site of the new layout that is the same place as an old one.

    Parameters
    ----------
    site
        Of the old layout.
    old, new
        The layouts before and after.

    Returns
    -------
    int
        Index into the sites of the new layout; -1 where it has gone or has moved.
    """
    named = old.pieces[site.piece].name if site.piece >= 0 else ""
    best, index = SAME_M, -1
    for number, other in enumerate(new.sites):
        owner = new.pieces[other.piece].name if other.piece >= 0 else ""
        if other.kind != site.kind or owner != named:
            continue
        away = float(np.hypot(other.point[0] - site.point[0], other.point[1] - site.point[1]))
        if away < best:
            best, index = away, number
    return index


def _move_brood(state: State, old: Layout, new: Layout, where: np.ndarray) -> None:
    """Let the pair's places follow; young in a nest that has gone are lost."""
    tank = state.tank[0]
    if tank.asked_site >= 0:
        tank.asked_site = _asked(int(tank.asked_site), old, new)
    for k, row in enumerate(state.broods):
        if row.asked >= 0:
            row.asked = _asked(int(row.asked), old, new)
        if row.there == 0 or row.nest < 0:
            continue
        nest, place = int(where[int(row.nest)]), int(where[int(row.place)])
        lost = nest < 0
        if lost:
            nest = new.find_site(old.sites[int(row.nest)].point)
        if place < 0:
            place = new.find_site(old.sites[int(row.place)].point)
        row.nest, row.place = nest, place
        for i in (int(row.mother), int(row.father)):
            there = i >= 0 and state.fish.mate[i] >= 0 and state.fish.presence[i] == IN_TANK
            if there and row.stage > NO_BROOD and (row.stage < RESTING or tank.breeding == ON):
                state.fish.site[i] = place
        if lost:
            do(state, new.floor(), LOSE_NEST, k, 0.0, 0.0)


def _asked(site: int, old: Layout, new: Layout) -> int:
    """Return the site of the new layout that pairs were asked to spawn at."""
    asked = old.sites[site]
    return new.find_site(asked.point if asked.piece < 0 else old.pieces[asked.piece].name)
