"""Spare places: how many, by when, and deaths beside moves."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.spare import spare_places

DRAW = np.arange(20) // 2


def spare(**more):
    given = {
        "needed": [0] * 10 + [1] * 8 + [2, 3],
        "first_day": [math.inf] * 10 + [4.0, 5.0, 3.0, 7.0, 8.0, 9.0, 9.5, 12.0, 6.0, 2.0],
        "short": [0] * 18 + [1, 1],
        "death_day": [math.inf] * 20,
        "moved_day": [math.inf] * 20,
        "days": 30.0,
        "draw": DRAW,
    }
    return spare_places(**{**given, **more})


def test_nine_of_ten_runs_decide_how_many_and_one_in_ten_by_when():
    found = spare()
    assert found.places == 1
    assert found.enough.value == pytest.approx(0.9)
    assert found.short.value == pytest.approx(0.1)
    assert found.day == 3.0, "the second of twenty to need one"
    assert spare(needed=[0] * 20, first_day=[math.inf] * 20).day is None
    assert spare(needed=[2] * 20).places == 2


def test_a_death_after_a_move_is_not_the_first_thing_that_happened():
    death = [math.inf] * 16 + [5.0, 6.0, 10.0, 20.0]
    moved = [math.inf] * 14 + [3.0, 3.0, 2.0, math.inf, 12.0, 18.0]
    found = spare(death_day=death, moved_day=moved)
    assert found.died is not None
    assert found.moved is not None
    assert found.died.by(30).value == pytest.approx(2 / 20)
    assert found.moved.by(30).value == pytest.approx(4 / 20)
    assert found.moved.by(2.5).value == pytest.approx(1 / 20)
    assert spare().died is None
