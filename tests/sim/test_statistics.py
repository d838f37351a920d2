"""Intervals and spreads: closed forms, other libraries, and coverage counted."""

from __future__ import annotations

import functools
import math
import subprocess
import sys

import numpy as np
import pytest

from sim.paired import (
    Tally,
    beta_binomial_evalue,
    better_same_worse,
    paired_mean_difference,
    paired_share_difference,
    ratio_interval,
    tango_interval,
    tango_score,
)
from sim.spread import variance_gain, variance_split
from sim.statistics import (
    Estimate,
    Rare,
    Zero,
    clustered_share_interval,
    mean_interval,
    most_at_risk,
    share_interval,
    zero_of_n,
)
from sim.survival import cumulative_incidence, kaplan_meier

LIFELINES_VALUE = [0.1, 0.2142857143, 0.3285714286, 0.480952381]
LIFELINES_LOW = [0.0057234564, 0.0322396436, 0.0764919378, 0.1391946976]
LIFELINES_HIGH = [0.3581274605, 0.501119818, 0.6176055438, 0.7620655566]


def tolerance(p: float, draws: int) -> float:
    """Four standard errors of a share counted in so many draws."""
    return 4.0 * math.sqrt(p * (1.0 - p) / draws)


def covers(found: Estimate, truth: float) -> bool:
    return found.low <= truth <= found.high


