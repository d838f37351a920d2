"""LiveTank: one run that goes on while somebody watches, on a thread of its own.

The page posts commands to a queue and never touches the run; the thread sends frames, and twice a
second a `Moment` that says how things stand, less often where a class is on one program. No lock is
held while anything is sent. A fault of the run pauses it and is told; without a sign of life from
the page the tank sleeps.
"""

from __future__ import annotations

import logging
import queue
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.errors import Refused
from sim.hands import Played, feed_now, settle_acts, spawn_now, with_event, with_pieces
from sim.rules.codes import NIGHT, PURSUE, WATCHED
from viz.app.events import Teller
from viz.app.moment import Moment, moment_of
from viz.app.motion import Frame, chase_ends, frame_of

if TYPE_CHECKING:
    from sim.engine import History

SPEEDS = (0.5, 1.0, 10.0, 100.0)
FRAME_S = 0.1  # ten frames a second; the browser fills in the rest
TELL_S = 0.5
TELL_SHARE = 0.25  # of a core, for the words of all living tanks together
MOST_TELL_S = 5.0  # but nobody waits longer; the first words make the whole page, and take long
THREAD = "holdwater-tank"
SLEEP_AFTER_S = 8.0  # without a sign of life from the page
LONGEST_SKIP_D = 1.0  # how far `next event` looks before it gives up for this press
SLICE_S = 60.0  # of the run, between two looks at the queue while time is skipped

_log = logging.getLogger("holdwater.app")

Sender = Callable[[Frame], None]
Told = Callable[[], None]


def until_words(took_s: float) -> float:
    """Return the time until a tank is told of anew, s: longer with a class on one program.

    It is `TELL_S` at the least and `MOST_TELL_S` at the most.

    Parameters
    ----------
    took_s
        Processor time that telling of it took, s.
    """
    living = sum(thread.name == THREAD for thread in threading.enumerate())
    return min(max(TELL_S, living * took_s / TELL_SHARE), MOST_TELL_S)


@dataclass(frozen=True)
class Hand:
    """What somebody does to the running tank.

    Parameters
    ----------
    what
        ``"spawn"``, ``"feed left"``, ``"feed right"``, ``"divider in"`` or a deed of
        `sim.care.Event`.
    keys
        Further keys of the event.
    pieces
        Pieces that come with it and are not in the file.
    words
        What is said of it afterwards.
    """

    what: str
    keys: Mapping[str, Any]
    pieces: tuple[Any, ...] = ()
    words: str = ""


