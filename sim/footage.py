"""Footage: which stretches of a run were watched, and where the fish were in some of them.

Time that was leapt has no places: nobody saw the fish there. What is recorded is read off the
state between strides and changes nothing in it, so the run is that of the batch.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.day_zero import DAY_S
from sim.ground import Territory, territories
from sim.rules.codes import EGGS, FRY, WATCHED

if TYPE_CHECKING:
    from sim.engine import History

GROUND_S = 12.0  # s of the tank between two looks at who holds what
SLACK_S = 1e-6
TICK_S = 0.5  # more than a tick, less than a window

Stretch = tuple[float, float]  # s since midnight of day 0

FRAME = np.dtype(
    [
        ("x", "f8"),  # m
        ("y", "f8"),
        ("head_x", "f8"),
        ("head_y", "f8"),
        ("length", "f8"),  # m
        ("width", "f8"),
        ("layer", "i8"),
        ("presence", "i8"),
        ("room", "i8"),
        ("act", "i8"),
        ("target", "i8"),
        ("bites_taken", "i8"),
        ("injury", "f8"),  # 0-1
    ]
)


@dataclass(frozen=True, slots=True)
class Young:
    """A brood of a moment.

    Parameters
    ----------
    stage
        As in `sim.rules.codes`.
    parents
        Rows of mother and father.
    place
        Where it is, m.
    """

    stage: int
    parents: tuple[int, int]
    place: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Ground:
    """Who holds what, and what has been counted, from a moment on.

    Parameters
    ----------
    time_s
        Since midnight of day 0.
    stage
        Of the furniture.
    territories
        One for each holder.
    young
        Eggs, wrigglers and fry.
    chases, bites
        In the run so far.
    injuries
        Fish that have had torn fins, that have been hurt seriously, and that have died.
    """

    time_s: float
    stage: int
    territories: tuple[Territory, ...]
    young: tuple[Young, ...]
    chases: int
    bites: int
    injuries: tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Footage:
    """What was seen in one stretch of a run.

    Parameters
    ----------
    time_s
        Of each frame since midnight of day 0, one for each tick, shape (n,).
    frames
        Fields of `FRAME`, shape (n, n_fish).
    ground
        In order of time, the first from the first frame on.
    """

    time_s: np.ndarray
    frames: np.ndarray
    ground: tuple[Ground, ...]

    def ground_at(self, time_s: float) -> Ground:
        """Return who held what at a time (s since midnight of day 0)."""
        return next(
            (one for one in reversed(self.ground) if one.time_s <= time_s + SLACK_S),
            self.ground[0],
        )


def watched_stretches(
    history: History, *, progress: Callable[[float], None] | None = None
) -> list[Stretch]:
    """Play a run on to its end and return the stretches that were watched tick by tick.

    Parameters
    ----------
    history
        A run; it is at its end afterwards.
    progress
        Told the share of the run that is done, now and then; what it raises ends it.

    Returns
    -------
    list
        Begin and end of each, s since midnight of day 0, in order; neighbours are joined.
    """
    tank, zero_s = history.state.tank, _zero_s(history)
    found: list[Stretch] = []
    while not history.finished:
        before = float(tank.clock[0])
        if int(tank.phase[0]) != WATCHED:
            _stride(history)
            continue
        # to the end of the window, or of the light; what follows begins with a stride of its own
        off_s = before // DAY_S * DAY_S + float(tank.light_off[0])
        end_s = min(float(tank.until[0]), off_s)
        history.advance(until_day=(end_s - zero_s - TICK_S) / DAY_S)
        _stride(history)
        now = float(tank.clock[0])
        start = before - zero_s
        if found and start - found[-1][1] < SLACK_S:
            start = found.pop()[0]
        found.append((start, now - zero_s))
        if progress is not None:
            progress(now / float(tank.end[0]))
    return [one for one in found if one[1] > one[0]]


def _stride(history: History) -> None:
    """Make one stride: a tick, a leapt piece or a night."""
    history.advance(until_day=history.day + SLACK_S / DAY_S)


def record(
    history: History,
    takes: Sequence[Stretch],
    *,
    progress: Callable[[float], None] | None = None,
) -> list[Footage]:
    """Play a run on and record what is seen in some watched stretches of it.

    Parameters
    ----------
    history
        A run that has not come so far yet.
    takes
        Begin and end of each, s since midnight of day 0, in order and not overlapping, each within
        a stretch that is watched.
    progress
        Told the share of the way to the last take that is done, now and then; what it raises ends
        it.

    Returns
    -------
    list of Footage
        One for each take.
    """
    found = []
    for start_s, end_s in takes:
        if progress is not None:
            while history.day + 1.0 < start_s / DAY_S:
                history.advance(until_day=history.day + 1.0)
                progress(max(history.day, 0.0) * DAY_S / takes[-1][1])
        found.append(_take(history, start_s, end_s))
        if progress is not None:
            progress(end_s / takes[-1][1])
    return found


def _take(history: History, start_s: float, end_s: float) -> Footage:
    state, zero_s = history.state, _zero_s(history)
    history.advance(until_day=start_s / DAY_S)
    times: list[float] = []
    frames: list[np.ndarray] = []
    ground: list[Ground] = []
    while True:
        now = float(state.tank.clock[0]) - zero_s
        times.append(now)
        frames.append(_frame(history))
        due = not ground or now >= ground[-1].time_s + GROUND_S
        if due or int(state.tank.furniture[0]) != ground[-1].stage:
            ground.append(_ground(history, now))
        if now >= end_s - SLACK_S or history.finished or int(state.tank.phase[0]) != WATCHED:
            break
        _stride(history)
    return Footage(np.array(times), np.array(frames), tuple(ground))


def _frame(history: History) -> np.ndarray:
    fish, tally = history.state.fish, history.state.tally
    row = np.zeros(len(fish), FRAME)
    for name in FRAME.names or ():
        if name == "bites_taken":
            row[name] = tally.bites_taken
        elif name == "injury":
            row[name] = np.minimum(fish.skin + fish.scales, 1.0)
        else:
            row[name] = fish[name]
    return row


def _ground(history: History, now: float) -> Ground:
    state = history.state
    stage = history.layout.stages[int(state.tank.furniture[0])]
    young = tuple(
        Young(int(row.stage), (int(row.mother), int(row.father)), stage.sites[int(row.place)].point)
        for row in state.broods
        if EGGS <= row.stage <= FRY and row.place >= 0
    )
    tally = state.tally
    counts = [int(np.isfinite(tally[name]).sum()) for name in DAYS_OF_INJURY]
    return Ground(
        time_s=now,
        stage=int(state.tank.furniture[0]),
        territories=tuple(territories(history)),
        young=young,
        chases=int(state.tank.chases[0]),
        bites=int(state.tank.bites[0]),
        injuries=(counts[0], counts[1], counts[2]),
    )


DAYS_OF_INJURY = ("minor_day", "serious_day", "death_day")


def _zero_s(history: History) -> float:
    """Midnight of day 0 on the run's own clock, s."""
    return DAY_S * history.zero.days if history.zero else 0.0
