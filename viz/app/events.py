"""Events: what is told of a run while it is watched, each in a sentence, and the marks of its days.

It tells what `sim.chronicle` tells of a finished run, with the same words.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sim.chronicle import DIES, HURT, SERIOUS, SWALLOWED, Happening, last_biter
from sim.chronicle import Teller as Looker
from sim.engine import History
from sim.outcome import fish_names
from sim.records import LOG_ROWS
from sim.rules.codes import CHASED, FOUGHT, FRY, NO_BROOD, STAGES
from viz.replay_page import attack_words, happening_words

DAY_S = 86400.0
MOST_TOLD = 200
HURTS = (("minor_day", HURT), ("serious_day", SERIOUS), ("death_day", DIES))


@dataclass(frozen=True)
class Told:
    """One thing that happened, as it is shown.

    Parameters
    ----------
    day
        Since midnight of day 0.
    kind
        ``"hurt"``, ``"serious"``, ``"dead"``, ``"brood"``, ``"moved"``, ``"place"``, ``"hand"``,
        ``"attack"``, ``"skip"``, or ``"leap"`` for what this run leapt over by itself.
    words
        A sentence without its full stop.
    """

    day: float
    kind: str
    words: str


@dataclass(frozen=True)
class Stretch:
    """A stretch of the days, in days since midnight of day 0.

    Parameters
    ----------
    start, end
        Days.
    what
        ``"watched"`` or ``"skipped"``, or the stage of a brood.
    """

    start: float
    end: float
    what: str


class Teller:
    """Follows a run and keeps what is told of it.

    Parameters
    ----------
    history
        The run, at the moment from which it is watched.

    Attributes
    ----------
    count
        Events told so far, attacks not counted.
    """

    def __init__(self, history: History) -> None:
        self.count = 0
        self._events: list[Told] = []
        self._stretches: list[Stretch] = []
        self._broods: list[Stretch] = []
        self._last_attack: Told | None = None
        self._leapt = (0, 0.0)
        self._begin(history)
        self._hurt = self._hurts(history)
        self._day = history.day

    def _begin(self, history: History) -> None:
        self._names = fish_names(history.scenario)
        self._looker = Looker(history)
        self._looker.copied = max(0, int(history.state.tank.log_rows[0]) - LOG_ROWS)
        self._rows = int(history.state.tank.log_rows[0])

    def follow(self, history: History) -> None:
        """Follow another history of the same fish, into which the run was carried over."""
        self._begin(history)

    @property
    def events(self) -> tuple[Told, ...]:
        """The last things that were told, in order of time."""
        return tuple(self._events)

    @property
    def last(self) -> Told | None:
        """The last event but a leap; an attack only while nothing else has been told since."""
        last = next((one for one in reversed(self._events) if one.kind != "leap"), None)
        attack = self._last_attack
        if attack is not None and (last is None or attack.day > last.day):
            return attack
        return last

    @property
    def stretches(self) -> tuple[Stretch, ...]:
        """What was watched and what was skipped, in order of time."""
        return tuple(self._stretches)

    @property
    def broods(self) -> tuple[Stretch, ...]:
        """Stages of the broods, in order of time."""
        return tuple(self._broods)

    def look(self, history: History, *, skipping: bool = False) -> None:
        """Tell what is new since the last look.

        Parameters
        ----------
        history
            The run.
        skipping
            The time since then was skipped, and `skipped` will say so.
        """
        before = len(self._looker.found)
        self._looker.look()
        for one in self._looker.found[before:]:
            kind = "brood" if one.what == "brood" else "place"
            if one.what in ("is put in", "comes back", "is taken out", "is moved out"):
                kind = "moved"
            self._tell(Told(one.time_s / DAY_S, kind, happening_words(one, self._names)))
        self._tell_hurts(history)
        self._attacks(history)
        if not skipping:
            self._extend(self._stretches, history.day, "watched")
        self._brood(history)
        self._day = history.day

    def skipped(self, began: float, now: float, *, night: bool, leapt: bool = False) -> None:
        """Tell that time was skipped.

        Parameters
        ----------
        began, now
            Days since midnight of day 0.
        night
            Whether it was a night.
        leapt
            Whether the run leapt over it by itself, as it does many times a day: leaps between
            which nothing else is told share one line.
        """
        if now - began < 1e-6:
            return
        self._day = began
        self._extend(self._stretches, now, "skipped")
        self._day = now
        if leapt and not night:
            self._tell_leap(now, now - began)
            return
        if night:
            words = "A night passes; nobody attacks in the dark"
        elif (at := self._first_after(began)) is not None:
            # What happened meanwhile is the news; that time was skipped stands before it.
            self._events.insert(at, Told(began, "skip", _skipped(now - began)))
            return
        else:
            words = f"{_skipped(now - began)}: nothing to tell of them"
        self._tell(Told(now, "skip", words), counts=False)

    def note(self, history: History, words: str) -> None:
        """Tell what somebody did to the tank."""
        if words:
            self._tell(Told(history.day, "hand", words))

    # ------------------------------------------------------------------------------------------

    def _first_after(self, day: float) -> int | None:
        """Return the place of the first event after a day that is no leap; None without one."""
        for place, one in enumerate(self._events):
            if one.day > day + 1e-9 and one.kind != "leap":
                return place
        return None

    def _tell(self, one: Told, *, counts: bool = True) -> None:
        self._events.append(one)
        del self._events[:-MOST_TOLD]
        self.count += counts

    def _tell_leap(self, now: float, days: float) -> None:
        if self._events and self._events[-1].kind == "leap":
            self._events.pop()
        else:
            self._leapt = (0, 0.0)
        self._leapt = (self._leapt[0] + 1, self._leapt[1] + days)
        leaps, total = self._leapt
        words = _skipped(total) + (f", in {leaps} leaps of this run" if leaps > 1 else "")
        self._tell(Told(now, "leap", words), counts=False)

    def _hurts(self, history: History) -> dict[str, np.ndarray]:
        tally = history.state.tally
        return {field: np.isfinite(tally[field]).copy() for field, _ in HURTS}

    def _tell_hurts(self, history: History) -> None:
        now = self._hurts(history)
        for field, what in HURTS:
            for i in np.flatnonzero(now[field] & ~self._hurt[field]).tolist():
                self._tell_hurt(history, what, i)
        self._hurt = now

    def _tell_hurt(self, history: History, what: str, i: int) -> None:
        kind = {HURT: "hurt", SERIOUS: "serious"}.get(what, "dead")
        word = SWALLOWED if kind == "dead" and history.state.tally.eaten[i] else what
        attacks = recent(history)
        time_s = DAY_S * history.day
        one = Happening(time_s, word, i, last_biter(attacks, i, time_s))
        self._tell(Told(history.day, kind, happening_words(one, self._names)))

    def _attacks(self, history: History) -> None:
        rows = int(history.state.tank.log_rows[0])
        for number in range(rows - 1, max(self._rows, rows - LOG_ROWS) - 1, -1):
            row = history.state.log[number % LOG_ROWS]
            if row["outcome"] in (CHASED, FOUGHT):
                words = attack_words(row, self._names)
                self._last_attack = Told(history.day, "attack", words)
                break
        self._rows = rows

    def _extend(self, stretches: list[Stretch], now: float, what: str) -> None:
        if stretches and stretches[-1].what == what and self._day <= stretches[-1].end + 1e-4:
            stretches[-1] = Stretch(stretches[-1].start, now, what)
        elif now > self._day:
            stretches.append(Stretch(self._day, now, what))

    def _brood(self, history: History) -> None:
        stages = history.state.broods.stage[history.state.broods.there == 1]
        stages = stages[(stages > NO_BROOD) & (stages <= FRY)]
        if len(stages):
            self._extend(self._broods, history.day, STAGES[int(stages.max())])


def recent(history: History) -> np.ndarray:
    """Return the last attacks of a run, in order of time, with times since midnight of day 0.

    Parameters
    ----------
    history
        The run.

    Returns
    -------
    ndarray
        Fields of `sim.records.LOG`, at most `LOG_ROWS`.
    """
    state = history.state
    rows = int(state.tank.log_rows[0])
    ring = np.array(state.log[np.arange(max(0, rows - LOG_ROWS), rows) % LOG_ROWS])
    ring["time"] += DAY_S * history.day - float(state.tank.clock[0])
    found: np.ndarray = ring[np.argsort(ring["time"], kind="stable")]
    return found


def _skipped(days: float) -> str:
    minutes = math.ceil(days * 1440.0)
    if minutes < 90:
        return f"{minutes} {'minute' if minutes == 1 else 'minutes'} skipped"
    if days < 2.0:
        return f"{round(days * 24.0)} hours skipped"
    return f"{round(days)} days skipped"
