"""Day 0 of a tank that has settled: from when it counts, and its days on the calendar of the file.

While it settles, a run counts from the first day of settling. When the light comes on on day 0
every count, every first day and the log begin anew, and nothing else: where the fish are, what
they hold, fear, remember and carry stays. Draws are functions of keys and of counts, so fish get
new keys there: no draw comes twice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.draws import named_key
from sim.rules.codes import DEAD, IN_TANK, SPONTANEOUS
from sim.state import NEVER, State, blank_state

if TYPE_CHECKING:
    from sim.scenario import Scenario

DAY_S = 86400.0
COUNTS = (
    "attacks", "chases", "bites", "contests", "contest_s", "displays", "deaths",
    "pair_chases", "pair_chases_seen", "pair_chases_near", "pairs_broken", "spawnings", "raised",
    "eaten", "lost", "taken", "fry_raised", "fry_taken", "mate_chases", "guarded_area",
    "guarded_s", "uprooted", "held_s", "area_time", "watched_s", "log_rows", "meals", "meal_s",
    "meal_attacks", "food_attacks",
)  # fmt: skip
FIRST_DAYS = ("first_pair_day", "first_spawn_day", "first_uproot_day", "needed_day", "short_day")
WAKING_TIMES = ("awake", "last_change", "next_area")
TALLY_DAYS = (
    "minor_day", "serious_day", "death_day", "paired_day", "mate_hurt_day", "moved_day",
)  # fmt: skip
STRETCH_TIMES = ("start", "end", "ended", "first_act", "decided_at")


@dataclass(frozen=True, slots=True)
class DayZero:
    """When a run begins to count, after so many days of settling.

    Parameters
    ----------
    days
        Days of settling, whole.
    time_s
        When the light comes on on day 0, s since midnight of the first day of settling.
    injuries
        Rows of fish with the injury (0-1) that they are said to have on day 0.
    """

    days: int
    time_s: float
    injuries: tuple[tuple[int, float], ...]


def day_zero(scenario: Scenario) -> DayZero | None:
    """Return when a scenario begins to count; None where it counts from its start.

    Parameters
    ----------
    scenario
        A checked scenario, its days counted from day 0.
    """
    if not scenario.settling_days:
        return None
    days = math.floor(scenario.settling_days)
    groups = [group for group in scenario.fish for _ in range(group.count)]
    return DayZero(
        days=days,
        time_s=DAY_S * days + 3600.0 * scenario.tank.lights_on_h,
        injuries=tuple(
            (i, group.established.injury)
            for i, group in enumerate(groups)
            if group.established is not None and group.established.injury is not None
        ),
    )


def begin_to_count(state: State, zero: DayZero) -> None:
    """Let day 0 begin: every count starts anew, and the fish go on as they are.

    Parameters
    ----------
    state
        State of the run between two strides, with nobody in a chase or a contest.
    zero
        When that is.
    """
    tank, fish, tally = state.tank, state.fish, state.tally
    fresh = blank_state(
        n_fish=len(fish), n_doors=state.fits.shape[1], days=1, par=state.par,
        settings=state.settings,
    )  # fmt: skip
    for name in COUNTS:
        tank[name] = 0
    for name in FIRST_DAYS:
        tank[name] = NEVER
    awake_s = float(tank.awake[0])
    for name in WAKING_TIMES:
        tank[name] -= awake_s
    fish.hidden_before -= tally.hidden_s + tally.corner_s
    fish.awake_before -= tally.awake_s
    moves_out = tally.moves_out.copy()
    tally[...] = fresh.tally
    tally.moves_out = moves_out
    for name in ("ordinal", "bouts", "chases", "bites", "bites_noted", "wins", "harm", "harm_on"):
        state.pair[name] = 0
    state.log[...] = fresh.log
    state.days[...] = fresh.days[0]
    for counted in (state.ends, state.defence, state.stage_time, state.harm, state.harm_spots):
        counted[...] = 0
    fish.start_length = fish.length
    _take_pairs(state, zero)
    for i, injury in zero.injuries:
        if fish.presence[i] == IN_TANK:
            fish.skin[i], fish.scales[i] = 0.0, injury
    for i, key in enumerate(fish.key.tolist()):
        fish.key[i] = named_key("day 0", key)
    tank.seed = named_key("day 0", int(tank.seed[0]))


def _take_pairs(state: State, zero: DayZero) -> None:
    """Count the pairs that are there as pairs from the start, as those that a file names."""
    pairs = state.broods[state.broods.there == 1]
    for name in ("mother", "father"):
        rows = pairs[name]
        state.tally.paired_day[rows[rows >= 0]] = float(zero.days)
    state.tank.pairs_formed = 0
    if state.tank.breeding[0] == SPONTANEOUS and len(pairs):
        state.tank.pairs_formed = len(pairs)
        state.tank.first_pair_day = float(zero.days)


def as_counted(state: State, zero: DayZero | None) -> State:
    """Return a state with its days on the calendar of the file, for what a run leaves behind.

    Parameters
    ----------
    state
        State of the run; it is not changed.
    zero
        When it begins to count; None where it counts from its start.

    Returns
    -------
    State
        `state` itself where there is no settling; else with days since day 0 and times since
        midnight of day 0, and the rows of the days from then on. Before day 0 nothing counts yet.
    """
    if zero is None:
        return state
    if state.tank.next_event[0] == 0:  # day 0 is the first of all occasions
        state = state.copy()
        begin_to_count(state, zero)
    tank, tally, log, stretches = (
        array.copy() for array in (state.tank, state.tally, state.log, state.stretches)
    )
    for name in FIRST_DAYS:
        tank[name] -= zero.days
    for name in TALLY_DAYS:
        tally[name] -= zero.days
    log.time -= DAY_S * zero.days
    for name in STRETCH_TIMES:
        stretches[name] -= DAY_S * zero.days
    return state._replace(
        tank=tank,
        tally=tally,
        log=log,
        stretches=stretches,
        outgrew=state.outgrew - zero.days,
        days=state.days[zero.days :].view(np.recarray),
    )


def lost_while_settling(state: State) -> np.ndarray:
    """Return which fish died before their run began to count, shape (n_fish,)."""
    return np.asarray((state.fish.presence == DEAD) & np.isinf(state.tally.death_day))