def test_import_leaves_scipy_alone():
    code = (
        "import sys, sim.paired, sim.spread, sim.survival, sim.dominance;"
        "sys.exit('scipy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


class TestShares:
    def test_sentence_of_zero(self):
        assert zero_of_n(100) == Zero(n=100, up_to=4, out_of=100)
        assert zero_of_n(20) == Zero(n=20, up_to=16, out_of=100)
        assert zero_of_n(1000) == Zero(n=1000, up_to=4, out_of=1000)

    @pytest.mark.parametrize("n", [1, 20, 100])
    def test_zero_has_the_closed_form(self, n):
        z2 = 1.959963984540054**2
        assert share_interval(0, n=n).high == pytest.approx(z2 / (n + z2), abs=1e-12)
        assert share_interval(0, n=n).low == 0.0

    def test_refusals(self):
        with pytest.raises(ValueError, match="3 of 2; expected 0 to n"):
            share_interval(3, n=2)
        with pytest.raises(ValueError, match="0 of 0; expected"):
            share_interval(0, n=0)
        with pytest.raises(ValueError, match=r"level: it is 95; expected a number between 0 and 1"):
            share_interval(1, n=2, level=95)

    @pytest.mark.parametrize("p", [0.05, 0.2, 0.5])
    def test_stopping_at_a_width_keeps_the_coverage(self, p):
        """Looks at 100, 200, 400, ... until the half-width is 0.04; 2,000 series, seed 7.

        Earlier trials: .944 to .981. Tolerance four standard errors of .95 below.
        """
        interval = functools.lru_cache(maxsize=None)(lambda k, n: share_interval(k, n=n))
        rng = np.random.default_rng(7)
        series = 2_000
        held = 0
        for happened in rng.random((series, 1_600)) < p:
            for n in (100, 200, 400, 800, 1_600):
                found = interval(int(happened[:n].sum()), n)
                if found.high - found.low <= 0.08:
                    break
            held += covers(found, p)
        assert 0.94 - tolerance(0.95, series) <= held / series <= 0.99


class TestClusters:
    def test_one_fish_per_run_is_wilson_with_t(self):
        """Groups of one: the effective number is n (R - 1) / R, the quantile Student's."""
        from scipy.stats import t

        counts = np.repeat([1, 0], [30, 70])
        found = clustered_share_interval(counts, sizes=np.ones(100))
        z, n = float(t.ppf(0.975, 99)), 99.0
        centre = (0.3 + z * z / (2 * n)) / (1 + z * z / n)
        half = z / (1 + z * z / n) * math.sqrt(0.21 / n + z * z / (4 * n * n))
        assert (found.value, found.n) == (0.3, 100)
        assert found.low == pytest.approx(centre - half, abs=1e-12)
        assert found.high == pytest.approx(centre + half, abs=1e-12)

    def test_alike_fish_are_worth_one_per_run(self):
        """Six fish that always share their fate say no more than one."""
        counts = np.repeat([1, 0], [30, 70])
        one = clustered_share_interval(counts, sizes=np.ones(100))
        six = clustered_share_interval(6 * counts, sizes=np.full(100, 6))
        assert (six.low, six.high) == pytest.approx((one.low, one.high), abs=1e-12)

    def test_none_and_all(self):
        found = clustered_share_interval(np.zeros(50), sizes=np.full(50, 6))
        wilson = share_interval(0, n=50).high
        assert found.low == 0.0
        assert wilson < found.high < 1.1 * wilson
        every = clustered_share_interval(np.full(50, 6), sizes=np.full(50, 6))
        assert (every.low, every.high) == pytest.approx((1 - found.high, 1.0))

    def test_coverage_against_pooling(self):
        """100 runs of 6 fish, shares beta with mean 0.1 and correlation 0.16; 2,000 sets, seed 11.

        Pooling covers .855 and runs .943 in earlier trials; tolerance four standard errors.
        """
        rng = np.random.default_rng(11)
        sets, p, rho = 2_000, 0.1, 0.16
        weight = 1 / rho - 1
        shares = rng.beta(p * weight, (1 - p) * weight, size=(sets, 100))
        counts = rng.binomial(6, shares)
        sizes = np.full(100, 6)
        by_run = np.mean([covers(clustered_share_interval(y, sizes=sizes), p) for y in counts])
        pooled = np.mean([covers(share_interval(int(y.sum()), n=600), p) for y in counts])
        assert by_run == pytest.approx(0.943, abs=tolerance(0.943, sets))
        assert pooled == pytest.approx(0.855, abs=tolerance(0.855, sets))

    def test_refusals(self):
        with pytest.raises(ValueError, match="more fish than it has"):
            clustered_share_interval([7, 0], sizes=[6, 6])
        with pytest.raises(ValueError, match="two runs or more"):
            clustered_share_interval([1], sizes=[6])

    def test_the_worst_fish_is_judged_by_other_runs(self):
        """Ten fish alike at 0.2, 40 runs, 1,000 sets, seed 5: no inflation by choosing.

        Mean of the chosen fish's share within four standard errors (sd 0.09) of 0.2; the share in
        the runs that chose it is 0.3 or more.
        """
        rng = np.random.default_rng(5)
        honest, flattered = [], []
        for table in rng.random((1_000, 40, 10)) < 0.2:
            fish, found = most_at_risk(table)
            honest.append(found.value)
            flattered.append(table[::2, fish].mean())
        assert np.mean(honest) == pytest.approx(0.2, abs=4 * 0.09 / math.sqrt(1_000))
        assert np.mean(flattered) > 0.3

    def test_runs_of_one_draw_stay_together(self):
        """Only fish 1 is ever hurt, in every run of the draws that judge and choose."""
        table = np.zeros((8, 3), dtype=bool)
        table[:, 1] = [1, 1, 1, 1, 0, 0, 1, 0]
        fish, found = most_at_risk(table, draw=[9, 9, 4, 4, 5, 5, 7, 7])
        # Sorted draws 4, 5, 7, 9: 4 and 7 choose, 5 and 9 judge.
        assert fish == 1
        assert (found.value, found.n) == (0.5, 2)
        with pytest.raises(ValueError, match="four draws or more"):
            most_at_risk(table, draw=[1, 1, 1, 1, 2, 2, 3, 3])


    def test_it_is_never_said_more_often_than_it_was_in_all_runs(self):
        """Runs 0 and 2 choose, 1 and 3 judge: by these alone it would be every run."""
        table = np.array([[1, 0], [1, 0], [0, 0], [1, 0]], dtype=bool)
        fish, found = most_at_risk(table)
        assert (fish, found.value, found.n) == (0, 0.75, 4)


class TestMeans:
    def test_rare_amounts_are_not_averaged(self):
        found = mean_interval([0.0] * 95 + [1.0, 2.0, 3.0, 4.0, 50.0])
        assert isinstance(found, Rare)
        assert (found.nonzero, found.median, found.share.value) == (5, 3.0, 0.05)
        nothing = mean_interval([0.0] * 30)
        assert isinstance(nothing, Rare)
        assert math.isnan(nothing.median)
        assert isinstance(mean_interval([0.0] * 81 + [1.0] * 19), Rare)
        assert isinstance(mean_interval([0.0] * 80 + [1.0] * 20), Estimate)

    def test_why_rare_amounts_are_refused(self):
        """5 of 100 runs not zero, amounts lognormal sd 0.5; 1,000 sets, seed 3.

        A percentile bootstrap covers far too little (.83 in earlier trials); the bound is .88.
        """
        rng = np.random.default_rng(3)
        sets, truth = 1_000, 0.05 * math.exp(0.125)
        weights = rng.multinomial(100, np.full(100, 0.01), size=999) / 100
        held = 0
        for _ in range(sets):
            x = np.where(rng.random(100) < 0.05, rng.lognormal(0, 0.5, 100), 0.0)
            low, high = np.quantile(weights @ x, [0.025, 0.975])
            held += low <= truth <= high
        assert 0.80 < held / sets < 0.88

    def test_coverage_where_it_is_given(self):
        """Half of 100 runs not zero, amounts lognormal sd 0.5; 300 sets, seed 4.

        Nominal .95 less .01 for the method at this n, and four standard errors.
        """
        rng = np.random.default_rng(4)
        sets, truth = 300, 0.5 * math.exp(0.125)
        held = 0
        for _ in range(sets):
            x = np.where(rng.random(100) < 0.5, rng.lognormal(0, 0.5, 100), 0.0)
            held += covers(mean_interval(x), truth)
        assert held / sets >= 0.94 - tolerance(0.95, sets)

    def test_same_runs_same_interval(self):
        x = np.random.default_rng(1).gamma(2.0, size=50)
        assert mean_interval(x) == mean_interval(x)

    def test_no_spread(self):
        found = mean_interval([2.0] * 30)
        assert (found.value, found.low, found.high) == (2.0, 2.0, 2.0)

    def test_refusals(self):
        with pytest.raises(ValueError, match="values: the shape is"):
            mean_interval([])
        with pytest.raises(ValueError, match="finite"):
            mean_interval([1.0, math.nan])


class TestPairedShares:
    def test_sign_and_symmetry(self):
        a, b = [1, 1, 1, 0, 0, 0, 1, 0], [1, 0, 0, 0, 0, 1, 1, 0]
        found, back = paired_share_difference(a, b=b), paired_share_difference(b, b=a)
        assert found.value == pytest.approx(0.125)
        assert (found.low, found.high) == pytest.approx((-back.high, -back.low), abs=1e-10)

    def test_at_zero_it_is_mcnemar(self):
        assert tango_score(16, only_b=6, n=161, difference=0.0) == pytest.approx(10 / 22**0.5)

    def test_no_discordant_pair(self):
        """Closed form: the score with q = 0 has the limits of 0 of n, z^2 / (n + z^2)."""
        found = tango_interval(0, only_b=0, n=100)
        assert (found.low, found.high) == pytest.approx((-3.69935e-2, 3.69935e-2), abs=1e-6)

    def test_all_pairs_the_same_way(self):
        found = tango_interval(5, only_b=0, n=5)
        assert (found.value, found.high) == (1.0, 1.0)
        assert 0.0 < found.low < 1.0

    @pytest.mark.parametrize(
        ("b", "c", "n"), [(3, 9, 32), (40, 20, 160), (0, 7, 12), (25, 28, 618)]
    )
    def test_limits_solve_the_likelihood(self, b, c, n):
        """At both limits Z is z, with q found anew as the greatest likelihood on a grid."""
        found = tango_interval(b, only_b=c, n=n)
        for d, z in ((found.low, 1.959964), (found.high, -1.959964)):
            q = np.linspace(max(0.0, -d), (1 - d) / 2, 2_000_001)[1:-1]
            log_l = b * np.log(q + d) + c * np.log(q) + (n - b - c) * np.log1p(-2 * q - d)
            best = q[np.argmax(log_l)]
            score = (b - c - n * d) / math.sqrt(n * (2 * best + d * (1 - d)))
            assert score == pytest.approx(z, abs=2e-4)

    def test_coverage(self):
        """p = .38 against .16 in pairs that agree more than chance; 4,000 sets of 100, seed 21."""
        rng = np.random.default_rng(21)
        sets = 4_000
        counts = rng.multinomial(100, [0.12, 0.26, 0.04, 0.58], size=sets)
        interval = functools.lru_cache(maxsize=None)(
            lambda b, c: tango_interval(b, only_b=c, n=100)
        )
        held = np.mean([covers(interval(int(x[1]), int(x[2])), 0.22) for x in counts])
        assert held == pytest.approx(0.95, abs=0.005 + tolerance(0.95, sets))

    def test_runs_of_one_draw_count_once(self):
        """Two lucks that always agree say no more than one, but for the R / (R - 1) of draws."""
        a, b = np.repeat([1, 0, 0], [20, 10, 70]), np.repeat([0, 1, 0], [20, 10, 70])
        one = paired_share_difference(a, b=b)
        two = paired_share_difference(
            np.repeat(a, 2), b=np.repeat(b, 2), draw=np.repeat(np.arange(100), 2)
        )
        assert two.value == pytest.approx(one.value)
        assert (two.low, two.high) == pytest.approx((one.low, one.high), abs=1e-3)
        assert two.high - two.low >= one.high - one.low
        never = np.zeros(200)
        none = paired_share_difference(never, b=never, draw=np.repeat(np.arange(100), 2))
        assert none.high == pytest.approx(tango_interval(0, only_b=0, n=100).high)

    def test_refusals(self):
        with pytest.raises(ValueError, match="3 and 3 of 5 pairs"):
            tango_interval(3, only_b=3, n=5)
        with pytest.raises(ValueError, match="same number of runs"):
            paired_share_difference([1, 0], b=[1])
        with pytest.raises(ValueError, match="one label per pair"):
            paired_share_difference([1, 0], b=[1, 0], draw=[1])


class TestPairedMeans:
    def test_difference(self):
        rng = np.random.default_rng(2)
        b = rng.gamma(2.0, size=60)
        a = b + 0.5 + rng.normal(0, 0.1, 60)
        found = paired_mean_difference(a, b=b)
        assert found.value == pytest.approx(np.mean(a - b))
        # Normal differences: close to Student's interval (sd 0.1, n 60).
        half = 2.0 * np.std(a - b, ddof=1) / math.sqrt(60)
        assert found.high - found.low == pytest.approx(2 * half, rel=0.1)
        assert isinstance(paired_mean_difference(b, b=np.where(np.arange(60) < 19, 0, b)), Rare)

    def test_ratio(self):
        """Bites 1.4 times as many, lognormal noise; 200 sets of 60, seed 8, four errors."""
        rng = np.random.default_rng(8)
        held, sets = 0, 200
        for _ in range(sets):
            fish = rng.gamma(2.0, size=60)
            noise = rng.lognormal(-0.08, 0.4, (2, 60))  # mean 1
            held += covers(ratio_interval(1.4 * fish * noise[0], b=fish * noise[1]), 1.4)
        assert held / sets >= 0.94 - tolerance(0.95, sets)

    def test_ratio_is_on_logs(self):
        rng = np.random.default_rng(9)
        a, b = rng.gamma(2.0, size=(2, 40))
        found, back = ratio_interval(a, b=b), ratio_interval(b, b=a)
        assert found.value * back.value == pytest.approx(1.0)
        assert (found.low * back.high, found.high * back.low) == pytest.approx((1, 1), rel=1e-9)

    def test_ratio_edges(self):
        x = np.arange(1.0, 41.0)
        exact = ratio_interval(1.4 * x, b=x)
        assert (exact.low, exact.high) == (exact.value, exact.value)
        assert ratio_interval(np.where(x > 21, x, 0.0), b=x) is None
        with pytest.raises(ValueError, match="negative amount"):
            ratio_interval(-x, b=x)


class TestBetterWorse:
    def test_less_is_better(self):
        assert better_same_worse([0, 1, 2, 5], b=[1, 1, 3, 4]) == Tally(2, 1, 1)
        assert better_same_worse([0, 1, 2, 5], b=[1, 1, 3, 4], tolerance=1) == Tally(0, 4, 0)

    def test_the_first_criterion_that_differs_decides(self):
        a = [[0.1, 9.0], [0.2, 1.0], [0.2, 1.0]]
        b = [[0.2, 1.0], [0.2, 3.0], [0.2, 1.4]]
        assert better_same_worse(a, b=b, tolerance=[0.0, 0.5]) == Tally(2, 1, 0)

    def test_refusals(self):
        with pytest.raises(ValueError, match="a criterion is missing"):
            better_same_worse([math.nan], b=[1.0])
        with pytest.raises(ValueError, match="the same pairs"):
            better_same_worse([1.0], b=[1.0, 2.0])


@functools.lru_cache(maxsize=1)
def evalue_table(size: int) -> np.ndarray:
    table = np.full((size, size), np.nan)
    for d in range(size):
        for k in range(d + 1):
            table[d, k] = beta_binomial_evalue(k, d=d)
    return table


def walks(*, better: float, pairs: int, walks: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Pairs better and pairs that differ at every tenth pair, 20 % of pairs differing."""
    u = np.random.default_rng(seed).random((walks, pairs))
    looks = slice(9, None, 10)
    return (u < 0.2 * better).cumsum(axis=1)[:, looks], (u < 0.2).cumsum(axis=1)[:, looks]


class TestEvalue:
    def test_values(self):
        """By hand: B(2, 2) = 1/6, B(3, 2) = 1/12, B(4, 2) = 1/20, B(3, 3) = 1/30."""
        assert beta_binomial_evalue(0, d=0) == pytest.approx(1.0)
        assert beta_binomial_evalue(1, d=1) == pytest.approx(1.0)
        assert beta_binomial_evalue(2, d=2) == pytest.approx(6 / 20 * 4)
        assert beta_binomial_evalue(1, d=2) == pytest.approx(6 / 30 * 4)
        assert beta_binomial_evalue(5000, d=5000) == math.inf
        with pytest.raises(ValueError, match="k is 3 of 2"):
            beta_binomial_evalue(3, d=2)

    @pytest.mark.parametrize("d", [1, 7, 40])
    def test_fair_game(self, d):
        """Its mean over fair coins is one at every length: that is what makes it safe."""
        chance = [math.comb(d, k) / 2**d for k in range(d + 1)]
        mean = sum(c * beta_binomial_evalue(k, d=d) for k, c in enumerate(chance))
        assert mean == pytest.approx(1.0, abs=1e-12)

    def test_false_better(self):
        """No difference, looks every 10 pairs to 1,000; 4,000 walks, seed 1, four errors.

        Earlier trials: stopping at |z| > 1.96 is wrong in 36 %, E > 20 in 2.5 %.
        """
        k, d = walks(better=0.5, pairs=1_000, walks=4_000, seed=1)
        z = np.abs(2 * k - d) / np.sqrt(np.maximum(d, 1))
        e = evalue_table(480)[d, k]
        assert np.mean((z > 1.96).any(axis=1)) == pytest.approx(0.36, abs=tolerance(0.36, 4_000))
        assert np.mean((e > 20).any(axis=1)) == pytest.approx(0.025, abs=tolerance(0.025, 4_000))

    @pytest.mark.parametrize(("gap", "power", "median"), [(0.05, 0.98, 620), (0.10, 1.0, 160)])
    def test_power(self, gap, power, median):
        """20 % of pairs differ, shares apart by 0.05 or 0.10; 2,000 walks, seed 2.

        Power within four errors and .005, median runs to stop within 10 % of earlier trials.
        """
        k, d = walks(better=0.5 + gap / 0.4, pairs=2_000, walks=2_000, seed=2)
        hit = evalue_table(480)[d, k] > 20
        stopped = hit.any(axis=1)
        slack = 0.005 + tolerance(power, 2_000)
        assert np.mean(stopped) == pytest.approx(power, abs=slack)
        runs = (hit.argmax(axis=1) + 1) * 10
        assert np.median(runs[stopped]) == pytest.approx(median, rel=0.1)


class TestSurvival:
    def test_by_hand(self):
        """Six fish: hurt on 1, 3, 3; taken out on 2; watched to 4 and 5.

        Before 1: 6 at risk, F1 = 1/6, S = 5/6. Day 2: 5 at risk, F2 = 5/6 * 1/5 = 1/6, S = 4/6.
        Day 3: 4 at risk, two hurt, F1 = 1/6 + 4/6 * 2/4 = 1/2, S = 1/3.
        """
        curves = cumulative_incidence([1, 2, 3, 3, 4, 5], cause=[1, 2, 1, 1, 0, 0])
        assert curves[1].days.tolist() == [1, 3]
        assert curves[1].value == pytest.approx([1 / 6, 1 / 2])
        assert curves[2].days.tolist() == [2]
        assert curves[2].value == pytest.approx([1 / 6])
        km = kaplan_meier([1, 2, 3, 3, 4, 5], happened=[1, 0, 1, 1, 0, 0])
        assert km.value == pytest.approx([1 / 6, 1 - 5 / 6 * 2 / 4])

    def test_by_hand_with_censoring_between(self):
        """Five fish: hurt 1, lost from sight 2, taken out 3, hurt 4, watched to 6.

        F1 = 1/5; S = 4/5; day 3: 3 at risk, F2 = 4/5 * 1/3 = 4/15, S = 8/15; day 4: 2 at risk,
        F1 = 1/5 + 8/15 * 1/2 = 7/15.
        """
        curves = cumulative_incidence([1, 2, 3, 4, 6], cause=[1, 0, 2, 1, 0])
        assert curves[1].value == pytest.approx([1 / 5, 7 / 15])
        assert curves[2].value == pytest.approx([4 / 15])

    def test_another_library(self):
        """Values and 95 % limits of lifelines 0.30.3 for the first kind of end, same formulae."""
        days = [0.5, 1.2, 1.9, 2.4, 3.3, 4.1, 5.0, 6.2, 7.7, 9.0]
        curves = cumulative_incidence(days, cause=[1, 2, 0, 1, 1, 2, 0, 1, 2, 0])
        assert curves[1].value == pytest.approx(LIFELINES_VALUE, abs=1e-9)
        assert curves[1].low == pytest.approx(LIFELINES_LOW, abs=1e-9)
        assert curves[1].high == pytest.approx(LIFELINES_HIGH, abs=1e-9)

    def test_without_censoring_it_is_the_share(self):
        """And its limits are those of the binomial variance F (1 - F) / n on the log-log."""
        rng = np.random.default_rng(6)
        days, cause = rng.permutation(200) + 1.0, rng.integers(1, 4, 200)
        for j, curve in cumulative_incidence(days, cause=cause).items():
            share = np.arange(1, len(curve.days) + 1) / 200
            assert curve.value == pytest.approx(share, abs=1e-12)
            se = np.sqrt(share * (1 - share) / 200) / (share * np.abs(np.log(share)))
            assert curve.low == pytest.approx(share ** np.exp(1.959963984540054 * se), abs=1e-9)
            assert int(np.sum(cause == j)) == len(curve.days)

    def test_kaplan_meier_of_complete_runs_is_the_share(self):
        """Serious or worse is never censored but by the end: then counts and Wilson serve."""
        happened = np.repeat([True, False], [16, 84])
        days = np.where(happened, np.arange(100) % 29 + 1.0, 30.0)
        assert kaplan_meier(days, happened=happened).by(30).value == pytest.approx(0.16)

    def test_edges(self):
        empty = kaplan_meier([30.0] * 100, happened=[False] * 100)
        assert empty.by(30).value == 0.0
        assert empty.by(30).high == pytest.approx(share_interval(0, n=100).high)
        every = kaplan_meier([1.0, 2.0, 3.0], happened=[True] * 3)
        last = every.by(3)
        assert (last.value, last.high) == (1.0, 1.0)
        assert 0.0 < last.low < 1.0
        alone = cumulative_incidence([1.0, 2.0], cause=[1, 1])[1]
        assert alone.by(0.5).value == 0.0
        assert (alone.by(2).value, alone.by(2).high) == (1.0, 1.0)
        assert cumulative_incidence([3.0], cause=[0]) == {}
        with pytest.raises(ValueError, match="a cause is -1"):
            cumulative_incidence([1.0], cause=[-1])
        with pytest.raises(ValueError, match="one mark per day"):
            kaplan_meier([1.0, 2.0], happened=[True])

    def test_the_keepers_moves_are_not_mere_censoring(self):
        """Injury grows at a rate that differs by fish; the keeper takes out most hurt fish.

        4,000 fish, seed 13. Kaplan-Meier that counts them as censored tells less than half of the
        deaths there would have been; cumulative incidence tells those that there were, exactly.
        """
        rng = np.random.default_rng(13)
        n = 4_000
        dies = 30.0 / np.exp(rng.normal(-1.6, 1.4, n))
        taken = np.where(rng.random(n) < 0.9, 0.5 * dies, np.inf)
        truth = np.mean(dies <= 30.0)
        days = np.minimum(np.minimum(dies, taken), 30.0)
        cause = np.where(days == 30.0, 0, np.where(taken < dies, 2, 1))
        km = kaplan_meier(days, happened=cause == 1).by(30).value
        incidence = cumulative_incidence(days, cause=cause)
        assert km < 0.5 * truth
        assert incidence[1].by(30).value == pytest.approx(np.mean(cause == 1), abs=1e-12)
        assert incidence[1].by(30).value <= km
        assert incidence[2].by(30).value == pytest.approx(np.mean(cause == 2), abs=1e-12)


class TestSpread:
    def test_by_hand(self):
        """Draws (1, 3) and (5, 7): MSB = 16, MSW = 2, fish = 7, luck = 2, share 7/9."""
        found = variance_split([[1, 3], [5, 7]])
        assert (found.fish_variance, found.luck_variance) == pytest.approx((7, 2))
        assert found.share.value == pytest.approx(7 / 9)
        assert not found.clipped

    def test_clipping_is_said(self):
        """Draws (1, 3) and (3, 1): MSB = 0, fish = -1 before it is put at zero."""
        found = variance_split([[1, 3], [3, 1]])
        assert found.clipped
        assert (found.fish_variance, found.share.value, found.share.low) == (0, 0, 0)

    def test_edges(self):
        assert math.isnan(variance_split(np.ones((5, 2))).share.value)
        only_fish = variance_split([[1, 1], [2, 2], [5, 5]]).share
        assert (only_fish.value, only_fish.low, only_fish.high) == (1.0, 1.0, 1.0)
        with pytest.raises(ValueError, match="two lucks or more"):
            variance_split(np.ones((5, 1)))

    @pytest.mark.parametrize("share", [0.2, 0.7])
    def test_coverage(self, share):
        """50 draws by 2 lucks, normal; 2,000 sets, seed 17, four standard errors of .95."""
        rng = np.random.default_rng(17)
        sets = 2_000
        fish = rng.normal(0, math.sqrt(share), (sets, 50, 1))
        luck = rng.normal(0, math.sqrt(1 - share), (sets, 50, 2))
        found = [variance_split(table) for table in fish + luck]
        held = np.mean([covers(split.share, share) for split in found])
        assert held == pytest.approx(0.95, abs=tolerance(0.95, sets))
        # Unbiased before clipping, which is rare here: 3 % of share 0.7's value is four errors.
        mean = np.mean([split.fish_variance for split in found])
        assert mean == pytest.approx(share, abs=0.03)

    def test_gain_of_pairing(self):
        """Common part of variance 0.8 of 1: the ratio is 0.2; 20,000 pairs, seed 19, 5 %."""
        rng = np.random.default_rng(19)
        common = rng.normal(0, math.sqrt(0.8), 20_000)
        a, b = common + rng.normal(0, math.sqrt(0.2), (2, 20_000))
        assert variance_gain(a, b=b) == pytest.approx(0.2, rel=0.05)
        assert variance_gain(a, b=a) == 0.0
        assert math.isnan(variance_gain([1.0, 1.0], b=[2.0, 2.0]))
        with pytest.raises(ValueError, match="the same number of both"):
            variance_gain([1.0, 2.0], b=[1.0])
