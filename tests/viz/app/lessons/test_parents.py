"""Why parents turn on neighbours: the numbers of the steps are those of the run."""

from __future__ import annotations

import numpy as np
import pytest

from sim.batch import play_batch, run_one
from sim.check import check_scenario
from viz.app.lessons import parents
from viz.app.lessons.parents import STEPS, Measured, compared, lesson_tank, play_story


@pytest.fixture(scope="module")
def story() -> parents.Story:
    return play_story(run=0, seed=1)


def test_the_steps_are_stages_of_the_run_and_the_ground_grows(story: parents.Story) -> None:
    assert list(story.stages) == ["before", "eggs", "fry"]
    assert set(story.stages) < {step.key for step in STEPS}
    before, eggs, fry = story.stages.values()
    assert before.day < parents.SPAWN_DAY < eggs.day < fry.day
    assert before.area_m2 < eggs.area_m2
    assert before.area_m2 < fry.area_m2
    floor = lesson_tank().scenario.tank
    assert fry.share == pytest.approx(fry.area_m2 / (floor.length_m * floor.width_m))


def test_the_attack_names_its_factors(story: parents.Story) -> None:
    assert story.attack_day is not None
    assert story.attack_day > story.stages["eggs"].day
    assert story.attack.startswith(parents.PAIR)
    assert "its brood (fry)" in story.reasons


def test_the_story_is_the_run_that_watch_would_show(story: parents.Story) -> None:
    tank = lesson_tank()
    again = run_one(tank.scenario, tank.layout, run=0, seed=1)
    pair = again.fish[:2]["bites_given"].sum()
    assert pair > 0
    assert play_story(run=0, seed=1) == story


def test_without_the_brood_the_same_fish_are_compared() -> None:
    sides = []
    for tank in (lesson_tank(), parents.without_brood()):
        short = tank.scenario.model_copy(update={"days": 4.0})
        checked = check_scenario(short)
        sides.append(play_batch(checked.scenario, checked.layout, runs=4, seed=2, workers=1))
    found = compared(*sides)
    assert (found.draws, found.ratio) == (2, None)
    assert 0 <= found.more <= 2
    assert len(found.days) == 4
    assert found.days[0][0] == float(
        np.mean([d["bites"] for part in sides[0].days.slices() for d in part if d["day"] == 0])
    )
    assert found.words[0].startswith(f"In {found.more} of 2 draws of fish")


def test_words() -> None:
    assert Measured(9.0, 0.4, 0.72).words == (
        "Measured in this run: the pair holds 0.4 m2, 72 in 100 of the floor, on average over this "
        "stage."
    )
