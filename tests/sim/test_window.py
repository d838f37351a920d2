"""Window: how long a gap may be, and that what a change did is watched first."""

from __future__ import annotations

import numpy as np
import pytest

from sim.rules.codes import LEAPT
from sim.rules.window import begin_gap, draw_gap, fade_pool, take_change
from sim.settings import Settings
from tests.sim.calling import call
from tests.sim.worlds import fish, history, shipped_history

DAY = 86400.0


def at(*, clock: float, unchanged_h: float, **more: float):
    """A tank so many seconds after its start, in which nothing has changed for so many hours."""
    of = history(fish(), fish(), days=60.0, settings=Settings(**more))
    of.state.tank.clock[0] = clock
    of.state.tank.awake[0] = 3600.0 * 12.0 * clock / DAY
    of.state.tank.last_change[0] = of.state.tank.awake[0] - 3600.0 * unchanged_h
    return of


def gaps(of, number: int = 400) -> np.ndarray:
    """Gaps (s) after so many windows."""
    found = []
    for window in range(number):
        of.state.tank.windows[0] = window
        found.append(call(draw_gap, of.state))
    return np.array(found)


@pytest.mark.parametrize(
    ("day", "unchanged_h", "middle_s"),
    [
        (3.4, 0.1, 300.0),
        (3.4, 10.0, 0.15 * 36_000.0),
        (20.4, 200.0, 10_800.0),
        (30.4, 0.1, 300.0),
        (30.4, 10.0, 0.3 * 36_000.0),
        (300.4, 200.0, 21_600.0),
    ],
)
def test_a_gap_is_a_share_of_the_time_since_a_change_and_twice_that_after_a_month(
    day, unchanged_h, middle_s
):
    drawn = gaps(at(clock=day * DAY, unchanged_h=unchanged_h))
    assert drawn.min() >= 0.5 * middle_s
    assert drawn.max() <= 1.5 * middle_s
    # The mean of 400 even draws from a breadth of `middle_s` has an error of 0.0144 of it.
    assert drawn.mean() == pytest.approx(middle_s, rel=0.05)
    assert drawn.max() - drawn.min() > 0.9 * middle_s


def test_a_gap_goes_on_after_the_night():
    of = at(clock=3.5 * DAY, unchanged_h=1.0)
    left_of_the_day = float(of.state.tank.light_off[0]) - 0.5 * DAY
    spoken_for = float(of.state.tank.stands_for[0])
    call(begin_gap, of.state, left_of_the_day + 1800.0)
    tank = of.state.tank[0]
    assert tank.phase == LEAPT
    assert tank.until == pytest.approx(tank.clock + left_of_the_day)
    assert tank.gap_left == pytest.approx(1800.0)
    assert tank.stands_for - spoken_for == pytest.approx(left_of_the_day + 1800.0)


def test_a_change_is_noted_and_what_was_seen_before_it_weighs_two_windows():
    of = at(clock=3.5 * DAY, unchanged_h=20.0)
    state, window = of.state, Settings().window_s
    state.tank.pool_time[0] = 40.0 * window * window
    state.pair.exposure[0, 1] = 8000.0
    state.pair.free[0, 1] = 40_000.0
    state.tank.changed[0] = 1
    state.tank.gap_left[0] = 500.0
    call(take_change, state)
    tank = state.tank[0]
    assert tank.changed == 0
    assert tank.last_change == tank.awake
    assert tank.gap_left == 0.0
    assert tank.pool_time == pytest.approx(2.0 * window * window)
    # The rate that leaps draw from is what it was; it only gives way sooner.
    assert state.pair.exposure[0, 1] / state.pair.free[0, 1] == pytest.approx(0.2)
    assert state.pair.exposure[0, 1] == pytest.approx(400.0)
    call(fade_pool, state)
    assert state.pair.exposure[0, 1] == pytest.approx(400.0)


def watched_by_day(late_gaps: float) -> np.ndarray:
    """Hours watched on each of 60 days."""
    of = shipped_history(
        "convict-four-foot", days=60.0, settings=Settings(late_days=30.0, late_gaps=late_gaps)
    )
    hours, before = [], 0.0
    for day in range(1, 61):
        of.advance(until_day=day)
        hours.append((float(of.state.tank.watched_s[0]) - before) / 3600.0)
        before = float(of.state.tank.watched_s[0])
    return np.array(hours)


def test_longer_gaps_leave_the_first_month_alone_and_watch_less_after_it():
    longer, alike = watched_by_day(2.0), watched_by_day(1.0)
    assert np.array_equal(longer[:30], alike[:30])
    # On most days nothing changes, and these are what is saved.
    assert np.median(longer[30:]) < 0.8 * np.median(alike[30:])


def test_gaps_after_a_change_are_as_short_in_a_later_month():
    """What is watched of the first hours after a change does not hang on the month."""
    first = gaps(at(clock=3.4 * DAY, unchanged_h=0.2))
    later = gaps(at(clock=100.4 * DAY, unchanged_h=0.2))
    assert later.mean() == pytest.approx(first.mean(), rel=0.05)
