"""Fish move as the closed forms say, and never through glass, stone, pot or wood."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point

from sim.engine import History
from sim.layout import Layout
from sim.rules.codes import FLEE, IN_TANK, PURSUE, TO_CORNER, TO_DOOR
from sim.rules.move import advance_fish, corner_of, cruise, steer
from sim.rules.sweep import GLASS, SKIN, slide
from sim.settings import Settings
from sim.tables import MARGIN_M
from tests.sim.calling import call
from tests.sim.layouts import block, furnished, piece, scattered
from tests.sim.worlds import fish, history, put, shipped, shipped_history

EMPTY = fish("swordtail", name="Wisp")


def open_water(**more) -> History:
    return history(EMPTY, **{"length_m": 2.0, "width_m": 1.0, **more})


def test_a_fish_cruising_in_open_water_goes_speed_times_time():
    of = open_water()
    for angle in (0.3, 1.2, -2.5):
        put(of, 0, 1.0, 0.5, head=(math.cos(angle), math.sin(angle)))
        of.state.fish[0].speed = 0.07
        for _ in range(25):  # 5 s
            call(cruise, of.state, of.floor, 0)
        row = of.state.fish[0]
        assert row.x == pytest.approx(1.0 + 0.35 * math.cos(angle), abs=1e-12)
        assert row.y == pytest.approx(0.5 + 0.35 * math.sin(angle), abs=1e-12)


def test_two_perpendicular_panes_stop_each_its_own_part_of_a_step():
    of = open_water()
    x, y, met = call(slide, of.floor, 0.02, 0.5, -0.04, 0.02, 0)
    assert (x, y, met) == (pytest.approx(GLASS), pytest.approx(0.52), 1)
    x, y, met = call(slide, of.floor, 1.99, 0.01, 0.04, -0.03, 2)
    assert (x, y, met) == (pytest.approx(2.0 - GLASS), pytest.approx(GLASS), 1)
    x, y, met = call(slide, of.floor, 1.0, 0.5, 0.03, 0.02, 1)
    assert (x, y, met) == (pytest.approx(1.03), pytest.approx(0.52), 0)


def test_a_step_goes_on_along_a_side_and_stops_short_in_an_inner_corner():
    # Two blocks make an inner corner at (1, 0.5): one face at y = 0.5, one at x = 1.
    of = open_water(pieces=[block(0.8, 0.2, 0.6, 0.6), block(0.1, 0.5, 1.05, 0.45)])
    x, y, met = call(slide, of.floor, 0.5, 0.49, 0.03, 0.03, 0)
    assert met == 2
    assert 0.5 - 3 * SKIN < y < 0.5
    assert x == pytest.approx(0.53, abs=3 * SKIN)
    x, y, met = call(slide, of.floor, 0.99, 0.49, 0.03, 0.03, 0)
    assert met == 2
    assert 1.0 - 3 * SKIN < x < 1.0
    assert 0.5 - 3 * SKIN < y < 0.5


def test_a_low_piece_stops_a_fish_near_the_floor_only():
    of = open_water(pieces=[block(0.2, 0.2, 1.0, 0.5, height_m=0.2)], height_m=0.5)
    for layer, stopped in ((0, True), (1, False), (2, False)):
        x, _, met = call(slide, of.floor, 0.88, 0.5, 0.045, 0.0, layer)
        assert (met == 2) == stopped
        assert (x < 0.9) == stopped


def test_the_spread_of_heading_after_a_second_is_the_wander_parameter():
    # Seed 1, 4,000 fish headings after 1 s of free steering; sd of the angle within 4 se + 5 %.
    of = open_water(length_m=4.0, width_m=2.5)
    state = of.state
    wander = float(state.par.wander[0])
    angles = []
    for k in range(4000):
        put(of, 0, 2.0, 1.25)
        state.tank.tick = 10 * k
        for _ in range(5):
            state.tank.tick += 2
            call(steer, state, of.floor, 0, 0.2)
        angles.append(math.atan2(state.fish[0].head_y, state.fish[0].head_x))
    # Renormalising a push of variance D in each axis turns by about sqrt(D) per second.
    assert np.mean(angles) == pytest.approx(0.0, abs=4 * wander / math.sqrt(4000))
    assert np.std(angles) == pytest.approx(wander, rel=0.05 + 4 / math.sqrt(8000))


def test_a_fish_makes_for_its_goal_and_home():
    of = history(fish(length_m=0.08), length_m=2.0, width_m=1.0)
    state, floor = of.state, of.floor
    put(of, 0, 1.0, 0.5, head=(-1.0, 0.0))
    row = state.fish[0]
    row.goal, row.goal_index = TO_CORNER, 3
    for _ in range(200):
        state.tank.tick += 1
        call(steer, state, floor, 0, 0.2)
        call(cruise, state, floor, 0)
    x, y = call(corner_of, floor, 3)
    assert math.dist((row.x, row.y), (x, y)) < 0.12


@cache
def places(layout: Layout, layer: int) -> list[shapely.Polygon]:
    outlines = [piece.outline for piece in layout.solid(layer)]
    for outline in outlines:
        shapely.prepare(outline)
    return outlines


LAYOUTS = {
    "furnished": furnished,
    "four foot": lambda: shipped("convict-four-foot").layout,
    "three large": lambda: shipped("three-large-six-foot").layout,
    "juveniles": lambda: shipped("juveniles-crowd").layout,
    **{f"scattered {seed}": (lambda seed=seed: scattered(seed)) for seed in (1, 2, 3)},
}


@pytest.mark.parametrize("name", LAYOUTS)
def test_no_step_ends_inside_an_outline_or_crosses_one(name):
    """Seed 5; 2,500 walks of 4 steps, begun beside the pieces, steps up to the margin."""
    layout = LAYOUTS[name]()
    floor = layout.floor()
    rng = np.random.default_rng(5)
    size = np.array([layout.length_m, layout.width_m])
    seen = [0, 0, 0]
    for _ in range(2500):
        layer = int(rng.integers(0, 3))
        outlines = places(layout, layer)
        at = rng.uniform(GLASS, size - GLASS)
        if outlines and rng.random() < 0.8:
            edge = outlines[rng.integers(len(outlines))].exterior
            along = edge.interpolate(rng.random(), normalized=True)
            off = rng.normal(0.0, [0.03, 0.002][rng.integers(2)], 2)
            at = np.array([along.x, along.y]) + off
        inside = np.all((at > GLASS) & (at < size - GLASS))
        if not inside or any(o.intersects(Point(at)) for o in outlines):
            continue
        path = [tuple(at)]
        for _ in range(4):
            turn, step = rng.uniform(0, 2 * math.pi), MARGIN_M * (1 - rng.random() ** 2)
            wanted = (step * math.cos(turn), step * math.sin(turn))
            x, y, met = call(slide, floor, float(at[0]), float(at[1]), *wanted, layer)
            seen[met] += 1
            moved = math.dist(at, (x, y))
            assert moved <= math.hypot(*wanted) + 1e-9
            if met == 0:
                assert moved == pytest.approx(math.hypot(*wanted), abs=1e-12)
            at = np.array([x, y])
            assert np.all(at >= GLASS - 1e-12)
            assert np.all(at <= size - GLASS + 1e-12)
            path.append((x, y))
        line = LineString(path)
        for outline in outlines:
            assert not outline.intersects(line), (path, layer)
    assert seen[0] > 200
    assert seen[1] > 20
    assert seen[2] > 200


@pytest.mark.parametrize(
    ("name", "run"),
    [("convict-four-foot", 0), ("three-large-six-foot", 0), ("juveniles-crowd", 1)],
)
def test_no_path_of_a_run_crosses_an_outline(name, run):
    """With a tick as short as a sub-step, every position between which a fish moves is seen."""
    step = Settings(tick_s=0.0125, window_s=600.0)
    of = shipped_history(name, days=16, run=run, settings=step, changes={"attack_rate": 0.5})
    layout, state = of.layout, of.state
    size = np.array([layout.length_m, layout.width_m])
    fleeing = in_rooms = 0
    before = state.copy()
    steps: dict[int, list[list[tuple[float, float]]]] = {0: [], 1: [], 2: []}
    for _ in range(9000):
        of.strides(1)
        now = state.fish
        assert state.tank.phase[0] == 0
        for i in range(len(now)):
            was, row = before.fish[i], now[i]
            if row.presence != IN_TANK or was.presence != IN_TANK:
                continue
            fleeing += int(row.act == FLEE)
            if row.room >= 0:
                in_rooms += 1
                assert was.room == row.room or room_holds(layout, row.room, row.x, row.y)
                continue
            here = (float(row.x), float(row.y))
            assert np.all(np.array(here) >= GLASS - 1e-12)
            assert np.all(np.array(here) <= size - GLASS + 1e-12)
            # A step from a door starts outside it. A calm fish changes its layer before it moves,
            # a pursuer after it has moved; both layers must be clear where it then is.
            start = here if was.room >= 0 else (float(was.x), float(was.y))
            pursuer = PURSUE in (was.act, row.act)
            steps[int(max(was.layer, row.layer) if pursuer else row.layer)].append([start, here])
            if row.layer != was.layer:
                steps[int(row.layer)].append([here, here])
            speed = math.dist(start, here) / 0.0125
            assert speed <= max(row.burst, row.chase) * 1.001 + 1e-9
        before.restore(state)
    assert fleeing > 100
    assert in_rooms > 100
    for layer, moves in steps.items():
        lines = shapely.linestrings(np.array(moves)) if moves else np.array([])
        for outline in places(layout, layer):
            crossed = shapely.intersects(outline, lines)
            assert not np.any(crossed), (layer, np.array(moves)[crossed][:3])


def room_holds(layout: Layout, room: int, x: float, y: float) -> bool:
    piece = layout.pieces[layout.rooms[room].piece]
    return bool(piece.outline.intersects(Point(x, y)))


def test_a_fish_that_seeks_a_door_gets_there_round_the_pieces_and_goes_in():
    of = history(
        fish("swordtail", length_m=0.05),
        pieces=[piece("pot", "6 in", 0.25, 0.25), block(0.05, 0.3, 0.6, 0.25)],
    )
    state, floor = of.state, of.floor
    put(of, 0, 1.0, 0.25)
    row = state.fish[0]
    row.goal, row.goal_index, row.hiding = TO_DOOR, 0, 1
    for _ in range(300):
        state.tank.tick += 1
        call(steer, state, floor, 0, 0.2)
        call(cruise, state, floor, 0)
        if row.room >= 0:
            break
    assert row.room == floor.door_room[0]
    assert room_holds(of.layout, int(row.room), float(row.x), float(row.y))


def test_a_long_step_is_made_in_pieces():
    of = open_water(pieces=[block(0.02, 0.4, 1.0, 0.5)])
    put(of, 0, 0.7, 0.5, head=(1.0, 0.0))
    call(advance_fish, of.state, of.floor, 0, 0.5)
    assert of.state.fish[0].x < 0.99  # a thin wall stops a step twenty times its width
