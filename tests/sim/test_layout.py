"""Exact geometry: ways round, lines of sight, rooms and doors, sites, and what is wrong."""

from __future__ import annotations

import math
import subprocess
import sys

import networkx
import numpy as np
import pytest
import shapely
from shapely.geometry import LineString

from sim.errors import Refused
from sim.layout import CAVE, FLAT, OPEN_FLOOR, ROCK_EDGE, SITE_GAP_M, Layout
from sim.scenario import Scenario
from sim.ways import BODY_M
from tests.sim.layouts import block, furnished, inside, layout, piece, scattered, scenario

# --- ways ---------------------------------------------------------------------------------------


def test_the_way_round_a_rectangular_stone_in_closed_form() -> None:
    tank = layout([block(0.2, 0.1, 0.6, 0.2)])
    # round two corners of the stone, which a fish passes BODY_M away along either side
    near_x, far_x, back_y = 0.5 - BODY_M, 0.7 + BODY_M, 0.25 + BODY_M
    start, end = (0.4, 0.21), (0.8, 0.21)
    expected = 2 * math.hypot(near_x - 0.4, back_y - 0.21) + (far_x - near_x)
    assert tank.swim_distance(start, end) == pytest.approx(expected, rel=1e-9)
    assert tank.swim_distance(end, start) == pytest.approx(expected, rel=1e-9)
    # round one corner only, from beside the stone to behind it
    corner = math.hypot(near_x - 0.4, back_y - 0.21) + math.hypot(0.65 - near_x, 0.28 - back_y)
    assert tank.swim_distance(start, (0.65, 0.28)) == pytest.approx(corner, rel=1e-9)
    # nothing in the way
    assert tank.swim_distance(start, (0.4, 0.4)) == pytest.approx(0.19, rel=1e-12)


def test_the_way_round_a_round_stone_is_two_tangents_and_an_arc() -> None:
    tank = layout([block(0.2, 0.2, 0.6, 0.2285, shape="ellipse")])
    start, end = (0.3, 0.2285), (0.9, 0.2285)
    radius_m = 0.1 + BODY_M
    tangent = math.sqrt(0.3**2 - radius_m**2)
    arc = radius_m * (math.pi - 2 * math.acos(radius_m / 0.3))
    # the stone is a polygon of 16 sides with the circle's area: within 0.7 % of its radius
    assert tank.swim_distance(start, end) == pytest.approx(2 * tangent + arc, rel=0.003)


def test_a_gap_is_a_way_only_where_a_fish_fits() -> None:
    def between(gap_m: float) -> float:
        pieces = [block(0.1, 0.2, 0.6, 0.1 - gap_m / 2), block(0.1, 0.237, 0.6, 0.3385)]
        pieces[0]["y_m"] = 0.22 - gap_m - 0.1
        return layout(pieces).swim_distance((0.4, 0.21), (0.8, 0.21))

    assert between(2 * BODY_M + 0.002) < 0.41
    # below that the only gap left is in front, between the glass and the first stone
    assert between(2 * BODY_M - 0.002) > 0.5


def test_floor_that_is_shut_off_cannot_be_reached() -> None:
    tank = layout([block(0.1, 0.457, 0.6, 0.2285)])
    assert tank.swim_distance((0.2, 0.2), (1.0, 0.2)) == math.inf
    assert tank.swim_distance((0.2, 0.2), (0.4, 0.2)) == pytest.approx(0.2)
    (warning,) = tank.warnings()
    assert warning.sentence.startswith("they shut off part of the floor, got 379 sq in (2445 cm2)")


def test_a_point_inside_a_stone_counts_from_the_nearest_free_one() -> None:
    tank = layout([block(0.2, 0.2, 0.6, 0.2285)])
    expected = 0.02 + BODY_M + (0.5 - BODY_M - 0.3)
    assert tank.swim_distance((0.3, 0.2285), (0.52, 0.2285)) == pytest.approx(expected)


