"""The grids and tables that the compiled rules read, made once from a layout."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from sim.by_reference import by_reference
from sim.raster import bin_sides, hiding_levels, seen_from, swim_ways

if TYPE_CHECKING:
    from sim.layout import Layout
    from sim.pieces import PlacedPiece

F8 = NDArray[np.float64]
F4 = NDArray[np.float32]
I8 = NDArray[np.int64]
I4 = NDArray[np.int32]
U1 = NDArray[np.uint8]

CELL_M = 0.04
CELLS_AT_MOST = 4000  # a table of what sees what is then 2 MB
FAR_M = 99.0  # stands for "no way there" and "nothing near"
LEANS_M = 0.003  # no fish looks past the edge of a divider through a gap of this width
ROUNDING_M = 1e-5  # what single precision may add to a way
MARGIN_M = 0.05  # a move of this length from anywhere in a cell meets only sides in its bin


@by_reference
class Floor(NamedTuple):
    """Everything about a layout that the compiled rules read; all arrays are C-contiguous.

    Cells are row-major (index = iy * nx + ix) with their centre at ((ix + .5) cell,
    (iy + .5) cell). What is said of a cell holds at its centre, or, where the centre lies
    beyond the glass or inside a piece, at the nearest free point (see `cell_points`).
    """

    dims: F8
    """`(10,)`: length, width, height, cell (m), nx, ny, n_cells, margin (m), 1 / cell, and how far
    (m) a fish can be from the point that stands for its cell."""
    edges: F8
    """`(n_edges, 4)`: x1, y1, x2, y2 of every side that blocks swimming near the floor."""
    edge_top: I8
    """`(n_edges,)`: the highest layer (0 to 2) in which that side blocks."""
    bin_start: I4
    """`(n_cells + 1,)`: where a cell's sides start in `bin_edge`."""
    bin_edge: I4
    """`(m,)`: sides within half the cell's diagonal plus the margin of its centre."""
    clear: F4
    """`(3, n_cells)`: m from the cell to the nearest blocking outline of the layer (the glass
    not counted); 0 inside a piece; 99 where there is none."""
    free: U1
    """`(3, n_cells)`: 1 where the centre lies in the glass and outside blocking pieces."""
    sight: U1
    """`(n_tables, n_cells, n_cells / 8)`: a bit for each cell, the lowest first, 1 where one cell
    sees the other."""
    sight_of: I8
    """`(5,)`: the table for a pair of layers, by their sum; -1 where everything is seen."""
    site_xy: F8
    """`(n_sites, 2)`: m."""
    site_kind: I8
    """`(n_sites,)`: 0 open floor, 1 cave (just outside its door), 2 flat surface, 3 rock edge."""
    site_room: I8
    """`(n_sites,)`: the room of a cave, else -1."""
    site_cell: I8
    """`(n_sites,)`: the cell the site lies in."""
    site_compartment: I8
    """`(n_sites,)`: the compartment the site lies in."""
    site_dist: F4
    """`(n_sites, n_cells)`: m to swim near the floor; 99 where there is no way."""
    site_next: F4
    """`(n_sites, n_cells, 2)`: the next way point (m) from the cell toward the site; where that
    corner lies in the cell, a point past it, so that who stands on the corner is led on."""
    site_seen: U1
    """`(n_sites, n_cells)`: 1 where the cell sees the site near the floor."""
    door_out: F8
    """`(n_doors, 2)`: a point just outside the outline (m)."""
    door_in: F8
    """`(n_doors, 2)`: a point inside the room (m)."""
    door_size: F8
    """`(n_doors, 2)`: width and height (m)."""
    door_room: I8
    """`(n_doors,)`: the room the door opens into."""
    door_compartment: I8
    """`(n_doors,)`: the compartment `door_out` lies in."""
    door_dist: F4
    """`(n_doors, n_cells)`: m to swim near the floor to `door_out`; 99 where there is no way."""
    door_next: F4
    """`(n_doors, n_cells, 2)`: the next way point (m) toward `door_out`, likewise."""
    room_xy: F8
    """`(n_rooms, 2)`: a point inside (m)."""
    room_area: F8
    """`(n_rooms,)`: floor area (m2)."""
    room_height: F8
    """`(n_rooms,)`: m."""
    room_door: I8
    """`(n_rooms, 2)`: first door and number of doors; doors are sorted by room."""
    room_through: U1
    """`(n_rooms,)`: 1 for the doorway of a divider, whose two doors are on either side."""
    cell_compartment: I8
    """`(n_cells,)`: the compartment the cell's centre lies in."""
    compartment_sight: U1
    """`(n_compartments, n_compartments)`: 1 where one can be seen from the other."""


