"""Arrive: a fish comes into the tank, for the first time or back.

One that arrives in the dark makes for cover, where the morning finds it: it has had the night to
be among the others before anybody attacks it, which is all that a lights-out introduction does
here (see `dark`, `familiar`).

References
----------
None found; assumed.
"""

from __future__ import annotations

from sim.compiler import rule
from sim.rules.codes import AWAY, MOVED_OUT, NIGHT, NOT_YET
from sim.rules.fear import make_for_cover
from sim.rules.place import join
from sim.state import State
from sim.tables import Floor


@rule
def arrive(state: State, floor: Floor, i: int) -> None:
    """Put a fish into the tank that is not in it.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i
        The fish; nothing happens to one that is in, or dead.
    """
    f = state.fish[i]
    t = state.tank[0]
    if f.presence != NOT_YET and f.presence != AWAY and f.presence != MOVED_OUT:
        return
    join(state, floor, i)
    t.changed = 1
    if t.phase == NIGHT and t.clock < t.until - 1.0:
        f.hiding = 1
        f.cover = 1.0
        make_for_cover(state, floor, i)
