"""A challenge on its page: what is said before and after it is judged, and of which tank."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
import solara

from sim.check import Checked, check_scenario
from tests.viz.app.learning.made import desk_in, waited
from tests.viz.app.rendering import button, page_context, rendered, shown
from viz.app.challenge_judging import seed_for, settings_of
from viz.app.challenges import Answer, Challenge, find_challenge
from viz.app.editing.furnish import add_piece
from viz.app.learning.challenge_view import ChallengeView
from viz.app.learning.trying import Trying

RUNS = 4


def morning(tank: Checked) -> Checked:
    """A tank over its first hours of light."""
    return check_scenario(tank.scenario.model_copy(update={"days": 0.4}))


@pytest.fixture
def trying(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Trying]:
    """Three stones for five rivals, over a morning and with few runs."""
    whole = Challenge.answered

    def answered(challenge: Challenge, answer: Answer) -> Checked:
        return morning(whole(challenge, answer))

    monkeypatch.setattr(Challenge, "answered", answered)
    desk = desk_in(tmp_path)
    desk.take_up("three-stones")
    found = find_challenge("three-stones")
    passed = found.passed.model_copy(update={"runs": RUNS})
    desk.trying = Trying(desk, replace(found, start=morning(found.start), passed=passed))
    desk.trying.begin_again()
    yield desk.trying
    desk.session.close()


@solara.component
def Whole(trying: Trying) -> None:
    """The page of a challenge."""
    ChallengeView(trying.desk, trying)


def words(trying: Trying) -> str:
    """What the page says."""
    with page_context():
        return shown(rendered(Whole(trying)))


def judged(trying: Trying) -> None:
    """Have the tank judged, and wait for it."""
    trying.play()
    assert trying.desk.refused == ()
    assert waited(lambda: trying.settled and not trying.playing)


def test_it_says_what_is_asked_and_what_may_be_changed(trying: Trying) -> None:
    said = words(trying)
    assert trying.challenge.goal in said
    assert "Up to three pieces may be added" in said
    assert "It stands as it was given." in said
    assert f"Judge this tank: {RUNS} fresh runs, once" in said
    assert "What came of it" not in said


def test_the_tank_as_given_fails_and_its_worst_run_is_watched(trying: Trying) -> None:
    judged(trying)
    said = words(trying)
    assert "Not passed" in said
    assert "It held in 0 in 100 runs" in said
    assert not trying.solved
    seed = seed_for(trying.challenge, trying.challenge.start.scenario)
    assert f"Played with seed {seed}" in said
    worst = trying.plays[0].judged
    assert worst is not None
    assert worst.worst is not None
    with page_context():
        page = rendered(Whole(trying))
        button(page, f"Watch run {worst.worst}, the worst").click()
    session = trying.desk.session
    assert session.page == "watch"
    assert session.shown is not None
    assert (session.shown.run, session.shown.seed) == (worst.worst, seed)
    assert session.shown.settings == settings_of(trying.challenge)


def test_a_verdict_belongs_to_the_tank_as_it_was(trying: Trying) -> None:
    """After a change it says of which tank it is, and its worst run is not to be watched there."""
    judged(trying)
    assert not trying.outdated
    assert trying.change(lambda tank: add_piece(tank, kind="cobble", size="4 in")[0]) == ()
    assert trying.outdated
    said = words(trying)
    assert "Not passed, as the tank was then" in said
    assert "You have changed the tank since" in said
    assert "It was then: As it was given." in said
    assert "the worst" not in said
    judged(trying)
    said = words(trying)
    assert "as the tank was then" not in said
    assert "the worst" in said
    trying.begin_again()
    assert "What came of it" not in words(trying)
    assert trying.plays == ()


def test_what_is_not_allowed_is_told_and_not_judged(trying: Trying) -> None:
    for _ in range(4):
        trying.change(lambda tank: add_piece(tank, kind="cobble", size="4 in")[0])
    said = words(trying)
    assert "This may not be changed here; undo it, or begin again:" in said
    trying.play()
    assert not trying.playing
    assert "That may not be changed here. Undo it." in str(trying.desk.refused[0])


def test_nothing_here_works_is_judged_by_an_answer_that_is_played(trying: Trying) -> None:
    """In this challenge something does work, so one is played, and shown, that may."""
    trying.say_nothing_works()
    assert waited(lambda: trying.settled and not trying.playing)
    assert not trying.solved
    said = words(trying)
    assert "Something here does work" in said
    assert "was played just now" in said
    assert "What there is to learn" not in said
    trying.give_up()
    assert "Answers that were played for it" in words(trying)
    assert trying.challenge.teaches.strip() in words(trying)
