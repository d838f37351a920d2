"""What counts say of unknowns, against cases whose answer can be worked out."""

from __future__ import annotations

import numpy as np

from sim.glm import log_mean, log_odds
from sim.likely import learn, marginals, nearest_runs, posterior, weighted_quantiles

RUNS = 4000


def gaussian(seed: int, *, noise: float) -> tuple[np.ndarray, np.ndarray]:
    """Unknowns of unit spread, and one count that is their value and noise."""
    rng = np.random.default_rng(seed)
    unknowns = rng.standard_normal((RUNS, 1))
    return unknowns, unknowns + noise * rng.standard_normal((RUNS, 1))


def test_a_gaussian_unknown_has_the_posterior_that_can_be_worked_out() -> None:
    """Seed 1, 4000 runs: mean s / 2 and sd 0.707; standard errors 0.02 of about 1200 runs."""
    unknowns, counts = gaussian(1, noise=1.0)
    learnt = learn(unknowns, [counts])
    for count in (-1.5, 0.0, 2.0):
        draws = posterior(learnt, [np.array([count])])[:, 0]
        assert abs(draws.mean() - 0.5 * count) < 0.08
        assert abs(draws.std() - np.sqrt(0.5)) < 0.06
    assert abs(learnt.told[0] - 0.5) < 0.05


def test_a_count_that_has_nothing_to_do_with_an_unknown_leaves_it_as_it_was() -> None:
    rng = np.random.default_rng(2)
    unknowns = rng.standard_normal((RUNS, 1))
    learnt = learn(unknowns, [rng.standard_normal((RUNS, 2))])
    assert learnt.told[0] == 0.0
    draws = posterior(learnt, [np.array([3.0, -3.0])])[:, 0]
    assert abs(draws.std() - unknowns.std()) < 0.01
    assert abs(draws.mean() - unknowns.mean()) < 0.01


def test_two_unknowns_of_which_only_the_sum_is_counted_stay_tied() -> None:
    """The sum is known to sd 0.1, so the correlation of the two is near -1."""
    rng = np.random.default_rng(3)
    unknowns = rng.standard_normal((RUNS, 2))
    total = unknowns.sum(axis=1, keepdims=True) + 0.1 * rng.standard_normal((RUNS, 1))
    sums = np.array([[1.0], [1.0]])
    learnt = learn(unknowns, [total, total], pools=[[0, 1]], lines=sums, levels=np.array([5.0]))
    draws = posterior(learnt, [np.array([1.0])] * 2)
    assert np.corrcoef(draws.T)[0, 1] < -0.9
    assert abs(draws[:, :2].sum(axis=1).mean() - 1.0) < 0.1
    assert draws[:, 0].std() > 0.6
    assert abs(draws[:, 2].mean() - 6.0) < 0.1  # a line over both, five more than their sum
    assert draws[:, 2].std() < 0.2


def test_unknowns_that_are_alike_are_learnt_together_each_from_its_own_count() -> None:
    """Two fish, counts 2 and -2, half of each is noise: expected 1 and -1, as one by one."""
    rng = np.random.default_rng(8)
    unknowns = rng.standard_normal((RUNS, 2))
    counts = unknowns + rng.standard_normal((RUNS, 2))
    own = [counts[:, :1], counts[:, 1:]]
    learnt = learn(unknowns, own, pools=[[0, 1]])
    assert len(learnt.fits) == 1
    means = posterior(learnt, [np.array([2.0]), np.array([-2.0])]).mean(axis=0)
    assert np.allclose(means, [1.0, -1.0], atol=0.08)


def test_ranges_from_bursty_counts_hold_as_many_as_they_say() -> None:
    """Seed 4: 600 runs teach, 400 fish are judged; 4 standard errors of 0.9 are 0.06."""
    rng = np.random.default_rng(4)
    unknowns = rng.standard_normal((1000, 1))
    rate = 3.0 * np.exp(0.5 * unknowns) * rng.gamma(1.0, 1.0, size=unknowns.shape)
    counts = np.log(rng.poisson(rate) + 0.5)
    learnt = learn(unknowns[:600], [counts[:600]])
    inside = []
    for truth, count in zip(unknowns[600:, 0], counts[600:], strict=True):
        low, high = np.quantile(marginals(learnt, learnt.expect([count]))[:, 0], [0.05, 0.95])
        inside.append(low <= truth <= high)
    assert 0.84 < np.mean(inside) < 0.96


def test_a_count_that_never_differs_tells_nothing_and_breaks_nothing() -> None:
    unknowns, counts = gaussian(5, noise=0.5)
    flat = np.column_stack([counts, np.full(RUNS, 7.0)])
    alone, both = learn(unknowns, [counts]), learn(unknowns, [flat])
    assert np.allclose(alone.expected, both.expected, atol=1e-6)
    assert np.isfinite(posterior(both, [np.array([1.0, 9.0])])).all()


def test_the_runs_that_were_counted_most_alike_come_first() -> None:
    unknowns, counts = gaussian(6, noise=0.5)
    learnt = learn(unknowns, [counts])
    near = nearest_runs(learnt, learnt.expect([np.array([1.0])]), number=20)
    assert np.abs(counts[near, 0] - 1.0).max() < 0.05


def test_weighted_quantiles_are_those_of_repeated_values() -> None:
    found = weighted_quantiles(np.array([3.0, 1.0]), np.array([1.0, 3.0]), np.array([0.1, 0.9]))
    assert found.tolist() == [1.0, 3.0]


def test_lines_on_another_scale_are_found_again() -> None:
    """Seed 7, 4000 rows: standard errors of the weights are below 0.05."""
    rng = np.random.default_rng(7)
    x = np.column_stack([np.ones(RUNS), rng.standard_normal((RUNS, 2))])
    mean = np.exp(x @ [0.5, 0.8, 0.0])
    assert np.allclose(log_mean(x, mean * rng.gamma(1.0, 1.0, RUNS)), [0.5, 0.8, 0.0], atol=0.15)
    share = 1.0 / (1.0 + np.exp(-(x @ [-1.0, 0.0, 1.2])))
    hurt = (rng.random(RUNS) < share).astype(float)
    assert np.allclose(log_odds(x, hurt), [-1.0, 0.0, 1.2], atol=0.15)
