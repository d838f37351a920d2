"""Numbers by day: who is unhurt yet, the open floor, and the days round a spawning."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.batch import Batch
from sim.by_day import (
    LEAST_ROUND,
    day_table,
    moved_out,
    open_by_stage,
    open_ground,
    round_spawning,
    spawn_days,
    unhurt,
    unhurt_fish,
)
from sim.settings import Settings
from sim.summary import Summary
from tests.sim.made import design, outcome

DAYS = 5
RUNS = 12


def batch(*, keep_days: bool = True, breeding: dict | None = None) -> Batch:
    """Fish 2 is hurt on day 1.5 in every third run, fish 3 dies on day 3.2 in run 0."""
    of = design(days=DAYS)
    scenario = of.scenario
    if breeding:
        scenario = scenario.model_copy(
            update={"breeding": scenario.breeding.model_copy(update=breeding)}
        )
    made = Batch(
        scenario=scenario, layout=of.layout, seed=1, settings=Settings(), changes={},
        keep_days=keep_days,
    )  # fmt: skip
    for run in range(RUNS):
        serious = np.full(made.n_fish, math.inf)
        death = np.full(made.n_fish, math.inf)
        if run % 3 == 0:
            serious[2] = 1.5
        if run == 0:
            death[3] = 3.2
        first = min(serious.min(), death.min())
        row = {
            "serious_day": first, "separated_day": 2.5 if run < 6 else math.inf,
            "spawn_day": 1.7 if run % 2 else math.inf,
        }  # fmt: skip
        one = outcome(
            run, n_fish=made.n_fish, days=DAYS, row=row,
            fish={"serious_day": serious, "death_day": death},
        )  # fmt: skip
        one.days["held_share"] = 0.1 * np.arange(DAYS)
        one.days["stage"] = [0, 3, 3, 5, 5]
        one.days["dose"] = [0, 1, 2, 3, run]
        made.add(one)
    return made


def values(course) -> list[float]:
    return [number.value for number in course.numbers]


def test_the_unhurt_grow_fewer_by_the_end_of_the_day():
    summary = Summary(batch())
    course = unhurt(summary)
    assert course.days == (1, 2, 3, 4, 5)
    assert values(course) == pytest.approx([1.0, 2 / 3, 2 / 3, 2 / 3, 2 / 3])
    by_fish = unhurt_fish(summary)
    assert values(by_fish[2]) == pytest.approx([1.0, 2 / 3, 2 / 3, 2 / 3, 2 / 3])
    assert values(by_fish[3]) == pytest.approx([1.0, 1.0, 1.0, 11 / 12, 11 / 12])
    assert values(by_fish[0]) == [1.0] * 5
    for number in course.numbers:
        assert 0.0 <= number.low <= number.value <= number.high <= 1.0
    assert values(moved_out(summary)) == pytest.approx([1.0, 1.0, 0.5, 0.5, 0.5])


def test_the_open_floor_by_day_and_by_stage():
    summary = Summary(batch())
    course = open_ground(summary)
    assert course.days == (0, 1, 2, 3, 4)
    assert values(course) == pytest.approx([1.0, 0.9, 0.8, 0.7, 0.6])
    by_stage = {name: found.value for name, found in open_by_stage(summary).items()}
    assert by_stage == pytest.approx({"none": 1.0, "eggs": 0.85, "fry": 0.65})


def test_days_are_counted_from_the_spawning_of_each_run():
    summary = Summary(batch(breeding={"mode": "on", "spawn_day": 2.0}))
    assert spawn_days(summary).tolist() == [2.0] * RUNS
    course = round_spawning(summary, "dose")
    assert course.days == (-2, -1, 0, 1, 2)
    assert values(course) == pytest.approx([0, 1, 2, 3, np.mean(range(RUNS))])


def test_runs_without_a_spawning_are_left_out_and_too_few_are_not_told():
    made = batch(breeding={"mode": "spontaneous"})
    summary = Summary(made)
    assert np.isfinite(spawn_days(summary)).sum() == RUNS / 2 < LEAST_ROUND
    assert round_spawning(summary, "dose").days == ()
    assert round_spawning(Summary(batch()), "dose").days == ()


def test_without_its_days_a_batch_says_so():
    summary = Summary(batch(keep_days=False))
    with pytest.raises(ValueError, match="kept no days"):
        day_table(summary, "dose")
