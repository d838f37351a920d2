"""What nobody has measured: drawn evenly, the same in every tank, and never over a fixed number."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.evidence.calibrate import FREE
from sim.parameters import load_parameters
from sim.settings import Settings
from sim.spread import nested_split
from sim.start import draw_of, start_state
from sim.unmeasured import (
    RUNS_PER_SET,
    accepted_sets,
    drawn_names,
    drawn_numbers,
    golden_step,
    numbers_of_run,
    set_of,
)
from sim.verdict import shares_say_nothing, thirds
from tests.sim.worlds import shipped


def test_the_golden_ratio_is_the_step_in_one_dimension():
    # Closed form: g^2 = g + 1.
    assert golden_step(1)[0] == pytest.approx((math.sqrt(5.0) - 1.0) / 2.0, abs=1e-12)


def test_any_number_of_sets_spreads_evenly_over_the_range():
    # The largest gap between n points of the sequence stays below 3/n; of n independent draws it
    # is about ln(n)/n, 4.6/n at 100 (seeds 1 to 5).
    low, high = load_parameters()["harm_per_bite"].drawn
    for seed in range(1, 6):
        for n in (25, 100):
            drawn = [drawn_numbers(seed=seed, number=k)["harm_per_bite"] for k in range(n)]
            at = np.sort(np.log(np.array(drawn) / low) / math.log(high / low))
            assert at[0] >= 0.0
            assert at[-1] <= 1.0
            gaps = np.diff(np.concatenate([[at[-1] - 1.0], at]))
            assert gaps.max() < 3.0 / n


def test_a_set_holds_two_draws_of_fish_by_two_lucks():
    assert [set_of(run) for run in range(9)] == [0, 0, 0, 0, 1, 1, 1, 1, 2]
    assert {draw_of(run) for run in range(RUNS_PER_SET)} == {0, 1}


def test_two_tanks_play_the_same_numbers_and_other_seeds_others():
    four, six = shipped("convict-four-foot"), shipped("convict-six-foot")

    def harm(world, run: int, **more) -> float:
        state = start_state(world.scenario, world.layout, run=run, **more)
        return float(state.par.harm_per_bite[0])

    varied = Settings(vary=True)
    usual = load_parameters()["harm_per_bite"].value
    drawn = {harm(four, run, settings=varied) for run in (0, 4, 8, 12)}
    assert drawn == {harm(six, run, settings=varied) for run in (0, 4, 8, 12)}
    assert len(drawn) == 4
    assert harm(four, 0, settings=varied, seed=2) not in drawn
    assert harm(four, 0) == usual
    assert harm(four, 0, settings=varied, changes={"harm_per_bite": usual}) == usual


def test_what_a_person_fixes_is_not_drawn():
    numbers = numbers_of_run(0, seed=1, vary=True, changes={"rest_after_chase": 8.0, "hope": 2.0})
    assert numbers["rest_after_chase"] == 8.0
    assert numbers["hope"] == 2.0
    assert numbers_of_run(0, seed=1, vary=False, changes=None) == {}
    told = accepted_sets()[0]
    assert set(drawn_names()) == {*told, "harm_per_bite"}
    assert set(drawn_names({"harm_per_bite": 0.001})) == set(told)


def test_sets_that_calibration_kept_are_gone_through_whole_in_an_order_of_the_seed():
    sets = accepted_sets()
    names = sorted(sets[0])
    assert sets[0].keys() <= set(FREE)

    def row(seed, number):
        numbers = drawn_numbers(seed=seed, number=number)
        return tuple(numbers[name] for name in names)

    known = sorted(tuple(one[name] for name in names) for one in sets)
    for seed in (1, 2):
        assert sorted(row(seed, number) for number in range(len(sets))) == known
        assert row(seed, 0) == row(seed, len(sets))
    assert [row(1, k) for k in range(len(sets))] != [row(2, k) for k in range(len(sets))]
    harm = {drawn_numbers(seed=1, number=k)["harm_per_bite"] for k in range(2 * len(sets))}
    assert len(harm) == 2 * len(sets), "the harm of a bite goes on, whatever the number of sets"


def test_the_spread_is_split_into_numbers_fish_and_luck():
    # Seed 3; 3,000 sets with variances 4, 2 and 1: shares 0.571, 0.286 and 0.143 within 0.03.
    rng = np.random.default_rng(3)
    sets = 3000
    table = (
        2.0 * rng.standard_normal((sets, 1, 1))
        + math.sqrt(2.0) * rng.standard_normal((sets, 2, 1))
        + rng.standard_normal((sets, 2, 2))
    )
    found = nested_split(table)
    assert found.unmeasured == pytest.approx(4 / 7, abs=0.03)
    assert found.fish == pytest.approx(2 / 7, abs=0.03)
    assert found.luck == pytest.approx(1 / 7, abs=0.03)
    # By hand: two sets of two draws of two equal lucks, nothing from luck.
    only = nested_split([[[0, 0], [0, 0]], [[1, 1], [1, 1]]])
    assert (only.unmeasured, only.fish, only.luck) == (1.0, 0.0, 0.0)
    with pytest.raises(ValueError, match="nested_split"):
        nested_split(np.zeros((2, 2)))


def test_shares_are_refused_where_two_thirds_of_the_range_say_nothing():
    harm = np.linspace(1.0, 3.0, 30)
    low, middle, high = thirds(harm)
    assert harm[low].max() < harm[middle].min() <= harm[middle].max() < harm[high].min()
    only_high = (harm > 2.6).astype(float)
    assert shares_say_nothing(only_high, only_high, harm=harm)
    half = (np.arange(30) % 2).astype(float)
    assert not shares_say_nothing(half, half, harm=harm)
