"""Desk: what somebody learns with on one page: a challenge or lesson, and what is played for it.

It needs no browser. What is played runs on threads of its own; everybody who listens to the session
is told.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused
from viz.app.learning.sitting import SittingDown
from viz.app.learning.story import StoryTold
from viz.app.learning.trying import Trying
from viz.app.learning.working_class import Seat

if TYPE_CHECKING:
    from sim.scenario import Scenario
    from viz.app.open_tank import ShownRun
    from viz.app.session import Session

LESSONS = ("counting", "class", "parents")
FAILED = Problem(
    "lesson",
    "a fault of the program ended what was played for it. What went wrong stands where the program "
    "was started. Begin it again.",
)

_log = logging.getLogger("holdwater.app")


class Desk:
    """What is open on Learn.

    Parameters
    ----------
    session
        The session of the page.

    Attributes
    ----------
    open
        "" for the list, a key of `LESSONS`, or "challenge".
    trying
        The challenge that is worked on, or None.
    sitting, seat, story
        The three lessons, as far as they are begun; None before.
    refused
        Why something that was pressed was not done.
    passed
        Keys of the challenges that were passed on this page.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.open = ""
        self.trying: Trying | None = None
        self.sitting: SittingDown | None = None
        self.seat: Seat | None = None
        self.story: StoryTold | None = None
        self.refused: tuple[Problem, ...] = ()
        self.passed: set[str] = set()
        self._lock = threading.Lock()
        self._count = 0
        self._closed = False

    @property
    def now(self) -> int:
        """A number that is another after every change."""
        return self._count

    def tell(self) -> None:
        """Tell everybody who listens to the session that something here has changed."""
        with self._lock:
            if self._closed:
                return
            self._count += 1
        self.session.tell()

    def turn_to(self, what: str) -> None:
        """Open a lesson, or the list with ``""``.

        Parameters
        ----------
        what
            A key of `LESSONS`, or "".

        Raises
        ------
        KeyError
            If it is neither.
        """
        if what and what not in LESSONS:
            raise KeyError(what)
        self.open, self.refused = what, ()
        if what == "parents" and self.story is None:
            self.story = StoryTold(self)
        self.tell()

    def take_up(self, key: str) -> None:
        """Open a challenge, with its tank beside the others.

        Parameters
        ----------
        key
            Of the challenge.

        Raises
        ------
        KeyError
            If there is none.
        """
        from viz.app.challenges import find_challenge

        challenge = find_challenge(key)
        index = self.place_tank(challenge.start.scenario, title=challenge.title)
        if index is None:
            return
        if self.trying is None or self.trying.challenge.key != key:
            if self.trying is not None:
                self.trying.close()
            self.trying = Trying(self, challenge)
        self.open = "challenge"
        self.tell()

    def place_tank(self, scenario: Scenario, *, title: str) -> int | None:
        """Work on the open tank of that title, or open one; return its place, None if refused.

        Parameters
        ----------
        scenario
            What is opened where there is none.
        title
            Of the tank.
        """
        session = self.session
        self.refused = ()
        for index, tank in enumerate(session.tanks):
            if bears(tank.name, title):
                session.pick(index)
                return index
        try:
            session.add_variant(scenario, name=title)
        except Refused as refusal:
            self.refused = refusal.problems
            self.tell()
            return None
        return session.picked

    def tank_named(self, title: str) -> int | None:
        """Return the place of the open tank of a title; None where there is none.

        Parameters
        ----------
        title
            Of the tank.
        """
        for index, tank in enumerate(self.session.tanks):
            if bears(tank.name, title):
                return index
        return None

    def show_here(self, run: ShownRun) -> None:
        """Have the floor play a run, without turning to Watch.

        Parameters
        ----------
        run
            Which.
        """
        session = self.session
        live, session.live = session.live, None
        if live is not None:
            live.close()
        session.picked, session.shown = run.tank, run
        session.tell()

    def behind(self, work: Callable[[], Any]) -> None:
        """Do something on a thread of its own, and tell when it is done.

        Parameters
        ----------
        work
            What is done; a refusal of it is shown on the page.
        """

        def run() -> None:
            try:
                work()
            except Refused as refusal:
                self.refused = refusal.problems
            except Exception:
                _log.exception("what is played for a lesson failed")
                self.refused = (FAILED,)
            self.tell()

        threading.Thread(target=run, name="holdwater-learn", daemon=True).start()

    def close(self) -> None:
        """Stop what is played; nothing more is told."""
        with self._lock:
            self._closed = True
        for part in (self.trying, self.seat, self.story):
            if part is not None:
                part.close()


def bears(name: str, title: str) -> bool:
    """Return whether a tank's name is a title, or that title with a number.

    Parameters
    ----------
    name
        Of an open tank.
    title
        Of a challenge or lesson.
    """
    return name == title or (name.startswith(f"{title} (") and name.endswith(")"))


def desk_of(session: Session) -> Desk:
    """Return the desk of a session, made when it is first asked for.

    Parameters
    ----------
    session
        The session of the page.
    """
    if session.learn is None:
        session.learn = Desk(session)
    desk: Desk = session.learn
    return desk
