"""Calibration: what rules a point out, and where the points of a wave lie."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from sim.errors import Refused
from sim.evidence.calibrate import (
    CUT,
    FITTED,
    FREE,
    Tried,
    better_act_time,
    first_points,
    implausibility,
    next_points,
)
from sim.evidence.patterns import Measured, find_pattern, load_patterns
from sim.parameters import load_parameters


def seen(key, *, error=0.01, **values):
    middle = {p.observable: (p.low + p.high) / 2 for p in find_pattern(key).parts}
    return {name: Measured(value, error) for name, value in {**middle, **values}.items()}


def test_predictions_take_no_part_in_fitting():
    assert not {"P3", "P6", "P7", "P10"} & set(FITTED)
    for key in FITTED:
        assert any(part.standing != "predicted" for part in find_pattern(key).parts)
    assert implausibility(find_pattern("P2"), seen("P2", winner_wins_untaught=0.0)) == 0.0
    assert implausibility(find_pattern("P2"), seen("P2", winner_wins=0.0)) > CUT


def test_a_part_is_ruled_out_by_its_distance_from_the_band_in_errors():
    pattern = find_pattern("P1")
    (part,) = [p for p in pattern.parts if p.observable == "same"]
    for gap, error in ((20.0, 4.0), (20.0, 10.0), (-5.0, 3.0)):
        found = implausibility(pattern, seen("P1", error=error, same=part.high + gap))
        assert found == pytest.approx(max(gap, 0.0) / error)
    assert implausibility(pattern, seen("P1", same=math.nan)) == math.inf
    assert implausibility(pattern, seen("P1", error=math.nan, same=part.high + 1.0)) == math.inf
    assert implausibility(pattern, seen("P1", error=math.nan)) == 0.0, "one replicate, inside"


def test_the_first_points_fill_every_range_evenly():
    points = first_points(40, seed=3)
    for name in FREE:
        row = load_parameters()[name]
        values = np.sort([point[name] for point in points])
        assert values[0] >= row.low
        assert values[-1] <= row.high
        place = np.log(values / row.low) / math.log(row.high / row.low) if row.low > 0 else None
        if place is not None:
            assert all(b - a < 2.1 / 40 for a, b in pairwise(place)), "one in each fortieth"
    with pytest.raises(Refused, match="no parameter is called"):
        first_points(2, seed=1, names=("valour",))


def test_the_time_of_an_act_follows_the_level_that_was_counted():
    level = {"same": 302.0, "mixed": 151.0}
    assert better_act_time({"act_time": 4.0}, level) == pytest.approx(4.0)
    twice = {name: 2.0 * value for name, value in level.items()}
    longer = better_act_time({"act_time": 4.0}, twice)
    assert longer == pytest.approx(4.0 * 2.0 ** (1.0 / 0.6), rel=1e-3)
    assert better_act_time({"act_time": 4.0}, {"same": 0.0, "mixed": 0.0}) == 1.5, "its least"


def test_a_box_round_a_point_is_filled_and_bent_back_at_the_ends():
    row = load_parameters()["attack_rate"]
    points = first_points(40, seed=3, start={"attack_rate": row.high}, width=0.2)
    place = [math.log(p["attack_rate"] / row.low) / math.log(row.high / row.low) for p in points]
    assert min(place) == pytest.approx(0.9, abs=0.01)
    assert max(place) == pytest.approx(1.0, abs=0.01)


def test_later_points_lie_near_the_best_and_inside_the_ranges():
    points = first_points(30, seed=1, names=("attack_rate", "submission"))
    best = (0.1, 0.5)
    tried = [
        Tried(p, {}, {"P5": abs(math.log(p["attack_rate"] / best[0])) + abs(p["submission"] - 0.5)})
        for p in points
    ]
    later = list(next_points(tried, 200, seed=2, names=("attack_rate", "submission")))
    for name in ("attack_rate", "submission"):
        row = load_parameters()[name]
        assert all(row.low <= point[name] <= row.high for point in later)

    def away(of):
        return np.median([abs(math.log(p["attack_rate"] / best[0])) for p in of])

    assert away(later) < 0.7 * away(points)
    with pytest.raises(Refused, match="too few points"):
        next(next_points(tried[:2], 1, seed=1))


def test_a_point_is_kept_only_when_every_fitted_pattern_was_played_and_none_rules_it_out():
    fine = dict.fromkeys(FITTED, 1.0)
    assert Tried({}, {}, fine).kept
    assert not Tried({}, {}, {"P5": 0.0}).kept
    assert not Tried({}, {}, {**fine, "P1": CUT + 0.1}).kept
    again = {key: 0.0 for key, runs in FITTED.items() if runs[1]}
    assert Tried({}, {}, again, True).kept
    assert not Tried({}, {}, again).kept, "a first look plays all"
    assert Tried({}, {}, fine).distance < Tried({}, {}, {**fine, "P1": 4.0}).distance
    assert set(FITTED) < set(load_patterns())
