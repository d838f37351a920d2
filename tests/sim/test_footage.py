"""What is recorded of a run is what the run did, and recording changes nothing in it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from sim.batch import run_one
from sim.engine import History
from sim.footage import record, watched_stretches
from sim.rules.codes import EGGS, IN_TANK
from tests.sim.worlds import shipped

DAYS = 12.0


@pytest.fixture(scope="module")
def checked():
    found = shipped("convict-spawning")
    return found.scenario.model_copy(update={"days": DAYS}), found.layout


@pytest.fixture(scope="module")
def stretches(checked):
    history = History(*checked, run=2)
    found = watched_stretches(history)
    return found, history


def test_the_stretches_are_all_that_was_watched(checked, stretches):
    found, history = stretches
    assert all(a < b for a, b in found)
    assert all(before[1] < after[0] for before, after in pairwise(found))
    total = sum(b - a for a, b in found)
    assert total == pytest.approx(float(history.state.tank.watched_s[0]), abs=1.0)
    seen = history.state.log[history.state.log["watched"] == 1]["time"]
    seen = seen[seen > 0.0]
    assert len(seen) > 5
    assert all(any(a <= time <= b for a, b in found) for time in seen)


def test_looking_for_them_leaves_the_run_as_it_is(checked, stretches):
    played = run_one(*checked, run=2)
    assert stretches[1].outcome().row.tobytes() == played.row.tobytes()


def test_what_is_recorded_is_where_the_fish_are_tick_by_tick(checked, stretches):
    found, _ = stretches
    takes = [(found[1][0] + 20.0, found[1][0] + 26.0), (found[-1][0] + 5.0, found[-1][0] + 60.0)]
    history = History(*checked, run=2)
    first, last = record(history, takes)
    assert np.allclose(np.diff(first.time_s), 0.2)
    assert first.time_s[0] == pytest.approx(takes[0][0], abs=0.2)
    assert last.time_s[-1] == pytest.approx(takes[1][1], abs=0.2)
    other = History(*checked, run=2)
    for time_s, frame in zip(first.time_s[:10], first.frames[:10], strict=True):
        other.advance(until_day=(time_s - 1e-3) / 86400.0)
        assert np.array_equal(frame["x"], other.state.fish.x)
        assert np.array_equal(frame["room"], other.state.fish.room)
    history.advance()
    assert history.outcome().row.tobytes() == run_one(*checked, run=2).row.tobytes()


def test_ground_is_looked_at_now_and_then_and_knows_the_brood(checked, stretches):
    found, _ = stretches
    start = found[-1][0]
    (footage,) = record(History(*checked, run=2), [(start, start + 40.0)])
    assert 4 <= len(footage.ground) <= 5
    now = footage.ground_at(start + 30.0)
    assert now.time_s <= start + 30.0 < now.time_s + 13.0
    assert [one.stage for one in now.young] == [EGGS]
    guards = [held for held in now.territories if len(held.fish) == 2]
    assert set(guards[0].fish) == set(now.young[0].parents)
    assert now.chases >= footage.ground[0].chases > 0


def test_a_tank_that_settled_is_told_from_day_zero_on():
    checked = shipped("convict-four-foot-settled")
    scenario = checked.scenario.model_copy(update={"days": 1.0, "settling_days": 1.0})
    found = watched_stretches(History(scenario, checked.layout))
    assert found[0][0] == pytest.approx((9.0 - 24.0) * 3600.0, abs=1.0)
    assert found[-1][1] <= 24.0 * 3600.0
    takes = [one for one in found if one[0] > 9.2 * 3600.0][:1]
    (footage,) = record(History(scenario, checked.layout), takes)
    assert footage.time_s[0] == pytest.approx(takes[0][0], abs=0.3)
    assert (footage.frames["presence"][0] == IN_TANK).all()
