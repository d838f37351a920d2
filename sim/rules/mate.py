r"""Mate: what the other of a pair is to a fish, from partner to rival.

A pair that is courting or has young bears with each other: an attack on the mate keeps the share
`mate_spite` of the rate at which a like fish would be attacked. Between broods the male drives a
female that is not ready,

.. math:: w = \max(w_0,\; w_d\,(1 - r))

with :math:`r` her ripeness (0 just after a spawning, 1 when ready), :math:`w_0` `mate_spite` and
:math:`w_d` `mate_drive`. While any other fish is in view the exposure of the mate is multiplied by
`mate_company`: the others draw him off, and a mate left alone with him takes it all.

References
----------
None found with numbers; assumed. That a mate is attacked where no neighbour is left to attack is
common practice, no source.
"""

from __future__ import annotations

from sim.compiler import rule, small_rule
from sim.rules.codes import EGGS, FEMALE, FRY, RESTING, SPONTANEOUS
from sim.state import State


@small_rule
def stage_seen(state: State, i: int) -> int:
    """Return the brood stage an act of fish `i` belongs to: its own, else that of the tank."""
    k = state.fish[i].brood
    return state.broods[k].stage if k >= 0 else state.tank[0].stage


@small_rule
def has_young(state: State, k: int) -> bool:
    """Return whether a row of the broods holds eggs, wrigglers or fry."""
    return state.broods[k].there == 1 and EGGS <= state.broods[k].stage <= FRY


@rule
def mate_as_rival(state: State, i: int, j: int) -> float:
    """Return the share of its usual attack rate at which fish `i` attacks its mate `j`.

    Parameters
    ----------
    state
        State of the run.
    i, j
        The two of a pair.

    Returns
    -------
    float
        0 to 1; 0 unless pairs form of themselves.
    """
    if state.tank[0].breeding != SPONTANEOUS:
        return 0.0
    p = state.par[0]
    k = state.fish[i].brood
    if k < 0 or state.broods[k].stage != RESTING or state.fish[j].sex != FEMALE:
        return p.mate_spite
    return max(p.mate_spite, p.mate_drive * (1.0 - min(state.fish[j].ripe, 1.0)))
