r"""Heal and forget: everything that fades with clock time, by day and by night.

Skin :math:`e^{-t/10\,\mathrm{h}}`, scales :math:`e^{-t/14\,\mathrm{d}}`, both slower by the share
of its need that a fish has been eating, where that is less than one, down to a fifth (assumed);
fear, winner and loser effects and avoidance by half-lives; what a water change stirred up by its
own time. A fish that was taken out heals and forgets like those in the tank.

References
----------
Zebrafish skin and scales, in the evidence page; half-lives from memory or assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule, small_rule
from sim.rules.codes import AWAY, IN_TANK, MOVED_OUT
from sim.rules.learn import mark_shunned
from sim.state import State

LEAST_HEALING = 0.2  # x rate, assumed
LN_2 = 0.6931471805599453


@small_rule
def lives_on(presence: int) -> bool:
    """Return whether a fish is alive, in the tank or out of it, and has been in it."""
    return presence in (IN_TANK, AWAY, MOVED_OUT)


@rule
def pass_time(state: State, dt: float) -> None:
    """Let `dt` seconds of clock time fade what fades.

    Parameters
    ----------
    state
        State of the run.
    dt
        Seconds.
    """
    p = state.par[0]
    fish = state.fish
    n = len(fish)
    skin = math.exp(-dt / (3600.0 * p.skin_healing))
    scales = math.exp(-dt / (86400.0 * p.scale_healing))
    fear = math.exp(-LN_2 * dt / (3600.0 * p.fear_half_life))
    winning = math.exp(-LN_2 * dt / (3600.0 * p.winner_half_life))
    losing = math.exp(-LN_2 * dt / (3600.0 * p.loser_half_life))
    avoid = math.exp(-LN_2 * dt / (3600.0 * p.avoid_half_life))
    t = state.tank[0]
    if t.stir > 0.0:
        t.stir *= math.exp(-dt / t.stir_fade)
    for i in range(n):
        f = fish[i]
        if not lives_on(f.presence):
            continue
        if f.condition < 1.0:
            fed = max(f.condition, LEAST_HEALING)
            f.skin *= math.exp(-fed * dt / (3600.0 * p.skin_healing))
            f.scales *= math.exp(-fed * dt / (86400.0 * p.scale_healing))
        else:
            f.skin *= skin
            f.scales *= scales
        f.fear *= fear
        f.winning *= winning
        f.losing *= losing
        for j in range(n):
            if lives_on(fish[j].presence):
                state.pair[i, j].avoid *= avoid
            mark_shunned(state, i, j)
