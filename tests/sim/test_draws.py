"""Draws: uniform, independent, of the right moments, and the same on every machine."""

from __future__ import annotations

import hashlib
import math
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from sim import draws
from sim.draws import (
    chain,
    exponential,
    high_half,
    low_half,
    mix,
    named_key,
    normal,
    poisson,
    uniform,
)
from sim.errors import Refused
from sim.parameters import load_parameters, parameter_record
from tests.sim.calling import call

N = 20_000


def keys(n: int = N, name: str = "draws") -> list[np.uint64]:
    """Keys as the rules make them: one key, followed by 0, 1, 2, ..."""
    first = named_key(name)
    return [follow(first, k) for k in range(n)]


def follow(key: np.uint64, k: int) -> np.uint64:
    return np.uint64(call(chain, key, k))


@pytest.mark.parametrize("part", [uniform, low_half, high_half])
def test_draws_are_uniform_in_the_open_interval(part):
    """20,000 draws in 64 bins and in order; both p above 1e-4 for a fixed key."""
    found = np.array([call(part, key) for key in keys()])
    assert 0.0 < found.min() < found.max() < 1.0
    counts = np.histogram(found, bins=64, range=(0.0, 1.0))[0]
    assert stats.chisquare(counts).pvalue > 1e-4
    pairs = np.histogram2d(found[:-1], found[1:], bins=16, range=[[0, 1], [0, 1]])[0]
    assert stats.chisquare(pairs.ravel()).pvalue > 1e-4


def test_the_two_halves_of_a_key_and_neighbouring_keys_and_purposes_are_independent():
    """20,000 pairs in 16 x 16 bins; p above 1e-4; correlation under 4 / sqrt(n)."""
    base = keys()
    low = np.array([call(low_half, key) for key in base])
    high = np.array([call(high_half, key) for key in base])
    walk = np.array([call(uniform, follow(key, draws.WALK)) for key in base])
    attack = np.array([call(uniform, follow(key, draws.ATTACK)) for key in base])
    for a, b in ((low, high), (walk, attack), (low, walk)):
        grid = np.histogram2d(a, b, bins=16, range=[[0, 1], [0, 1]])[0]
        assert stats.chisquare(grid.ravel()).pvalue > 1e-4
        assert abs(np.corrcoef(a, b)[0, 1]) < 4 / math.sqrt(N)


def test_one_bit_of_a_key_turns_half_of_the_bits():
    """2,000 keys, one bit turned in each; mean within 4 standard errors of 32."""
    turned = []
    for n, key in enumerate(keys(2000, "bits")):
        other = key ^ np.uint64(1 << (n % 64))
        turned.append((int(call(mix, key)) ^ int(call(mix, other))).bit_count())
    assert np.mean(turned) == pytest.approx(32, abs=4 * 4 / math.sqrt(2000))


def test_purposes_have_numbers_of_their_own():
    names = [
        "TRAIT",
        "WALK",
        "ATTACK",
        "CONTEST",
        "CHASE",
        "LEAP",
        "LAYER",
        "COVER",
        "SETTLE",
        "BROOD",
        "PLACE",
        "WOUND",
    ]
    assert len({getattr(draws, name) for name in names}) == len(names)


def test_normal_draws_are_standard_normal():
    """20,000 draws: Kolmogorov-Smirnov p above 1e-4, four moments within 4 standard errors."""
    found = np.array([call(normal, key) for key in keys()])
    assert stats.kstest(found, "norm").pvalue > 1e-4
    assert found.mean() == pytest.approx(0.0, abs=4 / math.sqrt(N))
    assert found.var() == pytest.approx(1.0, abs=4 * math.sqrt(2 / N))
    assert stats.skew(found) == pytest.approx(0.0, abs=4 * math.sqrt(6 / N))
    assert stats.kurtosis(found) == pytest.approx(0.0, abs=4 * math.sqrt(24 / N))


def test_waiting_times_are_exponential():
    found = np.array([call(exponential, key) for key in keys()])
    assert found.min() > 0.0
    assert stats.kstest(found, "expon").pvalue > 1e-4


@pytest.mark.parametrize("mean", [0.01, 0.5, 3.0, 8.0, 8.5, 40.0])
def test_poisson_counts_have_their_mean_and_variance(mean):
    """20,000 counts; mean and variance within 4 standard errors, and the share of zeros."""
    found = np.array([call(poisson, key, mean) for key in keys()])
    assert found.mean() == pytest.approx(mean, abs=4 * math.sqrt(mean / N))
    spread = math.sqrt((mean + 2 * mean**2) / N)
    assert found.var() == pytest.approx(mean, abs=4 * spread)
    none = math.exp(-mean)
    assert np.mean(found == 0) == pytest.approx(none, abs=4 * math.sqrt(none / N) + 1e-12)


def test_a_poisson_count_of_mean_zero_is_zero():
    assert {call(poisson, key, 0.0) for key in keys(50)} == {0}


def test_named_keys_are_the_same_on_every_machine():
    assert named_key("run", 1, 0) == key_by_hand("run\x1f1\x1f0")
    assert named_key() == key_by_hand("")
    assert named_key("holdwater", 42) == np.uint64(KNOWN)
    assert named_key("a", "b") != named_key("ab")
    assert len({int(named_key("run", 1, run)) for run in range(1000)}) == 1000


KNOWN = 0xB33AE6350DB1C3F8


def key_by_hand(text: str) -> np.uint64:
    digest = hashlib.sha256(text.encode()).hexdigest()
    return np.uint64(int("".join(digest[k : k + 2] for k in range(14, -2, -2)), 16))


def digest_of_draws() -> str:
    """A digest of a few thousand draws of every kind."""
    text = hashlib.sha256()
    for key in keys(500, "digest"):
        numbers = [call(part, key) for part in (uniform, low_half, normal, exponential)]
        numbers.append(float(call(poisson, key, 11.0)))
        text.update(np.array(numbers).tobytes())
    return text.hexdigest()


def test_compiled_draws_equal_uncompiled_ones():
    code = "from tests.sim.test_draws import digest_of_draws as d; print(d())"
    env = {**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONWARNINGS": "ignore"}
    root = Path(__file__).parents[2]
    plain = subprocess.run(
        [sys.executable, "-c", code], cwd=root, env=env, capture_output=True, text=True, check=True
    )
    assert plain.stdout.strip() == digest_of_draws()


def test_every_parameter_has_a_unit_a_range_and_a_source():
    for name, row in load_parameters().items():
        assert row.low <= row.value <= row.high, name
        assert row.unit, name
        assert len(row.source) >= 7, name


def test_a_parameter_that_is_unknown_or_out_of_range_is_refused_all_at_once():
    with pytest.raises(Refused) as refused:
        parameter_record({"atack_rate": 0.1, "attack_rate": 9.0, "shade": math.nan, "hope": 2.5})
    told = " ".join(str(problem) for problem in refused.value.problems)
    assert len(refused.value.problems) == 3
    assert "atack_rate" in told
    assert "0.05 to 1" in told


def test_a_changed_parameter_is_in_the_record_and_the_others_are_not_touched():
    plain, changed = parameter_record(), parameter_record({"hope": 2.5})
    assert changed.hope[0] == 2.5
    same = [name for name in plain.dtype.names if plain[name][0] == changed[name][0]]
    assert len(same) == len(plain.dtype.names) - 1
