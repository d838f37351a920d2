"""Borrow: what a few windows tell of one pair is told better together with its likes."""

from __future__ import annotations

import numpy as np
import pytest

from sim.rules.borrow import LIKE, OTHER, set_rates
from sim.rules.codes import AWAY
from tests.sim.calling import call
from tests.sim.worlds import fish, history, nearest_site

WINDOW = 200.0  # s of a window that is pooled


def company(windows: int = 20):
    """A convict that holds ground, three swordtails, an acara and another convict with ground."""
    of = history(
        fish(name="Bully", sex="male"),
        *(fish("swordtail", name=f"tail {k}") for k in range(3)),
        fish("blue acara", name="Guest"),
        fish(name="Owner", sex="male"),
    )
    state = of.state
    state.fish.site[:] = -1
    state.fish.site[0] = nearest_site(of, 0.2, 0.2)
    state.fish.site[5] = nearest_site(of, 1.0, 0.2)
    tank = state.tank[0]
    tank.pool_weight, tank.pool_square = float(windows), float(windows)
    tank.pool_time = windows * WINDOW
    seen(state, [0.0, 10.0, 40.0, 10.0, 80.0, 5.0], windows=windows)
    return of


def seen(state, exposures, *, windows: int) -> None:
    """Exposures to the bully in all windows, s, half of the time in cover and half not."""
    for kind, other in (("exposure", "free"), ("exposure_covered", "free_covered")):
        state.pair[kind][0, :] = np.array(exposures) / 2.0
        state.pair[other][0, :] = windows * WINDOW / 2.0


def told(of) -> np.ndarray:
    call(set_rates, of.state)
    assert of.state.pair.rate[0] == pytest.approx(of.state.pair.rate_covered[0])
    return of.state.pair.rate[0] * 20 * WINDOW


def test_those_of_a_kind_are_taken_for_alike_and_kinds_for_what_they_showed():
    """By hand: the kind by 60 fish-windows and 20, each fish by 20, and what it borrows."""
    of = company()
    every = (10.0 + 40.0 + 10.0 + 80.0) / 4.0
    tails = (60.0 * 20.0 + OTHER * every) / (60.0 + OTHER)
    guest = (20.0 * 80.0 + OTHER * every) / (20.0 + OTHER)
    by_hand = [
        (20.0 * own + LIKE * kind) / (20.0 + LIKE)
        for own, kind in ((10.0, tails), (40.0, tails), (10.0, tails), (80.0, guest))
    ]
    found = told(of)
    assert found[1:5] == pytest.approx(by_hand)
    assert found[2] - found[1] < 0.1 * 30.0
    assert found[4] > 2.0 * found[1]


def test_who_holds_ground_or_is_a_mate_stands_for_itself():
    of = company()
    assert told(of)[5] == pytest.approx(5.0)
    of.state.fish.mate[0] = 4
    assert told(of)[4] == pytest.approx(80.0)


def test_nobody_borrows_from_who_is_out_or_behind_a_divider():
    of = company()
    with_guest = told(of)[1]
    of.state.fish.presence[4] = AWAY
    without = told(of)[1]
    assert without < with_guest
    of.state.fish.presence[4] = of.state.fish.presence[1]
    of.state.fish.compartment[4] = 1
    assert told(of)[1] == pytest.approx(without)


def test_the_more_was_seen_the_less_is_borrowed():
    of = company()
    apart = []
    for windows in (5, 20, 500):
        tank = of.state.tank[0]
        tank.pool_weight, tank.pool_square = float(windows), float(windows)
        tank.pool_time = windows * WINDOW
        seen(of.state, np.array([0.0, 10.0, 40.0, 10.0, 80.0, 5.0]) * windows / 20, windows=windows)
        found = told(of)
        apart.append(found[2] - found[1])
    assert apart[0] < apart[1] < apart[2]
    assert apart[2] == pytest.approx(30.0 * 500.0 / (500.0 + LIKE))


def test_what_was_never_seen_is_borrowed_whole_and_with_nothing_seen_is_nothing():
    of = company()
    of.state.pair.free[0, 2] = of.state.pair.exposure[0, 2] = 0.0
    of.state.pair.free_covered[0, 2] = of.state.pair.exposure_covered[0, 2] = 0.0
    found = told(of)
    assert 0.0 < found[2] < found[4]
    for name in ("exposure", "free", "exposure_covered", "free_covered"):
        of.state.pair[name] = 0.0
    call(set_rates, of.state)
    assert np.all(of.state.pair.rate == 0.0)
    assert np.all(of.state.pair.rate_covered == 0.0)


def test_a_fresh_tank_has_no_rates():
    of = history(fish(), fish())
    call(set_rates, of.state)
    assert np.all(of.state.pair.rate == 0.0)
