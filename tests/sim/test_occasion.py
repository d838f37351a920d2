"""What is done to a tank from outside happens at its time, once, to the right fish."""

from __future__ import annotations

import numpy as np
import pytest

from sim.rules.advance import stopped
from sim.rules.codes import AWAY, IN_TANK, NIGHT, NOT_YET
from sim.state import NEVER
from tests.sim.calling import call
from tests.sim.worlds import fish, history

HOUR, DAY = 3600.0, 86400.0


def tank(*events, late=None, days=4, **more):
    return history(
        fish(name="Agate", sex="male", length_m=0.11),
        fish(name="Beryl", sex="male", length_m=0.10),
        fish("swordtail", name="dither", count=2, **(late or {})),
        events=list(events),
        days=days,
        **more,
    )


def test_a_fish_is_taken_out_and_brought_back_to_its_place():
    of = tank(
        {"on_day": 1, "at_h": 12, "do": "take out", "fish": ["dither 1", "Beryl"]},
        {"on_day": 2, "at_h": 15, "do": "bring back", "fish": ["Beryl"], "place": (1.0, 0.2)},
    )
    of.advance(until_day=1.49)
    assert np.all(of.state.fish.presence == IN_TANK)
    of.advance(until_day=1.52)
    assert of.state.fish.presence.tolist() == [IN_TANK, AWAY, AWAY, IN_TANK]
    assert np.all(of.state.pair.slow[1] == 0.0)
    awake = of.state.tally.awake_s[[1, 2]].copy()
    of.advance(until_day=2.62)
    assert np.array_equal(of.state.tally.awake_s[[1, 2]], awake), "time outside is not counted"
    of.advance(until_day=15.001 / 24 + 2)
    assert of.state.fish.presence.tolist() == [IN_TANK, IN_TANK, AWAY, IN_TANK]
    assert np.hypot(of.state.fish.x[1] - 1.0, of.state.fish.y[1] - 0.2) < 0.4
    of.advance()
    assert of.state.tally.awake_s[1] > awake[0]
    assert of.state.tally.moves_out.tolist() == [0, 1, 1, 0]


def test_the_clock_stops_at_the_time_of_an_event_unless_somebody_is_chased():
    seen = []
    for run in range(6):
        of = tank({"on_day": 1, "at_h": 14.5, "do": "water change", "share": 0.5}, run=run)
        assert of.state.tank.stop_at[0] == DAY + 14.5 * HOUR
        of.advance(until_day=1 + 12.0 / 24.0)
        while of.state.tank.next_event[0] == 0:
            of.strides(1)
        seen.append(float(of.state.tank.clock[0]) - DAY - 14.5 * HOUR)
        assert of.state.tank.stop_at[0] == NEVER
    assert min(seen) == pytest.approx(0.0, abs=0.21)
    assert max(seen) < 3600.0, "a contest may take three quarters of an hour"


def test_lights_that_go_off_early_make_a_night_and_a_late_comer_comes_in_it():
    of = tank(
        {"on_day": 1, "at_h": 14, "do": "lights", "light_hours": 4},
        {"on_day": 2, "at_h": 12, "do": "lights", "light_hours": 11},
        late={"joins_day": 1, "joins_at_h": 15},
    )
    of.advance(until_day=1 + 14.5 / 24)
    assert of.state.tank.phase[0] == NIGHT
    assert of.state.tank.clock[0] == DAY + 15 * HOUR, "the night is cut where somebody comes"
    assert of.state.fish.presence[2:].tolist() == [IN_TANK, IN_TANK]
    assert of.state.fish.hiding[2:].tolist() == [1, 1]
    of.advance(until_day=2.0)
    assert of.state.tank.clock[0] == 2 * DAY + 9 * HOUR
    of.advance(until_day=2 + 19 / 24)
    assert of.state.tank.phase[0] != NIGHT, "light until eight again"


def test_a_night_can_be_ended_by_light():
    of = tank({"on_day": 1, "at_h": 3, "do": "lights", "lights_on_h": 2, "light_hours": 10})
    of.advance(until_day=1 + 3.2 / 24)
    assert of.state.tank.phase[0] != NIGHT
    assert of.state.tank.clock[0] < DAY + 4 * HOUR
    of.advance(until_day=1.51)
    assert of.state.tank.clock[0] == 2 * DAY + 2 * HOUR, "dark from noon, and light again at two"


def test_a_fish_that_joins_by_day_at_an_hour():
    of = tank(late={"joins_day": 1, "joins_at_h": 16})
    of.advance(until_day=1 + 15.7 / 24)
    assert of.state.fish.presence[2] == NOT_YET
    of.advance(until_day=1 + 16.05 / 24)
    assert of.state.fish.presence[2] == IN_TANK


def test_an_event_before_the_first_light_is_done_at_once():
    of = tank({"on_day": 0, "at_h": 2, "do": "take out", "fish": ["Beryl"]})
    assert of.state.fish.presence[1] == AWAY


def test_the_fry_are_taken():
    of = history(
        fish(name="Agate", sex="male", length_m=0.11),
        fish(name="Beryl", sex="female", length_m=0.09),
        breeding={"mode": "on", "spawn_day": 0.5, "pair": ("Agate", "Beryl")},
        events=[{"on_day": 14, "at_h": 12, "do": "take the fry"}],
        days=16,
    )
    of.advance(until_day=14.49)
    assert of.state.tank.stage[0] == 5
    of.advance(until_day=14.52)
    assert of.state.tank.stage[0] == 6


def test_a_stop_is_due_when_the_rules_stand_still_and_not_a_hair_earlier():
    # Ticks add up with errors of some 1e-8 s; two ways of stepping must not differ by a tick.
    of = tank({"on_day": 1, "at_h": 12, "do": "water change", "share": 0.3})
    for early_s, due in ((1e-7, False), (1e-8, False), (1e-10, True), (0.0, True)):
        of.state.tank.clock = of.state.tank.stop_at - early_s
        assert of.occasions.due(of.state) == due == bool(call(stopped, of.state))
