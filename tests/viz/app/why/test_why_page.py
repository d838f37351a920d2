"""Why without a browser: what is read and pressed there, from many runs and from a failed try."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.viz.app.rendering import (
    below,
    button,
    page_context,
    rendered,
    shown,
    with_role,
    words_of,
)
from tests.viz.app.test_challenges import short
from tests.viz.app.why.made import files, page_with, played
from viz.app.challenges import find_challenge
from viz.app.learning.challenge_view import Came
from viz.app.learning.desk import desk_of
from viz.app.learning.trying import Trying
from viz.app.pages import PAGES
from viz.app.pages.why import Why
from viz.app.session import Look, Session
from viz.app.why.floor import HurtFloor, HurtWidget
from viz.app.why.ground import OpenGroundDays
from viz.app.why.reasoning import Offer
from viz.app.why.said import WhyCompany, WhyWords
from viz.app.why.taking import far_words, off_words, what_words
from viz.hurt_spots import hurt_where_words, worst_spots
from viz.why_words import changed, tank_words

RUNS = 8


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    made = page_with(files(tmp_path)[0])
    yield made
    made.close()


def asked(session: Session) -> Any:
    """The reasons of a page, once nothing is played any more."""
    assert session.why is not None
    assert session.why.wait(60.0)
    return session.why


def switch(context: Any, words: str) -> Any:
    """The one switch with these words."""
    (found,) = (one for one in with_role(context, "switch") if words_of(one) == words)
    return found


def test_the_page_is_one_of_six() -> None:
    assert [page.name for page in PAGES] == [
        "Build", "Watch", "Repeat", "Compare", "Why", "Learn",
    ]  # fmt: skip


def test_the_runs_of_repeat_are_told_and_one_thing_is_taken_away(session: Session) -> None:
    with page_context():
        page, words = rendered(Why(session)), rendered(WhyWords(session))
        assert "Many runs tell" in shown(page)
        assert "Why is told here once all runs are played." in shown(words)
        played(session, runs=RUNS)
        why = asked(session)
        for said in tank_words(why.now.why, number=0):
            assert said.words in shown(words)
        for part in ("What it rests on", "of them are assumed", "How sure", "veterinarian"):
            assert part in shown(words)
        assert "8 runs are few" in shown(page)
        assert "Not played, brood: no brood is played in this tank." in shown(page)
        assert "from 80 runs on, not from 8." in shown(page)  # too few for the tempers
        switch(page, "if pieces hid nobody from view").click()
        (taken,) = asked(session).now.why.reasons[0].taken
        words_now = changed(taken)
        assert f"{words_now[:1].upper()}{words_now[1:]}." in shown(page)
        assert f"If pieces hid nobody from view, {words_now}." in shown(words)
        switch(page, "if pieces hid nobody from view").click()
        assert words_now not in shown(page)
        assert "Played already" in shown(page)
        button(page, "More that can be taken away").click()
        assert button(page, "if nobody learned")


def test_the_floor_and_its_table_have_the_same_numbers(session: Session) -> None:
    with page_context():
        page, floor = rendered(Why(session)), rendered(HurtFloor(session))
        played(session, runs=RUNS)
        why = asked(session)
        spots, layout = why.now.spots[0][""], why.designs[0].layout
        (widget,) = (one for one in below(floor.container) if isinstance(one, HurtWidget))
        found = worst_spots(spots, layout=layout)
        assert [one["dose"] for one in widget.spots] == [one.dose for one in found]
        assert widget.most == found[0].dose
        assert hurt_where_words(spots, layout=layout) in widget.label
        assert session.sentence == hurt_where_words(spots, layout=layout)
        assert found[0].place in shown(page)
        assert not widget.gentle
        session.change_look(Look(gentle=True))
        (widget,) = (one for one in below(floor.container) if isinstance(one, HurtWidget))
        assert widget.gentle
        assert "dashed rings" in shown(page)


def test_tables_and_the_days_say_what_the_reasons_say(session: Session) -> None:
    with page_context():
        page, days = rendered(Why(session)), rendered(OpenGroundDays(session))
        company = rendered(WhyCompany(session))
        played(session, runs=RUNS)
        reasons = asked(session).now.why.reasons[0]
        for part in (*reasons.covers, next(name for name in reasons.holders if name)):
            assert part in shown(page)
        (picture,) = (one for one in below(days.container) if getattr(one, "tag", "") == "svg")
        assert picture.attributes["role"] == "img"
        assert "Floor that nobody holds" in picture.attributes["aria-label"]
        tables = [one for one in below(page.container) if getattr(one, "tag", "") == "table"]
        assert len(tables) >= 5
        for table in tables:
            assert [one.tag for one in table.children if one.tag == "caption"] == ["caption"]
        assert "Seriously hurt in" in shown(company)


def test_how_far_it_is_in_words() -> None:
    offer = Offer("brood", on=True, done=25, asked=100, playing=True, took_s=10.0)
    assert far_words(offer) == "25 of 100 runs, about 30 s left"
    assert "waits" in far_words(replace(offer, playing=False, done=0))
    assert "from there" in off_words(replace(offer, on=False))
    assert "at once" in off_words(replace(offer, on=False, done=100))
    assert "are few" not in what_words(100)


def test_a_failed_try_opens_why_in_its_very_runs(session: Session) -> None:
    desk = desk_of(session)
    desk.take_up("three-stones")
    challenge = short(find_challenge("three-stones"))
    never = challenge.passed.model_copy(update={"line": 1.0})
    trying = desk.trying = Trying(desk, replace(challenge, passed=never))
    trying.begin_again()
    trying.play()
    assert trying.job is not None
    assert trying.job.wait(120.0)
    assert trying.settled
    judged = trying.plays[0].judged
    assert judged is not None
    assert not judged.passed
    with page_context():
        came = rendered(_came(desk, trying))
        button(came, "Why it failed").click()
        assert session.page == "why"
        page = rendered(Why(session))
        why = asked(session)
        assert "40 fresh runs with which your try" in shown(page)
        assert why.now.why.results.provenance["seed"] == judged.seed
        assert why.batches[0] is why.job.batches[0]  # none is played again
        assert len(why.now.why.reasons) == 1
        button(page, "Ask about runs of its own").click()
        assert session.why is None
        assert "Many runs tell" in shown(page)


def _came(desk: Any, trying: Trying) -> Any:
    import solara

    @solara.component
    def Shown() -> None:
        Came(desk, trying)

    return Shown()
