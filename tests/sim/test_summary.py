"""What one batch says, against numbers put in by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.comparison import Design
from sim.figures import (
    MEASURES,
    MOST_LOTS,
    TOO_FEW,
    TOO_RARE,
    by_draw,
    figure_of,
    mean_of_draws,
    share_of_runs,
)
from sim.outcome import END_FIELDS
from sim.rules.codes import CHASE_ENDS
from sim.statistics import clustered_share_interval, mean_interval, share_interval
from sim.summary import Summary, summarise
from tests.sim import made

N = 9  # fish of the scenario


@pytest.fixture(scope="module")
def tank() -> Design:
    return made.design(days=4.0)


def hurt(*which: int) -> dict[str, list[float]]:
    """Return the columns of a run in which these fish are seriously hurt on day 2."""
    return {"serious_day": [2.0 if i in which else math.inf for i in range(N)]}


def test_a_share_is_clustered_by_draw() -> None:
    # Both lucks of a draw always agree, so 100 runs tell no more than 50.
    draw = np.arange(100) // 2
    happened = np.isin(draw, np.arange(10))
    found = share_of_runs(happened, draw=draw)
    apart = share_interval(20, n=100)
    assert found.value == 0.2
    assert found.n == 50
    assert found.high - found.low > 1.3 * (apart.high - apart.low)
    same = clustered_share_interval(2 * (np.arange(50) < 10), sizes=np.full(50, 2))
    assert (found.low, found.high) == (same.low, same.high)


def test_a_mean_is_over_draws_first() -> None:
    rng = np.random.default_rng(11)
    fish, luck = rng.normal(10.0, 3.0, 30), rng.normal(0.0, 1.0, 60)
    values = np.repeat(fish, 2) + luck
    figure = figure_of(MEASURES["dose"], values, draw=np.arange(60) // 2)
    assert figure is not None
    direct = mean_interval(values.reshape(30, 2).mean(axis=1))
    assert figure.estimate == direct
    assert figure.estimate.n == 30


def test_an_odd_number_of_runs_leaves_a_draw_with_one() -> None:
    assert by_draw([1.0, 3.0, 10.0], draw=[0, 0, 1]).tolist() == [2.0, 10.0]
    found = share_of_runs([1, 1, 0], draw=[0, 0, 1])
    assert found.value == pytest.approx(2 / 3)
    assert found.low < 0.1
    assert found.high > 0.95


def test_none_of_a_hundred_has_an_upper_bound_and_its_sentence_the_same() -> None:
    figure = figure_of(MEASURES["serious"], np.zeros(100), draw=np.arange(100) // 2)
    assert figure is not None
    assert figure.zero is not None
    assert (figure.zero.n, figure.zero.out_of) == (100, 100)
    assert figure.zero.up_to == round(100 * figure.estimate.high) == 7


def test_a_rare_amount_gets_no_interval_but_a_share_and_a_median() -> None:
    values = np.zeros(100)
    values[[0, 20, 40]] = (2.0, 4.0, 6.0)
    figure = figure_of(MEASURES["deaths"], values, draw=np.arange(100) // 2)
    assert figure is not None
    assert figure.estimate.value == pytest.approx(0.12)
    assert not figure.bounded
    assert figure.estimate.method == TOO_RARE
    assert figure.rare is not None
    assert (figure.rare.nonzero, figure.rare.median) == (3, 2.0)
    assert figure.rare.share.value == pytest.approx(3 / 50)


def test_few_draws_give_students_interval() -> None:
    # t for 4 degrees of freedom at 95 % is 2.776; sd of 1..5 is 1.5811.
    estimate, rare = mean_of_draws([1.0, 2.0, 3.0, 4.0, 5.0])
    half = 2.7764 * 1.5811 / math.sqrt(5)
    assert rare is None
    assert estimate.low == pytest.approx(3.0 - half, abs=1e-3)
    assert estimate.high == pytest.approx(3.0 + half, abs=1e-3)


def test_one_draw_is_too_few() -> None:
    estimate, rare = mean_of_draws([3.0])
    assert (estimate.value, estimate.method, rare) == (3.0, TOO_FEW, None)
    assert math.isnan(estimate.low)


def test_students_interval_holds_the_truth_as_often_as_it_says() -> None:
    # Seed 5, 2000 batches of 6 draws: 0.95 within three standard errors, 0.0146.
    rng = np.random.default_rng(5)
    inside = 0
    for _ in range(2000):
        found, _ = mean_of_draws(rng.normal(4.0, 1.0, 6))
        inside += found.low <= 4.0 <= found.high
    assert inside / 2000 == pytest.approx(0.95, abs=0.0146)


def test_many_draws_are_taken_in_lots_and_the_interval_stays() -> None:
    # Seed 2, 20001 draws: normal theory gives 1.96 / sqrt(20001), the bootstrap over 500 lots
    # that to about 1 / sqrt(2 x 500) = 3 %, three times over 10 %.
    values = np.random.default_rng(2).normal(5.0, 1.0, 40 * MOST_LOTS + 1)
    estimate, _ = mean_of_draws(values)
    assert estimate.value == pytest.approx(float(values.mean()), rel=1e-12)
    width = 2 * 1.96 / math.sqrt(len(values))
    assert estimate.high - estimate.low == pytest.approx(width, rel=0.10)


def test_values_alike_but_for_rounding_have_no_spread() -> None:
    gap = (np.random.default_rng(6).random(50) + 0.1) - 0.1
    estimate, rare = mean_of_draws(np.full(50, 0.3) + gap - (gap + 0.1 - 0.1))
    assert rare is None
    assert estimate.low == estimate.high == pytest.approx(0.3)


def test_shares_stay_below_one() -> None:
    figure = figure_of(MEASURES["held_share"], [0.99, 0.99, 0.6, 0.6], draw=[0, 0, 1, 1])
    assert figure is not None
    assert figure.estimate.high == 1.0
    assert figure.estimate.low == 0.0


def test_runs_without_a_value_are_left_out() -> None:
    values = [1.0, math.nan, 3.0, 3.0]
    figure = figure_of(MEASURES["farthest_m"], values, draw=[0, 0, 1, 1])
    assert figure is not None
    assert figure.estimate.value == 2.0
    assert figure_of(MEASURES["farthest_m"], [math.nan], draw=[0]) is None


@pytest.mark.parametrize("runs", [1, 2, 3, 5, 19, 40])
def test_any_number_of_runs_gives_a_summary(tank: Design, runs: int) -> None:
    rng = np.random.default_rng(runs)
    rows = [{"dose": rng.gamma(1.0), "bites_per_h": rng.gamma(2.0)} for _ in range(runs)]
    fish = [{"bites_taken": rng.integers(1, 9, N)} for _ in range(runs)]
    summary = summarise(made.batch(tank, rows, fish=fish))
    assert summary.draws == (runs + 1) // 2
    for figure in summary.figures.values():
        value, low, high = figure.estimate.value, figure.estimate.low, figure.estimate.high
        assert math.isfinite(value)
        assert math.isnan(low) == math.isnan(high)
        assert not low > value
        assert not high < value
    assert summary.figures["dose"].bounded == (runs > 2)
    assert summary.figures["serious"].bounded
    assert len(summary.fish) == N
    assert (summary.at_risk is None) == (runs < 7)
    assert len(summary.spreads) == (0 if runs < 4 else 4)
    assert summary.ends == {}
    assert summary.dominance is not None
    assert len(summary.serious_by_day) == 4


def test_fewer_runs_give_wider_intervals(tank: Design) -> None:
    rng = np.random.default_rng(8)
    rows = [{"serious": k % 2, "bites_per_h": rng.gamma(2.0)} for k in range(100)]
    whole = made.batch(tank, rows)
    for name in ("serious", "bites_per_h"):
        widths = []
        for runs in (10, 100):
            found = Summary(whole, runs=runs).figures[name].estimate
            widths.append(found.high - found.low)
        assert widths[0] > 2.0 * widths[1]


def test_no_runs_are_no_summary(tank: Design) -> None:
    with pytest.raises(ValueError, match="0 runs of 0; expected one run or more"):
        summarise(made.batch(tank, []))


def test_each_fish_has_its_share_day_and_rates(tank: Design) -> None:
    fish = []
    for run in range(20):
        columns = hurt(*([1] if run < 8 else []), *([4] if run < 2 else []))
        columns["bites_taken"] = [22 * i for i in range(N)]
        columns["dose"] = [0.1 * i for i in range(N)]
        fish.append(columns)
    fish[0]["serious_day"][1] = 1.0
    fish[3]["death_day"] = [3.0 if i == 7 else math.inf for i in range(N)]
    rows = [{"awake_h": 44.0}] * 20
    summary = summarise(made.batch(tank, rows, fish=fish))
    second, fifth, eighth = summary.fish[1], summary.fish[4], summary.fish[7]
    assert second.name == "Pumice"
    assert second.figures["serious"].estimate.value == 0.4
    assert second.median_day == 2.0
    assert fifth.figures["serious"].estimate.value == 0.1
    assert second.figures["bites_taken_per_h"].estimate.value == 0.5
    assert second.figures["dose"].estimate.value == pytest.approx(0.1)
    # the dead were hurt too
    assert eighth.figures["serious"].estimate.value == 0.05
    assert eighth.figures["death"].estimate.value == 0.05
    assert eighth.median_day == 3.0
    assert math.isnan(summary.fish[0].median_day)
    assert summary.fish[0].figures["serious"].zero is not None


def test_who_is_most_at_risk(tank: Design) -> None:
    fish = [hurt(*([3] if run % 4 < 3 else [5])) for run in range(40)]
    risk = summarise(made.batch(tank, [{}] * 40, fish=fish)).at_risk
    assert risk is not None
    assert (risk.member.name, risk.by) == ("swordtails 2", "serious")
    # of the draws that did not choose, odd ones, one run in two
    assert risk.share.value == 0.5
    assert risk.share.n == 10


def test_who_is_most_at_risk_where_nobody_was_seriously_hurt(tank: Design) -> None:
    fish = [{"bites_taken": [0, 9, 3, 3, 3, 3, 3, 3, 3]}] * 40
    risk = summarise(made.batch(tank, [{}] * 40, fish=fish)).at_risk
    assert risk is not None
    assert (risk.member.name, risk.by, risk.share.value) == ("Pumice", "bites", 1.0)
    peace = summarise(made.batch(tank, [{}] * 40))
    assert peace.at_risk is None


def test_how_chases_ended(tank: Design) -> None:
    rows = [dict(zip(END_FIELDS, (4, 0, 3, 1, 2, 0), strict=True)) for _ in range(20)]
    ends = summarise(made.batch(tank, rows)).ends
    assert tuple(ends) == CHASE_ENDS
    assert [e.value for e in ends.values()] == [0.4, 0.0, 0.3, 0.1, 0.2, 0.0]


def test_the_spread_is_split_into_fish_and_luck(tank: Design) -> None:
    # Seed 4, 400 draws of variance 9 and luck of variance 1: 0.9 of the spread is the fish's.
    # The standard error of the share is about 2 (1 - r) (1 + r) / sqrt(2 x 400) = 0.013.
    rng = np.random.default_rng(4)
    dose = np.repeat(rng.normal(20.0, 3.0, 400), 2) + rng.normal(0.0, 1.0, 800)
    spreads = summarise(made.batch(tank, [{"dose": d} for d in [*dose, 1e6]])).spreads
    dose_spread = spreads[0]
    assert dose_spread.measure.name == "dose"
    assert dose_spread.split.share.value == pytest.approx(0.9, abs=0.04)
    assert dose_spread.nested is None  # the numbers were held


def test_the_share_of_runs_rises_day_by_day(tank: Design) -> None:
    rows = [{"serious": 1, "serious_day": 0.5 + run % 4} for run in range(20)]
    curve = summarise(made.batch(tank, rows)).serious_by_day
    assert [e.value for e in curve] == [0.25, 0.5, 0.75, 1.0]
    assert all(e.low <= e.value <= e.high for e in curve)


def test_a_straight_hierarchy_is_linear(tank: Design) -> None:
    wins = np.triu(np.full((N, N), 3), k=1)
    dominance = summarise(made.batch(tank, [{}] * 6, wins=wins)).dominance
    assert dominance is not None
    assert dominance.landau_h.value == pytest.approx(1.0)
    assert dominance.de_vries_h.value == pytest.approx(1.0)
    assert np.all(np.diff(dominance.david) < 0.0)
    assert dominance.elo.tolist() == [1000.0] * N


def test_breeding_is_spoken_of_only_where_they_breed(tank: Design) -> None:
    breeding = tank.scenario.breeding.model_copy(update={"mode": "on", "spawn_day": 2.0})
    pair = made.design_of(tank.scenario.model_copy(update={"breeding": breeding}))
    assert "mate_hurt" in summarise(made.batch(pair, [{}] * 4)).figures
    assert "mate_hurt" not in summarise(made.batch(tank, [{}] * 4)).figures
