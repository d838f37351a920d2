"""Branching: a hundred futures of the moment that is watched, with one thing changed and without.

It is played on the threads that all pages share while the tank lives on. What has come in is told
at most twice a second; it ends within a second when nobody wants it any more.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sim.crew import Job, Stopped
from sim.errors import Refused
from sim.futures import Branches, Fork, fork_of
from viz.app.live import Hand, done_by
from viz.app.repeating.pool import Pool, shared_pool
from viz.app.watching.branch_words import Branched, branched, counted_so_far

if TYPE_CHECKING:
    from sim.hands import Played
    from sim.outcome import Outcome
    from sim.state import State

FUTURES = 100
DAYS = 7.0
TELL_S = 0.5
SAID_AT = (20, 50)  # futures of each after which the sentences are made before the end

_log = logging.getLogger("holdwater.app")


@dataclass(frozen=True)
class Stand:
    """How far a branching has come; two that are equal look the same.

    Parameters
    ----------
    change
        What is changed, as a clause.
    day, until_day
        From when and until when, days since midnight of day 0; None before it is known.
    asked, done
        Futures of each.
    found
        What they say so far, None before the first.
    refused
        Why it cannot be played; empty where it can.
    ended
        Whether nothing more comes.
    stopped
        Whether it was given up before its end.
    failed
        Whether a fault of the program ended it.
    """

    change: str
    asked: int
    done: int = 0
    day: float | None = None
    until_day: float | None = None
    found: Branched | None = None
    refused: tuple[str, ...] = ()
    ended: bool = False
    stopped: bool = False
    failed: bool = False


class Branching:
    """The futures of one moment, played in the background.

    Parameters
    ----------
    hand
        The one thing that is changed.
    told
        Called, from a thread, when `stand` is another.
    futures
        How many of each.
    days
        How long each is.
    gentle
        Describe no wound.
    pool
        Threads that play; those that all pages share where None.

    Attributes
    ----------
    stand
        How far it has come.
    """

    def __init__(
        self,
        hand: Hand,
        *,
        told: Callable[[], None] = lambda: None,
        futures: int = FUTURES,
        days: float = DAYS,
        gentle: bool = False,
        pool: Pool | None = None,
    ) -> None:
        self.hand = hand
        self.stand = Stand(change=clause(hand.words), asked=futures)
        self._told = told
        self._days = days
        self._gentle = gentle
        self._pool = pool or shared_pool()
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None

    def begin(self, played: Played, state: State, day: float) -> None:
        """Begin with a moment; takes what `LiveTank.branch` hands over.

        Parameters
        ----------
        played, state, day
            What is played, a copy of its state, and the day it has come to.
        """
        if self._stop.is_set() or self._thread is not None:
            return
        fork = Fork(played=played, state=state, day=day)
        self._thread = threading.Thread(
            target=self._run, args=(fork,), name="holdwater-branch", daemon=True
        )
        self._thread.start()

    def cancel(self) -> None:
        """Play no more; what has come in stays."""
        self._stop.set()

    def close(self) -> None:
        """Play no more, and tell nobody; may be called twice."""
        self._told = lambda: None
        self._stop.set()

    def wait(self, seconds: float) -> bool:
        """Wait for the end; return whether it came in time."""
        if self._thread is not None:
            self._thread.join(seconds)
            return not self._thread.is_alive()
        return False

    # ------------------------------------------------------------------------------------------

    def _run(self, fork: Fork) -> None:
        try:
            self._play(fork)
        except Refused as refusal:
            said = tuple(problem.sentence for problem in refusal.problems)
            self._say(refused=said, ended=True)
        except Exception:
            _log.exception("the futures of a moment failed")
            self._say(failed=True, ended=True)

    def _play(self, fork: Fork) -> None:
        played, history = done_by(self.hand, fork.played, fork.history())
        changed = fork_of(played, history, name=self.stand.change)
        branches = Branches((fork, changed), futures=self.stand.asked, days=self._days)
        self._say(day=fork.day, until_day=branches.until_day)
        told = 0.0

        def player(jobs: Iterator[Job]) -> Iterator[Outcome]:
            return self._pool.play(jobs, stop=self._stop)

        with suppress(Stopped), closing(branches.play(workers=player)) as playing:
            for done in playing:
                if self._stop.is_set():
                    break
                if done in SAID_AT or (
                    done < self.stand.asked and time.monotonic() - told >= TELL_S
                ):
                    self._found(branches, whole=done in SAID_AT)
                    told = time.monotonic()
        if branches.done:
            self._found(branches, whole=True)
        self._say(ended=True, stopped=branches.done < self.stand.asked)

    def _found(self, branches: Branches, *, whole: bool) -> None:
        comparison = branches.comparison()
        if whole:
            found = branched(comparison, change=self.stand.change, gentle=self._gentle)
        else:  # the marks go on, the sentences stay as they were
            found = counted_so_far(comparison)
            before = self.stand.found
            if before is not None:
                found = replace(found, answer=before.answer, said=before.said)
        self._say(done=branches.done, found=found)

    def _say(self, **values: object) -> None:
        self.stand = replace(self.stand, **values)  # type: ignore[arg-type]
        self._told()


def clause(words: str) -> str:
    """Return a sentence as a clause: "The pair spawns" becomes "the pair spawns".

    Parameters
    ----------
    words
        That begin with a name or an article.
    """
    first = words.split(" ", 1)[0]
    return words[:1].lower() + words[1:] if first in ("The", "A", "An") else words
