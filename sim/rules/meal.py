"""Meal: when fish are fed, a few minutes that are always watched.

A feeding cuts a leap or a window in two: the meal is watched to its end, its crowding is left out
of the exposures from which leaps draw, and the gap goes on after it. So the food each fish gets is
played, in leapt time as in watched.

References
----------
None: method. How long food is left in the tank is assumed.
"""

from __future__ import annotations

from sim.compiler import rule
from sim.rules.attack import busy
from sim.rules.codes import IN_TANK, NOWHERE, TO_FOOD, WATCHED
from sim.rules.feed import daily_need, find_ways
from sim.rules.hours import DAY, lights_off
from sim.rules.window import (
    begin_gap,
    draw_gap,
    fall_of_night,
    flush,
    open_window,
    pool_window,
    take_change,
)
from sim.state import NEVER, State
from sim.tables import Floor

LATE = 3600.0  # s, a feeding that is missed by more is left out


@rule
def next_feeding(state: State) -> float:
    """Return the time (s) of the next feeding that falls into the light, or never."""
    t = state.tank[0]
    today = int(t.clock / DAY) * DAY
    soonest = NEVER
    for k in range(len(state.meal_times)):
        at = state.meal_times[k]
        if not t.light_on <= at < t.light_off - 60.0:
            continue
        due = today + at
        if due <= t.clock + 1e-6:
            due += DAY
        soonest = min(soonest, due)
    return soonest


@rule
def serve(state: State) -> None:
    """Put the ration on the spots, and give every fish its appetite."""
    t = state.tank[0]
    p = state.par[0]
    meals = len(state.meal_times)
    total = 0.0
    for i in range(len(state.fish)):
        f = state.fish[i]
        f.full = 0.0
        f.appetite = 0.0
        f.off_food_until = 0.0
        if f.presence != IN_TANK:
            continue
        need = daily_need(state, i)
        f.full = p.appetite_times * need / meals
        f.appetite = f.full
        total += need if t.ration <= 0.0 else t.ration * f.mass
    for k in range(len(state.food)):
        spot = state.food[k]
        spot.food = total / (meals * len(state.food))
        spot.crowd = 0


@rule
def clear_away(state: State) -> None:
    """Take what is left of a meal out of the tank, and its wishes out of the fish."""
    for k in range(len(state.food)):
        state.food[k].food = 0.0
        state.food[k].crowd = 0
    for i in range(len(state.fish)):
        f = state.fish[i]
        if f.goal == TO_FOOD:
            f.goal = NOWHERE
        f.pays = 0.0
        if f.full > 0.0:
            f.hunger *= f.appetite / f.full


@rule
def open_meal(state: State, floor: Floor) -> None:
    """Feed: watch from now to the end of the meal, and keep what was to come after.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    """
    t = state.tank[0]
    s = state.settings[0]
    late = t.clock - t.next_meal
    t.next_meal = next_feeding(state)
    off = lights_off(state)
    if late > LATE or t.clock >= off - 1.0:
        return
    left = t.until - t.clock + t.gap_left
    if t.phase == WATCHED:
        flush(state, floor)
        left = 0.0
        if s.watch_all == 0 and t.window_time > 0.0:
            pool_window(state)
            t.stands_for = s.window
            left = draw_gap(state)
            t.stands_for += left
    keep = t.stands_for
    open_window(state, floor)
    t.gap_left = left
    t.stands_kept = keep
    t.stands_for = 60.0 * state.par[0].meal_time
    t.until = min(t.clock + 60.0 * state.par[0].meal_time, off)
    t.burn_until = t.until
    t.meal = 1
    t.meals += 1
    find_ways(state, floor)
    serve(state)


@rule
def close_meal(state: State, floor: Floor) -> None:
    """End a meal that has run its time, and go on with what it cut in two."""
    t = state.tank[0]
    if busy(state):
        return
    flush(state, floor)
    t.meal = 0
    clear_away(state)
    t.stands_for = t.stands_kept
    if t.changed > 0:
        take_change(state)
    if t.clock >= lights_off(state):
        fall_of_night(state)
    elif t.gap_left > 1.0 and state.settings[0].watch_all == 0:
        gap = t.gap_left
        t.stands_for -= gap
        for i in range(len(state.fish)):
            state.fish[i].cover = float(state.fish[i].hiding)
        begin_gap(state, gap)
    else:
        open_window(state, floor)
