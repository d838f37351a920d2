"""Intervals against worked examples of the literature; each test names its paper."""

from __future__ import annotations

import numpy as np
import pytest

from sim.paired import tango_interval, tango_score
from sim.statistics import share_interval
from sim.survival import cumulative_incidence, kaplan_meier


@pytest.mark.parametrize(
    ("count", "n", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson(count, n, low, high):
    """Newcombe1998a, table I, method 3: published limits, to the four places printed."""
    found = share_interval(count, n=n)
    assert (round(found.low, 4), round(found.high, 4)) == (low, high)


def test_tango_soft_lenses():
    """Tango1998, section 6.1: 44 pairs, 0 and 1 discordant; all four numbers published.

    Read as quoted by others: Z = 1.709 and one-sided p = 0.044 for a difference of -0.1, and a
    lower 90 % limit of -0.096.
    """
    from scipy.stats import norm

    z = tango_score(0, only_b=1, n=44, difference=-0.1)
    assert round(z, 3) == 1.709
    assert round(float(norm.sf(z)), 3) == 0.044
    assert round(tango_interval(0, only_b=1, n=44, level=0.90).low, 3) == -0.096


def test_tango_complete_response():
    """Fagerland2017, chapter 8, on Cavo2012: 161 pairs, 6 and 16 discordant; published limits.

    Read in the tests of the program that accompanies the book.
    """
    found = tango_interval(6, only_b=16, n=161)
    rounded = (round(found.value, 4), round(found.low, 4), round(found.high, 4))
    assert rounded == (-0.0621, -0.1240, -0.0054)


def test_aalen_johansen_breast_cancer():
    """Satagopan2004, table 2: first nine of 305 patients; published, in per cent to one place.

    The paper adds up rounded steps (0.3, 0.6, 0.9, 1.2), so each step is compared, and the sum
    within four roundings. The other 296 patients were watched for longer.
    """
    days = np.array([7, 10, 14, 16, 18, 23, 24, 26, 27] + [60] * 296)
    cause = np.array([0, 1, 0, 1, 2, 1, 0, 2, 1] + [0] * 296)
    cancer = cumulative_incidence(days, cause=cause)[1]
    assert cancer.days.tolist() == [10, 16, 23, 27]
    assert np.round(100 * np.diff(cancer.value, prepend=0.0), 1).tolist() == [0.3] * 4
    assert 100 * cancer.value == pytest.approx([0.3, 0.6, 0.9, 1.2], abs=4 * 0.05)

    survival = 1.0 - kaplan_meier(days, happened=cause > 0).value
    assert np.round(100 * survival, 1).tolist() == [99.7, 99.3, 99.0, 98.7, 98.3, 98.0]