def build_floor(layout: Layout) -> Floor:
    """Return the tables of a layout.

    Parameters
    ----------
    layout
        Exact geometry; `layout.floor()` calls this once and keeps the answer.

    Returns
    -------
    Floor
    """
    nx, ny, cell_m = cell_grid(length_m=layout.length_m, width_m=layout.width_m)
    n_cells = nx * ny
    centres = cell_centres(nx=nx, ny=ny, cell_m=cell_m)
    points, aside = cell_points(layout, centres)
    solid = layout.solid(0)
    edges = outline_sides([piece.outline for piece in solid])[2]
    n_sides = [len(shapely.get_coordinates(piece.outline)) - 1 for piece in solid]
    reach_m = cell_m * math.sqrt(0.5) + MARGIN_M
    bin_start, bin_edge = bin_sides(edges, nx, ny, cell_m, reach_m)
    clear, free = _clearance(layout, centres)
    sight, sight_of = _sight(layout, points)
    sites, doors, rooms = layout.sites, layout.doors, layout.rooms
    site_xy = _points([site.point for site in sites])
    door_out = _points([door.outside for door in doors])
    dist, way = _swim(layout, centres, cell_m, targets=np.concatenate([site_xy, door_out]))
    low = sorted((p for p in layout.pieces if p.sight_top >= 0), key=lambda p: -p.sight_top)
    cell_compartment = layout.compartments.of(centres)
    n_doors = np.array([len(room.doors) for room in rooms], dtype=np.int64)
    room_xy = _points([room.point for room in rooms])
    depth = np.linalg.norm(door_out - np.repeat(room_xy, n_doors, axis=0), axis=1)
    return Floor(
        dims=np.array(
            [
                *(layout.length_m, layout.width_m, layout.height_m),
                *(cell_m, nx, ny, n_cells, MARGIN_M, 1.0 / cell_m),
                cell_m * math.sqrt(0.5) + aside.max() + depth.max(initial=0.0) + ROUNDING_M,
            ]
        ),
        edges=edges,
        edge_top=np.repeat(np.array([p.swim_top for p in solid], dtype=np.int64), n_sides),
        bin_start=bin_start,
        bin_edge=bin_edge,
        clear=clear,
        free=free,
        sight=np.packbits(sight, axis=-1, bitorder="little"),
        sight_of=sight_of,
        site_xy=site_xy,
        site_kind=np.array([site.kind for site in sites], dtype=np.int64),
        site_room=np.array([site.room for site in sites], dtype=np.int64),
        site_cell=cell_of(site_xy, nx=nx, ny=ny, cell_m=cell_m),
        site_compartment=layout.compartments.of(site_xy),
        site_dist=np.ascontiguousarray(dist[: len(sites)]),
        site_next=np.ascontiguousarray(way[: len(sites)]),
        site_seen=seen_from(site_xy, points, *outline_sides([sight_outline(p) for p in low])),
        door_out=door_out,
        door_in=_points([door.inside for door in doors]),
        door_size=_points([(door.width_m, door.height_m) for door in doors]),
        door_room=np.array([door.room for door in doors], dtype=np.int64),
        door_compartment=layout.compartments.of(door_out),
        door_dist=np.ascontiguousarray(dist[len(sites) :]),
        door_next=np.ascontiguousarray(way[len(sites) :]),
        room_xy=room_xy,
        room_area=np.array([room.area_m2 for room in rooms], dtype=np.float64),
        room_height=np.array([room.height_m for room in rooms], dtype=np.float64),
        room_door=np.stack([np.cumsum(n_doors) - n_doors, n_doors], axis=1),
        room_through=np.array([room.through for room in rooms], dtype=np.uint8),
        cell_compartment=cell_compartment,
        compartment_sight=_compartment_sight(layout, cell_compartment, sight, sight_of),
    )


