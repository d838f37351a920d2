"""What a bite does, how a wound heals, who can be swallowed, and what dying takes a fish out of."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.draws import named_key
from sim.rules.bite import die, injury, wound
from sim.rules.codes import DEAD, FLEE, IN_TANK, PURSUE, SWIM
from sim.rules.heal import pass_time
from tests.sim.calling import call
from tests.sim.worlds import fish, fixed_bytes, history, put


def pair(victim: str = "convict", *, lengths=(0.09, 0.09), changes=None):
    of = history(
        fish(name="Biter", length_m=lengths[0]),
        fish(victim, name="Bitten", length_m=lengths[1]),
        changes=changes,
    )
    put(of, 0, 0.5, 0.2)
    put(of, 1, 0.6, 0.2)
    return of


def harm_of(of, n: int, *, weight: float = 1.0, part: str = "bite") -> np.ndarray:
    """Single bites, the victim whole again after each."""
    state = of.state
    key = named_key("test", part)
    with np.errstate(over="ignore"):
        keys = key + np.arange(1, n + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    harm = np.empty(n)
    for k in range(n):
        state.fish[1].skin = state.fish[1].scales = 0.0
        harm[k] = call(wound, state, 0, 1, 1, weight, keys[k])
    return harm


@pytest.mark.parametrize(
    ("victim", "lengths", "weight"),
    [
        ("convict", (0.09, 0.09), 1.0),
        ("convict", (0.09, 0.06), 1.0),
        ("convict", (0.06, 0.09), 1.0),
        ("bristlenose", (0.09, 0.09), 1.0),
        ("convict", (0.09, 0.09), 0.5),
    ],
)
def test_the_mean_harm_of_a_bite_is_the_parameter_times_size_and_armour(victim, lengths, weight):
    """20,000 bites, fixed keys; mean within 3 standard errors, share of wounds within 3."""
    of = pair(victim, lengths=lengths)
    state = of.state
    p = state.par[0]
    before = fixed_bytes(of)
    harm = harm_of(of, 20_000, weight=weight)
    assert fixed_bytes(of) == before
    size = (state.fish.mass[0] / state.fish.mass[1]) ** p.harm_size_power
    mean = weight * p.harm_per_bite * size * (1.0 - state.fish.armour[1])
    assert harm.mean() == pytest.approx(mean, abs=3 * harm.std() / math.sqrt(len(harm)))
    hurt = np.mean(harm > 0)
    error = math.sqrt(p.wound_chance * (1 - p.wound_chance) / len(harm))
    assert hurt == pytest.approx(p.wound_chance, abs=3 * error)
    # A wound is exponential: its sd is its mean.
    wounds = harm[harm > 0]
    assert wounds.std() == pytest.approx(wounds.mean(), rel=4 * 2 / math.sqrt(len(wounds)))
    assert state.tally.dose[1] == pytest.approx(harm.sum())


def test_armour_keeps_harm_off():
    soft, hard = pair("convict"), pair("bristlenose")
    assert hard.state.fish.armour[1] > 0.2 > soft.state.fish.armour[1]


def test_many_bites_at_once_are_as_many_single_ones_and_are_tallied():
    """1,000 lots of 20 bites against 20,000 single ones, means within 4 standard errors."""
    one, many = pair(), pair()
    single = harm_of(one, 20_000, part="single")
    lots = []
    for k in range(1000):
        many.state.fish[1].skin = many.state.fish[1].scales = 0.0
        lots.append(call(wound, many.state, 0, 1, 20, 1.0, named_key("lot", k)))
    error = math.sqrt(2) * single.std() * math.sqrt(20) / math.sqrt(1000)
    assert np.mean(lots) == pytest.approx(20 * single.mean(), abs=4 * error)
    state = many.state
    assert state.tally.bites_given[0] == state.tally.bites_taken[1] == 20_000
    assert state.pair.bites[0, 1] == state.tank.bites[0] == state.days.bites.sum() == 20_000


def test_skin_and_scales_share_a_wound_and_fade_at_their_times():
    of = pair()
    state = of.state
    p = state.par[0]
    for k in range(200):
        call(wound, state, 0, 1, 1, 1.0, named_key("share", k))
    row = state.fish[1]
    assert row.skin / (row.skin + row.scales) == pytest.approx(p.skin_share)
    row.skin, row.scales = 0.2, 0.3
    call(pass_time, state, 10 * 3600.0)
    assert row.skin == pytest.approx(0.2 / math.e)  # closes in 10 h
    assert row.scales == pytest.approx(0.3 * math.exp(-10 / (14 * 24)))
    call(pass_time, state, 14 * 86400.0 - 10 * 3600.0)
    assert row.scales == pytest.approx(0.3 / math.e)  # regrown by 14 days
    assert row.skin < 1e-12


def test_healing_in_many_parts_is_healing_at_once():
    a, b = pair(), pair()
    for of, parts in ((a, 1), (b, 1000)):
        of.state.fish[1].skin, of.state.fish[1].scales, of.state.fish[1].fear = 0.4, 0.3, 0.8
        for _ in range(parts):
            call(pass_time, of.state, 50_000.0 / parts)
    for name in ("skin", "scales", "fear"):
        assert a.state.fish[name][1] == pytest.approx(b.state.fish[name][1], rel=1e-9)


@pytest.mark.parametrize(
    ("before", "days"),
    [
        (0.0, ()),
        (0.1499, ("minor_day",)),
        (0.4999, ("minor_day", "serious_day")),
        (0.6, ("minor_day", "serious_day")),  # carried in from before the start
    ],
)
def test_a_level_of_injury_is_dated_by_the_first_bite_that_reaches_or_adds_to_it(before, days):
    of = pair(changes={"harm_per_bite": 0.005, "wound_chance": 0.6})
    state = of.state
    state.fish[1].scales = before
    state.tank.changed = 0
    harm = call(wound, state, 0, 1, 1, 1.0, hurting_key(of, before))
    assert 0 < harm < 0.1
    now = state.tank.clock[0] / 86400.0
    for name in ("minor_day", "serious_day"):
        assert state.tally[name][1] == (now if name in days else math.inf)
    assert state.tank.changed[0] == int("serious_day" in days)
    assert state.fish.presence[1] == IN_TANK
    state.tank.changed, state.tank.clock = 0, state.tank.clock[0] + 60.0
    call(wound, state, 0, 1, 1, 1.0, hurting_key(of, before))
    for name in days:  # a second bite dates nothing anew
        assert state.tally[name][1] == now
    assert state.tank.changed[0] == 0 or not days


def test_what_does_not_wound_dates_nothing():
    of = pair()
    of.state.fish[1].scales = 0.6
    keys = (named_key("harmless", k) for k in range(100))
    assert any(call(wound, of.state, 0, 1, 1, 1.0, key) == 0.0 for key in keys)
    assert of.state.tally.serious_day[1] == math.inf


def hurting_key(of, before: float) -> np.uint64:
    """A key whose bite wounds."""
    copy = of.snapshot()
    for k in range(100):
        key = named_key("hurting", k)
        copy.restore(of.state)
        if call(wound, copy, 0, 1, 1, 1.0, key) > 0.0005:
            return key
    raise AssertionError("no bite wounds")


def test_injury_of_one_is_death_and_the_dead_are_out_of_everything():
    of = pair()
    state = of.state
    state.fish[1].scales = 0.99999
    state.fish[0].act, state.fish[0].target = PURSUE, 1
    state.fish[1].act, state.fish[1].target = FLEE, 0
    k = 0
    while state.fish[1].presence == IN_TANK:
        call(wound, state, 0, 1, 1, 1.0, named_key("end", k))
        k += 1
    assert state.fish[1].presence == DEAD
    assert state.fish[0].act == SWIM
    assert state.fish[0].target == -1
    assert state.tank.deaths[0] == 1
    assert state.tally.death_day[1] == state.tank.clock[0] / 86400.0
    assert state.tally.eaten[1] == 0
    assert np.all(state.pair.slow[1] == 0.0)
    assert np.all(state.pair.slow[:, 1] == 0.0)
    assert call(injury, state, 1) == 1.0
    taken = state.tally.bites_taken[1]
    assert call(wound, state, 0, 1, 5, 1.0, named_key("late", 0)) == 0.0
    assert state.tally.bites_taken[1] == taken
    assert state.tank.deaths[0] == 1


def test_who_dies_is_taken_out_once_and_no_hazard_points_at_it():
    of = pair()
    of.state.hazards[:] = of.state.pair["slow"] = 0.01
    call(die, of.state, 0)
    for of_pairs in (of.state.hazards, of.state.pair["slow"]):
        assert np.all(of_pairs[0] == 0.0)
        assert np.all(of_pairs[:, 0] == 0.0)
    assert of.state.tank.deaths[0] == 1
    assert of.state.fish.site[0] == -1
    assert of.state.fish.presence[0] == DEAD


@pytest.mark.parametrize(("length_m", "fits"), [(0.02, True), (0.09, False)])
def test_only_what_fits_the_mouth_is_swallowed(length_m, fits):
    """2,000 bites; the share swallowed is `swallow_chance` within 4 standard errors, or none."""
    of = history(
        fish("Jack Dempsey", length_m=0.2), fish("swordtail", length_m=length_m), length_m=1.8
    )
    state = of.state
    p = state.par[0]
    assert (max(state.fish.depth[1], state.fish.width[1]) < state.fish.gape[0]) == fits
    state.fish.gape[1] = 0.0
    eaten = 0
    for k in range(2000):
        state.fish[1].skin = state.fish[1].scales = 0.0
        state.fish[1].presence, state.tally[1].eaten = IN_TANK, 0
        call(wound, state, 0, 1, 1, 1.0, named_key("gulp", k))
        eaten += state.tally.eaten[1]
        assert state.tally.eaten[1] == 0 or state.fish.presence[1] == DEAD
    share = p.swallow_chance if fits else 0.0
    error = math.sqrt(0.3 * 0.7 / 2000)
    assert eaten / 2000 == pytest.approx(share, abs=4 * error if fits else 0.0)