def test_a_flat_slate_and_a_plant_are_no_obstacle() -> None:
    tank = layout([piece("slate", "12 in", 0.6, 0.2), piece("plant", "tall", 0.6, 0.2)])
    assert tank.swim_distance((0.3, 0.2), (0.9, 0.2)) == pytest.approx(0.6)
    assert tank.open_area_m2 == pytest.approx(1.22 * 0.457)


def full_visibility_graph(tank: Layout, ends: np.ndarray) -> float:
    """A second method: every corner joined to every other that it sees, then Dijkstra."""
    outlines = [p.outline for p in tank.pieces if p.blocks_swimming]
    grown = shapely.union_all([shapely.buffer(o, BODY_M, join_style="mitre") for o in outlines])
    core = grown.buffer(-1e-7, join_style="mitre")
    corners = [xy for xy in shapely.get_coordinates(grown) if tank.glass.covers(shapely.Point(xy))]
    xy = np.unique(np.concatenate([ends, np.array(corners).reshape(-1, 2)]), axis=0)
    one, other = np.triu_indices(len(xy), k=1)
    shapely.prepare(core)
    lines = shapely.linestrings(np.stack([xy[one], xy[other]], axis=1))
    open_ = ~shapely.intersects(core, lines)
    graph = networkx.Graph()
    graph.add_nodes_from(range(len(xy)))
    lengths = shapely.length(lines)
    graph.add_weighted_edges_from(
        zip(one[open_].tolist(), other[open_].tolist(), lengths[open_].tolist(), strict=True)
    )
    start, end = (int(np.flatnonzero((xy == point).all(axis=1))[0]) for point in ends)
    try:
        return float(networkx.dijkstra_path_length(graph, start, end))
    except networkx.NetworkXNoPath:
        return math.inf


@pytest.mark.parametrize("seed", range(6))
def test_ways_among_stones_at_random_match_a_full_visibility_graph(seed: int) -> None:
    tank = scattered(seed)
    rng = np.random.default_rng(100 + seed)
    bent = 0
    for _ in range(12):
        given = rng.uniform([0, 0], [1.22, 0.457], (2, 2))
        ends = tank.ways.free_points(given)
        aside = float(np.hypot(*(ends - given).T).sum())
        found = tank.swim_distance(tuple(given[0]), tuple(given[1]))
        expected = aside + full_visibility_graph(tank, ends)
        # outlines differ by the slack of 1e-5 m at a few corners
        assert found == pytest.approx(expected, abs=1e-4)
        bent += math.isfinite(found) and found > aside + math.dist(*ends) + 1e-6
    assert bent >= 3  # else the test would only have compared straight lines


