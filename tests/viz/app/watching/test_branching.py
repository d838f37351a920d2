"""Branch here: futures in the background, what is said of them, and the panel."""

from __future__ import annotations

from typing import Any

import pytest
import solara

from sim.futures import Branches, Fork, fork_of
from sim.hands import spawn_now
from sim.rules.codes import IN_TANK
from tests.viz.app.rendering import button, page_context, rendered, shown, with_role
from tests.viz.app.watching.made import obey, played_of, still
from viz.app.elements import Layer
from viz.app.live import Hand, LiveTank
from viz.app.repeating.pool import Pool
from viz.app.session import Session
from viz.app.watching.branch_panel import (
    BranchHere,
    Shown,
    changes,
    future_mark,
    hand_of,
    subjects,
    told_apart,
)
from viz.app.watching.branch_words import HURT, WAITS, Branched
from viz.app.watching.branching import Branching, Stand, clause

FUTURES = 12


@pytest.fixture(scope="module")
def live() -> LiveTank:
    """A tank on the morning of day 1."""
    played_of().begin().advance(until_day=0.4)  # compiled before anything is waited for
    made = still()
    made.next_day()
    obey(made)
    fork, changed = forks(made)
    list(Branches((fork, changed), futures=1, days=0.25).play(workers=1))  # and so are futures
    return made


def forks(live: LiveTank) -> tuple[Fork, Fork]:
    """The moment a tank has come to, and the same once they have spawned."""
    taken: list[Any] = []
    live.branch(lambda *what: taken.append(what))
    obey(live)
    ((played, state, day),) = taken
    fork = Fork(played=played, state=state, day=day)
    return fork, fork_of(*spawn_now(played, fork.history()))


def legend(*worst: int) -> str:
    """The futures by the worst that comes, in words."""
    return ", ".join(f"{what} in {number}" for what, number in zip(HURT, worst, strict=True))


def branched(live: LiveTank, hand: Hand, **values: Any) -> Branching:
    """Play futures to their end."""
    told: list[Stand] = []
    branching = Branching(
        hand, told=lambda: told.append(branching.stand), pool=Pool(1),
        **{"futures": FUTURES, "days": 0.5, **values},
    )  # fmt: skip
    live.branch(branching.begin)
    obey(live)
    assert branching.wait(120.0)
    branching.told = told
    return branching


@pytest.fixture(scope="module")
def spawned(live: LiveTank) -> Branching:
    """Half a day after they spawn, and without."""
    return branched(live, Hand("spawn", {}, words="The pair spawns"))


def test_futures_come_in_one_by_one_and_then_say_something(spawned: Branching):
    stand = spawned.stand
    assert stand.ended
    assert not stand.stopped
    assert not stand.failed
    assert stand.done == FUTURES
    assert [one.done for one in spawned.told] == sorted(one.done for one in spawned.told)
    assert spawned.told[1].done == 1  # the first pair is shown at once
    assert stand.until_day == pytest.approx(stand.day + 0.5)
    found = stand.found
    assert found.done == FUTURES
    assert "if the pair spawns" in found.answer
    for worst in found.worst:
        assert sum(worst) == FUTURES
    text = " ".join(found.said)
    assert f"{FUTURES} futures" in text or "in 100 futures" in text
    assert "pairs of futures" in text


def test_the_answer_waits_until_all_futures_are_played(spawned: Branching):
    stand = spawned.stand
    with page_context():
        for over in (False, True):
            words = shown(rendered(Told(stand.found, stand.change, over)))
            assert stand.found.said[0] in words
            assert (stand.found.answer in words) == over
            assert (WAITS in words) != over


@solara.component
def Told(found: Branched, change: str, over: bool) -> None:
    with Layer("div"):
        Shown(found, change, False, over=over)


def test_the_sentences_stand_on_the_numbers(live: LiveTank, spawned: Branching):
    """Played once more by the calls below, the same chases an hour come out."""
    from viz.phrases import rounded

    again = Branches(forks(live), futures=FUTURES, days=0.5)
    list(again.play(workers=1))
    row = again.comparison().difference("chases_per_h")
    said = next(words for words in spawned.stand.found.said if "chases" in words)
    assert f"brings {rounded(row.a.value)}" in said
    assert f", {rounded(row.b.value)}" in said


