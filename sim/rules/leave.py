"""Leave: what is undone when a fish is no longer in the tank, dead or taken out.

It gives up its site, nobody chases it any more, and it has no part in anything until it comes
back. What it and the others know of each other stays, and fades.

References
----------
None: bookkeeping. That a separation leaves what was learned to fade is assumed.
"""

from __future__ import annotations

from sim.compiler import rule
from sim.rules.codes import NOWHERE, SWIM
from sim.state import State


@rule
def leave(state: State, i: int, presence: int) -> None:
    """Take a fish out of everything it has a part in.

    Parameters
    ----------
    state
        State of the run.
    i
        The fish.
    presence
        `DEAD`, `AWAY` or `MOVED_OUT`.
    """
    f = state.fish[i]
    f.presence = presence
    f.act = SWIM
    f.target = -1
    f.site = -1
    f.room = -1
    f.hiding = 0
    f.goal = NOWHERE
    f.speed = 0.0
    state.tank[0].changed = 1
    for j in range(len(state.fish)):
        if state.fish[j].target == i:
            state.fish[j].target = -1
            state.fish[j].act = SWIM
        # The hazards of the last look too: nobody looks at it again to reset them.
        state.pair[i, j].slow = 0.0
        state.pair[j, i].slow = 0.0
        state.hazards[i, j] = 0.0
        state.hazards[j, i] = 0.0
