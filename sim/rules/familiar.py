r"""Familiar: fish that live in sight of each other grow familiar over days, and forget apart.

.. math:: f \leftarrow 1 - (1 - f)\,e^{-\Delta t / \tau_f} \;\text{in sight}, \qquad
          f \leftarrow f\,e^{-\Delta t / \tau_u} \;\text{out of sight}

with :math:`\tau_f` = `familiar_time` and :math:`\tau_u` = `unfamiliar_time`, both in days of clock
time. Two fish of one tank are in sight of each other unless an opaque divider stands between them
or one has been taken out; a clear divider or a mesh hides nothing. Familiarity lowers attacks (see
`attack`: `dear_enemy`). It is memory, so the null model without learning takes it away.

References
----------
Leiser1999 (a familiar neighbour is attacked less: the direction). Times assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule
from sim.rules.codes import IN_TANK
from sim.rules.heal import lives_on
from sim.rules.hours import DAY
from sim.state import State
from sim.tables import Floor


@rule
def grow_familiar(state: State, floor: Floor, dt: float) -> None:
    """Let every pair grow familiar, or forget, over `dt` seconds of clock time.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    dt
        Seconds.
    """
    if state.tank[0].no_learning == 1:
        return
    p = state.par[0]
    fish = state.fish
    strange = math.exp(-dt / (DAY * p.familiar_time))
    kept = math.exp(-dt / (DAY * p.unfamiliar_time))
    for i in range(len(fish)):
        f = fish[i]
        if not lives_on(f.presence):
            continue
        for j in range(len(fish)):
            g = fish[j]
            if i == j or not lives_on(g.presence):
                continue
            link = state.pair[i, j]
            together = f.presence == IN_TANK and g.presence == IN_TANK
            if together and floor.compartment_sight[f.compartment, g.compartment] == 1:
                link.familiar = 1.0 - (1.0 - link.familiar) * strange
            else:
                link.familiar *= kept
