"""Occasion: what is done to a tank from outside, between two strides.

The slow processes first catch up with the clock; then each deed is done; then the tank is looked
at anew: whose ground is whose, the attack hazards, and, since it is another tank now, a fresh
window. What was pooled for the leaps fades, and is dropped where the furniture has changed.

References
----------
None: bookkeeping. That nobody is attacked in the dark is assumed (see `dark`).
"""

from __future__ import annotations

from sim.compiler import rule, rule_entry
from sim.rules.arrive import arrive
from sim.rules.attack import weigh_pairs
from sim.rules.breed import lose_nest, take_fry
from sim.rules.claim import measure_ground
from sim.rules.codes import AWAY, IN_TANK, LEAPT, MOVED_OUT, NIGHT, SWIM, WATCHED
from sim.rules.feed import find_ways
from sim.rules.hours import DAY, lights_off
from sim.rules.leave import leave
from sim.rules.settle import redraw
from sim.rules.stir import stir
from sim.rules.tick import GROUND_EVERY
from sim.rules.window import fall_of_night, flush, open_window, scale_exposures, take_change
from sim.state import State
from sim.tables import Floor

CATCH_UP, TAKE_OUT, MOVE_OUT, PUT_IN, LOSE_SITE = range(5)
LOSE_NEST, STIR, LIGHTS, TAKE_FRY, GO_ON, WATCH = range(5, 11)


@rule
def take_out(state: State, i: int, presence: int) -> None:
    """Take a fish out, `AWAY` for an event or `MOVED_OUT` by the keeper."""
    if state.fish[i].presence == MOVED_OUT and presence == AWAY:
        state.fish[i].presence = AWAY  # it stays out, and no longer fills a spare place
        return
    if state.fish[i].presence != IN_TANK:
        return
    leave(state, i, presence)
    state.tally[i].moves_out += 1
    if presence == MOVED_OUT:
        now = state.tank[0].clock / DAY
        state.tally[i].moved_day = min(state.tally[i].moved_day, now)


@rule
def set_lights(state: State, on: float, off: float) -> None:
    """Let the light come on and go off at other times (s after midnight) from now on."""
    t = state.tank[0]
    t.light_on = on
    t.light_off = off
    if t.phase == NIGHT:
        hour = t.clock - int(t.clock / DAY) * DAY
        if on <= hour < off:
            t.until = t.clock
        else:
            t.until = t.clock - hour + on + (DAY if hour >= on else 0.0)


@rule
def drop_pool(state: State) -> None:
    """Forget the exposures and the chases that were seen in another tank."""
    t = state.tank[0]
    t.pool_time = 0.0
    t.pool_rows = 0
    scale_exposures(state, 0.0)


@rule
def watch(state: State, floor: Floor) -> None:
    """Begin to watch, where time is being leapt; nothing in the tank changes by it."""
    if state.tank[0].phase == LEAPT:
        open_window(state, floor)


@rule
def go_on(state: State, floor: Floor, dropped: bool) -> None:
    """Look at the tank anew after what was done, and go on with a fresh window."""
    t = state.tank[0]
    if dropped:
        drop_pool(state)
        find_ways(state, floor)  # to food, where a meal is under way
    t.held_now = measure_ground(state, floor)
    t.next_area = t.awake + GROUND_EVERY
    weigh_pairs(state)
    if t.phase == NIGHT:
        t.changed = 1  # the morning takes note
        return
    take_change(state)
    for i in range(len(state.fish)):
        if state.fish[i].act == SWIM:
            state.fish[i].target = -1
    if t.clock < lights_off(state):
        open_window(state, floor)
    else:
        fall_of_night(state)


def do_deed(state: State, floor: Floor, deed: int, who: int, one: float, other: float) -> None:
    """Do one thing to the tank from outside.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    deed
        One of the codes of this module: `CATCH_UP` before all others of a moment, `GO_ON` after.
    who
        The fish it is done to, where it is done to one; for `GO_ON` 1 where the furniture changed.
    one, other
        `STIR`: share of the water; `LIGHTS`: on and off, s after midnight.
    """
    if deed == CATCH_UP:
        if state.tank[0].phase == WATCHED:
            flush(state, floor)
    elif deed == TAKE_OUT:
        take_out(state, who, AWAY)
    elif deed == MOVE_OUT:
        take_out(state, who, MOVED_OUT)
    elif deed == PUT_IN:
        arrive(state, floor, who)
    elif deed == LOSE_SITE:
        state.fish[who].site = -1
        redraw(state, who)
    elif deed == LOSE_NEST:
        lose_nest(state, who)
    elif deed == STIR:
        stir(state, one)
    elif deed == LIGHTS:
        set_lights(state, one, other)
    elif deed == TAKE_FRY:
        take_fry(state)
    elif deed == WATCH:
        watch(state, floor)
    else:
        go_on(state, floor, who == 1)


do = rule_entry(do_deed)
