r"""Heal and forget: everything that fades with clock time, by day and by night.

Skin :math:`e^{-t/10\,\mathrm{h}}`, scales :math:`e^{-t/14\,\mathrm{d}}`; fear, winner and loser
effects and avoidance by half-lives; familiarity of fish in the same tank builds up over days.

References
----------
Zebrafish skin and scales, in the evidence page; half-lives from memory or assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule
from sim.rules.codes import IN_TANK
from sim.state import State

LN_2 = 0.6931471805599453


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
    strange = math.exp(-dt / (86400.0 * p.familiar_time))
    learns = state.tank[0].no_learning == 0
    for i in range(n):
        f = fish[i]
        if f.presence != IN_TANK:
            continue
        f.skin *= skin
        f.scales *= scales
        f.fear *= fear
        f.winning *= winning
        f.losing *= losing
        for j in range(n):
            if fish[j].presence != IN_TANK:
                continue
            link = state.pair[i, j]
            link.avoid *= avoid
            if learns and i != j:
                link.familiar = 1.0 - (1.0 - link.familiar) * strange
