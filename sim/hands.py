"""Hands: what somebody does to a tank while it runs, at this very moment.

What a hand does is what an event of the file would have done then. The scenario is written on with
that event, or with the pair that is to spawn, checked as a file is, and the run is carried over
into it: everything that has happened stays. So a run with hands can be told as a scenario.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from pydantic import ValidationError

from sim.care import Event, Feeding
from sim.check import check_scenario
from sim.engine import History, busy_now
from sim.errors import Problem, Refused
from sim.rules.codes import EGGS, FRY, IN_TANK, OFF
from sim.settings import BEAT_S
from sim.start import fill_fits

if TYPE_CHECKING:
    from sim.layout import Layout
    from sim.scenario import Scenario
    from sim.settings import Settings
    from sim.state import State

DAY_S = 86400.0
PATIENCE = 4000  # ticks that a chase or a contest may still take
BEATS = 12  # slow updates in which the stages before the eggs pass
SOON_S = 1.0
DUSK_S = 900.0  # so near to the end of the light nothing is begun
SPOT_SHARE = 0.12  # of the length: where food falls at the left and at the right


@dataclass(frozen=True, kw_only=True)
class Played:
    """What names one history: give it to `begin` and the same is played.

    Parameters
    ----------
    scenario, layout
        The checked scenario and its layout.
    run, seed, settings, changes
        As `sim.engine.History`.
    """

    scenario: Scenario
    layout: Layout
    run: int = 0
    seed: int | None = None
    settings: Settings | None = None
    changes: Mapping[str, float] | None = None

    def begin(self) -> History:
        """Return the history at its first moment."""
        return History(
            self.scenario,
            self.layout,
            run=self.run,
            seed=self.seed,
            settings=self.settings,
            changes=self.changes,
        )


def settle_acts(history: History) -> None:
    """Let chases and contests that are under way run to their end, as before an event.

    Parameters
    ----------
    history
        The run; its clock goes on by some seconds where there are any.
    """
    for _ in range(PATIENCE):
        if not busy_now(history.state):
            return
        history.strides(1)


def moment(history: History) -> tuple[int, float]:
    """Return the day, and the hour of it, that a run has come to."""
    day = int(history.day // 1)
    return day, min((history.day - day) * 24.0, 23.999999)


def by_day(history: History) -> bool:
    """Return whether the light is on, from its first moment on, and stays on for a while.

    Parameters
    ----------
    history
        The run.
    """
    tank = history.state.tank[0]
    hour_s = float(tank.clock) % DAY_S
    return bool(tank.light_on - SOON_S <= hour_s < tank.light_off - DUSK_S)


def with_event(played: Played, history: History, **event: Any) -> tuple[Played, History]:
    """Let an event happen now.

    Parameters
    ----------
    played, history
        What is played, and how far it has come; both are left as they were.
    **event
        Keys of `sim.care.Event` but for its time.

    Returns
    -------
    tuple
        What is played from now on, and its history.

    Raises
    ------
    Refused
        With the sentences of `check`, if that cannot be done to this tank now.
    """
    at = _caught(history)
    day, at_h = moment(at)
    try:
        name = f"hand {len(played.scenario.events) + 1}"
        said = Event.model_validate({"name": name, **event, "on_day": day, "at_h": at_h})
    except ValidationError as wrong:
        raise Refused(
            tuple(Problem("hand", str(error["msg"])) for error in wrong.errors())
        ) from None
    scenario = played.scenario
    after = _carried(played, at, scenario.model_copy(update={"events": (*scenario.events, said)}))
    after[1].state.tank.stop_at[0] = after[1].state.tank.clock[0]
    after[1].occasions.serve(after[1].state)
    return after


def with_pieces(
    played: Played, history: History, pieces: tuple[Any, ...], **event: Any
) -> tuple[Played, History]:
    """Let an event happen now that needs a piece the tank has not got yet: a divider, a stone.

    Parameters
    ----------
    played, history
        As `with_event`.
    pieces
        Of `sim.scenario.Piece`; they are brought in by the event.
    **event
        As `with_event`.

    Returns
    -------
    tuple
        As `with_event`.

    Raises
    ------
    Refused
        As `with_event`.
    """
    scenario = played.scenario
    furnished = scenario.model_copy(update={"pieces": (*scenario.pieces, *pieces)})
    return with_event(replace(played, scenario=furnished), history, **event)


def spawn_now(played: Played, history: History) -> tuple[Played, History]:
    """Let a pair spawn at this moment: the one that courts, or the two largest that can.

    Parameters
    ----------
    played, history
        As `with_event`.

    Returns
    -------
    tuple
        As `with_event`.

    Raises
    ------
    Refused
        If young are there already, or no two fish can be a pair.
    """
    at = _caught(history)
    state, scenario = at.state, played.scenario
    if not by_day(at):
        raise Refused(Problem("spawn", "the light is off, or goes off soon; they spawn by day."))
    if ((state.broods.stage >= EGGS) & (state.broods.stage <= FRY)).any():
        raise Refused(Problem("spawn", "there are young in the tank already; wait until they go."))
    there = np.flatnonzero(state.broods.there == 1)
    if len(there) == 0 or state.tank.breeding[0] == OFF:
        day, _ = moment(at)
        breeding = scenario.breeding.model_copy(update={"mode": "on", "spawn_day": float(day)})
        played, at = _carried(
            played, at, scenario.model_copy(update={"breeding": breeding}), breeds=True
        )
        state = at.state
        there = np.flatnonzero(state.broods.there == 1)
    k = int(there[0])
    row = state.broods[k]
    parents = (int(row.mother), int(row.father))
    if any(state.fish.presence[i] != IN_TANK for i in parents):
        raise Refused(Problem("spawn", "one of the pair is not in the tank; put it back first."))
    state.fish.ripe[parents[0]] = 1.0
    for _ in range(BEATS):
        # What courting and digging still take is let pass at once, stage by stage.
        row.stage_until = float(state.tank.clock[0])
        at.strides(round(BEAT_S / float(state.settings.tick[0])))
        if row.there != 1 or row.stage >= EGGS:
            break
    if row.there != 1 or row.stage != EGGS:
        raise Refused(Problem("spawn", "the pair found no place to spawn in this tank."))
    return played, at


def feed_now(played: Played, history: History, *, right: bool) -> tuple[Played, History]:
    """Feed now at the left or the right end.

    A tank whose file says nothing of food has daily meals there from now on, at this hour.

    Parameters
    ----------
    played, history
        As `with_event`.
    right
        At which end.

    Returns
    -------
    tuple
        As `with_event`.

    Raises
    ------
    Refused
        If it is dark, or food cannot fall there.
    """
    at = _caught(history)
    scenario = played.scenario
    _, at_h = moment(at)
    if not by_day(at):
        raise Refused(Problem("feed", "the light is off, or goes off soon; feed by day."))
    long, wide = scenario.tank.length_m, scenario.tank.width_m
    x = (1.0 - SPOT_SHARE if right else SPOT_SHARE) * long
    old = scenario.feeding
    times = old.times if old is not None and old.times else (at_h,)
    feeding = (old or Feeding()).model_copy(update={"times": times, "spots": ((x, 0.5 * wide),)})
    played, at = _carried(played, at, scenario.model_copy(update={"feeding": feeding}), feeds=True)
    at.state.tank.next_meal[0] = at.state.tank.clock[0]
    return played, at


def _caught(history: History) -> History:
    """Return the history where nobody is in a chase or a contest any more."""
    if history.finished:
        raise Refused(Problem("hand", "this run is over; begin it again."))
    if history.day < 0.0:
        raise Refused(Problem("hand", "the tank still settles; wait for day 0."))
    settle_acts(history)
    return history


def _carried(
    played: Played,
    history: History,
    scenario: Scenario,
    *,
    breeds: bool = False,
    feeds: bool = False,
) -> tuple[Played, History]:
    """Go on with a changed scenario from the state that a run has come to.

    Parameters
    ----------
    played, history
        What is played, and how far it has come.
    scenario
        The same fish, with other events, breeding or feeding.
    breeds, feeds
        Whether the pair, or the meals, are those of the changed scenario.
    """
    checked = check_scenario(scenario)
    after = replace(played, scenario=checked.scenario, layout=checked.layout)
    new = after.begin()
    fresh = new.snapshot()
    carry(history.state, new.state)
    if breeds:
        new.state.broods[...] = fresh.broods
        new.state.fish.brood[...] = fresh.fish.brood
        new.state.tally.paired_day[...] = np.minimum(
            new.state.tally.paired_day, float(history.state.tank.clock[0]) / DAY_S
        )
        new.state.tank.breeding[0] = fresh.tank.breeding[0]
        new.state.tank.asked_site[0] = fresh.tank.asked_site[0]
    if feeds:
        new.state.food[...] = fresh.food
        new.state.meal_times[...] = fresh.meal_times
        for name in ("fed", "ration"):
            new.state.tank[name][0] = fresh.tank[name][0]
    fill_fits(new.state, new.floor)
    return after, new


def carry(old: State, new: State) -> None:
    """Put what has happened in one state into another of the same fish.

    Parameters
    ----------
    old
        Of the run so far.
    new
        Of a scenario with further pieces, events or meals: arrays by door or by spot may be
        longer, and keep what they hold beyond.
    """
    for name, before in old._asdict().items():
        after = getattr(new, name)
        if before.shape == after.shape:
            after[...] = before
        elif before.ndim == after.ndim and before.size:
            part = tuple(
                slice(0, min(a, b)) for a, b in zip(before.shape, after.shape, strict=True)
            )
            after[part] = before[part]
