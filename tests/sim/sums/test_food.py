"""Food and growth of the sums are those of the rules at their best."""

from __future__ import annotations

import math

import pytest

from sim.rules.feed import daily_need as need_of_rule
from sim.rules.grow import digest
from sim.scenario import company
from sim.sums.food import daily_food, daily_need, grown_length, length_on
from tests.sim.calling import call
from tests.sim.worlds import fish, history, put, shipped, tank

AVERAGE = ("individuality",)


@pytest.mark.parametrize("sex", ["male", "female"])
@pytest.mark.parametrize("degrees", [22.0, 27.0])
def test_growth_is_that_of_the_rule_when_fed_and_beaten_by_nobody(sex, degrees):
    of = history(
        fish(sex=sex, length_m=0.05), fish(sex="female", length_m=0.05), growth=True,
        temperature_c=degrees, without=AVERAGE, changes={"growth_rank": 0.0},
    )  # fmt: skip
    for i in range(2):
        put(of, i, 0.2 + 0.5 * i, 0.1)
    one = company(of.scenario)[0]
    start = float(of.state.fish.length[0])
    for _ in range(100):
        call(digest, of.state, of.floor)
    assert start < of.state.fish.length[0]
    found = length_on(one, day=100.0, temperature_c=degrees)
    assert found == pytest.approx(float(of.state.fish.length[0]), rel=1e-9)


def test_need_is_that_of_the_rule():
    of = history(fish(sex="male"), fish("oscar", length_m=0.2), fish("swordtail"))
    for i in range(3):
        mass = float(of.state.fish.mass[i])
        assert daily_need(mass) == pytest.approx(call(need_of_rule, of.state, i), rel=1e-12)


def test_lengths_of_those_the_file_leaves_open():
    scenario, _ = tank(fish(sex="male"), fish(sex="female"), fish(), fish(length_m=0.2), days=1.0)
    male, female, unknown, giant = company(scenario)
    kind = male.species
    now = {one.name: length_on(one, day=0.0, temperature_c=27.0) for one in company(scenario)}
    assert list(now.values()) == [
        kind.adult_male_m,
        kind.adult_female_m,
        pytest.approx(0.5 * (kind.adult_male_m + kind.adult_female_m)),
        0.2,
    ]
    assert grown_length(giant) == 0.2  # nothing shrinks
    assert length_on(unknown, day=math.inf, temperature_c=27.0) == grown_length(unknown)
    assert grown_length(female) < grown_length(male)


def test_a_ration_of_the_file_wins_over_need():
    scenario = shipped("feeding-one-spot").scenario
    masses = [2.0] * 10
    assert daily_food(scenario, masses) == pytest.approx(0.02 * 20.0)
    without = scenario.model_copy(update={"feeding": None})
    assert daily_food(without, masses) == pytest.approx(10 * daily_need(2.0))
    open_ration = scenario.feeding.model_copy(update={"share_of_mass": None})
    needed = scenario.model_copy(update={"feeding": open_ration})
    assert daily_food(needed, masses) == pytest.approx(10 * daily_need(2.0))
