"""How fish grow on their food and rank, what grows with them, and the doors they outgrow."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.rules.codes import CAVE
from sim.rules.grow import beaten_share, digest, set_length
from sim.rules.heal import pass_time
from sim.rules.settle import own_clocks
from sim.start import start_state
from tests.sim.calling import call
from tests.sim.worlds import fish, history, put, tank

PIPE = {"kind": "pipe", "size": "2 in", "x_m": 0.6, "y_m": 0.2}
CLEAR = {"growth_rank": 0.0}


def grower(length_m=0.05, *, changes=None, pieces=None, **more):
    of = history(
        fish(sex="male", length_m=length_m),
        fish(sex="female", length_m=0.05),
        growth=True,
        pieces=pieces or [],
        changes=changes,
        temperature_c=27.0,
        **more,
    )
    for i in range(2):
        put(of, i, 0.2 + 0.5 * i, 0.1)
    return of


def test_a_fed_fish_grows_by_von_bertalanffy_toward_the_length_of_its_sex():
    of = grower(changes=CLEAR)
    f = of.state.fish
    start, grown, rate = float(f.length[0]), float(f.grown_length[0]), float(f.growth_rate[0])
    assert rate == pytest.approx(1.07 / 365.25)
    for _ in range(200):
        call(digest, of.state, of.floor)
    assert f.condition[0] == pytest.approx(1.0)
    assert f.length[0] == pytest.approx(grown - (grown - start) * math.exp(-200 * rate))
    assert f.grown_length[0] > f.grown_length[1]


def test_hunger_and_rank_slow_growth_and_nothing_shrinks():
    gain = []
    for condition, beaten in ((1.0, 0), (0.7, 0), (0.3, 0), (1.0, 1)):
        of = grower(changes={"condition_time": 30.0})
        of.state.fish.condition[0] = condition
        of.state.pair.beaten[1, 0] = beaten
        assert call(beaten_share, of.state, 0) == beaten
        before = float(of.state.fish.length[0])
        call(digest, of.state, of.floor)
        gain.append(float(of.state.fish.length[0]) - before)
    assert gain[0] > gain[1] > gain[2] == 0.0
    assert gain[3] == pytest.approx(gain[0] * (1.0 - of.state.par[0].growth_rank), rel=0.01)


def test_warm_water_speeds_growth():
    cool, warm = (
        history(fish(), growth=True, temperature_c=t).state.tank.growth_speed[0]
        for t in (22.0, 32.0)
    )
    assert warm / cool == pytest.approx(2.0)


def test_all_that_hangs_on_length_is_as_in_a_fish_that_began_so_long():
    """A convict grown from 4 to 11 cm against one put in at 11 cm."""
    of = grower(0.04, pieces=[PIPE])
    call(set_length, of.state, of.floor, 0, 0.11)
    scenario, layout = tank(
        fish(sex="male", length_m=0.11), fish(sex="female", length_m=0.05), pieces=[PIPE]
    )
    other = start_state(scenario, layout)
    names = ("length", "mass", "depth", "width", "gape", "strength", "cruise", "burst", "chase")
    for name in names:
        assert of.state.fish[name][0] == pytest.approx(other.fish[name][0]), name
    for name in ("size_factor", "prey"):
        assert of.state.pair[name][0, 1] == pytest.approx(other.pair[name][0, 1])
        assert of.state.pair[name][1, 0] == pytest.approx(other.pair[name][1, 0])
    assert np.array_equal(of.state.fits, other.fits)


def test_a_door_that_no_longer_fits_is_dated_once_and_its_owner_leaves():
    of = grower(pieces=[PIPE])
    state, floor = of.state, of.floor
    cave = int(np.flatnonzero(floor.site_kind == CAVE)[0])
    assert state.fits[0].all()
    assert np.all(np.isinf(state.outgrew))
    state.fish.site[0] = cave
    state.fish.room[0], state.fish.hiding[0] = floor.site_room[cave], 1
    state.tank.clock = 40.5 * 86400.0
    call(set_length, state, floor, 0, 0.15)
    assert not state.fits[0].any()
    assert np.all(state.outgrew[0] == 40.5)
    assert np.all(np.isinf(state.outgrew[1]))
    assert state.fish.site[0] == -1
    assert state.fish.room[0] == -1
    state.tank.clock = 50.0 * 86400.0
    call(set_length, state, floor, 0, 0.16)
    assert np.all(state.outgrew[0] == 40.5)
    outgrown = of.outcome().outgrown
    assert [(int(r["fish"]), float(r["day"])) for r in outgrown] == [(0, 40.5)]


@pytest.mark.parametrize(("length_m", "takes"), [(0.04, False), (0.05, True)])
def test_a_growing_fish_takes_ground_only_from_the_length_at_maturity(length_m, takes):
    of = grower(length_m)
    of.state.fish.settle_left[:] = 1e-9
    of.state.fish.settle_left[1] = 100.0
    call(own_clocks, of.state, of.floor, 10.0)
    assert (of.state.fish.site[0] >= 0) == takes


def test_a_starved_fish_heals_slower_down_to_a_fifth():
    left = []
    for condition in (2.0, 1.0, 0.5, 0.0):
        of = grower()
        of.state.fish.scales[0], of.state.fish.condition[0] = 0.4, condition
        call(pass_time, of.state, 14 * 86400.0)
        left.append(float(of.state.fish.scales[0]))
    expected = [0.4 * math.exp(-c) for c in (1.0, 1.0, 0.5, 0.2)]
    assert left == pytest.approx(expected)


def test_where_nothing_hangs_on_food_no_condition_and_no_length_changes():
    of = history(fish(count=4, length_m=0.05), days=5.0)
    before = of.state.fish.length.copy()
    of.advance()
    assert np.all(of.state.fish.condition == 1.0)
    assert np.array_equal(of.state.fish.length, before)
    assert np.all(np.isnan(of.outcome().fish["food_share"]))