def cell_grid(*, length_m: float, width_m: float) -> tuple[int, int, float]:
    """Return the cells along x and y, and their side.

    Parameters
    ----------
    length_m, width_m
        Of the footprint.

    Returns
    -------
    tuple
        nx, ny and the side (m): 4 cm, or what covers the footprint with at most `CELLS_AT_MOST`.
    """
    cell_m = max(CELL_M, math.sqrt(length_m * width_m / CELLS_AT_MOST))
    while True:
        nx, ny = (max(math.ceil(size_m / cell_m - 1e-9), 1) for size_m in (length_m, width_m))
        if nx * ny <= CELLS_AT_MOST:
            return nx, ny, cell_m
        # the least larger cell that saves a row or a column
        cell_m = min(size_m / (n - 1) for size_m, n in ((length_m, nx), (width_m, ny)) if n > 1)


def cell_centres(*, nx: int, ny: int, cell_m: float) -> F8:
    """Return the centres of the cells, `(n_cells, 2)` in m, row by row."""
    iy, ix = np.divmod(np.arange(nx * ny), nx)
    return np.stack([(ix + 0.5) * cell_m, (iy + 0.5) * cell_m], axis=1)


def cell_of(points: F8, *, nx: int, ny: int, cell_m: float) -> I8:
    """Return the cell each point lies in, `(n,)`; points beyond the glass in the nearest."""
    ix, iy = np.clip((points / cell_m).astype(np.int64), 0, [nx - 1, ny - 1]).T
    cells: I8 = iy * nx + ix
    return cells


def cell_points(layout: Layout, centres: F8) -> tuple[F8, F8]:
    """Return the point that stands for each cell: the free one nearest to its centre.

    Parameters
    ----------
    layout
        Exact geometry.
    centres
        `(n_cells, 2)`, m.

    Returns
    -------
    tuple of ndarray
        `(n_cells, 2)` points near the floor (m), and `(n_cells,)` their distance from the centre
        held to the glass; the centre itself where the whole tank is full.
    """
    held = np.clip(centres, 0.0, [layout.length_m, layout.width_m])
    points = layout.ways.free_points(held)
    points = np.where(np.isnan(points), held, points)
    return points, np.hypot(*(points - held).T)


def outline_sides(outlines: Sequence[Polygon]) -> tuple[F8, I8, F8]:
    """Return outlines as the compiled loops read them.

    Parameters
    ----------
    outlines
        Polygons, m.

    Returns
    -------
    tuple of ndarray
        `(n_shapes, 3)` circles round them (x, y, radius); `(n_shapes + 1,)` where the sides of
        each start; `(n_sides, 4)` sides (x1, y1, x2, y2).
    """
    rounds, sides = [np.empty((0, 3))], [np.empty((0, 4))]
    first = [0]
    for outline in outlines:
        rings = [shapely.get_coordinates(ring) for ring in (outline.exterior, *outline.interiors)]
        sides += [np.hstack([xy[:-1], xy[1:]]) for xy in rings]
        first.append(first[-1] + sum(len(xy) - 1 for xy in rings))
        middle = (rings[0].min(axis=0) + rings[0].max(axis=0)) / 2
        radius = np.hypot(*(rings[0] - middle).T).max() + 1e-9
        rounds.append(np.array([[*middle, radius]]))
    return (
        np.ascontiguousarray(np.concatenate(rounds)),
        np.array(first, dtype=np.int64),
        np.ascontiguousarray(np.concatenate(sides)),
    )


