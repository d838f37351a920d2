"""A water change: what it adds to attacks, and how long that lasts."""

from __future__ import annotations

import pytest

from sim.rules.attack import weigh_pairs
from sim.rules.heal import pass_time
from sim.rules.stir import stir
from tests.sim.calling import call
from tests.sim.worlds import fish, history

HOUR = 3600.0


def tank(**more):
    return history(
        fish(name="Agate", sex="male", length_m=0.11),
        fish(name="Beryl", sex="male", length_m=0.10),
        **more,
    )


def rise(share: float, hours: float, **more) -> float:
    """Attack hazard over that of an unchanged tank, some hours after."""
    of = tank(**more)
    call(weigh_pairs, of.state)
    before = float(of.state.pair.slow[0, 1])
    call(stir, of.state, share)
    call(pass_time, of.state, hours * HOUR)
    of.state.fish.winning[:] = 0.0
    call(weigh_pairs, of.state)
    return float(of.state.pair.slow[0, 1]) / before - 1.0


def test_half_the_water_stirs_more_than_a_quarter_and_longer():
    assert rise(0.5, 0.0) == pytest.approx(0.5)
    assert rise(0.25, 0.0) == pytest.approx(0.25)
    assert rise(0.25, 1.0) < 0.1 * rise(0.25, 0.0), "back by one hour"
    assert rise(0.5, 24.0) > 0.5 * rise(0.5, 0.0), "still up at twenty-four"
    assert 0.0 < rise(0.35, 3.0) < rise(0.5, 3.0)


def test_the_other_paper_is_a_switch():
    assert rise(0.5, 0.0, changes={"water_change_gain": 0.0}) == 0.0


def test_a_small_change_does_not_end_a_large_one():
    of = tank()
    call(stir, of.state, 0.5)
    kept = (of.state.tank.stir[0], of.state.tank.stir_fade[0])
    call(stir, of.state, 0.1)
    assert (of.state.tank.stir[0], of.state.tank.stir_fade[0]) == kept


def test_an_event_does_it_at_its_hour_and_never_before():
    of = tank(events=[{"on_day": 0, "at_h": 12, "do": "water change", "share": 0.5}])
    of.advance(until_day=11.9 / 24)
    assert of.state.tank.stir[0] == 0.0
    of.advance(until_day=12.05 / 24)
    assert of.state.tank.stir[0] == pytest.approx(0.5, rel=0.01)
    assert of.state.tank.last_change[0] == pytest.approx(3 * HOUR, abs=60.0)