class LiveTank:
    """A run that is played while it is watched.

    Parameters
    ----------
    played
        What is played.
    told
        Called, from the thread, when `moment` is another.
    at_day
        Where to begin to show it, in days since midnight of day 0.
    start
        Whether to start the thread at once; tests step by hand.

    Attributes
    ----------
    played
        What is played, with all hands so far.
    moment
        How things stand, renewed twice a second; None until the run has begun, which takes a
        minute where the rules are not compiled yet.
    fault
        What went wrong in the thread, or None.
    """

    def __init__(
        self,
        played: Played,
        *,
        told: Told = lambda: None,
        at_day: float | None = None,
        start: bool = True,
    ) -> None:
        self.played = played
        self.fault: BaseException | None = None
        self._told = told
        self._senders: list[Sender] = []
        self._commands: queue.SimpleQueue[Callable[[], None] | None] = queue.SimpleQueue()
        self._sign = time.monotonic()
        self._ended = threading.Event()
        self._speed = 1.0
        self._playing = True
        self._picked = -1
        self._chasing: dict[int, int] = {}
        self._asleep = False
        self._refused: tuple[str, ...] = ()
        self._owed_s = 0.0
        self._frames = 0
        self._ticks = 0
        self._first = max(at_day if at_day is not None else 0.0, 0.0)
        self.history: History
        self.moment: Moment | None = None
        self._thread: threading.Thread | None = None
        if start:
            self._start()
        else:
            self._open()

    # --- asked by the page, from any thread ---------------------------------------------------

    def play(self) -> None:
        """Go on."""
        self._post(self._set, _playing=True)

    def pause(self) -> None:
        """Stand still."""
        self._post(self._set, _playing=False)

    def speed(self, times: float) -> None:
        """Go on so many times as fast as in life.

        Parameters
        ----------
        times
            One of `SPEEDS`; anything else is as if it had not come.
        """
        if times in SPEEDS:
            self._post(self._set, _speed=float(times), _playing=True)

    def next_event(self) -> None:
        """Skip to the next thing that is told, a day at most."""
        self._post(self._skip_to_event)

    def next_day(self) -> None:
        """Skip to when the light comes on tomorrow."""
        self._post(self._skip_to_day)

    def pick(self, fish: int) -> None:
        """Look at one fish, -1 for none."""
        self._post(self._set, _picked=int(fish))

    def do(self, hand: Hand) -> None:
        """Do something to the tank."""
        self._post(self._do, hand)

    def alive(self) -> None:
        """Give a sign of life of the page; a tank that slept goes on."""
        self._sign = time.monotonic()

    def branch(self, take: Callable[[Played, Any, float], None]) -> None:
        """Hand over what is played, a copy of the state and the day, between two strides."""

        def now() -> None:
            settle_acts(self.history)
            take(self.played, self.history.snapshot(), self.history.day)

        self._post(now)

    def on_frame(self, send: Sender) -> Callable[[], None]:
        """Have frames sent; the first comes at once.

        Parameters
        ----------
        send
            Takes a `Frame`, from the thread.

        Returns
        -------
        a function that ends it.
        """
        self._senders.append(send)
        self._post(self._send)

        def stop() -> None:
            if send in self._senders:
                self._senders.remove(send)

        return stop

    def restart(self) -> None:
        """After a fault, begin the same run again."""
        if self.fault is None or self._ended.is_set():
            return
        self.fault, self.moment = None, None
        self._playing = True
        self._start()
        self._told()

    def close(self) -> None:
        """End the thread; may be called twice."""
        self._ended.set()
        self._commands.put(None)
        self._senders.clear()
        thread = self._thread
        if thread is not None and thread is not threading.current_thread():
            thread.join(timeout=2.0)

    # --- the thread ---------------------------------------------------------------------------

    def _start(self) -> None:
        self._thread = threading.Thread(target=self._run, name=THREAD, daemon=True)
        self._thread.start()

    def _post(self, do: Callable[..., None], *arguments: Any, **named: Any) -> None:
        self._sign = time.monotonic()
        self._commands.put(lambda: do(*arguments, **named))

    def _open(self) -> None:
        self.history = self.played.begin()
        if self.history.day < self._first:
            self.history.advance(until_day=self._first)
        _to_daylight(self.history)
        self._teller = Teller(self.history)
        self._chasing = _pursuits(self.history)
        self.moment = self._moment()

    def _run(self) -> None:
        try:
            self._open()
            self._told()
            self._send()
            due, next_words = time.monotonic(), 0.0
            while not self._ended.is_set():
                wait = max(due - time.monotonic(), 0.0)
                try:
                    command = self._commands.get(timeout=wait)
                except queue.Empty:
                    due = max(due + FRAME_S, time.monotonic() - FRAME_S)
                    self.step(FRAME_S)
                else:
                    if command is None:
                        break
                    command()
                    next_words = 0.0
                if time.monotonic() >= next_words:
                    began, took = time.monotonic(), time.thread_time()
                    self._tell()
                    next_words = began + until_words(time.thread_time() - took)
        except Exception as fault:
            _log.exception("the run of a living tank failed")
            self.fault = fault
            self._playing = False
            if self.moment is not None:
                self.moment = replace(self.moment, playing=False)
            self._told()

    def step(self, seconds: float) -> None:
        """Let so much time of the screen pass, and send a frame.

        Parameters
        ----------
        seconds
            Of the screen.
        """
        self._asleep = time.monotonic() - self._sign > SLEEP_AFTER_S
        if self._asleep or not self._playing or self.history.finished:
            return
        self._owed_s += seconds * self._speed
        tick = float(self.history.state.settings.tick[0])
        if self.history.state.tank.phase[0] != WATCHED:
            self._skip_unwatched()
        elif self._owed_s >= tick:
            ticks = int(self._owed_s / tick)
            self._owed_s -= ticks * tick
            self.history.strides(ticks)
        self._teller.look(self.history)
        self._send()

    def _skip_unwatched(self) -> None:
        """Pass a night, or a stretch that this run leapt; there is nothing to be seen of it."""
        self._owed_s = 0.0
        history = self.history
        began = history.day
        night = history.state.tank.phase[0] == NIGHT
        while history.state.tank.phase[0] != WATCHED and not history.finished:
            history.strides(1)
        self._teller.skipped(began, history.day, night=bool(night), leapt=True)

    def _tell(self) -> None:
        moment = self._moment()
        if moment != self.moment:
            self.moment = moment
            self._told()

    def _send(self) -> None:
        self._frames += 1
        before, self._chasing = self._chasing, _pursuits(self.history)
        frame = frame_of(
            self.history,
            number=self._frames,
            speed=self._shown_speed(),
            ends=chase_ends(self.history, before),
        )
        for send in tuple(self._senders):
            send(frame)

    def _shown_speed(self) -> float:
        return self._speed if self._playing and not self.history.finished else 0.0

    def _moment(self) -> Moment:
        return moment_of(
            self.history,
            played=self.played,
            teller=self._teller,
            picked=self._picked,
            playing=self._playing and not self.history.finished,
            speed=self._speed,
            asleep=self._asleep,
            refused=self._refused,
        )

    # --- commands, on the thread --------------------------------------------------------------

    def _set(self, **values: Any) -> None:
        for name, value in values.items():
            setattr(self, name, value)
        self._refused = ()
        self._send()

    def _skip_to_event(self) -> None:
        history, before = self.history, self._teller.count
        began = history.day
        until = began + LONGEST_SKIP_D
        while not history.finished and history.day < until and self._teller.count == before:
            history.advance(until_day=history.day + SLICE_S / 86400.0)
            self._teller.look(history, skipping=True)
            if self._ended.is_set():
                return
        self._after_skip(began)

    def _skip_to_day(self) -> None:
        history = self.history
        began = history.day
        tomorrow = int(began // 1) + 1
        at_h = float(history.state.tank.light_on[0]) / 86400.0
        while not history.finished and history.day < tomorrow + at_h:
            history.advance(until_day=min(history.day + 0.05, tomorrow + at_h + 1e-5))
            self._teller.look(history, skipping=True)
            if self._ended.is_set():
                return
        self._after_skip(began)

    def _after_skip(self, began: float) -> None:
        self._refused = ()
        _to_daylight(self.history)
        self._teller.skipped(began, self.history.day, night=False)
        self._send()

    def _do(self, hand: Hand) -> None:
        try:
            self.played, self.history = done_by(hand, self.played, self.history)
            self._refused = ()
        except Refused as refusal:
            self._refused = tuple(problem.sentence for problem in refusal.problems)
        else:
            self._teller.follow(self.history)
            self._teller.note(self.history, hand.words)
            if not self._playing:
                self.history.strides(2)
        self._send()


def done_by(hand: Hand, played: Played, history: History) -> tuple[Played, History]:
    """Do something to a run.

    Parameters
    ----------
    hand
        What.
    played, history
        What is played, and how far it has come; both are left as they were.

    Returns
    -------
    tuple
        What is played from now on, and its history.

    Raises
    ------
    Refused
        If that cannot be done now.
    """
    if hand.what == "spawn":
        return spawn_now(played, history)
    if hand.what in ("feed left", "feed right"):
        return feed_now(played, history, right=hand.what == "feed right")
    if hand.pieces:
        return with_pieces(played, history, hand.pieces, do=hand.what, **dict(hand.keys))
    return with_event(played, history, do=hand.what, **dict(hand.keys))


def _to_daylight(history: History) -> None:
    """Let the night pass that a run stands in; in the dark there is nothing to be seen."""
    while not history.finished and history.state.tank.phase[0] == NIGHT:
        history.strides(1)


def _pursuits(history: History) -> dict[int, int]:
    """Return the row of the log of each chase under way, by its pursuer."""
    fish = history.state.fish
    return {int(i): int(fish.chase_cause[i]) for i in np.flatnonzero(fish.act == PURSUE)}