def test_gently_no_wound_is_described(live: LiveTank):
    name = live.moment.fish[0].name
    branching = branched(
        live, Hand("take out", {"fish": (name,)}, words=f"{name} is moved out"), gentle=True
    )
    found = branching.stand.found
    text = " ".join((found.answer, *found.said))
    for word in ("fins", "wound", "death", "dead"):
        assert word not in text
    assert f"without {name}" in text
    assert told_apart((3, 4, 1, 2), True)[-1][1] == 3


def test_what_cannot_be_done_is_said(live: LiveTank):
    branching = branched(
        live, Hand("divider out", {"divider": "no such"}, words="The divider is lifted")
    )
    assert branching.stand.ended
    assert branching.stand.refused
    assert branching.stand.found is None


def test_stopped_what_came_in_stays(live: LiveTank):
    branching = Branching(
        Hand("spawn", {}, words="The pair spawns"), futures=10_000, days=0.5, pool=Pool(1)
    )
    branching._told = lambda: branching.stand.done and branching.cancel()
    live.branch(branching.begin)
    obey(live)
    assert branching.wait(60.0)
    assert branching.stand.stopped
    assert 1 <= branching.stand.done < 10_000
    assert branching.stand.found.done == branching.stand.done


def test_a_fault_is_told_and_logged(live: LiveTank, caplog: pytest.LogCaptureFixture):
    branching = branched(live, Hand("spawn", 3, words="The pair spawns"), futures=0.5)
    assert branching.stand.failed
    assert branching.stand.ended
    assert "futures of a moment failed" in caplog.text


def test_the_living_tank_is_left_as_it_was(live: LiveTank, spawned: Branching):
    assert (live.history.state.fish.presence == IN_TANK).all()
    assert live.history.state.broods.there.sum() == 0
    assert live.played.scenario.breeding.mode == "off"


def test_everything_that_is_offered_can_be_done(live: LiveTank):
    kinds = dict(changes(live, live.moment))
    assert {"spawn", "out", "divider", "piece"} <= set(kinds)
    assert "back" not in kinds
    for kind in kinds:
        for chosen, _ in subjects(kind, live, live.moment) or [("", "")]:
            hand = hand_of(kind, chosen, "left", live)
            assert hand is not None
            assert hand.words
    assert hand_of("piece", "no such", "left", live) is None


def test_a_sentence_as_a_clause():
    assert clause("The pair spawns") == "the pair spawns"
    assert clause("A divider (clear) parts the tank") == "a divider (clear) parts the tank"
    assert clause("Basalt is moved out") == "Basalt is moved out"


def test_every_kind_of_mark_has_a_shape_of_its_own():
    shapes = {future_mark(kind, 5, 5) for kind in ("", "hurt", "serious", "dead")}
    assert len(shapes) == 4


def test_the_panel_asks_plays_and_shows(live: LiveTank, spawned: Branching):
    with page_context():
        session = Session()
        context = rendered(BranchHere(session, live, live.moment))
        assert "change one thing" in shown(context)
        button(context, "move a fish out").fire_event("click")
        assert live.moment.fish[0].name in shown(context)
        button(context, "Branch here").fire_event("click")
        assert session.branching is not None
        assert "is moved out?" in shown(context)
        button(context, "Stop").fire_event("click")
        obey(live)
        assert session.branching._thread is None  # it was stopped before it began

        ready = Stand(
            change="the pair spawns", asked=100, done=100, day=1.375, until_day=8.375, ended=True,
            found=Branched(100, "It goes worse.", ("So.",), ((90, 5, 4, 1), (50, 20, 20, 10))),
        )  # fmt: skip
        session.branching.stand = ready
        session.tell()
        text = shown(context)
        assert "It goes worse." in text
        assert "The 7 days from there." in text
        pictures = [one.attributes["aria-label"] for one in with_role(context, "img")]
        assert pictures == [
            f"As it is: {legend(90, 5, 4, 1)}",
            f"The pair spawns: {legend(50, 20, 20, 10)}",
        ]
        button(context, "Branch anew").fire_event("click")
        assert session.branching is None
        assert "change one thing" in shown(context)
        session.close()
