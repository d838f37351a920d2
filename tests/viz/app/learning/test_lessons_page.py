"""The list of Learn, sitting down with a pad, and the story of the parents, without a browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import solara

from sim.engine import History
from sim.settings import Settings
from tests.viz.app.learning.made import desk_in, waited
from tests.viz.app.rendering import button, page_context, rendered, shown
from viz.app.challenges import load_challenges
from viz.app.learning.desk import Desk
from viz.app.learning.lesson_views import CountingView, ParentsView
from viz.app.learning.sitting import SEED, TITLE, SittingDown
from viz.app.lessons.counting import KINDS, sitting_tank
from viz.app.lessons.parents import STEPS
from viz.app.living import begin
from viz.app.pages.learn import LESSONS, Learn, LearnWords


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = desk_in(tmp_path)
    yield made
    made.session.close()


@solara.component
def Story(desk: Desk) -> None:
    """The page of the story."""
    assert desk.story is not None
    ParentsView(desk, desk.story)


def test_everything_there_is_is_listed_and_can_be_opened(desk: Desk) -> None:
    with page_context():
        page, words = rendered(Learn(desk.session)), rendered(LearnWords(desk.session))
        for _, title, told in LESSONS:
            assert title in shown(page)
            assert told in shown(page)
        for challenge in load_challenges():
            assert challenge.goal in shown(page)
        assert "There are no points." in shown(words)
        button(page, "7. Dithers for a shy fish").click()
        assert desk.open == "challenge"
        assert "What may be changed" in shown(page)
        assert "Willa hides at most 3 hours a day" in shown(words)
        button(page, "All lessons and challenges").click()
        assert desk.open == ""
        button(page, "Seeing and counting").click()
        assert "Twelve young convicts, put in this morning." in shown(page)
    assert desk.session.tank.name == "Dithers for a shy fish"


def test_a_sitting_is_counted_in_the_very_run_that_was_watched(desk: Desk) -> None:
    sitting = SittingDown(desk, minutes=2, run=0)
    assert sitting.sit_down()
    desk.sitting = sitting
    assert desk.session.tank.name == TITLE
    live = begin(desk.session)
    assert waited(lambda: live.moment is not None)
    with page_context():
        page = rendered(CountingView(desk, desk.now))
        assert " left" in shown(page)
        button(page, "Chases: 0").click()
        assert sitting.pad.count("chases") == 1
    live.speed(100.0)
    assert waited(lambda: live.moment is not None and live.moment.day >= sitting.end_day)
    sitting.finish()
    assert waited(lambda: sitting.taken)
    sitting.mark("chases")  # too late
    assert sitting.pad.count("chases") == 1
    sitting.suppose(3)
    sitting.show()
    assert sitting.shown is not None
    tank = sitting_tank(2)
    again = History(tank.scenario, tank.layout, run=0, seed=SEED, settings=Settings(watch_all=True))
    again.advance(until_day=sitting.end_day + 0.001)
    seen = again.snapshot().seen[0]
    there = {row.kind: row.there for row in sitting.shown.rows}
    assert there == {kind: int(seen[kind].sum()) for kind in KINDS}
    with page_context():
        page = rendered(CountingView(desk, desk.now))
        for words in sitting.shown.sentences([f"fish {k}" for k in range(12)], guess=None)[:1]:
            assert words in shown(page)
        button(page, "Sit down once more").click()
        assert desk.sitting is None


def test_the_story_shows_the_moment_of_each_step(desk: Desk) -> None:
    desk.turn_to("parents")
    story = desk.story
    assert story is not None
    assert waited(lambda: story.story is not None)
    days = []
    for number, step in enumerate(STEPS):
        story.go(number)
        with page_context():
            page = rendered(Story(desk))
            assert f"Step {number + 1} of {len(STEPS)}" in shown(page)
            assert step.title in shown(page)
            for words in story.measured:
                assert words in shown(page)
        if story.at_day is not None:
            assert desk.session.shown is not None
            assert desk.session.shown.at_day == story.at_day
            days.append(story.at_day)
    assert days[:3] == sorted(days[:3])
    assert len(days) >= 3
    with page_context():
        assert "Play both" in shown(rendered(Story(desk)))
