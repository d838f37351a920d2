"""Nitrate between water changes against a tank that is kept day by day."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.sums.nitrate import (
    change_needed,
    longest_between,
    nitrate_after_change,
    nitrate_before_change,
    nitrate_rise,
)

RISE = st.floats(0.01, 50.0)
SHARE = st.floats(0.02, 1.0)
DAYS = st.floats(0.5, 60.0)
TAP = st.floats(0.0, 50.0)


def kept(rise: float, *, share: float, days: float, tap: float, start: float, number: int) -> float:
    """Nitrate just before a change, one change after the other."""
    now = start
    for _ in range(number - 1):
        now += rise * days
        now = now - share * now + share * tap
    return now + rise * days


@given(RISE, SHARE, DAYS, TAP, st.floats(0.0, 100.0), st.integers(1, 30))
def test_each_change_as_in_a_tank_that_is_kept(rise, share, days, tap, start, number):
    found = nitrate_before_change(rise, share=share, days=days, tap=tap, number=number, start=start)
    expected = kept(rise, share=share, days=days, tap=tap, start=start, number=number)
    assert found == pytest.approx(expected, rel=1e-9)


@given(RISE, st.floats(0.1, 1.0), DAYS, TAP)
def test_in_the_long_run_it_settles(rise, share, days, tap):
    settled = nitrate_before_change(rise, share=share, days=days, tap=tap)
    later = kept(rise, share=share, days=days, tap=tap, start=0.0, number=400)
    assert settled == pytest.approx(later, rel=1e-9)
    after = nitrate_after_change(settled, share=share, tap=tap)
    assert after + rise * days == pytest.approx(settled)


@given(RISE, DAYS, st.floats(1.0, 200.0), TAP)
def test_the_change_needed_keeps_the_limit_and_no_less_does(rise, days, limit, tap):
    share = change_needed(rise, days=days, limit=limit, tap=tap)
    if share is None:  # then not even all of it
        assert limit <= tap or nitrate_before_change(rise, share=1.0, days=days, tap=tap) > limit
        return
    assert nitrate_before_change(rise, share=share, days=days, tap=tap) == pytest.approx(limit)
    less = 0.9 * share
    assert nitrate_before_change(rise, share=less, days=days, tap=tap) > limit


@given(RISE, SHARE, st.floats(1.0, 200.0), TAP)
def test_the_longest_time_keeps_the_limit(rise, share, limit, tap):
    days = longest_between(rise, share=share, limit=limit, tap=tap)
    assert (days is None) == (limit <= tap)
    if days is not None and days > 0.0:
        assert nitrate_before_change(rise, share=share, days=days, tap=tap) == pytest.approx(limit)


def test_worked_by_hand():
    """7 mg/L a week, half changed each week, none in the tap: 14 before and 7 after."""
    before = nitrate_before_change(1.0, share=0.5, days=7.0)
    assert (before, nitrate_after_change(before, share=0.5)) == (14.0, 7.0)
    assert nitrate_before_change(1.0, share=0.5, days=7.0, number=1) == 7.0
    assert nitrate_before_change(1.0, share=0.5, days=7.0, number=2) == 10.5
    assert longest_between(0.0, share=0.5, limit=40.0) == float("inf")
    # a gram of ammonia nitrogen in 100 L
    assert nitrate_rise(1.0, water_l=100.0) == pytest.approx(44.27, abs=0.01)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: nitrate_before_change(1.0, share=0.0, days=7.0),
        lambda: nitrate_before_change(1.0, share=1.1, days=7.0),
        lambda: nitrate_before_change(1.0, share=0.5, days=0.0),
        lambda: nitrate_before_change(1.0, share=0.5, days=7.0, number=0),
        lambda: change_needed(1.0, days=-1.0, limit=40.0),
        lambda: nitrate_rise(1.0, water_l=0.0),
    ],
)
def test_refused(wrong):
    with pytest.raises(ValueError, match="expected"):
        wrong()
