"""A seat in a class: the teacher's, who opens the board, or a group's, with its pair of tanks."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from viz.app.lessons.board import Boards, Dots, Shared, boards
from viz.app.lessons.experiment import (
    Told,
    job_of,
    play_group,
    question_of,
    run_of,
    tanks_of,
    told_by,
    words_for,
)
from viz.app.open_tank import ShownRun

if TYPE_CHECKING:
    from viz.app.batches import BatchJob
    from viz.app.learning.desk import Desk


class Seat:
    """A place in a class.

    Parameters
    ----------
    desk
        Where it lies.
    shared
        The board as it was when it was taken.
    group
        Number of the group; None for the teacher.
    kept
        The boards of the server.

    Attributes
    ----------
    job
        The batch at the end, once the teacher has asked for it.
    """

    def __init__(
        self, desk: Desk, shared: Shared, *, group: int | None, kept: Boards | None = None
    ) -> None:
        self.desk = desk
        self.group = group
        self.job: BatchJob | None = None
        self._kept = kept or boards()
        self._last = shared
        self._bell = threading.Event()
        self._left = False
        self._stop: Callable[[], None] = self._kept.listen(shared.code, self._bell.set)
        threading.Thread(target=self._follow, name="holdwater-seat", daemon=True).start()
        if group is not None:
            desk.behind(self._play)

    @property
    def board(self) -> Shared:
        """The board as it is now; as it was last, when the server has forgotten it."""
        from sim.errors import Refused

        try:
            self._last = self._kept.look(self._last.code)
        except Refused:
            self._last = replace(self._last, open=True)
        return self._last

    @property
    def own(self) -> Dots | None:
        """The group's own pair of dots; None before it is played, and for the teacher."""
        return next((one for one in self.board.dots if one.group == self.group), None)

    @property
    def seen(self) -> tuple[Dots, ...]:
        """The dots that may be seen from here: all for the teacher and when the board is open."""
        board = self.board
        if self.group is None or board.open:
            return board.dots
        return tuple(one for one in board.dots if one.group == self.group)

    @property
    def told(self) -> Told:
        """What the dots that are seen say together."""
        return told_by(self.seen)

    @property
    def words(self) -> tuple[str, ...]:
        """What they say, in sentences."""
        return words_for(self.told, question_of(self.board.question))

    def show_board(self) -> None:
        """Let everybody see all dots."""
        self._kept.show(self.board.code)

    def watch(self, which: int) -> None:
        """Have the floor play the group's run of one of the two tanks.

        Parameters
        ----------
        which
            0 for the first, 1 for the second.
        """
        board = self.board
        tank = tanks_of(board.question)[which]
        question = question_of(board.question)
        title = f"Group {self.group}, {(question.first, question.second)[which]}"
        index = self.desk.place_tank(tank.scenario, title=title)
        if index is not None and self.group is not None:
            self.desk.show_here(ShownRun(tank=index, run=run_of(self.group), seed=board.seed))

    def play_many(self) -> None:
        """Play what `holdwater compare` would, to see how it really stands."""
        if self.job is not None:
            return
        self.job = job_of(
            self.board.question,
            seed=self.board.seed,
            told=self.desk.tell,
            keep=self.desk.session.keep,
        )
        self.job.start()
        self.desk.tell()

    def close(self) -> None:
        """Leave."""
        self._stop()
        self._left = True
        self._bell.set()
        if self.job is not None:
            self.job.close()

    # --- inside ---------------------------------------------------------------------------------

    def _follow(self) -> None:
        """Tell the page of every change of the board, from a thread of its own.

        Whoever changes the board belongs to another page, whose threads can draw that page alone:
        there the change would fail, and with it what they were about.
        """
        while not self._left:
            self._bell.wait()
            self._bell.clear()
            if not self._left:
                self.desk.tell()

    def _play(self) -> None:
        board = self.board
        assert self.group is not None
        dots = play_group(board.question, group=self.group, seed=board.seed)
        self._kept.put(board.code, dots)


def begin_class(desk: Desk, question: str) -> None:
    """Open a board and sit down as the teacher.

    Parameters
    ----------
    desk
        Of the page.
    question
        Key of the pair of tanks.
    """
    from sim.errors import Refused

    desk.refused = ()
    try:
        desk.seat = Seat(desk, boards().begin(question), group=None)
    except Refused as refusal:
        desk.refused = refusal.problems
    desk.tell()


def join_class(desk: Desk, code: str) -> None:
    """Sit down as a further group.

    Parameters
    ----------
    desk
        Of the page.
    code
        As it was read out.
    """
    from sim.errors import Refused

    desk.refused = ()
    try:
        shared, group = boards().join(code)
    except Refused as refusal:
        desk.refused = refusal.problems
    else:
        desk.seat = Seat(desk, shared, group=group)
    desk.tell()


def leave_class(desk: Desk) -> None:
    """Get up; the board stays.

    Parameters
    ----------
    desk
        Of the page.
    """
    if desk.seat is not None:
        desk.seat.close()
    desk.seat, desk.refused = None, ()
    desk.tell()
