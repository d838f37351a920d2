"""Contests: the heavier usually wins, what was won and lost is carried over, and memory fades."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from sim.draws import named_key
from sim.rules.contest import LONGEST, ROUND, fight, pair_key, phase_length, size_up
from sim.rules.encounter import conclude, next_contest
from sim.rules.heal import pass_time
from sim.rules.learn import avoid, experience, remember
from tests.sim.calling import call
from tests.sim.worlds import fish, fixed_bytes, history, put

FIGHTS = 2000


def two(ratio: float = 1.0, *, sex: str = "male", without=(), changes=None, quality=0.0):
    """Two convicts, the first so many times as heavy as the second, alike in all else."""
    of = history(
        fish(name="Onyx", length_m=0.09, sex=sex),
        fish(name="Quartz", length_m=0.09, sex=sex),
        without=("individuality", *without),
        changes=changes,
    )
    put(of, 0, 0.4, 0.2)
    put(of, 1, 0.7, 0.2)
    of.state.fish["site"] = -1
    of.state.fish.strength[0] = of.state.fish.strength[1] + math.log(ratio)
    of.state.fish.quality[0] = quality
    return of


def fights(of, n: int = FIGHTS) -> np.ndarray:
    return np.array([call(fight, of.state, 0, 1, k) for k in range(n)])


def win_share(of, n: int = FIGHTS) -> float:
    outcome = fights(of, n)[:, 0]
    return float(np.mean(outcome == 1) + 0.5 * np.mean(outcome == 0))


def error(n: int = FIGHTS) -> float:
    return 4 * 0.5 / math.sqrt(n)  # 4 standard errors of a share, at most


def test_a_fight_reads_the_state_and_changes_nothing():
    of = two(1.2)
    before = of.state.to_bytes()
    found = fights(of, 50)
    assert of.state.to_bytes() == before
    assert np.array_equal(fights(of, 50), found)
    assert len(set(found[:, 1])) > 10


def test_equals_win_half_and_the_heavier_the_more_often():
    """2,000 fights at each ratio; steps of the win share larger than their error."""
    shares = [win_share(two(ratio)) for ratio in (1.0, 1.05, 1.15, 1.4)]
    assert shares[0] == pytest.approx(0.5, abs=error())
    assert all(b > a for a, b in pairwise(shares))
    assert shares[2] > 0.7
    assert shares[3] > 0.95
    assert win_share(two(1 / 1.15)) == pytest.approx(1 - shares[2], abs=1.5 * error())


def test_unseen_quality_decides_too():
    assert win_share(two(quality=0.15)) > 0.5 + 2 * error()


def test_among_females_size_counts_a_quarter():
    males, females = win_share(two(1.3)), win_share(two(1.3, sex="female"))
    assert 0.5 + error() < females < males - error()
    alike = win_share(two(1.3**0.25))  # a quarter of ln weight
    assert females == pytest.approx(alike, abs=1.5 * error())


def test_without_assessment_the_heavier_wins_half():
    assert win_share(two(1.4, without=("assessment",))) == pytest.approx(0.5, abs=error())


def test_close_matches_last_longer_and_none_passes_its_limit():
    even, uneven = fights(two(1.0)), fights(two(1.5))
    assert even[:, 1].mean() > 1.3 * uneven[:, 1].mean()
    for found in (even, uneven):
        assert found[:, 1].max() <= LONGEST * ROUND
        assert found[:, 1].min() >= ROUND
        assert np.all(found[:, 2] <= found[:, 1])
        assert np.all(found[:, 2] >= 0)
        assert np.all(found[:, [4, 6]] > 0)
        assert np.all(found[:, [4, 6]] < 0.2)  # what is seen only lowers doubt


def test_the_lengths_of_phases_do_not_hang_on_who_fights():
    """4,000 draws of gamma(4) about 1.8 min: mean within 4 se, sd half of the mean within 10 %."""
    lengths = np.array([call(phase_length, named_key("phase", k), 1.8) for k in range(4000)])
    assert lengths.mean() == pytest.approx(108.0, abs=4 * 54.0 / math.sqrt(4000))
    assert lengths.std() == pytest.approx(54.0, rel=0.1)


def test_the_first_estimate_is_the_kalman_gain_times_the_difference():
    """5,000 looks at a fish 1.3 times as heavy; mean and spread of the estimate."""
    of = two(1.3)
    p = of.state.par[0]
    looks = np.array([call(size_up, of.state, 0, 1, named_key("look", k)) for k in range(5000)])
    gain = p.prior_variance / (p.prior_variance + p.look_error**2)
    se = gain * p.look_error / math.sqrt(5000)
    assert looks[:, 0].mean() == pytest.approx(gain * math.log(1.3), abs=4 * se)
    assert looks[:, 0].std() == pytest.approx(gain * p.look_error, rel=0.05)
    assert looks[:, 1] == pytest.approx(p.prior_variance * (1 - gain))


def estimate(of) -> float:
    return call(size_up, of.state, 0, 1, named_key("one look"))[0]


@pytest.mark.parametrize(
    ("field", "value", "shift"),
    [("winning", 0.3, 0.3), ("losing", 0.3, -0.3), ("daring", 0.1, 0.1)],
)
def test_what_a_fish_has_been_through_shifts_its_estimate(field, value, shift):
    of = two()
    plain = estimate(of)
    of.state.fish[field][0] = value
    assert estimate(of) - plain == pytest.approx(shift)


def test_owning_a_site_adds_up_to_residency_and_a_brood_its_value():
    of = two()
    plain = estimate(of)
    p, state = of.state.par[0], of.state
    state.fish.site[0] = 0
    state.fish.site_since[0] = state.tank.clock[0]
    assert estimate(of) == pytest.approx(plain)
    state.fish.site_since[0] = state.tank.clock[0] - 3600 * p.residency_time
    assert estimate(of) - plain == pytest.approx(p.residency * (1 - math.exp(-1)))
    state.fish.site[0] = -1
    state.broods.there[0], state.fish.brood[0] = 1, 0
    for stage, added in ((2, 0.0), (3, p.brood_value), (5, p.brood_value), (6, 0.0)):
        state.broods.stage[0] = stage
        assert estimate(of) - plain == pytest.approx(added)


def test_a_win_raises_and_a_loss_lowers_the_chance_to_win_the_next():
    """2,000 fights each; both effects larger than their error, killed by the null switch."""
    for without, works in (((), True), (("learning",), False)):
        shares = []
        for winner, loser in ((None, None), (0, 1), (1, 0)):
            of = two(without=without)
            if winner is not None:
                call(experience, of.state, winner, loser, 1.0)
            shares.append(win_share(of))
        plain, won, lost = shares
        if works:
            assert won > plain + error()
            assert lost < plain - error()
        else:
            assert won == lost == plain


def test_experience_has_a_ceiling_and_a_retreat_counts_less():
    of = two()
    p = of.state.par[0]
    call(experience, of.state, 0, 1, 1.0)
    assert of.state.fish.winning[0] == pytest.approx(p.winner_gain)
    assert of.state.fish.losing[1] == pytest.approx(p.loser_loss)
    assert of.state.fish.winning[1] == of.state.fish.losing[0] == 0.0
    for _ in range(100):
        call(experience, of.state, 0, 1, 1.0)
    assert of.state.fish.winning[0] <= p.experience_cap + 1e-9
    other = two()
    call(experience, other.state, 0, 1, 0.25)
    assert other.state.fish.winning[0] == pytest.approx(0.25 * p.winner_gain)
    assert other.state.fish.losing[1] == pytest.approx(0.25 * p.loser_loss)


@pytest.mark.parametrize(
    ("field", "half_life"),
    [("winning", "winner_half_life"), ("losing", "loser_half_life"), ("fear", "fear_half_life")],
)
def test_effects_halve_in_their_half_lives(field, half_life):
    of = two()
    of.state.fish[field][0] = 0.4
    call(pass_time, of.state, 3600.0 * float(of.state.par[half_life][0]))
    assert of.state.fish[field][0] == pytest.approx(0.2)


def test_avoidance_is_learned_by_chases_and_halves():
    of = two()
    p = of.state.par[0]
    for _ in range(3):
        call(avoid, of.state, 1, 0, 1.0)
    assert of.state.pair.avoid[1, 0] == pytest.approx(1 - (1 - p.avoid_gain) ** 3)
    assert of.state.pair.avoid[0, 1] == 0.0
    call(pass_time, of.state, 3600.0 * p.avoid_half_life)
    assert of.state.pair.avoid[1, 0] == pytest.approx(0.5 * (1 - (1 - p.avoid_gain) ** 3))


def test_a_chase_by_one_of_a_pair_teaches_to_keep_off_both():
    of = history(*(fish(name=name, length_m=0.09) for name in ("Onyx", "Quartz", "Third")))
    p = of.state.par[0]
    of.state.fish.mate[0], of.state.fish.mate[2] = 2, 0
    call(avoid, of.state, 1, 0, 1.0)
    assert of.state.pair.avoid[1, 0] == pytest.approx(p.avoid_gain)
    assert of.state.pair.avoid[1, 2] == pytest.approx(p.pair_lesson * p.avoid_gain)
    call(avoid, of.state, 2, 0, 1.0)
    assert of.state.pair.avoid[2, 2] == 0.0, "the mate learns nothing of itself"


def test_memory_of_an_opponent_pulls_the_estimate_and_fades():
    of = two()
    of.state.tank.clock = 200 * 86400.0
    plain = estimate(of)
    call(remember, of.state, 0, 1, -1.0, 0.05)
    pulls = []
    for hours in (0.0, 44.0, 440.0, 4400.0):
        of.state.pair.met[0, 1] = of.state.tank.clock[0] - 3600.0 * hours
        pulls.append(plain - estimate(of))
    assert all(a > b for a, b in pairwise(pulls))
    p = of.state.par[0]
    doubt = p.prior_variance * p.look_error**2 / (p.prior_variance + p.look_error**2)
    joint = (plain / doubt - 1.0 / 0.05) / (1 / doubt + 1 / 0.05)  # met a moment ago
    assert pulls[0] == pytest.approx(plain - joint)
    assert pulls[-1] == pytest.approx(0.0, abs=1e-6)


def test_the_key_of_a_pair_is_its_own_each_way():
    of = two()
    keys = {int(call(pair_key, of.state, i, j, p)) for i, j in ((0, 1), (1, 0)) for p in (3, 4)}
    assert len(keys) == 4


def test_concluding_a_contest_books_it_and_hurts_the_loser_more():
    """300 contests of 10 min contact; the loser takes about three times the winner's bites."""
    of = two()
    state = of.state
    before = fixed_bytes(of)
    for k in range(300):
        number = call(next_contest, state, 1, 0)
        assert number == k + 1
        found = call(conclude, state, 0, 1, 1, 700.0, 600.0, 0.1, 0.05, -0.1, 0.05)
        assert found == 1
        state.fish["skin"] = state.fish["scales"] = 0.0
    assert fixed_bytes(of) == before
    tally, tank = state.tally, state.tank
    assert tally.contests_won.tolist() == [300, 0]
    assert tally.contests_lost.tolist() == [0, 300]
    assert tank.contests[0] == state.pair.wins[0, 1] == 300
    assert tank.contest_s[0] == pytest.approx(300 * 700.0)
    assert tally.bites_taken[1] == 300 * 0.5 * 600.0 / state.par.contact_time[0]
    bias = tally.bites_taken[1] / tally.bites_taken[0]
    assert bias == pytest.approx(state.par.contest_harm_bias[0], rel=0.05)
    assert state.fish.fear[1] > state.fish.fear[0] == 0.0


def test_a_reversal_of_rank_changes_the_tank_and_a_draw_books_no_loser():
    of = two()
    state = of.state
    assert call(conclude, state, 0, 1, 0, 2700.0, 2000.0, 0.0, 0.05, 0.0, 0.05) == -1
    assert state.tally.contests_won.sum() == 0
    assert state.tank.contests[0] == 1
    for outcome, changed in ((1, 0), (1, 0), (-1, 1), (-1, 0), (1, 1)):
        state.tank.changed = 0
        call(conclude, state, 0, 1, outcome, 60.0, 0.0, 0.0, 0.05, 0.0, 0.05)
        assert state.tank.changed[0] == changed
