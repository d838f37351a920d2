"""Learn: three lessons and eight challenges."""

from __future__ import annotations

import solara

from viz.app.challenges import load_challenges
from viz.app.elements import Button, Layer, tag
from viz.app.learning.challenge_view import ChallengeView
from viz.app.learning.class_view import ClassView
from viz.app.learning.desk import Desk, desk_of
from viz.app.learning.lesson_views import CountingView, ParentsView
from viz.app.pages.watch import Sentences
from viz.app.session import Session
from viz.app.using import use_session
from viz.cautions import ABSOLUTE_ALONE, CAUTIONS

LESSONS = (
    (
        "counting",
        "Seeing and counting",
        "Ten minutes with a pad, then what there was to be counted.",
    ),
    (
        "class",
        "One tank is not an experiment",
        "For a class: each group a pair of tanks, all pairs on one board.",
    ),
    (
        "parents",
        "Why parents turn on neighbours",
        "Step by step on one tank; then the brood is taken away.",
    ),
)


@solara.component
def Learn(session: Session) -> None:
    """The middle column: the list, or what is open.

    Parameters
    ----------
    session
        The session of the page.
    """
    desk = desk_of(session)
    now = use_session(session, lambda session: (desk.now, session.tanks))[0]
    Sentences(session)
    if desk.open:
        Button("All lessons and challenges", lambda: desk.turn_to(""), kind="quiet")
    for problem in desk.refused:
        tag("p", str(problem), classes="hw-refused", attributes={"role": "alert"})
    if desk.open == "challenge" and desk.trying is not None:
        ChallengeView(desk, desk.trying)
    elif desk.open == "counting":
        CountingView(desk, now)
    elif desk.open == "class":
        ClassView(desk, now)
    elif desk.open == "parents" and desk.story is not None:
        ParentsView(desk, desk.story)
    else:
        Contents(desk)


def Contents(desk: Desk) -> None:
    """Everything there is."""
    tag("h2", "Lessons")
    with Layer("ul", classes="hw-contents"):
        for key, title, words in LESSONS:

            def turn(key: str = key) -> None:
                desk.turn_to(key)

            with Layer("li"):
                Button(title, turn, kind="entry")
                tag("p", words)
    tag("h2", "Challenges")
    with Layer("ol", classes="hw-contents"):
        for challenge in load_challenges():

            def take(key: str = challenge.key) -> None:
                desk.take_up(key)

            with Layer("li"):
                Button(f"{challenge.number}. {challenge.title}", take, kind="entry")
                tag("p", challenge.goal)
                if challenge.key in desk.passed:
                    tag("p", "Passed on this page.", classes="hw-soft")


@solara.component
def LearnWords(session: Session) -> None:
    """The right column: when a challenge is passed, what a lesson rests on, what to bear in mind.

    Parameters
    ----------
    session
        The session of the page.
    """
    desk = desk_of(session)
    use_session(session, lambda session: (desk.now, session.tanks))
    tag("h2", "In words")
    if desk.open == "challenge" and desk.trying is not None:
        challenge = desk.trying.challenge
        tag("h3", "When it is passed")
        tag("p", challenge.line_words)
        tag(
            "p",
            "That nothing here works can be the right answer; a keeper may have to say it, too. "
            "Try the tank as often as you like: it is judged by runs that nobody has seen.",
        )
    elif desk.open == "parents" and desk.story is not None:
        tag("h3", "What this step rests on")
        tag("p", desk.story.step.rests_on)
        tag("p", "P and a number: a pattern of the literature, in docs/evidence.md.")
    elif desk.open == "counting":
        tag(
            "p",
            "Published counts are made so: ten minutes at the same hour, on several days, of "
            "several tanks. Which acts are told apart is written down before anybody sits down.",
        )
    elif desk.open == "class":
        tag(
            "p",
            "Two tanks with the same fish still differ by luck: who met whom, and when. Stop when "
            "it looks clear, and you will find differences where there are none.",
        )
    else:
        tag(
            "p",
            "There are no points. A challenge is passed when the tank does what was asked in "
            "enough of the runs; when it is not, Why tells what hurt them in those very runs.",
        )
    tag("h3", "Bear in mind")
    tag("p", ABSOLUTE_ALONE)
    for words in CAUTIONS[:1]:
        tag("p", words)
