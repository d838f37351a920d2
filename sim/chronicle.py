"""Chronicle: one run told from its beginning to its end, every attack with its reasons.

A run's number replays it exactly. What is told is read off the state between strides and changes
nothing in it: a chronicled run ends with the same bytes as the run of the batch.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.day_zero import DAY_S
from sim.engine import History
from sim.outcome import Outcome
from sim.records import LOG_ROWS
from sim.rules.codes import (
    AWAY,
    EGGS,
    FOUGHT,
    FRY,
    IN_TANK,
    MOVED_OUT,
    NO_BROOD,
    NOT_YET,
    STAGES,
)

if TYPE_CHECKING:
    from sim.layout import Layout
    from sim.scenario import Scenario
    from sim.settings import Settings

EVERY = 1.0 / 288.0  # d between two looks, as near as strides come to it
TOLD_FROM = 96  # new attacks that wait in the ring of the log until they are copied

# What can happen, and how a table says it of a fish.
JOINS, BACK, TAKEN, MOVED, DIES, SWALLOWED = (
    "is put in", "comes back", "is taken out", "is moved out", "dies", "is swallowed"
)  # fmt: skip
HOLDS, LEAVES, HURT, SERIOUS = (
    "takes a place", "has lost its place", "first torn fins", "seriously hurt"
)  # fmt: skip
PAIRS, PARTS, YOUNG = "pairs", "parts from its mate", "brood"


@dataclass(frozen=True, slots=True)
class Happening:
    """One thing that happened in a run.

    Parameters
    ----------
    time_s
        Since midnight of day 0.
    what
        One of the words of this module; of a brood its stage stands in `detail`.
    fish
        Row of the fish it is told of.
    other
        Row of the fish that did it, or of the mate; -1 where there is none.
    detail
        The place that is taken, or the stage of the brood; empty where there is none.
    """

    time_s: float
    what: str
    fish: int
    other: int = -1
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Chronicle:
    """One run, told.

    Parameters
    ----------
    outcome
        What it left behind, as in a batch.
    attacks
        Every attack with its reasons, in order of time, fields of `sim.records.LOG`.
    happenings
        What else happened, in order of time.
    own_kind, similar
        Likeness of a fish of one's own species and of a similar one, as factors of the hazard.
    """

    outcome: Outcome
    attacks: np.ndarray
    happenings: tuple[Happening, ...]
    own_kind: float
    similar: float


def chronicle_of(
    scenario: Scenario,
    layout: Layout,
    *,
    run: int,
    seed: int | None = None,
    settings: Settings | None = None,
    changes: Mapping[str, float] | None = None,
    progress: Callable[[float], None] | None = None,
) -> Chronicle:
    """Play one run to its end and tell it.

    Parameters
    ----------
    scenario, layout, run, seed, settings, changes
        As `sim.batch.run_one`.
    progress
        Told the share of the run that is done, now and then.

    Returns
    -------
    Chronicle
        The same whenever and wherever the run is played.

    Raises
    ------
    Refused
        If the scenario cannot be played as asked.
    """
    history = History(scenario, layout, run=run, seed=seed, settings=settings, changes=changes)
    if history.zero:
        while history.state.tank.next_event[0] == 0:  # day 0 is the first of all occasions
            history.advance(until_day=history.day + EVERY)
    teller = Teller(history)
    while not history.finished:
        _go_on(history, teller)
        teller.look()
        if progress is not None:
            progress(float(history.state.tank.clock[0] / history.state.tank.end[0]))
    attacks = teller.attacks()
    par = history.state.par[0]
    return Chronicle(
        outcome=history.outcome(),
        attacks=attacks,
        happenings=tuple(sorted(teller.told(attacks), key=lambda one: one.time_s)),
        own_kind=float(par.like_own_kind),
        similar=float(par.like_similar),
    )


def _go_on(history: History, teller: Teller) -> None:
    """Advance by a few minutes, by so few that the ring of the log keeps all that is new."""
    kept, days = history.snapshot(), EVERY
    while True:
        history.advance(until_day=history.day + days)
        new = int(history.state.tank.log_rows[0]) - teller.copied
        if new <= LOG_ROWS or days < EVERY / 1000.0:
            return
        history.restore(kept)
        days /= 8.0


class Teller:
    """Looks at a history every few strides, and notes what is new.

    Parameters
    ----------
    history
        The run, at the moment from which it is told.

    Attributes
    ----------
    found
        What happened so far, but for the hurt and the dead.
    """

    def __init__(self, history: History) -> None:
        self.history = history
        self.zero_s = DAY_S * history.zero.days if history.zero else 0.0
        self.parts: list[np.ndarray] = []
        self.found: list[Happening] = []
        self.copied = 0
        self.see()

    def see(self) -> None:
        """Remember how things stand."""
        state = self.history.state
        self.presence = state.fish.presence.copy()
        self.site = state.fish.site.copy()
        self.mate = state.fish.mate.copy()
        self.brood = state.broods.stage.copy()

    def note(self, what: str, fish: int, other: int = -1, detail: str = "") -> None:
        """Note that something has happened now."""
        time_s = float(self.history.state.tank.clock[0]) - self.zero_s
        self.found.append(Happening(time_s, what, fish, other, detail))

    def look(self) -> None:
        """Note what has changed since the last look."""
        state = self.history.state
        if int(state.tank.log_rows[0]) - self.copied >= TOLD_FROM:
            self.copy()
        fish = state.fish
        if not np.array_equal(self.presence, fish.presence):
            self._come_and_go()
        if not np.array_equal(self.site, fish.site):
            self._places()
        if not np.array_equal(self.mate, fish.mate):
            for i in np.flatnonzero(fish.mate != self.mate).tolist():
                before, now = int(self.mate[i]), int(fish.mate[i])
                if now > i:
                    self.note(PAIRS, i, now)
                elif now < 0 and before > i:
                    self.note(PARTS, i, before)
        if not np.array_equal(self.brood, state.broods.stage):
            for k in np.flatnonzero(state.broods.stage != self.brood).tolist():
                row = state.broods[k]
                if row.stage != NO_BROOD and row.mother >= 0:
                    self.note(YOUNG, int(row.mother), int(row.father), STAGES[int(row.stage)])
        self.see()

    def _come_and_go(self) -> None:
        now_in = {IN_TANK: BACK, AWAY: TAKEN, MOVED_OUT: MOVED}
        presence = self.history.state.fish.presence
        for i in np.flatnonzero(presence != self.presence).tolist():
            what = now_in.get(int(presence[i]))  # deaths are told with their day, later
            if what == BACK and self.presence[i] == NOT_YET:
                what = JOINS
            if what is not None:
                self.note(what, i)

    def _places(self) -> None:
        state, layout = self.history.state, self.history.layout
        stage = layout.stages[int(state.tank.furniture[0])]
        for i in np.flatnonzero(state.fish.site != self.site).tolist():
            brood = int(state.fish.brood[i])
            if brood >= 0 and EGGS <= state.broods.stage[brood] <= FRY:
                continue  # the young lead it about
            if state.fish.presence[i] != IN_TANK:
                continue
            site = int(state.fish.site[i])
            self.note(HOLDS if site >= 0 else LEAVES, i, detail=place_name(stage, site))

    def copy(self) -> None:
        """Copy the whole ring of the log: rows of before are written again, since chases end."""
        state = self.history.state
        rows = int(state.tank.log_rows[0])
        first = max(0, rows - LOG_ROWS)
        ring = state.log[np.arange(first, rows) % LOG_ROWS]
        kept = sum(len(part) for part in self.parts)
        while self.parts and kept > first:
            last = self.parts.pop()
            kept -= len(last)
            if kept < first:
                self.parts.append(last[: first - kept])
                kept = first
        self.parts.append(np.array(ring))
        self.copied = rows

    def attacks(self) -> np.ndarray:
        """Return all attacks, their times since midnight of day 0."""
        self.copy()
        every = np.concatenate(self.parts)
        every["time"] -= self.zero_s
        return every[np.argsort(every["time"], kind="stable")]

    def told(self, attacks: np.ndarray) -> list[Happening]:
        """Return all that happened, the hurt and the dead with who bit last."""
        found, state = list(self.found), self.history.state
        for field, what in (("minor_day", HURT), ("serious_day", SERIOUS), ("death_day", DIES)):
            for i, day in enumerate(state.tally[field].tolist()):
                if math.isfinite(day):
                    time_s = DAY_S * day - self.zero_s
                    word = SWALLOWED if what == DIES and state.tally.eaten[i] else what
                    found.append(Happening(time_s, word, i, last_biter(attacks, i, time_s)))
        return found


def place_name(stage: Layout, site: int) -> str:
    """Return what a place is called: a hiding place, a piece, or open floor.

    Parameters
    ----------
    stage
        Layout with the furniture of the moment.
    site
        Number of the site; -1 for none.
    """
    if site < 0:
        return ""
    found = stage.sites[site]
    if found.room >= 0:
        return stage.rooms[found.room].name
    if found.piece >= 0:
        return stage.pieces[found.piece].name
    return "open floor"


def last_biter(attacks: np.ndarray, victim: int, time_s: float) -> int:
    """Return who was the last to bite or fight a fish by a time; -1 for nobody.

    Parameters
    ----------
    attacks
        In order of time, fields of `sim.records.LOG`, times since midnight of day 0.
    victim
        Row of the fish.
    time_s
        Since midnight of day 0.
    """
    fought = attacks["outcome"] == FOUGHT
    bitten = (attacks["victim"] == victim) & ((attacks["bites"] > 0) | fought)
    hit = bitten | ((attacks["attacker"] == victim) & fought)
    which = np.flatnonzero(hit & (attacks["time"] <= time_s + 1e-3))
    if not len(which):
        return -1
    row = attacks[which[-1]]
    return int(row["attacker"] if row["victim"] == victim else row["victim"])
