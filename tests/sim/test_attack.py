"""Attacks: what the hazard multiplies, whom it falls on, and one pursuer for each victim."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.draws import named_key
from sim.rules.attack import (
    available,
    busy,
    decide,
    free_to_attack,
    pick_victim,
    ripeness,
    weigh_pairs,
)
from sim.rules.codes import (
    CHASED,
    CONTEST,
    DEAD,
    DISPLAY_ONLY,
    FLEE,
    FOUGHT,
    PURSUE,
    SWIM,
)
from sim.rules.encounter import attack, found_in_room
from sim.rules.look import look
from sim.rules.settle import hold
from sim.settings import Settings
from tests.sim.calling import call
from tests.sim.layouts import piece
from tests.sim.worlds import chance_range, fish, fixed_bytes, history, nearest_site, put


def crowd(
    *lengths: float, without=("individuality",), species=None, pieces=None, changes=None, **more
):
    kinds = species or ["convict"] * len(lengths)
    of = history(
        *(
            fish(kind, name=f"fish {k}", length_m=length, sex="male")
            for k, (kind, length) in enumerate(zip(kinds, lengths, strict=True))
        ),
        length_m=1.8,
        width_m=0.9,
        without=without,
        pieces=pieces,
        changes=changes,
        **more,
    )
    for i in range(len(lengths)):
        put(of, i, 0.5 + 0.1 * i, 0.4)
    of.state.fish["site"] = -1
    return of


def slow(of) -> np.ndarray:
    call(weigh_pairs, of.state)
    return of.state.pair.slow.copy()


def test_the_slow_factors_multiply_as_the_equation_says():
    of = crowd(0.1, 0.09)
    state, p = of.state, of.state.par[0]
    before = fixed_bytes(of)
    row = state.fish[0]
    row.heat, row.skin, row.scales = 1.7, 0.1, 0.15
    state.pair.avoid[1, 0], state.pair.familiar[0, 1] = 0.5, 0.3
    size = math.exp(-(math.log(0.09 / (p.most_attacked * 0.1)) ** 2) / (2 * p.size_width**2))
    expected = (
        p.attack_rate * row.aggression * 1.7 * p.like_own_kind * size
        * (1 - p.submission * 0.5) * (1 - p.dear_enemy * 0.3) * (1 - 0.25)
    )  # fmt: skip
    assert slow(of)[0, 1] == pytest.approx(expected)
    assert fixed_bytes(of) == before


def test_learning_taken_away_leaves_submission_and_familiarity_out():
    of = crowd(0.1, 0.09, without=("individuality", "learning"))
    plain = slow(of)[0, 1]
    of.state.pair.avoid[1, 0], of.state.pair.familiar[0, 1] = 0.9, 0.9
    assert slow(of)[0, 1] == plain


def test_nobody_attacks_itself_its_mate_the_dead_or_when_dead():
    of = crowd(0.1, 0.09, 0.08)
    of.state.fish.mate[0], of.state.fish.mate[1] = 1, 0
    of.state.fish.presence[2] = DEAD
    assert np.all(slow(of) == 0.0)
    of.state.fish["mate"] = -1
    assert np.count_nonzero(slow(of)) == 2


def test_own_kind_before_similar_before_other():
    of = crowd(0.08, 0.08, 0.08, 0.08, species=["convict", "convict", "firemouth", "swordtail"])
    p = of.state.par[0]
    likeness = of.state.pair.likeness[0]
    assert likeness[1:].tolist() == [p.like_own_kind, p.like_similar, p.like_other]
    found = slow(of)[0]
    assert found[1] > found[2] > found[3] > 0.0
    reach = of.state.pair.kind_reach[0]
    assert reach[1] > reach[2] > reach[3]


def test_the_size_attacked_most_is_three_quarters_of_the_own():
    lengths = np.round(0.1 * np.arange(0.4, 1.35, 0.05), 4)
    of = crowd(0.1, *lengths)
    factors = of.state.pair.size_factor[0, 1:]
    assert lengths[factors.argmax()] == pytest.approx(0.075)
    assert factors.max() == pytest.approx(1.0)
    assert np.all(np.diff(factors[: factors.argmax() + 1]) > 0)
    assert np.all(np.diff(factors[factors.argmax() :]) < 0)


def test_a_young_fish_attacks_by_the_power_of_its_ripeness():
    of = crowd(0.1, 0.03)
    assert call(ripeness, of.state, 0) == 1.0
    ripe = of.state.fish.ripe_length[1]
    assert ripe > 0.03
    assert call(ripeness, of.state, 1) == pytest.approx((0.03 / ripe) ** 2)


@pytest.mark.parametrize(
    ("field", "value"), [("act", PURSUE), ("act", FLEE), ("room", 0), ("hiding", 1)]
)
def test_a_busy_or_hiding_fish_does_not_attack(field, value):
    of = crowd(0.1, 0.09)
    assert call(free_to_attack, of.state, 0)
    of.state.fish[field][0] = value
    assert not call(free_to_attack, of.state, 0)


def test_a_resting_fish_does_not_attack():
    of = crowd(0.1, 0.09)
    now = of.state.tank.clock[0]
    of.state.fish.rest_until[0] = now + 1.0
    assert not call(free_to_attack, of.state, 0)
    of.state.fish.rest_until[0] = now
    assert call(free_to_attack, of.state, 0)


def test_who_is_pursued_or_out_of_reach_is_not_attacked():
    of = crowd(0.12, 0.05, pieces=[piece("pot", "4 in", 1.5, 0.6)])
    state = of.state
    assert call(available, state, of.floor, 0, 1)
    state.fish.act[1] = FLEE
    assert not call(available, state, of.floor, 0, 1)
    state.fish.act[1], state.fish.room[1] = SWIM, 0
    for fits in (0, 1):
        state.fits[0, :] = fits
        assert call(available, state, of.floor, 0, 1) == bool(fits)


def test_the_victim_is_drawn_by_its_share_of_the_hazard():
    """4,000 draws over hazards 1:0:3; shares within 4 standard errors."""
    of = crowd(0.1, 0.09, 0.08, 0.07)
    of.state.hazards[0] = [0.0, 0.01, 0.0, 0.03]
    of.state.fish.hazard[0] = 0.04
    found = [call(pick_victim, of.state, 0, named_key("who", k)) for k in range(4000)]
    assert set(found) == {1, 3}
    assert np.mean(np.array(found) == 3) == pytest.approx(0.75, abs=chance_range(0.75, 4000))


def outcomes(of, n: int = 1500, sheltered: bool = False) -> np.ndarray:
    """Shares of displays, chases and fights among so many decisions of fish 0 against fish 1."""
    found = np.array([call(decide, of.state, 0, 1, sheltered) for _ in range(n)])
    return np.bincount(found, minlength=3) / n


def test_the_heavier_goes_on_more_often_and_the_lighter_leaves_more_often():
    """1,500 decisions each; differences far above 4 standard errors of 0.05."""
    small, even, large = (outcomes(crowd(length, 0.09)) for length in (0.07, 0.09, 0.15))
    assert small[DISPLAY_ONLY] > even[DISPLAY_ONLY] > large[DISPLAY_ONLY]
    assert large[CHASED] > 0.7
    assert large[CHASED] > even[CHASED] + 0.2
    assert even[FOUGHT] > large[FOUGHT] + 0.05


def test_a_fish_in_a_room_never_fights():
    assert outcomes(crowd(0.09, 0.09), sheltered=True)[FOUGHT] == 0.0


@pytest.mark.parametrize("room", [-1, 0])
def test_whether_a_leapt_attack_finds_its_victim_in_a_room_hangs_on_its_cover(room):
    """4,000 draws; 0.6 in cover at half the exposure, three quarters of it in a room.

    0.6 x 0.5 x 0.75 of attacks fall there against 0.4 x 1 in the open, whatever room it sat in
    when the last window closed.
    """
    of = crowd(0.1, 0.09)
    state = of.state
    state.fish.room[1] = room
    state.fish.cover[1], state.fish.covered_pool[1], state.fish.hidden_pool[1] = 0.6, 100.0, 75.0
    state.pair.rate[0, 1], state.pair.rate_covered[0, 1] = 1.0, 0.5
    found = []
    for k in range(4000):
        state.pair.ordinal[0, 1] = k
        found.append(call(found_in_room, state, 0, 1))
    share = 0.225 / 0.625
    assert np.mean(found) == pytest.approx(share, abs=chance_range(share, 4000))


def test_a_fish_that_holds_no_ground_never_fights():
    found = outcomes(crowd(0.09, 0.09, species=["convict", "swordtail"]))
    assert found[FOUGHT] == 0.0
    assert found[CHASED] > 0.1


def test_attacks_are_counted_and_their_reasons_logged():
    of = crowd(0.12, 0.07)
    state = of.state
    before = fixed_bytes(of)
    for k in range(40):
        put(of, 0, 0.5, 0.4)
        put(of, 1, 0.6, 0.4)
        call(weigh_pairs, state)
        call(attack, state, of.floor, 0, 1, 0.7)
        row = state.log[k]
        product = (
            row.claim * row.rate * row.temperament * row.heat * row.likeness * row.size_factor
            * row.learned
        )  # fmt: skip
        assert product == pytest.approx(0.7 * state.pair.slow[0, 1])
        assert (row.attacker, row.victim, row.watched) == (0, 1, 1)
    assert fixed_bytes(of) == before
    assert state.tank.attacks[0] == state.tank.log_rows[0] == 40
    started = int(np.sum(state.log["outcome"][:40] == CHASED))
    assert state.tank.chases[0] == state.pair.chases[0, 1] == started > 0
    shown = int(np.sum(state.log["outcome"][:40] == DISPLAY_ONLY))
    assert state.tank.displays[0] == state.tally.displays[0] == shown


def surrounded(n: int, **more):
    of = crowd(*[0.11] * n, 0.07, **more)
    gather(of, n)
    return of


def gather(of, n: int) -> None:
    """Put so many owners of one place round a fish, nobody having learned anything."""
    of.state.pair["avoid"] = 0.0
    for i in range(n):
        call(hold, of.state, i, nearest_site(of, 0.9, 0.45))
        put(of, i, 0.9 + 0.1 * math.cos(i), 0.45 + 0.1 * math.sin(i))
    put(of, n, 0.9, 0.45)
    call(weigh_pairs, of.state)


def test_a_victim_has_one_pursuer_at_a_time():
    """Four owners round one fish, again and again: 4,000 ticks in one long window."""
    of = surrounded(
        4,
        changes={"attack_rate": 0.5, "rest_after_chase": 2.0},
        settings=Settings(window_s=1000.0),
    )
    # The owners leave each other alone, and their victim neither fights nor attacks.
    of.state.pair["likeness"][:4, :4] = of.state.pair["likeness"][4] = 0.0
    of.state.fish.territorial[4] = 0
    chases = 0
    for tick in range(4000):
        of.strides(1)
        if tick % 50 == 0 and not call(busy, of.state):
            gather(of, 4)
        rows = of.state.fish
        pursuing = rows["target"][rows["act"] == PURSUE]
        assert len(set(pursuing.tolist())) == len(pursuing)
        for i in np.flatnonzero(rows["act"] == PURSUE):
            victim = rows[int(rows.target[i])]
            assert victim.act == FLEE or victim.room >= 0 or victim.presence == DEAD
            chases += 1
    assert chases > 100
    assert of.state.tank.chases[0] > 20


def test_the_chance_of_an_attack_in_a_look_is_that_of_its_hazard():
    """6,000 looks from one arrangement; attacks within 4 standard errors of 1 - exp(-h dt)."""
    of = surrounded(1, changes={"attack_rate": 0.5})
    state = of.state
    state.fish.heat[0] = 3.0
    call(weigh_pairs, state)
    state.fish.territorial[1] = 0
    start = of.snapshot()
    struck, hazard = 0, 0.0
    for k in range(6000):
        state.restore(start)
        state.tank.tick = 2 * k
        call(look, state, of.floor)
        hazard = state.fish.hazard[0]
        struck += state.tank.attacks[0]
    assert np.all(state.hazards[1] == 0.0) or state.hazards[1, 0] <= state.pair.slow[1, 0]
    both = hazard + state.fish.hazard[1]
    chance = 1 - math.exp(-both * 0.4)
    assert 0.2 < chance < 0.9
    assert struck / 6000 == pytest.approx(chance, abs=chance_range(chance, 6000))


def test_a_tank_is_busy_while_somebody_chases_or_contends():
    of = crowd(0.1, 0.09)
    assert not call(busy, of.state)
    for act, found in ((PURSUE, True), (CONTEST, True), (SWIM, False)):
        of.state.fish.act[0] = act
        assert call(busy, of.state) == found
