"""Behind: long work behind a page, on a thread of its own, which can be stopped and gone on with.

What it has come to is a value, told at most five times a second and at the end. It ends with the
page: nothing is told after `close`, and the work looks often whether it is to stop.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

from sim.crew import Stopped
from sim.errors import Problem, Refused

TELL_S = 0.2  # at most five tellings a second

_log = logging.getLogger("holdwater.app")


@dataclass(frozen=True, eq=False, kw_only=True)
class Standing:
    """How some work stands; each telling makes another, and two are the same only if they are one.

    Parameters
    ----------
    over
        Whether nothing more is done.
    cancelled
        Whether it was stopped before its end.
    refused
        Why it cannot be done.
    took_s
        Seconds so far, pauses left out.
    """

    over: bool = False
    cancelled: bool = False
    refused: tuple[Problem, ...] = ()
    took_s: float = 0.0

    @property
    def whole(self) -> bool:
        """Whether it came to its end."""
        return self.over and not self.cancelled and not self.refused


N = TypeVar("N", bound=Standing)


class Behind(Generic[N]):
    """Work behind a page; what it does is `work`, which a class of its own gives.

    Parameters
    ----------
    now
        How it stands before it is begun.
    called
        What it is, for its thread and for the sentence on a fault.
    told
        Called after every advance, from its own thread.

    Attributes
    ----------
    now
        How it stands.
    """

    def __init__(self, now: N, *, called: str, told: Callable[[], None] = lambda: None) -> None:
        self.now = now
        self.called = called
        self._told = told
        self._stop = threading.Event()
        self._closed = False
        self._lock = threading.Lock()
        self._thread: threading.Thread | None = None
        self._last = 0.0

    def work(self, stop: threading.Event) -> None:
        """Do it; say how it stands by `say`, and raise `sim.crew.Stopped` when it is to stop.

        Parameters
        ----------
        stop
            Set when it is to stop.
        """
        raise NotImplementedError

    # --- asked by the page ----------------------------------------------------------------------

    def start(self) -> Any:
        """Begin, or go on where it was stopped; return the work."""
        self.begin(self.work)
        return self

    def begin(self, work: Callable[[threading.Event], None]) -> None:
        """Begin, or go on where it was stopped, with work of this kind.

        Parameters
        ----------
        work
            As `work` is.
        """
        with self._lock:
            before = self._thread
            if self._closed or self.now.refused or (before is not None and not self.now.cancelled):
                return
            self._stop = threading.Event()
            self.now = replace(self.now, over=False, cancelled=False)
            self._thread = threading.Thread(
                target=self._run,
                args=(work, self._stop, before),
                name=f"holdwater-{self.called}",
                daemon=True,
            )
            self._thread.start()

    def cancel(self) -> None:
        """Do no more of it; what there is stays."""
        self._stop.set()

    def close(self) -> None:
        """Give it up; nothing more is told. May be called twice."""
        self._closed = True
        self._stop.set()

    def wait(self, seconds: float) -> bool:
        """Wait until no more is done; return whether that came in time."""
        thread = self._thread
        if thread is not None:
            thread.join(seconds)
            return not thread.is_alive()
        return True

    # --- its own thread -------------------------------------------------------------------------

    def say(self, *, soon: bool = True, **values: Any) -> None:
        """Change how it stands, and tell it.

        Parameters
        ----------
        soon
            False: it need not be told if something was told just now.
        **values
            Of the standing.
        """
        self.now = replace(self.now, **values)
        now = time.monotonic()
        if self._closed or (not soon and now - self._last < TELL_S):
            return
        self._last = now
        self._told()

    def check(self, stop: threading.Event) -> None:
        """Raise `sim.crew.Stopped` if it is to stop.

        Parameters
        ----------
        stop
            Of `work`.
        """
        if stop.is_set():
            raise Stopped

    def _run(
        self,
        work: Callable[[threading.Event], None],
        stop: threading.Event,
        before: threading.Thread | None,
    ) -> None:
        if before is not None:
            before.join()
        began, already = time.monotonic(), self.now.took_s
        found: dict[str, Any] = {}
        try:
            work(stop)
        except Stopped:
            found = {"cancelled": True}
        except Refused as refusal:
            found = {"refused": refusal.problems}
        except Exception as error:
            _log.error("%s failed", self.called, exc_info=error)
            sentence = f"it ended with a fault of the program ({error!r})."
            found = {"refused": (Problem(self.called, sentence),)}
        self.say(over=True, took_s=already + time.monotonic() - began, **found)