def test_ways_are_bounded_by_the_shortest_path_on_a_fine_grid() -> None:
    """A third method that shares no geometry: 5 mm cells, 16 neighbours, scipy's Dijkstra.

    A path on 16 directions is at most 2.75 % longer than the true one; the stones' rim on the
    grid adds up to a cell at either end.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import dijkstra

    tank, step = scattered(3), 0.005
    nx, ny = 244, 91
    xy = np.stack(np.meshgrid(np.arange(nx) + 0.5, np.arange(ny) + 0.5), axis=-1) * step
    free = np.ones((ny, nx), dtype=bool)
    for stone in tank.solid(0):
        grown = shapely.buffer(stone.outline, BODY_M, join_style="mitre")
        free &= ~inside(grown, xy.reshape(-1, 2)).reshape(ny, nx)
    index = np.arange(nx * ny).reshape(ny, nx)
    rows, columns, weights = [], [], []
    steps = [(1, 0), (0, 1), (1, 1), (1, -1), (2, 1), (2, -1), (1, 2), (1, -2)]
    for dx, dy in steps:
        here = np.s_[max(0, -dy) : ny - max(0, dy), : nx - dx]
        there = np.s_[max(0, dy) : ny + min(0, dy), dx:]
        ok = free[here] & free[there]
        if abs(dx) + abs(dy) == 3:  # a knight's step may not cut a corner
            short = (int(math.copysign(abs(dy) // 2, dy)), dx // 2)
            mid = np.s_[
                here[0].start + short[0] : here[0].stop + short[0],
                short[1] : nx - dx + short[1],
            ]
            ok &= free[mid]
        rows.append(index[here][ok])
        columns.append(index[there][ok])
        weights.append(np.full(ok.sum(), step * math.hypot(dx, dy)))
    graph = coo_array(
        (np.concatenate(weights), (np.concatenate(rows), np.concatenate(columns))),
        shape=(nx * ny, nx * ny),
    ).tocsr()
    rng = np.random.default_rng(5)
    cells = rng.choice(np.flatnonzero(free), 30, replace=False)
    found = dijkstra(graph, directed=False, indices=cells[:5])[:, cells]
    flat = xy.reshape(-1, 2)
    for i in range(5):
        for j in range(5, 30):
            exact = tank.swim_distance(tuple(flat[cells[i]]), tuple(flat[cells[j]]))
            if math.isfinite(exact):
                assert exact - 2 * step <= found[i, j] <= 1.0275 * exact + 4 * step


# --- sight --------------------------------------------------------------------------------------


def test_sight_by_height_and_layer() -> None:
    # 25 cm in a tank of 60 cm: in the way of two fish near the floor, and of one near the floor
    # and one in the middle (their line runs at 20 cm), but not of two in the middle (30 cm)
    tank = layout([block(0.1, 0.2, 0.6, 0.2, height_m=0.25)], height_m=0.6)
    here, there, beside = (0.4, 0.2), (0.8, 0.2), (0.4, 0.4)
    assert not tank.sees(here, there)
    assert not tank.sees(here, there, 0, 1)
    assert not tank.sees(here, there, 1, 0)
    assert tank.sees(here, there, 1, 1)
    assert tank.sees(here, there, 0, 2)
    assert tank.sees(here, beside)


def test_a_fish_among_plants_sees_and_is_seen_only_there() -> None:
    tank = layout([piece("plant", "tall", 0.6, 0.2)])
    assert tank.sees((0.57, 0.2), (0.63, 0.2))
    assert not tank.sees((0.57, 0.2), (0.8, 0.2))
    assert not tank.sees((0.4, 0.2), (0.8, 0.2))


def test_sight_matches_a_march_along_the_line() -> None:
    """4,000 lines (seed 7) walked in steps of at most 0.65 mm through outlines by ray casting.

    A line that only cuts a corner, shorter than three steps inside, is left to the exact answer.
    """
    tank, rng = furnished(), np.random.default_rng(7)
    blocked = 0
    for _ in range(800):
        ends = rng.uniform([0, 0], [1.829, 0.457], (2, 2))
        walk = ends[0] + np.linspace(0, 1, 3001)[:, None] * (ends[1] - ends[0])
        for layer_a, layer_b in ((0, 0), (0, 1), (1, 1), (1, 2), (2, 2)):
            changes = 0
            grazes = False
            for thing in tank.pieces:
                if thing.sight_top < layer_a + layer_b:
                    continue
                within = inside(thing.outline, walk)
                changes += int((within[1:] != within[:-1]).sum())
                cut_m = LineString(ends).intersection(thing.outline).length
                grazes |= 0 < cut_m < 3 * math.dist(*ends) / 3000
            if not grazes:
                seen = tank.sees(tuple(ends[0]), tuple(ends[1]), layer_a, layer_b)
                assert seen == (changes == 0)
                blocked += not seen
    assert 500 < blocked < 3500


# --- rooms and doors ----------------------------------------------------------------------------


def test_the_room_of_a_pot_and_its_door() -> None:
    tank = layout([piece("pot", "6 in", 0.6, 0.2, turn_rad=math.pi / 2)])
    (room,) = tank.rooms
    (door,) = room.doors
    assert tank.doors == (door,)
    assert (room.piece, door.room) == (0, 0)
    # the rim stands at y = 0.2 + 0.145 / 2, the fish waits 2 cm before it
    assert door.outside == pytest.approx((0.6, 0.2725 + 0.02), abs=1e-6)
    assert tank.pieces[0].room is not None
    assert tank.pieces[0].room.contains(shapely.Point(door.inside))
    assert tank.pieces[0].room.contains(shapely.Point(room.point))
    # a trapeze of 14.5 cm between 15.5 and 10.075 cm, less walls of 8 mm
    assert 0.75 < room.area_m2 / (0.145 * (0.155 + 0.10075) / 2) < 0.85
    assert room.height_m == pytest.approx(0.142)


def test_a_pipe_has_two_doors_and_a_turned_one_has_them_turned() -> None:
    tank = layout([piece("pipe", "4 in", 0.6, 0.2, turn_rad=math.radians(30))])
    first, second = tank.rooms[0].doors
    reach_m = 0.125 + 0.02
    along = np.array([math.cos(math.radians(30)), math.sin(math.radians(30))])
    assert first.outside == pytest.approx(tuple(np.array([0.6, 0.2]) + reach_m * along))
    assert second.outside == pytest.approx(tuple(np.array([0.6, 0.2]) - reach_m * along))


def test_who_passes_a_door() -> None:
    door = layout([piece("upturned-pot", "4 in", 0.6, 0.2)]).doors[0]
    assert door.passes(depth_m=0.034, width_m=0.034)
    assert not door.passes(depth_m=0.036, width_m=0.010)
    assert not door.passes(depth_m=0.010, width_m=0.036)


def test_a_cave_nobody_fits_is_a_problem() -> None:
    coconut = [piece("coconut", "4 in", 0.6, 0.2, name="nut")]
    oscar = {"species": "oscar", "length": "10 in"}
    small = {"species": "convict", "length": "2 in"}
    (problem,) = layout(coconut, fish=[oscar]).problems()
    assert str(problem).startswith(
        'pieces "nut": nobody fits, got a door 1.6 in (4 cm) wide and 1.4 in (3.5 cm) '
        "high; expected more than the "
    )
    assert str(problem).endswith("of the slimmest fish. Choose a larger size or take it out.")
    assert layout(coconut, fish=[oscar, small]).problems() == []


def test_a_room_behind_a_blocked_door_is_a_problem_and_no_room() -> None:
    tank = layout([piece("pot", "6 in", 0.5, 0.2, name="a"), block(0.1, 0.2, 0.63, 0.2, name="b")])
    (problem,) = tank.problems()
    assert str(problem) == (
        'pieces "a": nothing can get in, got a door with "b" right in front of it; expected '
        "0.8 in (2 cm) of free floor before a door. Turn or move it."
    )
    assert tank.rooms == ()
    assert tank.warnings() == []


def test_one_blocked_door_of_two_is_a_warning() -> None:
    tank = layout([piece("pipe", "4 in", 0.125, 0.2, name="pipe")])
    assert tank.problems() == []
    (warning,) = tank.warnings()
    assert str(warning).startswith(
        'pieces "pipe": one of its doors is not used, got a door with the glass right in front'
    )
    assert len(tank.doors) == 1
    assert tank.doors[0].outside[0] > 0.25


# --- sites --------------------------------------------------------------------------------------


def test_sites_on_a_bare_floor_are_a_lattice() -> None:
    tank = layout([], length_m=0.6, width_m=0.3)
    xy = np.array([site.point for site in tank.sites])
    assert {site.kind for site in tank.sites} == {OPEN_FLOOR}
    # from 5 to 55 cm and from 5 to 25 cm, every 10 cm
    assert len(xy) == 6 * 3
    assert np.unique(xy[:, 0].round(9)) == pytest.approx([0.05, 0.15, 0.25, 0.35, 0.45, 0.55])
    assert np.unique(xy[:, 1].round(9)) == pytest.approx([0.05, 0.15, 0.25])


def test_a_large_tank_has_a_wider_lattice_and_a_tiny_one_still_has_sites() -> None:
    assert 350 <= len(layout([], length_m=20.0, width_m=20.0).sites) <= 400
    assert len(layout([], length_m=0.2, width_m=0.2, height_m=0.2).sites) == 4


def test_every_site_stands_free() -> None:
    tank = furnished()
    kinds = [site.kind for site in tank.sites]
    assert kinds == sorted(kinds)
    assert kinds.count(CAVE) == len(tank.rooms) == 4
    assert kinds.count(FLAT) == 1
    # two boulders, two cobbles and the wood, up to two points each
    assert 6 <= kinds.count(ROCK_EDGE) <= 10
    outlines = shapely.union_all([p.outline for p in tank.solid(0)])
    every = shapely.union_all([p.outline for p in tank.pieces])
    for site in tank.sites:
        point = shapely.Point(site.point)
        assert tank.glass.contains(point)
        assert outlines.distance(point) >= BODY_M - 1e-6
        if site.kind == OPEN_FLOOR:
            assert every.distance(point) >= SITE_GAP_M
            assert tank.glass.exterior.distance(point) >= SITE_GAP_M - 1e-9
        if site.kind == CAVE:
            assert tank.rooms[site.room].doors[0].outside == site.point
            assert tank.rooms[site.room].piece == site.piece
        if site.kind == ROCK_EDGE:
            assert tank.pieces[site.piece].outline.distance(point) <= SITE_GAP_M + 1e-9


def test_a_site_is_found_by_piece_or_by_place() -> None:
    tank = layout(
        [piece("pot", "6 in", 0.6, 0.2, name="pot"), piece("plant", "low", 0.2, 0.2, name="fern")]
    )
    assert tank.sites[tank.find_site("pot")].kind == CAVE
    assert tank.find_site("fern") == tank.find_site("nowhere") == -1
    nearest = tank.sites[tank.find_site((1.1, 0.4))]
    assert math.dist(nearest.point, (1.1, 0.4)) <= math.hypot(0.05, 0.07)


def test_a_layout_without_free_floor_has_no_sites_and_says_so() -> None:
    tank = layout([block(0.4, 0.3, 0.2, 0.15)], length_m=0.4, width_m=0.3)
    assert tank.sites == ()
    assert tank.swim_distance((0.1, 0.1), (0.3, 0.2)) == math.inf
    assert str(tank.problems()[0]).startswith("pieces: the pieces leave no room to swim")


# --- problems -----------------------------------------------------------------------------------


def sentences(pieces: list[dict[str, object]], **more: object) -> list[str]:
    return [str(problem) for problem in layout(pieces, **more).problems()]


def test_a_piece_through_the_glass() -> None:
    assert sentences([block(0.2, 0.1, 0.05, 0.2, name="a")]) == [
        'pieces "a".x: it goes through the left glass, got a piece from -2 in (-5 cm) to '
        "5.9 in (15 cm); expected 0 to 48 in (122 cm). Move it 2 in (5 cm) toward the right."
    ]
    assert sentences([block(0.2, 0.1, 0.6, 0.427, name="a")]) == [
        'pieces "a".y: it goes through the back glass, got a piece from 14.8 in (37.7 cm) '
        "to 18.8 in (47.7 cm); expected 0 to 18 in (45.7 cm). Move it 0.8 in (2 cm) "
        "toward the front."
    ]
    assert sentences([block(0.2, 0.1, 0.1, 0.05)]) == []  # against the glass is fine


def test_a_piece_wider_than_the_tank() -> None:
    assert sentences([block(0.2, 0.5, 0.6, 0.2, name="a")]) == [
        'pieces "a".y: it does not fit between the front and the back glass, got 19.7 in (50 cm); '
        "expected at most 18 in (45.7 cm). Turn it or choose a smaller one."
    ]


def test_a_piece_taller_than_the_tank_unless_it_is_a_plant() -> None:
    assert sentences([block(0.2, 0.1, 0.6, 0.2, height_m=0.6, name="a")]) == [
        'pieces "a".height: it is taller than the tank, got 23.6 in (60 cm); expected at most '
        "21 in (53.3 cm). Choose a lower one or a taller tank."
    ]
    assert sentences([piece("plant", "tall", 0.6, 0.2)], height_m=0.3) == []


def test_two_stones_in_one_place() -> None:
    stones = [block(0.2, 0.1, 0.5, 0.2, name="a"), block(0.2, 0.1, 0.66, 0.21, name="b")]
    assert sentences(stones) == [
        'pieces "b": it stands where "a" stands, got an overlap 1.6 in (4 cm) deep; expected '
        "pieces side by side. Move one of them about 1.6 in (4 cm) away from the other."
    ]
    stones[1]["x_m"] = 0.70  # side by side, touching
    stones[1]["y_m"] = 0.20
    assert sentences(stones) == []


def test_a_stone_may_stand_on_a_slate_and_a_plant_anywhere() -> None:
    slate = piece("slate", "12 in", 0.6, 0.2, name="s")
    assert sentences([slate, piece("cobble", "4 in", 0.6, 0.2)]) == []
    assert sentences([piece("plant", "low", 0.6, 0.2), piece("cobble", "4 in", 0.6, 0.2)]) == []
    two = sentences([slate, piece("slate", "6 in", 0.6, 0.2, name="t")])
    assert len(two) == 1
    assert two[0].startswith('pieces "t": it stands where "s" stands')


def test_doors_and_walls_that_cannot_be() -> None:
    tall = {"width_m": 0.05, "height_m": 0.2}
    assert sentences([piece("pot", "6 in", 0.6, 0.2, doors=[tall], name="a")]) == [
        'pieces "a".doors #1.height: the door is larger than the piece, got 7.9 in (20 cm); '
        "expected at most 5.9 in (15 cm). Make the door smaller."
    ]
    thin = block(0.3, 0.03, 0.6, 0.2, doors=[{"width_m": 0.02, "height_m": 0.02}], name="a")
    assert sentences([thin]) == [
        'pieces "a": it has a door but no room inside, got an outline of 1.2 in (3 cm) at its '
        "narrowest and a height of 11.8 in (30 cm); expected more than its walls. Choose a larger "
        "one or leave out "
        "the doors."
    ]


def test_everything_wrong_is_told_at_once() -> None:
    stones = [block(0.2, 0.1, 0.5, 0.0), block(0.2, 0.1, 0.5, 0.02), block(0.1, 0.1, 3.0, 0.2)]
    assert len(sentences(stones)) == 4
    unknown = [piece("bolder", "6 in", 0.5, 0.2), piece("pot", "9 in", 0.5, 0.2)]
    with pytest.raises(Refused) as caught:
        layout(unknown)
    assert len(caught.value.problems) == 2


def test_open_area_in_closed_form() -> None:
    tank = layout(
        [
            block(0.2, 0.1, 0.3, 0.2),
            block(0.2, 0.2, 0.8, 0.2, shape="ellipse"),
            piece("plant", "low", 0.1, 0.1),
            piece("slate", "6 in", 1.0, 0.35),
        ]
    )
    expected = 1.22 * 0.457 - 0.02 - math.pi * 0.01
    assert tank.open_area_m2 == pytest.approx(expected, rel=1e-9)


def test_a_check_does_not_load_the_compiler() -> None:
    code = (
        "import sys; from tests.sim.layouts import furnished; tank = furnished();"
        "tank.problems(); tank.warnings(); tank.sites; tank.swim_distance((.1, .1), (1.7, .4));"
        "sys.exit('numba' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_layouts_of_one_scenario_are_alike() -> None:
    given = scenario([piece("pot", "6 in", 0.6, 0.2)])
    assert Layout(given).sites == Layout(given).sites


def test_food_that_falls_on_a_piece_is_told() -> None:
    scenario = Scenario.model_validate(
        {
            "tank": {"length_m": 1.2, "width_m": 0.45, "height_m": 0.5},
            "pieces": [{"kind": "boulder", "size": "8 in", "x_m": 0.6, "y_m": 0.2}],
            "fish": [{"species": "convict"}],
            "feeding": {"spots": [[0.2, 0.2], [0.6, 0.2]]},
        }
    )
    (problem,) = Layout(scenario).problems()
    assert str(problem).startswith('feeding.spots #2: the food falls on "boulder 1"')
