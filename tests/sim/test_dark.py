"""Dusk and night: who is active when, and what is about in the dark."""

from __future__ import annotations

import numpy as np
import pytest

from sim.rules.codes import EGGS, NIGHT
from sim.rules.dark import activity_now, night_visits, time_to_dusk
from tests.sim.calling import call
from tests.sim.worlds import fish, history

HOUR = 3600.0


def test_the_dim_hours_are_at_either_end_of_the_light():
    of = history(fish("bristlenose"), dusk_hours=1.0)
    row = of.state.fish[0]
    day, dusk = float(row.activity), float(row.dusk)
    assert day != dusk
    for hour, expected in ((9.5, dusk), (10.5, day), (18.9, day), (19.1, dusk)):
        of.state.tank.clock[0] = hour * HOUR
        assert call(activity_now, of.state, 0) == expected, hour
    of.state.tank.clock[0] = 12.0 * HOUR
    assert call(time_to_dusk, of.state) == pytest.approx(7.0 * HOUR)
    of.state.tank.clock[0] = 9.5 * HOUR
    assert call(time_to_dusk, of.state) == pytest.approx(0.5 * HOUR)


def test_without_dim_hours_the_whole_light_is_day():
    of = history(fish("bristlenose"))
    of.state.tank.clock[0] = 19.9 * HOUR
    assert call(activity_now, of.state, 0) == of.state.fish.activity[0]
    assert call(time_to_dusk, of.state) > 1e9


def test_visits_come_as_often_as_the_kind_is_active_at_night():
    of = history(fish("bristlenose"), fish("convict"))
    rate = float(of.state.par.night_visit_rate[0]) * float(of.state.fish.night[0])
    drawn = []
    for night in range(2000):
        of.state.tank.clock[0] = 20.0 * HOUR + night * 86400.0
        drawn.append(call(night_visits, of.state, 0, 13.0))
        assert call(night_visits, of.state, 1, 13.0) == 0, "a convict sleeps"
    # 2000 Poisson draws: four standard errors of their mean.
    assert np.mean(drawn) == pytest.approx(13.0 * rate, abs=4 * np.sqrt(13.0 * rate / 2000))
    assert of.state.tally.night_visits.tolist() == [sum(drawn), 0]


def test_a_nest_is_visited_in_the_dark_and_only_while_there_are_young():
    spawning = {"mode": "on", "spawn_day": 0.0, "pair": ("Agate", "Beryl")}
    of = history(
        fish(name="Agate", sex="male", length_m=0.11),
        fish(name="Beryl", sex="female", length_m=0.09),
        fish("bristlenose", name="Lint"),
        breeding=spawning,
        days=3,
    )
    of.advance(until_day=0.8)
    assert of.state.tank.stage[0] == EGGS
    assert of.state.tally.night_visits[2] == 0
    of.advance(until_day=1.4)
    assert of.state.tally.night_visits[2] > 0
    assert of.state.tally.night_visits[:2].tolist() == [0, 0]
    bare = history(fish("bristlenose", name="Lint"), days=3)
    bare.advance()
    assert bare.state.tally.night_visits[0] == 0
    assert bare.state.tank.phase[0] in (0, 1, NIGHT)
