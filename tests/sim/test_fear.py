"""Fear and hiding: who hides where, the chain of two states, and what dither does to it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.rules.codes import FLEE, NOWHERE, TO_CORNER, TO_DOOR
from sim.rules.fear import (
    calming,
    come_out,
    cover_for,
    draw_cover,
    emerge_rate,
    far_corner,
    frighten,
    hide_rate,
    in_top_corner,
    make_for_cover,
    pass_cover,
    seek_cover,
)
from sim.rules.look import look
from sim.rules.move import corner_of
from sim.rules.room import room_left
from tests.sim.calling import call
from tests.sim.layouts import piece
from tests.sim.worlds import chance_range, fish, fixed_bytes, history, put

POTS = [piece("pot", "6 in", 0.25, 0.25), piece("pot", "6 in", 1.4, 0.25, name="far pot")]


def timid(*, pieces=None, without=(), others=1, fear=0.6, **more):
    of = history(
        fish(name="Wary", length_m=0.07, **more),
        *(fish("swordtail", name=f"dither {k}", length_m=0.05) for k in range(others)),
        pieces=pieces,
        without=("individuality", *without),
        length_m=1.8,
        width_m=0.5,
    )
    for i in range(1 + others):
        put(of, i, 0.6 + 0.05 * i, 0.25)
    of.state.fish.fear[0] = fear
    return of


def test_fear_rises_toward_one_and_less_in_bold_fish():
    of = timid(fear=0.0)
    rows = of.state.fish
    rows.boldness[0] = 0.5
    before = fixed_bytes(of)
    call(frighten, of.state, 0, 0.1)
    assert rows.fear[0] == pytest.approx(0.1)
    call(frighten, of.state, 0, 0.1)
    assert rows.fear[0] == pytest.approx(0.19)
    for _ in range(500):
        call(frighten, of.state, 0, 0.3)
    assert 0.99 < rows.fear[0] <= 1.0
    assert fixed_bytes(of) == before
    rows.fear[0], rows.boldness[0] = 0.0, 0.9
    call(frighten, of.state, 0, 0.1)
    assert rows.fear[0] == pytest.approx(0.06)


def rates(of) -> tuple[float, float]:
    """Rates into and out of cover with the company in view now."""
    k = call(calming, of.state, float(of.state.fish.calm[0]))
    return call(hide_rate, of.state, 0, k), call(emerge_rate, of.state, 0, k)


def test_rates_in_and_out_of_cover_are_the_equations():
    of = timid()
    p, row = of.state.par[0], of.state.fish[0]
    row.calm, row.boldness = 3.0, 0.6
    calm = p.dither_calm * 3.0 / (3.0 + p.dither_half)
    into = 0.6 * (1 - calm) * 0.9 / p.hide_time + (1 - row.activity) / p.day_rest_time
    out = 0.4 * (1 + calm) * 1.1 * (0.1 + 0.9 * row.activity) / p.emerge_time
    assert rates(of) == pytest.approx((into, out))


@pytest.mark.parametrize("fear", [0.1, 0.3, 0.9])
def test_calm_company_keeps_fish_out_of_cover(fear):
    alone, among = timid(fear=fear), timid(fear=fear)
    among.state.fish.calm[0] = 6.0
    assert rates(among)[0] < rates(alone)[0]
    assert rates(among)[1] > rates(alone)[1]


@pytest.mark.parametrize(("fear", "calm"), [(0.2, 0.0), (0.6, 0.0), (0.6, 6.0)])
def test_hiding_settles_at_a_over_a_plus_b(fear, calm):
    """60,000 decisions of 20 s; share of time in cover within 5 correlated standard errors."""
    of = timid(fear=fear, pieces=[POTS[0]])
    state = of.state
    state.fish.calm[0] = calm
    a, b = rates(of)
    hidden = 0
    n, dt = 60_000, 20.0
    for _ in range(n):
        state.tank.tick += 1
        call(seek_cover, state, of.floor, 0, dt)
        hidden += state.fish.hiding[0]
    # In steps the chain goes by 1 - exp(-a dt) and 1 - exp(-b dt).
    pa, pb = 1 - math.exp(-a * dt), 1 - math.exp(-b * dt)
    share = pa / (pa + pb)
    inflate = math.sqrt((2 - pa - pb) / (pa + pb))
    assert hidden / n == pytest.approx(share, abs=5 * inflate * math.sqrt(share * (1 - share) / n))
    # And leapt, with the calm that watched time has seen: the chance relaxes to a / (a + b).
    state.fish.cover[0] = 0.0
    mean = call(pass_cover, state, 0, 100.0)
    x = (a + b) * 100.0
    assert state.fish.cover[0] == pytest.approx(a / (a + b) * (1 - math.exp(-x)))
    assert mean == pytest.approx(a / (a + b) * (1 - (1 - math.exp(-x)) / x))
    call(pass_cover, state, 0, 1e6)
    assert state.fish.cover[0] == pytest.approx(a / (a + b))


def test_leaping_in_parts_is_leaping_at_once():
    one, many = timid(), timid()
    one.state.fish.cover[0] = many.state.fish.cover[0] = 0.9
    mean = call(pass_cover, one.state, 0, 300.0)
    parts = [call(pass_cover, many.state, 0, 3.0) for _ in range(100)]
    assert one.state.fish.cover[0] == pytest.approx(many.state.fish.cover[0])
    assert mean == pytest.approx(np.mean(parts))


def test_cover_after_a_leap_is_drawn_by_the_chance_carried():
    """3,000 draws at 0.3; within 4 standard errors."""
    of = timid(pieces=[POTS[0]])
    hidden = 0
    for k in range(3000):
        of.state.tank.pieces = k
        of.state.fish.cover[0], of.state.fish.hiding[0] = 0.3, 0
        call(draw_cover, of.state, of.floor, 0)
        hidden += of.state.fish.hiding[0]
    assert hidden / 3000 == pytest.approx(0.3, abs=chance_range(0.3, 3000))


def test_the_nearest_door_that_it_passes_is_cover():
    of = timid(pieces=POTS)
    door = call(cover_for, of.state, of.floor, 0, -1)
    assert of.floor.door_dist[door, of.state.fish.cell[0]] == pytest.approx(
        of.floor.door_dist[:, of.state.fish.cell[0]].min()
    )
    of.state.fits[0, door] = 0
    assert call(cover_for, of.state, of.floor, 0, -1) not in (door, -1)
    of.state.fits[0, :] = 0
    assert call(cover_for, of.state, of.floor, 0, -1) == -1


def test_a_door_beside_the_bully_or_that_the_bully_passes_is_second_best():
    of = timid(pieces=POTS)
    put(of, 0, 0.8, 0.25)
    near = call(cover_for, of.state, of.floor, 0, -1)
    put(of, 1, *map(float, of.floor.door_out[near]))
    of.state.fits[1, :] = 0
    of.state.fits[1, near] = 1
    assert call(cover_for, of.state, of.floor, 0, 1) != near


def test_a_door_that_the_bully_passes_too_counts_thirty_centimetres_farther():
    of = timid(pieces=POTS)
    away = of.floor.door_dist[:, :]
    put(of, 1, 1.7, 0.05)
    state, floor = of.state, of.floor
    passes = call(cover_for, state, floor, 0, -1)
    for cell in range(int(floor.dims[6])):
        state.fish.cell[0] = cell
        here = [
            away[d, cell]
            + max(0.0, away[d, cell] - away[d, state.fish.cell[1]])
            + (0.3 if d == passes else 0.0)
            for d in range(2)
        ]
        state.fits[1, :] = 0
        state.fits[1, passes] = 1
        if abs(here[0] - here[1]) > 1e-3:
            assert call(cover_for, state, floor, 0, 1) == int(np.argmin(here))


def test_without_hiding_there_is_no_door_and_a_fish_takes_a_corner():
    of = timid(pieces=POTS, without=("hiding",))
    assert call(cover_for, of.state, of.floor, 0, -1) == -1
    call(make_for_cover, of.state, of.floor, 0)
    assert of.state.fish.goal[0] == TO_CORNER
    with_doors = timid(pieces=POTS)
    call(make_for_cover, with_doors.state, with_doors.floor, 0)
    assert with_doors.state.fish.goal[0] == TO_DOOR


def test_the_corner_is_the_one_farthest_from_the_fish_it_avoids_most():
    of = timid(others=2)
    put(of, 1, 0.1, 0.1)
    put(of, 2, 1.7, 0.4)
    assert call(far_corner, of.state, of.floor, 0) in (0, 2)  # the nearest, of the left two
    of.state.pair.avoid[0, 1] = 0.5
    assert corner_far_from(of, 1) == call(far_corner, of.state, of.floor, 0)
    of.state.pair.avoid[0, 2] = 0.8
    assert corner_far_from(of, 2) == call(far_corner, of.state, of.floor, 0)


def corner_far_from(of, j: int) -> int:
    at = (of.state.fish.x[j], of.state.fish.y[j])
    return int(np.argmax([math.dist(at, call(corner_of, of.floor, c)) for c in range(4)]))


def test_a_full_room_takes_nobody_and_an_empty_one_always_one():
    of = timid(pieces=[POTS[0]], others=8)
    state, floor = of.state, of.floor
    room = int(floor.door_room[0])
    state.fish["length"], state.fish["width"] = 0.1, 0.02
    inside = 0
    while call(room_left, state, floor, 0, room):
        inside += 1
        assert inside < 9
        state.fish.room[inside] = room
    used = float(np.sum(2 * state.fish.length[1 : inside + 1] * state.fish.width[1 : inside + 1]))
    own = 2 * state.fish.length[0] * state.fish.width[0]
    assert used + own > floor.room_area[room]
    state.fish["room"] = -1
    state.fish.length[0] = 10.0
    assert call(room_left, state, floor, 0, room)


def test_coming_out_puts_a_fish_just_outside_a_door():
    of = timid(pieces=[POTS[0]])
    row = of.state.fish[0]
    row.room, row.hiding, row.goal, row.layer = 0, 1, TO_DOOR, 1
    call(come_out, of.state, of.floor, 0, 0.4)
    assert (row.room, row.hiding, row.goal, row.layer) == (-1, 0, NOWHERE, 0)
    assert (row.x, row.y) == tuple(of.floor.door_out[0])
    outward = of.floor.door_out[0] - of.floor.door_in[0]
    assert row.head_x * outward[0] + row.head_y * outward[1] > 0


def test_a_fleeing_fish_does_not_think_about_cover():
    of = timid(fear=1.0)
    of.state.fish.act[0] = FLEE
    for _ in range(200):
        of.state.tank.tick += 1
        call(seek_cover, of.state, of.floor, 0, 60.0)
    assert of.state.fish.hiding[0] == 0


@pytest.mark.parametrize(
    ("x", "y", "layer", "found"),
    [(0.1, 0.1, 2, 1), (0.1, 0.1, 1, 0), (0.3, 0.1, 2, 0), (1.7, 0.45, 2, 1), (0.9, 0.02, 2, 0)],
)
def test_a_top_corner_is_the_surface_within_15_cm_of_two_panes(x, y, layer, found):
    assert call(in_top_corner, timid().floor, x, y, layer) == bool(found)


def test_calm_shoaling_fish_in_view_are_counted_and_frightened_or_hiding_ones_are_not():
    of = timid(others=5, fear=0.0)
    state = of.state
    state.fish.fear[2], state.fish.hiding[3] = 0.9, 1
    call(look, state, of.floor)
    assert state.fish.calm[0] == 3.0
    assert state.fish.calm[1] == 2.0
    assert state.fish.school_n[1] == 4.0  # its own kind, calm or not
    assert state.fish.school_n[0] == 0.0
