"""The tables of the tick against the exact geometry they are made from."""

from __future__ import annotations

import hashlib
import math
import os
import subprocess
import sys
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString

from sim.layout import Layout
from sim.tables import (
    CELLS_AT_MOST,
    FAR_M,
    MARGIN_M,
    Floor,
    cell_centres,
    cell_grid,
    cell_of,
    cell_points,
)
from tests.sim.layouts import block, furnished, inside, layout, piece, scattered


def bare() -> Layout:
    return layout([])


def filled() -> Layout:
    """A tank so full of stones that no lattice point is left, only gaps between them."""
    return layout(
        [
            piece("cobble", "4 in", 0.05 + 0.1 * i, 0.04 + 0.08 * j)
            for i in range(12)
            for j in (0, 1)
        ]
        + [block(1.2, 0.3, 0.61, 0.307)]
    )


def solid() -> Layout:
    return layout([block(0.4, 0.3, 0.2, 0.15)], length_m=0.4, width_m=0.3)


def tiny() -> Layout:
    return layout([piece("coconut", "4 in", 0.1, 0.1)], length_m=0.2, width_m=0.2, height_m=0.2)


def huge() -> Layout:
    return layout([piece("boulder", "12 in", 5.0, 9.0)], length_m=20.0, width_m=20.0, height_m=1.0)


TANKS = [bare, furnished, filled, solid, tiny, huge, lambda: scattered(1), lambda: scattered(2)]


def centres_of(floor: Floor) -> np.ndarray:
    return cell_centres(nx=int(floor.dims[4]), ny=int(floor.dims[5]), cell_m=floor.dims[3])


# --- shapes and sizes ---------------------------------------------------------------------------


