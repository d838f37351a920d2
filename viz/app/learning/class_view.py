"""One tank is not an experiment, on the page: the board, a group's two tanks, and a batch."""

from __future__ import annotations

import solara

from viz.app.elements import Button, Layer, tag
from viz.app.learning.charts import dots_picture
from viz.app.learning.desk import Desk
from viz.app.learning.working_class import Seat, begin_class, join_class, leave_class
from viz.app.lessons.experiment import QUESTIONS, RUNS, question_of
from viz.app.typed import Chosen, Typed


@solara.component
def ClassView(desk: Desk, now: int) -> None:
    """The lesson from where one sits.

    Parameters
    ----------
    desk
        Of the page.
    now
        `Desk.now`, so that it is rendered again when that has changed.
    """
    question, set_question = solara.use_state(QUESTIONS[0].key)
    tag("h2", "One tank is not an experiment")
    seat = desk.seat
    if seat is None:
        tag(
            "p",
            "Each group of a class gets a pair of tanks of its own, with the same fish and one "
            "difference. Each group will be sure of its answer. Then all pairs come on one board.",
        )
        tag("h3", "We are a group")
        with Layer("div", classes="hw-form"):
            Typed(
                "Code of the class",
                "",
                lambda code: join_class(desk, code),
                example="four letters",
                hint="Your teacher reads it out. Return joins.",
            )
        tag("h3", "I teach")
        with Layer("div", classes="hw-form"):
            Chosen(
                "What the class asks",
                [(one.key, one.words) for one in QUESTIONS],
                question,
                set_question,
            )
        Button("Open a board", lambda: begin_class(desk, question), kind="main")
        tag(
            "p",
            "The board is kept in the memory of this program, with numbers of groups and nothing "
            "else, and is forgotten some hours after it was last used.",
            classes="hw-soft",
        )
        return
    if seat.group is None:
        Teacher(desk, seat)
    else:
        Group(desk, seat)
    Button("Leave this class", lambda: leave_class(desk), kind="quiet")


def Teacher(desk: Desk, seat: Seat) -> None:
    """The board, as the teacher has it."""
    board = seat.board
    question = question_of(board.question)
    tag("p", question.words, classes="hw-goal")
    tag("p", "The code of this class", classes="hw-soft")
    tag("p", " ".join(board.code), classes="hw-code", name=f"Code: {', '.join(board.code)}")
    joined = f"{board.groups} group{'' if board.groups == 1 else 's'} joined"
    tag("p", f"{joined}, {len(board.dots)} done.", attributes={"role": "status"})
    Board(seat)
    with Layer("div", classes="hw-row"):
        if not board.open:
            Button("Show the board to everybody", seat.show_board, kind="main")
        if seat.job is None:
            Button(f"Play {RUNS} pairs", seat.play_many)
    if seat.job is not None:
        Batch(seat)


def Group(desk: Desk, seat: Seat) -> None:
    """What a group has: its two tanks, and the board once it is open."""
    board = seat.board
    question = question_of(board.question)
    tag("p", f"You are group {seat.group}.", classes="hw-soft")
    tag("p", question.words, classes="hw-goal")
    own = seat.own
    if own is None:
        tag("p", "Your two tanks are being played.", attributes={"role": "status"})
        return
    tag(
        "p",
        f"Your fish took {own.first:.1f} bites an hour with {question.first}, and {own.second:.1f} "
        f"with {question.second}. What is your answer? Write it down.",
    )
    with Layer("div", classes="hw-row"):
        Button(f"Watch {question.first}", lambda: seat.watch(0))
        Button(f"Watch {question.second}", lambda: seat.watch(1))
    if board.open:
        Board(seat)
    else:
        tag("p", "The board is shown when your teacher opens it.", classes="hw-soft")


def Board(seat: Seat) -> None:
    """All pairs of dots that may be seen, and what they say together."""
    question = question_of(seat.board.question)
    tag("h3", "Bites an hour, a line for each group")
    dots_picture(seat.seen, first=question.first, second=question.second, own=seat.group)
    for words in seat.words:
        tag("p", words)


def Batch(seat: Seat) -> None:
    """How it stands over many pairs, in the words of a comparison."""
    from viz.sure_words import pressed
    from viz.words import in_words

    job = seat.job
    assert job is not None
    now = job.now
    for problem in now.refused:
        tag("p", str(problem), classes="hw-refused", attributes={"role": "alert"})
    if not now.over:
        tag(
            "progress",
            classes="hw-progress",
            name="Runs played",
            attributes={"max": now.asked, "value": now.done},
        )
        tag("p", f"{now.done} of {now.asked} runs of each tank", classes="hw-soft")
    elif now.results is not None:
        tag("h3", f"What {now.done} pairs say")
        for said in pressed(in_words(now.results)):
            tag("p", said.words)
