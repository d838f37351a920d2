"""Who is food for whom, how hunger drives it, and what becomes of small tankmates."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.rules.attack import decide, weigh_pairs
from sim.rules.codes import CHASED
from sim.rules.hunt import grow_hungry, hunting_range, mark_prey
from tests.sim.calling import call
from tests.sim.worlds import fish, history, put


def dempsey(prey="neon", **more):
    of = history(fish("Jack Dempsey", length_m=0.2), fish(prey), length_m=1.8, **more)
    put(of, 0, 0.5, 0.2)
    put(of, 1, 0.55, 0.2)
    return of


@pytest.mark.parametrize(("prey", "fits"), [("neon", 1), ("swordtail", 0), ("bronze cory", 0)])
def test_prey_is_what_fits_the_mouth_by_depth_and_by_width(prey, fits):
    of = dempsey(prey)
    assert of.state.pair.prey[0, 1] == fits
    assert of.state.pair.prey[1, 0] == 0
    call(mark_prey, of.state, 0, 1)
    assert of.state.pair.prey[0, 1] == fits


def test_the_hunt_hangs_on_hunger_and_not_on_temper_or_likeness():
    of = dempsey()
    state = of.state
    p = state.par[0]
    for hunger, aggression in ((0.0, 1.0), (0.5, 1.0), (0.5, 3.0), (1.0, 1.0)):
        state.fish.hunger[0], state.fish.aggression[0] = hunger, aggression
        call(weigh_pairs, state)
        assert state.pair.slow[0, 1] == pytest.approx(p.hunt_rate * hunger)


def test_nobody_displays_to_its_food():
    of = dempsey()
    outcomes = {call(decide, of.state, 0, 1, False) for _ in range(200)}
    assert outcomes == {CHASED}


def test_prey_is_gone_for_when_near():
    of = dempsey()
    near, far = (call(hunting_range, of.state, 0, 1, d * d) for d in (0.02, 0.5))
    assert 0.9 < near <= 1.0
    assert 0.0 < far < near
    assert call(hunting_range, of.state, 0, 1, 4.0) == 0.0


def test_hunger_returns_by_its_time_and_a_catch_ends_it():
    of = dempsey(changes={"swallow_chance": 0.8, "hunger_time": 12.0})
    call(grow_hungry, of.state, 12 * 3600.0)
    assert of.state.fish.hunger[0] == pytest.approx(1.0 - math.exp(-1.0))
    from sim.draws import named_key
    from sim.rules.bite import wound

    mass = of.state.fish.mass[1]
    k = 0
    while of.state.tally.eaten[1] == 0:
        call(wound, of.state, 0, 1, 1, 1.0, named_key("gulp", k))
        k += 1
    assert of.state.fish.hunger[0] == 0.0
    assert of.state.tally.swallowed[0] == 1
    assert of.state.fish.eaten_today[0] == pytest.approx(mass)


@pytest.mark.parametrize(
    ("eater", "length_m"), [("Jack Dempsey", 0.2), ("oscar", 0.25), ("jaguar cichlid", 0.25)]
)
def test_small_slim_tankmates_under_a_third_of_its_length_do_not_last(eater, length_m):
    """Common practice, no source: of ten neons more than half are eaten in ten days."""
    eaten = []
    for run in range(4):
        of = history(
            fish(eater, length_m=length_m), fish("neon", count=10), length_m=1.8, days=10.0, run=run
        )
        of.advance()
        row = of.outcome().row
        eaten.append(row["eaten"][0])
        assert row["any_eaten"][0] == (row["eaten"][0] > 0)
    assert np.mean(eaten) > 5.0


def test_those_too_deep_for_the_mouth_are_never_swallowed():
    of = history(
        fish("Jack Dempsey", length_m=0.2), fish("swordtail", count=6), length_m=1.8, days=10.0
    )
    of.advance()
    assert of.outcome().row["eaten"][0] == 0
