r"""Stir: a water change raises the hazard of every attack for a while.

.. math:: h \leftarrow h\,(1 + A), \qquad A_0 = g\,s / 0.5, \quad A(t) = A_0\,e^{-t / \tau(s)}

with :math:`s` the share of the water changed, :math:`g` = `water_change_gain` the rise after half
the water, and :math:`\ln \tau` linear in :math:`s` through `water_change_quarter` at a quarter and
`water_change_half` at a half. A second change before the first has faded takes the larger rise.

The papers disagree: after a change angelfish attack more, after half of the water longer and more
than after a quarter (Gauy2018); *Cichlasoma paranaense* did not, with no rise or rather a fall
(Paranaense2019). So the gain is a switch: 0 is the second paper.

References
----------
Gauy2018: direction, order of the shares, gone within an hour after 25 %, not within a day after
50 %. Paranaense2019: no rise. The size and the times are assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule
from sim.state import State

SHORTEST_H, LONGEST_H = 0.05, 240.0  # assumed: bounds of the time by which it fades


@rule
def stir(state: State, share: float) -> None:
    """Let a water change stir up the fish.

    Parameters
    ----------
    state
        State of the run.
    share
        Of the water, 0 to 1.
    """
    t = state.tank[0]
    p = state.par[0]
    rise = p.water_change_gain * share / 0.5
    if rise <= t.stir or rise <= 0.0:
        return
    slope = math.log(p.water_change_half / p.water_change_quarter) / 0.25
    hours = p.water_change_quarter * math.exp(slope * (share - 0.25))
    t.stir = rise
    t.stir_fade = 3600.0 * min(max(hours, SHORTEST_H), LONGEST_H)
