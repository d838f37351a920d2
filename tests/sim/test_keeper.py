"""The keeper: when there is a look, who is moved, and what is counted."""

from __future__ import annotations

import numpy as np
import pytest

from sim.keeper import Keeper, bully_of, look_in
from sim.rules.codes import DEAD, IN_TANK, MOVED_OUT
from sim.state import NEVER
from tests.sim.worlds import fish, history

DAY = 86400.0


def keeper(**more):
    plan = {"hours_s": (8 * 3600.0, 19 * 3600.0), "away": (), "moves": "victim"}
    return Keeper(**{**plan, "places": 1, "back_s": 5 * DAY, **more})


def tank(**plan):
    return history(
        fish(name="Agate", sex="male", length_m=0.11),
        fish(name="Beryl", sex="male", length_m=0.10),
        fish("swordtail", name="dither", count=3),
        keeper_plan=plan or None,
        days=12,
    )


def hurt(of, *which, much=0.6):
    for i in which:
        of.state.fish.scales[i] = much


def test_looks_are_at_their_hours_and_not_on_days_away():
    looks, at = [], 0.0
    plan = keeper(away=((1.0, 2.0),))
    for _ in range(4):
        at = plan.next_look(at)
        looks.append(at / 3600.0)
    assert looks == [8.0, 19.0, 80.0, 91.0]
    assert keeper(hours_s=()).next_look(0.0) == NEVER


def test_the_victim_goes_out_and_heals_there_and_comes_back():
    of = tank()
    hurt(of, 2)
    assert look_in(of.state, of.floor, keeper())
    row = of.state.fish[2]
    assert row.presence == MOVED_OUT
    assert row.back_at == pytest.approx(of.state.tank.clock[0] + 5 * DAY)
    assert of.state.tally.moved_day[2] == pytest.approx(of.state.tank.clock[0] / DAY)
    before = float(row.scales)
    of.advance(until_day=6.0)
    assert 0.3 * before < row.scales < before
    of.state.tank.clock[0] = row.back_at + 1.0
    hurt(of, 2)
    look_in(of.state, of.floor, keeper())
    assert row.presence == MOVED_OUT, "still seriously hurt"
    hurt(of, 2, much=0.1)
    look_in(of.state, of.floor, keeper())
    assert row.presence == IN_TANK


def test_the_bully_is_who_bit_most_since_the_last_look():
    of = tank()
    hurt(of, 2)
    of.state.pair.bites[0, 2] = 50
    of.state.pair.bites[1, 2] = 20
    assert bully_of(of.state, 2) == 0
    look_in(of.state, of.floor, keeper(moves="bully", places=2))
    assert of.state.fish.presence[:3].tolist() == [MOVED_OUT, IN_TANK, IN_TANK]
    assert not look_in(of.state, of.floor, keeper(moves="bully", places=2)), "no new bites"
    of.state.pair.bites[1, 2] += 3
    look_in(of.state, of.floor, keeper(moves="bully", places=2))
    assert of.state.fish.presence[1] == MOVED_OUT


def test_places_run_out_and_the_need_is_counted_all_the_same():
    of = tank()
    hurt(of, 2, 3)
    hurt(of, 4, much=0.8)
    look_in(of.state, of.floor, keeper())
    assert of.state.fish.presence[2:].tolist() == [IN_TANK, IN_TANK, MOVED_OUT], "the worst first"
    assert of.state.tank.places_needed[0] == 3
    assert of.state.tank.short_day[0] == pytest.approx(of.state.tank.clock[0] / DAY)
    nobody = tank()
    hurt(nobody, 2, 3)
    assert not look_in(nobody.state, nobody.floor, keeper(moves="nobody", places=0))
    assert nobody.state.tank.places_needed[0] == 2
    assert nobody.state.tank.short_day[0] == NEVER


def test_a_look_at_a_tank_in_order_changes_nothing_but_its_notes():
    of = tank()
    of.advance(until_day=0.5)
    before = of.snapshot()
    assert not look_in(of.state, of.floor, keeper())
    assert before.fish.tobytes() == of.state.fish.tobytes()
    assert before.tank.tobytes() == of.state.tank.tobytes()
    assert np.array_equal(of.state.pair.bites_noted, of.state.pair.bites)


def test_nobody_is_moved_while_the_keeper_is_away_and_the_dead_stay():
    of = tank(checks_at=[10.0], away_days=[[0, 3]], moves="victim", spare_places=5)
    of.state.fish.presence[4] = DEAD
    of.advance(until_day=3.9)
    hurt(of, 2)
    of.advance(until_day=3.99)
    assert of.state.fish.presence[2] == IN_TANK
    of.advance(until_day=4.5)
    assert of.state.fish.presence[2] == MOVED_OUT
    assert of.state.fish.presence[4] == DEAD
    outcome = of.outcome()
    assert outcome.row["separated"][0] == 1
    assert outcome.row["moved_out"][0] == 1
    assert outcome.fish["moved_day"][2] == pytest.approx(4 + 10 / 24, abs=0.01)
    assert np.all(np.diff(outcome.days["places_needed"]) >= 0)
