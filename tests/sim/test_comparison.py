"""Designs over the same draws of fish: pairing, differences and the verdict."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest

from sim.batch import run_batch
from sim.comparison import Comparison, Design, compare
from sim.errors import Refused
from sim.pairing import Difference
from sim.scenario import FishGroup
from sim.verdict import decide, shares_say_nothing
from tests.sim import made

RUNS = 100
DRAW = np.arange(RUNS) // 2


@pytest.fixture(scope="module")
def four() -> Design:
    return made.design(made.FOUR_FOOT, days=1.0)


@pytest.fixture(scope="module")
def six() -> Design:
    return made.design(made.SIX_FOOT, days=1.0)


def doses(seed: int, runs: int = RUNS) -> np.ndarray:
    return np.random.default_rng(seed).gamma(2.0, 1.0, runs)


def comparison(
    designs: Sequence[Design], *columns: dict[str, np.ndarray], runs: int = RUNS
) -> Comparison:
    """Return a comparison of batches with these columns of the table of runs."""
    batches = [
        made.batch(one, [{name: v[r] for name, v in column.items()} for r in range(runs)])
        for one, column in zip(designs, columns, strict=True)
    ]
    return Comparison(designs, batches)


def named(found: Comparison, name: str) -> Difference:
    (row,) = [row for row in found.differences if row.outcome == name]
    return row


def test_half_the_dose_is_better(four: Design, six: Design) -> None:
    dose = doses(1)
    found = comparison((four, six), {"dose": dose}, {"dose": 0.5 * dose})
    row = named(found, "dose")
    assert row.estimate == pytest.approx(-0.5 * dose.mean())
    assert row.low < row.estimate < row.high < 0.0
    assert row.clear
    assert row.ratio is not None
    assert row.ratio.value == pytest.approx(0.5)
    assert (row.a.value, row.b.value) == pytest.approx((dose.mean(), 0.5 * dose.mean()))
    assert row.better + row.same + row.worse == RUNS // 2
    assert row.worse == 0
    # Var(d/2) / (Var(d) + Var(d/2)) = 0.25 / 1.25
    assert row.variance_gain == pytest.approx(0.2)
    (verdict,) = found.verdicts
    assert (verdict.word, verdict.decided_by) == ("better", "dose")
    assert verdict.better > 40
    assert verdict.worse == 0


def test_the_other_way_round_it_is_worse(four: Design, six: Design) -> None:
    dose = doses(1)
    (verdict,) = comparison((six, four), {"dose": 0.5 * dose}, {"dose": dose}).verdicts
    assert (verdict.word, verdict.decided_by) == ("worse", "dose")


def test_the_same_is_no_difference(four: Design, six: Design) -> None:
    column = {"dose": doses(1), "serious": DRAW % 3 == 0, "hidden_h_per_day": doses(2)}
    found = comparison((four, six), column, column)
    (verdict,) = found.verdicts
    assert (verdict.word, verdict.decided_by) == ("no difference", "")
    assert (verdict.better, verdict.same, verdict.worse) == (0, RUNS // 2, 0)
    assert named(found, "dose").estimate == 0.0
    assert named(found, "serious").same == RUNS // 2


def test_dose_goes_before_shares(four: Design, six: Design) -> None:
    dose, hurt = doses(1), np.arange(RUNS) % 10
    (verdict,) = comparison(
        (four, six),
        {"dose": dose, "serious": hurt < 2},
        {"dose": 0.6 * dose, "serious": hurt < 9},
    ).verdicts
    assert (verdict.word, verdict.decided_by) == ("better", "dose")


def test_shares_decide_where_the_dose_does_not(four: Design, six: Design) -> None:
    dose, hurt = doses(1), np.arange(RUNS) % 10
    (verdict,) = comparison(
        (four, six), {"dose": dose, "serious": hurt < 2}, {"dose": dose, "serious": hurt < 9}
    ).verdicts
    assert (verdict.word, verdict.decided_by) == ("worse", "serious")
    assert not verdict.shares_refused


@pytest.mark.parametrize("usual", [0.0, 1.0])
def test_shares_that_are_nearly_none_or_all_decide_nothing(
    four: Design, six: Design, usual: float
) -> None:
    dose, some = doses(1), np.full(RUNS, usual)
    hidden = doses(2)
    odd = some.copy()
    odd[0] = 1.0 - usual
    found = comparison(
        (four, six),
        {"dose": dose, "serious": some, "hidden_h_per_day": hidden},
        {"dose": dose, "serious": odd, "hidden_h_per_day": hidden - 0.5},
    )
    (verdict,) = found.verdicts
    assert verdict.shares_refused
    assert (verdict.word, verdict.decided_by) == ("better", "hidden_h_per_day")


def test_the_line_of_the_refusal() -> None:
    def share(count: int) -> np.ndarray:
        return (np.arange(100) < count).astype(float)

    assert shares_say_nothing(share(2), share(0))
    assert not shares_say_nothing(share(2), share(3))
    assert shares_say_nothing(share(98), share(100))
    assert not shares_say_nothing(share(97), share(100))
    assert not shares_say_nothing(share(0), share(100))


def test_more_open_ground_counts_as_better(four: Design, six: Design) -> None:
    open_share = np.linspace(0.2, 0.4, RUNS)
    found = comparison(
        (four, six),
        {"open_share": open_share, "held_share": 1.0 - open_share},
        {"open_share": open_share + 0.2, "held_share": 0.8 - open_share},
    )
    for name in ("open_share", "held_share"):
        row = named(found, name)
        assert (row.better, row.same, row.worse) == (RUNS // 2, 0, 0)
    assert named(found, "open_share").estimate == pytest.approx(0.2)
    assert named(found, "farthest_m").better == 0


def test_small_differences_of_a_draw_count_as_alike(four: Design, six: Design) -> None:
    bites = np.full(RUNS, 10.0)
    found = comparison((four, six), {"bites_per_h": bites}, {"bites_per_h": bites + 0.9})
    row = named(found, "bites_per_h")
    assert (row.better, row.same, row.worse) == (0, RUNS // 2, 0)
    assert row.low == row.high == pytest.approx(0.9)


@pytest.mark.parametrize("runs", [1, 2, 3, 5, 9, 10, 21])
def test_any_number_of_runs_can_be_compared(four: Design, six: Design, runs: int) -> None:
    columns = [{"dose": doses(k, runs), "serious": np.arange(runs) % 2} for k in (1, 2)]
    found = comparison((four, six), *columns, runs=runs)
    (verdict,) = found.verdicts
    assert (verdict.word == "too few to say") == (runs < 9)
    for row in found.differences:
        assert math.isfinite(row.estimate)
        assert math.isnan(row.low) == math.isnan(row.high)
    assert math.isfinite(named(found, "dose").low) == (runs > 2)
    assert named(found, "dose").ratio is None
    assert len(found.fish_differences) == 4 * 9


def test_nothing_finished_is_nothing_said(four: Design, six: Design) -> None:
    found = comparison((four, six), {}, {}, runs=0)
    assert found.done == 0
    assert found.summaries == found.differences == found.verdicts == found.fish_differences == ()


def test_only_fish_that_live_in_both_are_compared(four: Design) -> None:
    groups = four.scenario.fish
    crowd = FishGroup.model_validate({"name": "lodgers", "species": "swordtail", "count": 2})
    other = made.design_of(
        four.scenario.model_copy(update={"fish": (groups[0], crowd, *groups[1:3])})
    )
    # nine in the one; Basalt, two lodgers, Pumice and six swordtails in the other; Lint is gone
    dose_a = np.array([1.0, 2, 0, 0, 0, 0, 0, 0, 50])
    dose_b = np.array([0.5, 30, 30, 1, 0, 0, 0, 0, 0, 0])
    serious_b = [math.inf, 1.0, *[math.inf] * 8]
    batches = [
        made.batch(four, [{"dose": 53.0}] * RUNS, fish=[{"dose": dose_a}] * RUNS),
        made.batch(
            other,
            [{"dose": 61.5, "serious": 1}] * RUNS,
            fish=[{"dose": dose_b, "serious_day": serious_b}] * RUNS,
        ),
    ]
    found = Comparison((four, other), batches)
    assert found.matched(1) == ((0, 0), (1, 3), *((k, k + 2) for k in range(2, 8)))
    left, right = found.unmatched(1)
    assert [m.name for m in left] == ["Lint"]
    assert [m.group for m in right] == ["lodgers", "lodgers"]
    assert named(found, "dose").a.value == 3.0
    assert named(found, "dose").b.value == 1.5
    assert named(found, "serious").b.value == 0.0
    (verdict,) = found.verdicts
    assert (verdict.word, verdict.decided_by) == ("better", "dose")
    basalt = [d for d in found.fish_differences if d.member and d.member.name == "Basalt"]
    assert [d.outcome for d in basalt][:2] == ["serious", "dose"]
    assert basalt[1].estimate == -0.5
    # the summary of a design is of all its fish
    assert found.summaries[1].figures["dose"].estimate.value == 61.5


def test_alike_designs_are_seldom_told_apart() -> None:
    # Seed 9, 300 comparisons of designs that are alike: three looks at 5, 1 and 1 % are wrong in
    # at most 7 of 100, three standard errors of 300 draws are 4.4. Looks at 5 % each, 14 of 100.
    rng = np.random.default_rng(9)
    wrong = 0
    for _ in range(300):
        fish = np.repeat(rng.normal(0.0, 1.0, RUNS // 2), 2)
        columns = {}
        for name in ("dose", "hidden_h_per_day"):
            columns[name] = tuple(5.0 + fish + rng.normal(0.0, 1.0, RUNS) for _ in range(2))
        columns["serious"] = tuple(
            (fish + rng.normal(0.0, 1.0, RUNS) > 0.0).astype(float) for _ in range(2)
        )
        wrong += decide(columns, draw=DRAW).word != "no difference"
    assert wrong / 300 < 0.114


def test_runs_are_the_same_bytes_on_one_worker_and_two(four: Design, six: Design) -> None:
    one, two = (compare((four, six), runs=3, seed=4, workers=workers) for workers in (1, 2))
    for a, b in zip(one.batches, two.batches, strict=True):
        assert a.runs.rows().tobytes() == b.runs.rows().tobytes()
        assert a.fish.rows().tobytes() == b.fish.rows().tobytes()
    alone = list(run_batch(six.scenario, six.layout, runs=3, seed=4))
    joined = b"".join(o.fish.tobytes() for o in alone)
    assert one.batches[1].fish.rows().tobytes() == joined


def test_every_design_plays_the_same_fish(four: Design, six: Design) -> None:
    found = compare((four, six), runs=4)
    lengths = [s.fish_column("length_m") for s in found.summaries]
    tempers = [s.fish_column("aggression") for s in found.summaries]
    assert np.array_equal(*lengths)
    assert np.array_equal(*tempers)
    # two runs share each draw
    assert np.array_equal(tempers[0][0], tempers[0][1])
    assert not np.array_equal(tempers[0][0], tempers[0][2])


def test_the_seed_of_the_first_design_serves_all(four: Design) -> None:
    first = made.design(days=1.0, seed=3)
    found = compare((first, four), runs=1)
    assert [batch.seed for batch in found.batches] == [3, 3]


def test_an_interruption_keeps_the_runs_that_all_have_finished(four: Design, six: Design) -> None:
    def press_at_five(done: int, total: int) -> None:
        assert total == 80
        if done == 5:
            raise KeyboardInterrupt

    found = compare((four, six), runs=40, progress=press_at_five)
    assert (found.interrupted, found.done, found.asked) == (True, 2, 40)
    assert [batch.done for batch in found.batches] == [3, 2]
    assert [summary.runs for summary in found.summaries] == [2, 2]
    assert len(found.verdicts) == 1


def test_four_designs_give_three_verdicts(four: Design, six: Design) -> None:
    found = compare((four, six, six, four), runs=1)
    assert [(v.reference, v.other) for v in found.verdicts] == [(0, 1), (0, 2), (0, 3)]
    assert {d.other for d in found.differences} == {1, 2, 3}


def test_too_few_designs_are_refused(four: Design) -> None:
    with pytest.raises(Refused, match="compare: got 1 tanks; expected 2 to 4"):
        compare((four,), runs=1)


def test_different_days_are_refused(four: Design) -> None:
    other = made.design(days=2.0)
    with pytest.raises(Refused, match=r"days: got .* 1, .* 2; expected the same number of days"):
        compare((four, other), runs=1)
