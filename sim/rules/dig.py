r"""Dig: a pair that makes its pit uproots the plants within reach of it.

While a pair of a digging species digs, each plant that stands within `uproot_reach` lengths of the
longer mate from the nest goes with the hazard 1 / `uproot_time`. Nothing is dug on bare glass;
in gravel digging takes `gravel_slows` times as long. The plant is counted, with its day: the
outlines of a layout are fixed for a run, so it goes on standing in the way of sight.

References
----------
None found; common practice, no source. Numbers assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule
from sim.draws import UPROOT, chain, uniform
from sim.rules.codes import BARE, GRAVEL
from sim.rules.hours import DAY
from sim.state import State
from sim.tables import Floor

CLEANING = 0.25  # of the digging time, assumed: what cleaning a surface takes


@rule
def digging_time(state: State, k: int) -> float:
    """Return how long (s) a pair works at its nest before it spawns."""
    p = state.par[0]
    t = state.tank[0]
    time = p.digging_days * DAY
    if t.substrate == BARE or state.kinds[state.fish[state.broods[k].mother].species].digs == 0:
        return CLEANING * time
    return p.gravel_slows * time if t.substrate == GRAVEL else time


@rule
def uproot(state: State, floor: Floor, k: int, dt: float) -> None:
    """Let a digging pair uproot the plants about its nest.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    k
        Row of the broods, at the digging stage.
    dt
        Waking time that has passed, s.
    """
    t = state.tank[0]
    p = state.par[0]
    row = state.broods[k]
    if t.substrate == BARE or state.kinds[state.fish[row.mother].species].digs == 0:
        return
    if row.place < 0:
        return
    x = floor.site_xy[row.place, 0]
    y = floor.site_xy[row.place, 1]
    reach = p.uproot_reach * max(state.fish[row.mother].length, state.fish[row.father].length)
    chance = 1.0 - math.exp(-dt / (3600.0 * p.uproot_time))
    for g in range(len(state.plants)):
        plant = state.plants[g]
        if plant.uprooted == 1:
            continue
        dx = plant.x - x
        dy = plant.y - y
        if dx * dx + dy * dy > reach * reach:
            continue
        key = chain(chain(chain(state.fish[row.mother].key, UPROOT), t.beats), 0)
        if uniform(key ^ plant.key) < chance:
            plant.uprooted = 1
            plant.day = t.clock / DAY
            t.uprooted += 1
            t.first_uproot_day = min(t.first_uproot_day, plant.day)
