"""Young: how many are laid, who eats them, and what is dug up for their nest."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.draws import named_key
from sim.rules.breed import brood_clock
from sim.rules.codes import BARE, DIGGING, EGGS, FLEE, FRY, GRAVEL, RESTING, SAND
from sim.rules.dig import digging_time, uproot
from sim.rules.pair import bond
from sim.rules.young import (
    at_brood,
    clutch_of,
    lay,
    live_and_die,
    lure,
    mouthfuls,
    pool_visits,
)
from tests.sim.calling import call
from tests.sim.layouts import piece
from tests.sim.worlds import fish, history, put

DAY = 86400.0


def guarded(*, stage: int = EGGS, pieces=None):
    """A pair of convicts at a stage, and a swordtail."""
    of = history(
        fish(name="Sorrel", sex="male", length_m=0.1),
        fish(name="Tansy", sex="female", length_m=0.082),
        fish("swordtail", name="dither", length_m=0.08),
        pieces=pieces or [piece("pot", "6 in", 0.3, 0.2, name="pot")],
        breeding={"mode": "spontaneous"},
        days=60.0,
    )
    for i, x in enumerate((0.9, 1.0, 1.1)):
        put(of, i, x, 0.35)
    state = of.state
    call(bond, state, 1, 0)
    row = state.broods[0]
    row.stage, row.place, row.nest = stage, 0, 0
    row.stage_since = state.tank.clock[0]
    row.stage_until = 1e12
    state.par.brood_failure = 0.0
    call(lay, state, 0)
    return of


def at_place(of, i: int) -> None:
    put(of, i, *of.floor.site_xy[of.state.broods.place[0]])


@pytest.mark.parametrize(("length_mm_sl", "eggs"), [(32.2, 65), (44.4, 155), (61.2, 345)])
def test_clutch_follows_the_length_of_the_female_within_a_tenth_of_the_paper(length_mm_sl, eggs):
    """Ishikawa2010: ends of the range and the mean; median of 2,000 draws."""
    of = guarded()
    of.state.fish.length[1] = length_mm_sl / 1000.0 / 0.83
    laid = [call(clutch_of, of.state, 1, named_key("clutch", k)) for k in range(2000)]
    assert np.median(laid) == pytest.approx(eggs, rel=0.1)
    assert np.std(np.log(laid)) == pytest.approx(0.2, rel=0.1)


def test_young_nobody_eats_decline_in_closed_form():
    of = guarded()
    state, row = of.state, of.state.broods[0]
    laid = float(row.young)
    whole = row.eggs_s + row.wrigglers_s + row.fry_s
    for _ in range(100):
        call(live_and_die, state, of.floor, 0, 0.0, whole / 100)
    left = state.kinds.survival[state.fish.species[1]] ** state.par.quiet_loss[0]
    assert row.young == pytest.approx(laid * left)


def test_only_a_free_fish_at_the_brood_eats_and_parents_never():
    of = guarded()
    state = of.state
    assert not call(at_brood, state, of.floor, 0, 2)
    at_place(of, 2)
    assert call(at_brood, state, of.floor, 0, 2)
    for name, value in (("act", FLEE), ("hiding", 1), ("room", 0), ("layer", 2)):
        before = state.fish[name][2]
        state.fish[name][2] = value
        assert not call(at_brood, state, of.floor, 0, 2), name
        state.fish[name][2] = before
    at_place(of, 0)
    for k in range(100):
        state.tank.beats = k
        call(live_and_die, state, of.floor, 0, 10.0, 0.0)
    assert state.tally.young_eaten[2] > 0.0
    assert state.tally.young_eaten[:2].tolist() == [0.0, 0.0]
    assert state.broods.young[0] + state.broods.eaten[0] == pytest.approx(state.broods.laid[0])


def test_mouthfuls_are_a_poisson_count_and_fry_mostly_escape():
    """2,000 beats of 10 s; mean within 5 standard errors, and fry by their share."""
    means = []
    for stage in (EGGS, FRY):
        of = guarded(stage=stage)
        state, p = of.state, of.state.par[0]
        state.broods.young[0] = 1e9
        for k in range(2000):
            state.tank.beats = k
            call(mouthfuls, state, 0, 2, 10.0)
        means.append(state.tally.young_eaten[2] / 2000)
    size = p.mouthful * 0.08 / 0.10
    assert means[0] == pytest.approx(
        10.0 * p.raid_rate * size, rel=5 / math.sqrt(2000 * 10.0 * p.raid_rate)
    )
    assert means[1] == pytest.approx(means[0] * p.fry_caught)


def test_in_leapt_time_they_eat_as_long_as_they_were_seen_there():
    of = guarded()
    state = of.state
    state.tank.phase, state.tank.burn_until, state.tank.until = 0, 0.0, 1e12
    at_place(of, 2)
    state.par.raid_rate = 0.0
    for k in range(10):
        if k == 4:
            put(of, 2, 1.1, 0.35)
        call(live_and_die, state, of.floor, 0, 10.0, 0.0)
    call(pool_visits, state, 1.0, 240.0)
    row = state.broods[0]
    assert state.visits.pooled[0, 2] / row.visit_pool == pytest.approx(0.4)
    state.par.raid_rate = 0.1
    state.tank.phase, row.young = 1, 1e9
    for k in range(500):
        state.tank.beats = k
        call(live_and_die, state, of.floor, 0, 100.0, 0.0)
    want = 500 * 100.0 * 0.4 * 0.1 * 0.8 * state.par.mouthful[0]
    assert state.tally.young_eaten[2] == pytest.approx(want, rel=5 / math.sqrt(2000))


@pytest.mark.parametrize(("eaten", "fate"), [(0.9, "eaten"), (0.1, "lost")])
def test_a_brood_that_is_gone_is_eaten_or_lost_and_the_pair_rests(eaten, fate):
    of = guarded()
    row = of.state.broods[0]
    row.young, row.eaten = 0.5, eaten * row.laid
    call(brood_clock, of.state, of.floor, 10.0)
    assert row.stage == RESTING
    assert of.state.tank[fate][0] == 1
    assert of.state.tank.eaten[0] + of.state.tank.lost[0] == 1


def test_a_fish_is_lured_by_a_brood_it_sees_less_when_afraid_and_never_without():
    shares = []
    for fear in (0.0, 0.9):
        of = guarded()
        at_place(of, 2)
        state = of.state
        lured = 0
        for k in range(4000):
            state.fish.fear[2], state.fish.lured[2], state.tank.beats = fear, -1, k
            call(lure, state, of.floor, 2, 60.0)
            lured += int(state.fish.lured[2] == 0)
        shares.append(lured / 4000)
    gap = 60.0 * state.par.lure_gap[0]
    assert shares[0] == pytest.approx(1 - math.exp(-60.0 / gap), abs=4 * math.sqrt(0.017 / 4000))
    assert shares[1] < 0.4 * shares[0]
    state.broods.stage[0], state.fish.lured[2] = RESTING, 0
    call(lure, state, of.floor, 2, 10.0)
    assert state.fish.lured[2] == -1


def test_gravel_slows_digging_and_nothing_is_dug_in_bare_glass():
    of = guarded(stage=DIGGING)
    p, times = of.state.par[0], []
    for substrate in (SAND, GRAVEL, BARE):
        of.state.tank.substrate = substrate
        times.append(call(digging_time, of.state, 0) / DAY)
    assert times[0] == pytest.approx(p.digging_days)
    assert times[1] == pytest.approx(p.gravel_slows * p.digging_days)
    assert times[2] < times[0]


@pytest.mark.parametrize("substrate", [SAND, BARE])
def test_plants_near_the_pit_are_uprooted_with_their_day(substrate):
    pieces = [
        piece("plant", "low", 0.25, 0.25, name="near"),
        piece("plant", "low", 1.0, 0.25, name="far"),
    ]
    of = guarded(stage=DIGGING, pieces=pieces)
    state = of.state
    state.tank.substrate = substrate
    distance = np.hypot(*(of.floor.site_xy - [0.25, 0.25]).T)
    state.broods.place[0] = int(np.argmin(distance))
    for k in range(200):
        state.tank.beats = k
        call(uproot, state, of.floor, 0, 3600.0)
    dug = [1, 0] if substrate == SAND else [0, 0]
    assert state.plants.uprooted.tolist() == dug
    assert state.tank.uprooted[0] == sum(dug)
    assert (state.plants.day < 100.0).tolist() == [bool(d) for d in dug]
