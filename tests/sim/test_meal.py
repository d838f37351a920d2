"""When fish are fed: every meal comes, is watched, ends, and leaves the leaps as they were."""

from __future__ import annotations

import numpy as np
import pytest

from sim.rules.codes import TO_FOOD
from sim.settings import Settings
from tests.sim.worlds import fish, history

TWICE = {"times": [10.0, 18.0], "spots": [["0.3 m", "0.2 m"]]}


def eight(**more):
    return history(fish(count=4, length_m=0.06), fish("swordtail", count=4), **more)


@pytest.mark.parametrize("watch_all", [False, True])
def test_every_meal_is_played_and_no_wish_for_food_outlives_it(watch_all):
    days = 1.0 if watch_all else 6.0
    of = eight(feeding=TWICE, days=days, settings=Settings(watch_all=watch_all))
    of.advance()
    state = of.state
    assert state.tank.meals[0] == 2 * days
    assert state.tank.meal[0] == 0
    assert not np.any(state.fish.goal == TO_FOOD)
    assert np.all(state.food.food == 0.0)
    # A meal waits for the end of a chase or a contest, like any window.
    assert 0.0 < state.tank.meal_s[0] <= 2 * days * (60 * state.par[0].meal_time + 180)
    assert np.all(state.tally.food >= 0.0)
    assert state.tally.food.sum() > 0.5 * state.tally.need.sum()


def test_meals_are_left_out_of_the_exposures_that_leaps_draw_from():
    of = eight(feeding=TWICE, days=2.0)
    counted = []
    while not of.finished:
        before = of.state.tank.window_time[0]
        of.strides(1)
        if of.state.tank.meal[0] == 1:
            counted.append(max(0.0, of.state.tank.window_time[0] - before))
    assert len(counted) > 1000
    assert max(counted) == 0.0


def test_a_history_with_meals_is_the_same_whoever_steps_it():
    whole, parts = eight(feeding=TWICE, days=2.0), eight(feeding=TWICE, days=2.0)
    whole.advance()
    while not parts.finished:
        parts.strides(7)
    assert whole.state.to_bytes() == parts.state.to_bytes()


def test_feeding_costs_few_watched_seconds():
    """Two meals of at most five minutes a day and no more: a gap that one cuts goes on after it.

    Means over six runs; changes of the tank spread the share of a run by about 0.02.
    """
    share = {}
    for feeding in (TWICE, None):
        runs = [eight(feeding=feeding, days=10.0, run=run) for run in range(6)]
        for of in runs:
            of.advance()
        share[feeding is None] = np.mean(
            [of.state.tank.watched_s[0] / of.state.tank.awake[0] for of in runs]
        )
    assert share[False] < share[True] + 2 * 360.0 / (11 * 3600.0) + 0.02


def test_food_changes_what_a_frightened_fish_gets_and_so_how_it_heals():
    """A fish kept in fear comes out less for food; its condition falls and a wound lasts longer."""
    of = history(fish(count=2, length_m=0.08, temper="mild"), feeding=TWICE, days=12.0)
    state = of.state
    while not of.finished:
        state.fish.fear[1] = 1.0
        of.advance(until_day=of.day + 0.02)
    assert state.fish.condition[1] < 0.7 < state.fish.condition[0]