def sight_outline(piece: PlacedPiece) -> Polygon:
    """Return the outline that hides: of a divider a little more, since it leans on the glass."""
    if piece.is_divider:
        grown: Polygon = piece.outline.buffer(LEANS_M, join_style="mitre")
        return grown
    return piece.outline


def _points(rows: Sequence[tuple[float, float]]) -> F8:
    return np.array(rows, dtype=np.float64).reshape(-1, 2)


def _clearance(layout: Layout, centres: F8) -> tuple[F4, U1]:
    n_cells = len(centres)
    clear = np.full((3, n_cells), FAR_M, dtype=np.float32)
    free = np.zeros((3, n_cells), dtype=np.uint8)
    in_glass = ((centres > 0) & (centres < [layout.length_m, layout.width_m])).all(axis=1)
    points = shapely.points(centres)
    for layer in range(3):
        outlines = [piece.outline for piece in layout.solid(layer)]
        if outlines:
            tree = shapely.STRtree(outlines)
            nearest, away = tree.query_nearest(points, return_distance=True, all_matches=False)
            clear[layer, nearest[0]] = away
        free[layer] = in_glass & (clear[layer] > 0)
    return clear, free


def _sight(layout: Layout, points: F8) -> tuple[U1, I8]:
    """Return one table for each set of levels that the same pieces hide."""
    hiding = sorted((p for p in layout.pieces if p.sight_top >= 0), key=lambda p: -p.sight_top)
    top = np.array([piece.sight_top for piece in hiding], dtype=np.int64)
    levels = hiding_levels(points, *outline_sides([sight_outline(p) for p in hiding]), top)
    heights = np.unique(top)
    sight_of = np.array([np.searchsorted(heights, k) for k in range(5)], dtype=np.int64)
    sight_of[sight_of == len(heights)] = -1
    tables = [(levels <= level).astype(np.uint8) for level in heights]
    shape = (len(heights), len(points), len(points))
    return np.array(tables, dtype=np.uint8).reshape(shape), sight_of


def _compartment_sight(layout: Layout, compartment: I8, sight: U1, sight_of: I8) -> U1:
    """Return which compartments are seen from which, near the surface and a cell off the sheet."""
    n = len(layout.compartments)
    seen = np.eye(n, dtype=np.uint8)
    if n == 1:
        return seen
    outlines = shapely.union_all([piece.outline for piece in layout.solid(2)])
    nx, ny, cell_m = cell_grid(length_m=layout.length_m, width_m=layout.width_m)
    centres = cell_centres(nx=nx, ny=ny, cell_m=cell_m)
    # A cell that the sheet runs through stands for the one side or the other.
    clear = shapely.distance(outlines, shapely.points(centres)) > cell_m
    table = int(sight_of[4])
    for a in range(n):
        for b in range(n):
            mine, theirs = (np.flatnonzero(clear & (compartment == k)) for k in (a, b))
            if table < 0 or (
                len(mine) and len(theirs) and sight[table][np.ix_(mine, theirs)].any()
            ):
                seen[a, b] = 1
    return seen


def _swim(layout: Layout, centres: F8, cell_m: float, *, targets: F8) -> tuple[F4, F4]:
    """Return distances and next way points from every cell to every target."""
    ways = layout.ways
    points, aside = cell_points(layout, centres)
    n_targets, n_cells = len(targets), len(points)
    if ways.free.is_empty or n_targets == 0:
        dist = np.full((n_targets, n_cells), FAR_M, dtype=np.float32)
        return dist, np.tile(points.astype(np.float32), (n_targets, 1, 1))
    far, after = ways.corner_distances(targets)
    outlines = outline_sides(ways.blockers)
    near = (points, aside, centres, cell_m)
    dist, way = swim_ways(*near, targets, far, after, ways.corners, *outlines)
    dist[~np.isfinite(dist)] = FAR_M
    return dist, way