@pytest.mark.parametrize("tank", TANKS)
def test_every_array_has_its_shape_and_type(tank: Callable[[], Layout]) -> None:
    made = tank()
    floor = made.floor()
    n_cells = int(floor.dims[6])
    n_sites, n_doors, n_rooms = len(made.sites), len(made.doors), len(made.rooms)
    n_edges, m, n_tables = len(floor.edges), len(floor.bin_edge), len(floor.sight)
    expected = {
        "dims": ("f8", (10,)),
        "edges": ("f8", (n_edges, 4)),
        "edge_top": ("i8", (n_edges,)),
        "bin_start": ("i4", (n_cells + 1,)),
        "bin_edge": ("i4", (m,)),
        "clear": ("f4", (3, n_cells)),
        "free": ("u1", (3, n_cells)),
        "sight": ("u1", (n_tables, n_cells, -(-n_cells // 8))),
        "sight_of": ("i8", (5,)),
        "site_xy": ("f8", (n_sites, 2)),
        "site_kind": ("i8", (n_sites,)),
        "site_room": ("i8", (n_sites,)),
        "site_cell": ("i8", (n_sites,)),
        "site_compartment": ("i8", (n_sites,)),
        "site_dist": ("f4", (n_sites, n_cells)),
        "site_next": ("f4", (n_sites, n_cells, 2)),
        "site_seen": ("u1", (n_sites, n_cells)),
        "door_out": ("f8", (n_doors, 2)),
        "door_in": ("f8", (n_doors, 2)),
        "door_size": ("f8", (n_doors, 2)),
        "door_room": ("i8", (n_doors,)),
        "door_compartment": ("i8", (n_doors,)),
        "door_dist": ("f4", (n_doors, n_cells)),
        "door_next": ("f4", (n_doors, n_cells, 2)),
        "room_xy": ("f8", (n_rooms, 2)),
        "room_area": ("f8", (n_rooms,)),
        "room_height": ("f8", (n_rooms,)),
        "room_door": ("i8", (n_rooms, 2)),
        "room_through": ("u1", (n_rooms,)),
        "cell_compartment": ("i8", (n_cells,)),
        "compartment_sight": ("u1", (len(made.compartments), len(made.compartments))),
    }
    assert tuple(expected) == Floor._fields
    for name, (kind, shape) in expected.items():
        array = getattr(floor, name)
        assert (array.dtype, array.shape) == (np.dtype(kind), shape), name
        assert array.flags.c_contiguous, name
    assert n_edges == sum(len(p.outline.exterior.coords) - 1 for p in made.solid(0))
    assert floor.dims[:3].tolist() == [made.length_m, made.width_m, made.height_m]
    assert floor.dims[6:9].tolist() == [
        floor.dims[4] * floor.dims[5],
        MARGIN_M,
        1.0 / floor.dims[3],
    ]
    for array in floor:
        assert not np.isnan(array).any()
    for table in floor.sight:
        assert table.nbytes <= 2e6


def sight_of(floor: Floor) -> np.ndarray:
    """Return the tables of sight with a row and a column for each cell, 0 or 1."""
    cells = int(floor.dims[6])
    bits: np.ndarray = np.unpackbits(floor.sight, axis=-1, count=cells, bitorder="little")
    return bits


@pytest.mark.parametrize("tank", [bare, furnished, lambda: scattered(6)])
def test_no_fish_is_farther_from_its_cell_point_than_told(tank: Callable[[], Layout]) -> None:
    """Ten thousand places in the glass, seed 1; a fish in a room has the cell of a door of it."""
    made = tank()
    floor = made.floor()
    points, _ = cell_points(made, centres_of(floor))
    xy = np.random.default_rng(1).uniform(0.0, floor.dims[:2], (10_000, 2))
    inside = floor.room_xy[floor.door_room]
    nx, ny = int(floor.dims[4]), int(floor.dims[5])
    of_cell = np.concatenate([xy, floor.door_out])
    cells = cell_of(of_cell, nx=nx, ny=ny, cell_m=float(floor.dims[3]))
    away = np.hypot(*(np.concatenate([xy, inside]) - points[cells]).T)
    assert away.max() <= floor.dims[9]
    assert away.max() > 0.5 * floor.dims[9]


def test_the_tables_are_made_once() -> None:
    tank = bare()
    assert tank.floor() is tank.floor()


@pytest.mark.parametrize(
    ("length_m", "width_m", "nx", "ny", "cell_m"),
    [
        (1.2, 0.44, 30, 11, 0.04),
        (1.22, 0.457, 31, 12, 0.04),
        (0.2, 0.2, 5, 5, 0.04),
        (0.03, 0.03, 1, 1, 0.04),
    ],
)
def test_cells_of_four_centimetres(
    length_m: float, width_m: float, nx: int, ny: int, cell_m: float
) -> None:
    assert cell_grid(length_m=length_m, width_m=width_m) == (nx, ny, cell_m)


def test_cells_cover_any_tank_and_keep_to_the_cap() -> None:
    """300 footprints (seed 2), 20 cm to 20 m a side: never more cells, never a strip left out."""
    rng = np.random.default_rng(2)
    for length_m, width_m in np.exp(rng.uniform(math.log(0.2), math.log(20), (300, 2))):
        nx, ny, cell_m = cell_grid(length_m=length_m, width_m=width_m)
        assert nx * ny <= CELLS_AT_MOST
        assert 0 <= nx * cell_m - length_m + 1e-8 <= cell_m + 2e-8
        assert 0 <= ny * cell_m - width_m + 1e-8 <= cell_m + 2e-8
        # no coarser than it must be: one row and column more would break the cap
        assert cell_m == 0.04 or (nx + 1) * (ny + 1) > CELLS_AT_MOST


def test_a_point_is_in_the_cell_whose_centre_is_nearest() -> None:
    nx, ny, cell_m = 30, 11, 0.04
    rng = np.random.default_rng(3)
    points = rng.uniform([0, 0], [1.2, 0.44], (200, 2))
    centres = cell_centres(nx=nx, ny=ny, cell_m=cell_m)
    away = np.abs(points[:, None] - centres).max(axis=2)
    assert (cell_of(points, nx=nx, ny=ny, cell_m=cell_m) == away.argmin(axis=1)).all()
    outside = cell_of(np.array([[-1.0, 9.0]]), nx=nx, ny=ny, cell_m=cell_m)
    assert outside[0] == 10 * 30


# --- what is near -------------------------------------------------------------------------------


@pytest.mark.parametrize("tank", [furnished, lambda: scattered(4), huge])
def test_bins_hold_every_side_a_move_can_meet(tank: Callable[[], Layout]) -> None:
    """Brute force: 4,000 points (seed 8), every side within the margin is in their cell's bin."""
    floor = tank().floor()
    length_m, width_m, _, cell_m, nx, ny, n_cells, margin_m = floor.dims[:8]
    assert margin_m == MARGIN_M
    rng = np.random.default_rng(8)
    points = rng.uniform([0, 0], [length_m, width_m], (4000, 2))
    lines = shapely.linestrings(floor.edges.reshape(-1, 2, 2))
    near = shapely.dwithin(shapely.points(points)[:, None], lines[None, :], MARGIN_M)
    cells = cell_of(points, nx=int(nx), ny=int(ny), cell_m=cell_m)
    listed = np.zeros((int(n_cells), len(lines)), dtype=bool)
    rows = np.repeat(np.arange(int(n_cells)), np.diff(floor.bin_start))
    listed[rows, floor.bin_edge] = True
    assert near.any()
    assert not (near & ~listed[cells]).any()
    # nothing twice, and nothing that is out of reach of the whole cell
    assert listed.sum() == len(floor.bin_edge)
    centres = shapely.points(centres_of(floor))
    away = shapely.distance(centres[:, None], lines[None, :])
    reach_m = cell_m / math.sqrt(2) + MARGIN_M
    assert (listed == (away <= reach_m))[np.abs(away - reach_m) > 1e-9].all()


def test_sides_block_up_to_the_layer_their_piece_reaches() -> None:
    floor = layout(
        [
            block(0.1, 0.1, 0.2, 0.2, height_m=0.10),
            block(0.1, 0.1, 0.5, 0.2, height_m=0.35),
            block(0.1, 0.1, 0.8, 0.2, height_m=0.55),
            piece("plant", "tall", 1.0, 0.2),
            piece("slate", "4 in", 0.35, 0.35),
        ],
        height_m=0.6,
    ).floor()
    assert floor.edge_top.tolist() == [0] * 4 + [1] * 4 + [2] * 4
    assert floor.edges[:4, 0].min() == pytest.approx(0.15)


@pytest.mark.parametrize("tank", [furnished, lambda: scattered(5), tiny])
def test_clearance_and_free_cells(tank: Callable[[], Layout]) -> None:
    made = tank()
    floor = made.floor()
    centres = centres_of(floor)
    for layer in range(3):
        within = np.zeros(len(centres), dtype=bool)
        expected = np.full(len(centres), FAR_M)
        for thing in made.solid(layer):
            within |= inside(thing.outline, centres)
            away = shapely.distance(thing.outline.exterior, shapely.points(centres))
            expected = np.minimum(expected, away)
        expected[within] = 0.0
        assert floor.clear[layer] == pytest.approx(expected, abs=1e-6)
        in_glass = (centres < [made.length_m, made.width_m]).all(axis=1)
        assert (floor.free[layer] == (in_glass & ~within)).all()
    assert 0 < floor.free[0].sum() < len(centres)


def test_free_cells_add_up_to_the_open_floor() -> None:
    tank = layout([block(0.3, 0.2, 0.6, 0.24, turn_rad=0.3)], length_m=1.2, width_m=0.48)
    cells_m2 = tank.floor().free[0].sum() * 0.04**2
    # counting centres errs by less than half the outline times a cell; 0.010 m2 here
    assert abs(cells_m2 - tank.open_area_m2) < 0.5 * 1.0 * 0.04 / 4


# --- sight --------------------------------------------------------------------------------------


@pytest.mark.parametrize("tank", [furnished, lambda: scattered(6), lambda: scattered(7)])
def test_the_sight_tables_are_the_exact_lines_of_sight(tank: Callable[[], Layout]) -> None:
    """Every pair of cells at every level, against shapely's intersections with the outlines."""
    made = tank()
    floor = made.floor()
    points, _ = cell_points(made, centres_of(floor))
    one, other = np.triu_indices(len(points), k=1)
    lines = shapely.linestrings(np.stack([points[one], points[other]], axis=1))
    for level in range(5):
        rims = [p.outline.exterior for p in made.pieces if p.sight_top >= level]
        if not rims:
            assert floor.sight_of[level] == -1
            continue
        every = shapely.union_all(rims)
        shapely.prepare(every)
        table = sight_of(floor)[floor.sight_of[level]]
        wrong = table[one, other] != ~shapely.intersects(every, lines)
        # a line that touches a rim to within rounding may go either way
        for line in lines[wrong]:
            assert any(rim.distance(line) < 1e-9 for rim in rims)
            assert all(shapely.Polygon(rim).intersection(line).length < 1e-6 for rim in rims)
        assert wrong.sum() < 5
        assert 0 < table[one, other].mean() < 1
        assert (table == table.T).all()
        assert table.diagonal().all()


def test_levels_that_the_same_pieces_hide_share_a_table() -> None:
    floor = layout([block(0.1, 0.2, 0.6, 0.2, height_m=0.35)], height_m=0.6).floor()
    # the one piece hides lines at 6, 20 and 30 cm, not those at 40 and 50 cm
    assert floor.sight_of.tolist() == [0, 0, 0, -1, -1]
    assert len(floor.sight) == 1


def test_a_taller_level_sees_at_least_as_much() -> None:
    sight = sight_of(furnished().floor())
    assert len(sight) == 3
    assert (sight[:-1] <= sight[1:]).all()
    assert (sight[:-1] < sight[1:]).any()


def test_sites_are_seen_as_the_layout_says() -> None:
    """400 pairs of site and cell (seed 4) against `Layout.sees`."""
    made = furnished()
    floor = made.floor()
    points, _ = cell_points(made, centres_of(floor))
    rng = np.random.default_rng(4)
    seen = 0
    for _ in range(400):
        site, cell = rng.integers(len(made.sites)), rng.integers(len(points))
        expected = made.sees(made.sites[site].point, tuple(points[cell]))
        assert floor.site_seen[site, cell] == expected
        seen += expected
    assert 50 < seen < 350


# --- ways ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("tank", [furnished, lambda: scattered(0), lambda: scattered(5), tiny])
def test_distances_and_way_points_are_the_exact_ones(tank: Callable[[], Layout]) -> None:
    """300 pairs of target and cell (seed 9) against the layout's own visibility graph.

    Single precision and the slack of 1e-5 m between grown outlines set the tolerance.
    """
    made = tank()
    floor = made.floor()
    cell_m = floor.dims[3]
    centres = np.clip(centres_of(floor), 0, [made.length_m, made.width_m])
    _, aside = cell_points(made, centres_of(floor))
    targets = np.concatenate([floor.site_xy, floor.door_out])
    dist = np.concatenate([floor.site_dist, floor.door_dist])
    way = np.concatenate([floor.site_next, floor.door_next])
    stones = shapely.union_all([p.outline for p in made.solid(0)])
    rng = np.random.default_rng(9)
    bent = 0
    for _ in range(300):
        target, cell = rng.integers(len(targets)), rng.integers(len(centres))
        exact = made.swim_distance(tuple(centres[cell]), tuple(targets[target]))
        if not math.isfinite(exact):
            assert dist[target, cell] == np.float32(FAR_M)
            continue
        assert dist[target, cell] == pytest.approx(exact, abs=2e-5)
        point = way[target, cell].astype(float)
        rest = made.swim_distance(tuple(point), tuple(targets[target]))
        step, slack = math.dist(centres[cell], point), 2e-5 + 2 * aside[cell]
        bent += rest > 1e-5
        if exact - rest > step + slack:  # a corner in the cell is passed over
            assert step <= (0.625 * math.sqrt(2) + 2.0) * cell_m
            assert exact - rest <= (0.625 * math.sqrt(2) + 2.0) * cell_m + slack
            continue
        assert step + rest == pytest.approx(exact, abs=slack)
        if aside[cell] == 0:
            assert not LineString([centres[cell], point]).intersects(stones)
    if tank is not tiny:
        assert bent > 20


@pytest.mark.parametrize("tank", [furnished, lambda: scattered(0), lambda: scattered(5)])
def test_following_the_way_points_leads_to_every_target(tank: Callable[[], Layout]) -> None:
    """From 5 places to 8 targets (seed 6), 1 cm at a time, by the way point of the cell one is in.

    A step that would enter a stone goes to the nearest free point, and wanders by 5 mm sideways,
    as a fish does: a cell with a stone's end in it has one way point for both its sides. What that
    costs is bounded by a few cells; to be led nowhere would cost all 1,000 steps.
    """
    made = tank()
    floor = made.floor()
    length_m, width_m, _, cell_m, nx, ny = floor.dims[:6]
    rng = np.random.default_rng(6)
    starts = made.ways.free_points(rng.uniform([0, 0], [length_m, width_m], (5, 2)))
    targets = np.concatenate([floor.site_xy, floor.door_out])
    way = np.concatenate([floor.site_next, floor.door_next])
    followed = 0
    for target in rng.choice(len(targets), 8, replace=False):
        for start in starts:
            direct = made.swim_distance(tuple(start), tuple(targets[target]))
            if not math.isfinite(direct):
                continue
            at, steps = start, 0
            while math.dist(at, targets[target]) > 0.02 and steps < 1000:
                cell = int(cell_of(at[None], nx=int(nx), ny=int(ny), cell_m=cell_m)[0])
                aim = way[target, cell] - at
                at = at + aim * min(1, 0.01 / np.hypot(*aim)) + rng.uniform(-0.005, 0.005, 2)
                at = made.ways.free_points(at)[0]
                steps += 1
            assert steps * 0.01 <= 1.2 * direct + 10 * cell_m
            followed += direct > math.dist(start, targets[target]) + 1e-6
    assert followed > 5


def test_a_cell_beside_a_stone_and_one_past_the_glass_still_have_a_way() -> None:
    made = layout([block(0.2, 0.2, 0.6, 0.2)])
    floor = made.floor()
    assert floor.dims[5] * floor.dims[3] > made.width_m  # the last row hangs over the glass
    assert (floor.site_dist < 2.0).all()


def test_floor_behind_a_wall_is_out_of_reach() -> None:
    made = layout([block(0.1, 0.457, 0.6, 0.2285)])
    floor = made.floor()
    left = [site.point[0] < 0.6 for site in made.sites]
    x = centres_of(floor)[:, 0]
    far = floor.site_dist == np.float32(FAR_M)
    assert far[np.ix_(left, x > 0.66)].all()
    assert not far[np.ix_(left, x < 0.54)].any()


# --- rooms --------------------------------------------------------------------------------------


def test_rooms_and_doors_are_sorted_and_complete() -> None:
    made = furnished()
    floor = made.floor()
    assert floor.room_door.tolist() == [[0, 1], [1, 1], [2, 2], [4, 1]]
    for room, (first, count) in enumerate(floor.room_door):
        assert (floor.door_room[first : first + count] == room).all()
    for door, given in enumerate(made.doors):
        assert tuple(floor.door_out[door]) == given.outside
        assert tuple(floor.door_in[door]) == given.inside
        assert tuple(floor.door_size[door]) == (given.width_m, given.height_m)
    caves = floor.site_room >= 0
    assert floor.site_room[caves].tolist() == [0, 1, 2, 3]
    assert (floor.site_kind[caves] == 1).all()
    first_doors = floor.room_door[floor.site_room[caves], 0]
    assert (floor.site_xy[caves] == floor.door_out[first_doors]).all()
    assert (floor.room_area > 0).all()
    assert (floor.room_height > floor.door_size[floor.room_door[:, 0], 1]).all()


# --- bytes --------------------------------------------------------------------------------------


def digest() -> str:
    tank = layout(
        [piece("pot", "4 in", 0.2, 0.1, turn_rad=0.4), piece("cobble", "4 in", 0.33, 0.13)],
        length_m=0.4,
        width_m=0.25,
        height_m=0.3,
    )
    together = hashlib.sha256()
    for array in tank.floor():
        together.update(array.tobytes())
    return together.hexdigest()


def test_the_tables_are_the_same_bytes_with_the_compiler_off() -> None:
    code = "from tests.sim.test_tables import digest; print(digest())"
    environment = {**os.environ, "NUMBA_DISABLE_JIT": "1"}
    out = subprocess.run(
        [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True
    )
    assert out.stdout.strip() == digest()
