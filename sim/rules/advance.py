"""Advance: the one entry by which anything moves the tank forward.

A stride is one tick of watched time, one piece of leapt time, or one night. Where strides begin
and end hangs on the state alone, never on who asks, so a history stepped a tick at a time equals
one stepped a month at a time, byte for byte.
"""

from __future__ import annotations

from sim.compiler import only_rule, rule, rule_entry
from sim.rules.attack import busy, weigh_pairs
from sim.rules.claim import measure_ground
from sim.rules.codes import IN_TANK, LEAPT, WATCHED
from sim.rules.hours import lights_off
from sim.rules.leap import leap_piece
from sim.rules.meal import close_meal, open_meal
from sim.rules.settle import hold
from sim.rules.tick import GROUND_EVERY, newcomers, tick
from sim.rules.window import close_window, night, open_window
from sim.state import State
from sim.tables import Floor


@rule
def stopped(state: State) -> bool:
    """Return whether time stands still until something is done to the tank from outside.

    A chase or a contest under way is let run to its end first.
    """
    t = state.tank[0]
    return t.clock >= t.stop_at - 1e-9 and not busy(state)


@only_rule
def stride(state: State, floor: Floor) -> None:
    """Advance by one tick, one leapt piece or one night."""
    t = state.tank[0]
    if t.phase == WATCHED:
        tick(state, floor)
        if t.clock >= t.until - 1e-9 or t.clock >= lights_off(state) - 1e-9:
            if t.meal == 1:
                close_meal(state, floor)
            else:
                close_window(state, floor)
        elif t.clock >= t.next_meal:
            open_meal(state, floor)
    elif t.phase == LEAPT:
        leap_piece(state, floor)
        if t.phase == LEAPT and t.clock >= t.next_meal - 1e-6:
            open_meal(state, floor)
    else:
        night(state, floor)


@only_rule
def begin(state: State, floor: Floor) -> None:
    """Put in the fish of the first day and open the first window."""
    t = state.tank[0]
    newcomers(state, floor)
    for i in range(len(state.fish)):
        if state.fish[i].owned >= 0 and state.fish[i].presence == IN_TANK:
            hold(state, i, state.fish[i].owned)
            state.fish[i].site_since = t.clock - state.fish[i].resident_s
    t.changed = 0
    t.held_now = measure_ground(state, floor)
    t.next_area = GROUND_EVERY
    weigh_pairs(state)
    t.stands_for = state.settings[0].window
    open_window(state, floor)


def advance_until(state: State, floor: Floor, until: float, most: int) -> int:
    """Advance by whole strides until a time, a stop or the end of the run is reached.

    A run that has not begun begins first: as an entry of its own, beginning would be compiled with
    much that hangs below both, which the first run on a machine waits for.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    until
        Time since midnight of day 0, s. The last stride may go past it.
    most
        Strides after which it stops in any case; those that take no time are not counted.

    Returns
    -------
    int
        Strides that took time.
    """
    t = state.tank[0]
    if t.begun == 0:
        t.begun = 1
        begin(state, floor)
    goal = min(until, t.end)
    taken = 0
    while t.clock < goal and taken < most and not stopped(state):
        before = t.clock
        stride(state, floor)
        if t.clock > before:
            taken += 1
    return taken


advance = rule_entry(advance_until)
