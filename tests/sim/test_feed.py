"""What a fish needs, whether a patch pays to defend, who eats, and what several spots change."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from sim.rules.codes import FLEE, NOWHERE, SWIM, TO_FOOD
from sim.rules.feed import (
    choose_patch,
    daily_need,
    defence_pays,
    find_ways,
    meal_exposure,
    meal_look,
)
from sim.rules.meal import open_meal
from tests.sim.calling import call
from tests.sim.worlds import fish, history, put

SPOT = {"times": [12.0], "spots": [["0.3 m", "0.2 m"]]}
FIVE = {"times": [12.0], "spots": [[f"{0.15 + 0.23 * k} m", "0.2 m"] for k in range(5)]}


def table(count=3, feeding=SPOT, *, length_m=0.05, changes=None):
    """Fish at the moment the food falls, all in the open near the first spot."""
    of = history(*(fish(length_m=length_m) for _ in range(count)), feeding=feeding, changes=changes)
    of.state.tank.clock = 12 * 3600.0
    for i in range(count):
        put(of, i, 0.3 + 0.02 * i, 0.2)
    call(open_meal, of.state, of.floor)
    call(find_ways, of.state, of.floor)
    for i in range(count):
        put(of, i, 0.3 + 0.02 * i, 0.2)
    return of


def test_the_need_is_the_share_of_mass_at_30_g_and_grows_less_than_mass():
    of = history(fish(length_m=0.05), fish(length_m=0.1))
    p = of.state.par[0]
    of.state.fish.mass[0] = 30.0
    assert call(daily_need, of.state, 0) == pytest.approx(30.0 * p.need_share)
    of.state.fish.mass[1] = 300.0
    ratio = call(daily_need, of.state, 1) / call(daily_need, of.state, 0)
    assert ratio == pytest.approx(10.0**p.need_power)


def pays(of, food, others, *, full=1.0, wants=1.0):
    return call(defence_pays, of.state, full, wants, food, others)


def test_a_patch_pays_neither_alone_nor_in_a_crowd_nor_scarce_nor_ample():
    of = history(fish())
    gain = [pays(of, 1.0, n) for n in range(12)]
    assert gain[0] == 0.0
    assert max(gain) > 0.2
    assert gain[9] == 0.0
    assert np.argmax(gain) > 0
    food = [pays(of, q, 1) for q in (0.0, 0.05, 1.0, 2.0, 50.0)]
    assert food[0] == food[4] == 0.0
    assert food[1] < food[2]
    assert all(0.0 <= value <= 1.0 for value in gain + food)


def test_what_pays_is_the_gain_over_sharing_in_closed_form():
    """One other, held off for a quarter of the time: 0.75 of the food against half of it."""
    of = history(fish(), changes={"food_chase_time": 5.0, "food_away_time": 20.0})
    assert pays(of, 1.0, 1) == pytest.approx(0.75 - 0.5)
    assert pays(of, 1.0, 1, wants=0.6) == pytest.approx(0.1)  # it wants no more
    assert pays(of, 1.0, 1, wants=0.5) == 0.0


@pytest.mark.parametrize(("away", "most"), [(10.0, 0), (20.0, 2), (40.0, 6)])
def test_how_many_others_a_fish_puts_up_with_follows_from_how_many_it_can_keep_off(away, most):
    """Keeping n off pays while 1 - n T_c / T_a > 1 / (1 + n), that is n < T_a / T_c - 1."""
    of = history(fish(), changes={"food_chase_time": 5.0, "food_away_time": away})
    assert max((n for n in range(1, 15) if pays(of, 1.0, n) > 1e-12), default=0) == most


def test_at_the_food_only_the_food_is_defended():
    of = table()
    state = of.state
    state.fish.site[:] = 0  # whatever they hold counts for nothing now
    call(meal_look, state, of.floor, 0.4)
    assert np.all(state.fish.goal == TO_FOOD)
    assert np.all(state.fish.pays > 0.0)
    near = call(meal_exposure, state, of.floor, 0, 1, 0.02**2)
    assert 0.0 < near <= state.fish.pays[0]
    state.fish.goal[1] = NOWHERE  # a fish that is not after the food is let be
    assert call(meal_exposure, state, of.floor, 0, 1, 0.02**2) == 0.0


def test_the_table_is_shared_and_nothing_is_eaten_twice():
    of = table(3)
    state = of.state
    served = state.food.food.sum()
    for _ in range(20):
        call(meal_look, state, of.floor, 0.4)
    eaten = state.tally.food.sum()
    assert eaten > 0.0
    assert eaten + state.food.food.sum() == pytest.approx(served)
    assert np.ptp(state.fish.eaten_today) < 1e-12
    rate = state.fish.full[0] / state.par[0].eat_time
    assert state.fish.eaten_today[0] == pytest.approx(20 * 0.4 * rate)


def test_who_is_chased_or_hides_or_is_full_does_not_eat():
    of = table(4, changes={"food_away_time": 90.0, "food_call_time": 60.0})
    state = of.state
    state.fish.act[0] = FLEE
    state.fish.hiding[1], state.fish.fear[1] = 1, 1.0
    state.fish.appetite[2] = 0.0
    call(meal_look, state, of.floor, 0.4)
    assert list(state.fish.eaten_today > 0.0) == [False, False, False, True]
    state.fish.act[0] = SWIM
    assert state.fish.off_food_until[0] > state.tank.clock[0]
    call(meal_look, state, of.floor, 0.4)
    assert state.fish.eaten_today[0] == 0.0


def test_a_hungry_fish_goes_where_there_is_most_for_it_and_not_to_whom_it_fears():
    of = table(3, FIVE)
    state = of.state
    state.food.food[:] = [1.0, 0.0, 1.0, 0.0, 0.0]
    put(of, 0, 0.38, 0.2)  # midway between the first and the third
    state.food.crowd[:] = [2, 0, 0, 0, 0]
    call(choose_patch, state, of.floor, 0)
    assert state.fish.goal_index[0] == 2
    state.food.crowd[:] = 0
    state.fish.goal[0] = NOWHERE
    state.fish.goal[1], state.fish.goal_index[1] = TO_FOOD, 2
    state.pair.avoid[0, 1] = 0.9
    call(choose_patch, state, of.floor, 0)
    assert state.fish.goal_index[0] == 0


def test_a_parent_does_not_leave_its_brood_for_food_far_away():
    of = table(2)
    state = of.state
    put(of, 0, 1.1, 0.2)
    state.fish.site[0], state.fish.heat[0], state.fish.reach[0] = 0, 1.5, 0.4
    call(choose_patch, state, of.floor, 0)
    assert state.fish.goal[0] == NOWHERE
    state.fish.heat[0] = 1.0
    call(choose_patch, state, of.floor, 0)
    assert state.fish.goal[0] == TO_FOOD


@cache
def fed(patches: int) -> tuple[float, float]:
    """Attacks over food a meal and the spread of food, ten fish, six runs of three days."""
    places = {
        10: [(x, y) for x in (0.12, 0.36, 0.6, 0.84, 1.08) for y in (0.12, 0.33)],
        5: [(0.12 + 0.24 * k, 0.22) for k in range(5)],
        1: [(0.6, 0.22)],
    }[patches]
    feeding = {
        "times": [12.0, 16.0],
        "spots": [[f"{x} m", f"{y} m"] for x, y in places],
        "share_of_mass": 0.02,
    }
    attacks, spread = [], []
    for run in range(6):
        of = history(fish(count=10, length="about 1.7 in"), feeding=feeding, days=3.0, run=run)
        of.advance()
        row = of.outcome().row
        attacks.append(row["food_attacks_per_meal"][0])
        spread.append(row["food_spread"][0])
    return float(np.mean(attacks)), float(np.mean(spread))


def test_attacks_over_food_peak_between_one_patch_each_and_one_for_all():
    """Ten fish at 10, 5 and 1 patches, the design of Noel2005; nothing sets where the peak is."""
    assert fed(5)[0] > 3.0 * fed(10)[0]
    assert fed(5)[0] > 3.0 * fed(1)[0]


def test_one_spot_feeds_fish_less_evenly_than_five():
    assert fed(1)[1] > 1.5 * fed(5)[1]
