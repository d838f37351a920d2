"""Hours: the day, and when its light ends."""

from __future__ import annotations

from sim.compiler import rule, small_rule
from sim.state import State

DAY = 86400.0  # s


@small_rule
def day_row(state: State) -> int:
    """Return the row of the present day in the table of days."""
    return min(int(state.tank[0].clock / DAY), len(state.days) - 1)


@small_rule
def lights_off(state: State) -> float:
    """Return the time (s) at which the lights go off on the present day."""
    t = state.tank[0]
    return int(t.clock / DAY) * DAY + t.light_off


@rule
def lights_on(state: State) -> float:
    """Return the time (s) at which the lights next come on, seen from the night."""
    t = state.tank[0]
    on = int(t.clock / DAY) * DAY + t.light_on
    return on if t.clock < on - 1e-6 else on + DAY
