"""The common board of a class: each group's pair of tanks as a pair of dots, kept by the server.

A class has a code that the teacher reads out, and its groups have numbers. Nothing else is known
of anybody: no names, no addresses, nothing on disk. What nobody touches for hours is forgotten.

This is the one thing of the app that pages share, so it lives in one object of the process.
"""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cache

from sim.errors import Problem, Refused

LETTERS = "BCDFGHJKLMNPQRSTVWXZ"  # no vowels, so that no code is a word
CODE_LENGTH = 4
MOST_CLASSES = 20
MOST_GROUPS = 40
FORGOTTEN_AFTER_S = 6.0 * 3600.0


@dataclass(frozen=True, slots=True)
class Dots:
    """What one group saw in its two tanks.

    Parameters
    ----------
    group
        Number of the group, from 1.
    first, second
        Bites an hour in its first and second tank.
    """

    group: int
    first: float
    second: float


@dataclass(frozen=True, slots=True)
class Shared:
    """The board of one class at one moment.

    Parameters
    ----------
    code
        Of the class.
    question
        Key of the pair of tanks that everybody plays.
    seed
        Of the class: with it the number of a group is the number of its runs.
    groups
        How many have joined.
    dots
        Of the groups that are done, by number.
    open
        Whether all dots are shown; before, a group sees its own alone.
    """

    code: str
    question: str
    seed: int
    groups: int = 0
    dots: tuple[Dots, ...] = ()
    open: bool = False


@dataclass
class _Class:
    """A board, and when it was touched last."""

    shared: Shared
    touched_s: float
    listeners: list[Callable[[], None]] = field(default_factory=list)


class Boards:
    """The boards of all classes of this server; safe to be used from any thread.

    Parameters
    ----------
    clock
        Seconds that only grow; tests give their own.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._classes: dict[str, _Class] = {}

    def begin(self, question: str) -> Shared:
        """Open a board for a class.

        Parameters
        ----------
        question
            Key of the pair of tanks that the class plays.

        Raises
        ------
        Refused
            If there are as many boards as the server keeps.
        """
        with self._lock:
            self._forget()
            if len(self._classes) >= MOST_CLASSES:
                raise Refused(
                    Problem(
                        "class",
                        f"got one more than {MOST_CLASSES} boards; expected at most "
                        f"{MOST_CLASSES} at once. Use one that is there, or start the program "
                        "anew.",
                    )
                )
            code = self._new_code()
            shared = Shared(code=code, question=question, seed=secrets.randbelow(2**31))
            self._classes[code] = _Class(shared, self._clock())
        return shared

    def join(self, code: str) -> tuple[Shared, int]:
        """Join a class as a further group.

        Parameters
        ----------
        code
            As it was read out; in any case, with spaces.

        Returns
        -------
        the board, and the number of the group.

        Raises
        ------
        Refused
            If there is no such board, or it is full.
        """
        with self._lock:
            one = self._find(code)
            if one.shared.groups >= MOST_GROUPS:
                raise Refused(
                    Problem("class", f"got a group more than {MOST_GROUPS}; expected no more.")
                )
            self._change(one, replace(one.shared, groups=one.shared.groups + 1))
        self._tell(one)
        return one.shared, one.shared.groups

    def put(self, code: str, dots: Dots) -> Shared:
        """Put a group's pair of dots on the board; a second pair of the same group changes nothing.

        Parameters
        ----------
        code
            Of the class.
        dots
            What the group saw.

        Raises
        ------
        Refused
            If there is no such board, or no such group in it.
        """
        with self._lock:
            one = self._find(code)
            if not 1 <= dots.group <= one.shared.groups:
                raise Refused(
                    Problem("group", f"got group {dots.group}; expected one that has joined.")
                )
            if all(there.group != dots.group for there in one.shared.dots):
                found = sorted((*one.shared.dots, dots), key=lambda each: each.group)
                self._change(one, replace(one.shared, dots=tuple(found)))
        self._tell(one)
        return one.shared

    def show(self, code: str) -> Shared:
        """Let everybody of a class see all dots.

        Parameters
        ----------
        code
            Of the class.

        Raises
        ------
        Refused
            If there is no such board.
        """
        with self._lock:
            one = self._find(code)
            self._change(one, replace(one.shared, open=True))
        self._tell(one)
        return one.shared

    def look(self, code: str) -> Shared:
        """Return a board as it is now.

        Parameters
        ----------
        code
            Of the class.

        Raises
        ------
        Refused
            If there is no such board.
        """
        with self._lock:
            return self._find(code).shared

    def listen(self, code: str, callback: Callable[[], None]) -> Callable[[], None]:
        """Have a function called after every change of a board.

        Parameters
        ----------
        code
            Of the class.
        callback
            Called from whichever thread made the change.

        Returns
        -------
        a function that ends it.

        Raises
        ------
        Refused
            If there is no such board.
        """
        with self._lock:
            listeners = self._find(code).listeners
            listeners.append(callback)

        def stop() -> None:
            with self._lock:
                if callback in listeners:
                    listeners.remove(callback)

        return stop

    # --- inside, with the lock held -----------------------------------------------------------

    def _find(self, code: str) -> _Class:
        self._forget()
        plain = "".join(code.split()).upper()
        one = self._classes.get(plain)
        if one is None:
            raise Refused(
                Problem(
                    "class",
                    f"no class here has the code {plain[: 2 * CODE_LENGTH] or 'that was left out'};"
                    f" expected the {CODE_LENGTH} letters that your teacher reads out. Correct it.",
                )
            )
        return one

    def _change(self, one: _Class, shared: Shared) -> None:
        one.shared = shared
        one.touched_s = self._clock()

    def _forget(self) -> None:
        now = self._clock()
        old = [c for c, one in self._classes.items() if now - one.touched_s > FORGOTTEN_AFTER_S]
        for code in old:
            del self._classes[code]

    def _new_code(self) -> str:
        while True:
            code = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
            if code not in self._classes:
                return code

    def _tell(self, one: _Class) -> None:
        with self._lock:
            listeners = tuple(one.listeners)
        for callback in listeners:
            callback()


@cache
def boards() -> Boards:
    """Return the boards of this server."""
    return Boards()
