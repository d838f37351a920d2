r"""Grow: what a day's food does, overnight, to condition and length, and to all that hangs on it.

Condition is the share of its need that a fish has been eating,

.. math:: C \leftarrow C + (\min(c, a) - C)(1 - e^{-1\,\mathrm{d} / \tau_C})

with :math:`c` the day's share. Where meals are not played, the fish together eat what they need,
each by its time in the open and by `hidden_meal` of that in cover. Length goes by von Bertalanffy
toward the adult length of the fish's sex,

.. math:: L \leftarrow L_\infty - (L_\infty - L)\, e^{-K q\, g\, (1 - r b)\, 1\,\mathrm{d}}, \quad
          g = \min\Big(\Big[\frac{C - C_0}{1 - C_0}\Big]_+, g_\max\Big)

:math:`K` the species' rate, :math:`q` the factor of the water's temperature, :math:`C_0` what keeps
a fish alive without growing, :math:`b` the share of the others that have it beaten. With length go
mass, depth, width, gape, speeds, strength, reach, which doors it passes, whom it can swallow and
the sizes it likes to attack. A fish that still grows takes and challenges for sites only from the
length at maturity.

References
----------
Ishikawa2010 (rate of the convict); `Noel2005` (growth is less where aggression is high) and the
Nile tilapia size classes (AfricanZoology2020: subordinates grow less) are directions. Numbers
assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule
from sim.rules.claim import keep_calm_reach
from sim.rules.codes import CAVE, IN_TANK
from sim.rules.feed import daily_need
from sim.rules.hours import DAY
from sim.rules.hunt import mark_prey
from sim.rules.parent import apply_stage
from sim.rules.room import leave_room, passes_a_door
from sim.rules.settle import is_parent, redraw
from sim.state import State
from sim.tables import Floor

MOST_GROWTH = 1.5  # x the usual rate, assumed: what plenty of food can do


@rule
def size_factor(state: State, i: int, j: int) -> float:
    """Return how much fish `i` likes the size of fish `j` for attack, 0 to 1."""
    p = state.par[0]
    gap = math.log(state.fish[j].length / (p.most_attacked * state.fish[i].length)) / p.size_width
    return math.exp(-0.5 * gap * gap)


@rule
def outgrow_doors(state: State, floor: Floor, i: int) -> None:
    """Date the doors a fish no longer passes; it leaves a room and a cave it no longer fits."""
    f = state.fish[i]
    t = state.tank[0]
    for d in range(len(floor.door_room)):
        fits = f.width < floor.door_size[d, 0] and f.depth < floor.door_size[d, 1]
        if state.fits[i, d] == 1 and not fits:
            state.fits[i, d] = 0
            state.outgrew[i, d] = t.clock / DAY
            t.changed = 1
    if f.room >= 0 and not passes_a_door(state, floor, i, f.room):
        leave_room(state, floor, i, floor.room_door[f.room, 0])
        f.hiding = 0
    in_cave = f.site >= 0 and floor.site_kind[f.site] == CAVE and not is_parent(state, i)
    if in_cave and not passes_a_door(state, floor, i, floor.site_room[f.site]):
        f.site = -1
        redraw(state, i)
        t.changed = 1


@rule
def set_length(state: State, floor: Floor, i: int, length: float) -> None:
    """Give a fish a new length (m), and all that hangs on it."""
    f = state.fish[i]
    ratio = length / f.length
    f.length = length
    f.mass *= math.exp(f.mass_power * math.log(ratio))
    f.strength = math.log(f.mass)
    f.depth *= ratio
    f.width *= ratio
    f.gape *= ratio
    f.cruise *= ratio
    f.burst *= ratio
    f.chase *= ratio
    for j in range(len(state.fish)):
        if j != i:
            state.pair[i, j].size_factor = size_factor(state, i, j)
            state.pair[j, i].size_factor = size_factor(state, j, i)
            mark_prey(state, i, j)
            mark_prey(state, j, i)
    if f.presence == IN_TANK:
        if is_parent(state, i):
            apply_stage(state, f.brood)
        elif f.site >= 0:
            keep_calm_reach(state, i)
    outgrow_doors(state, floor, i)


@rule
def beaten_share(state: State, i: int) -> float:
    """Return the share of the other fish in the tank that won their last contest with it."""
    others = 0
    above = 0
    for j in range(len(state.fish)):
        if j != i and state.fish[j].presence == IN_TANK:
            others += 1
            above += state.pair[j, i].beaten
    return above / others if others > 0 else 0.0


@rule
def table_share(state: State, i: int) -> float:
    """Return how well a fish could feed on its last day: 1 in the open, less in cover."""
    f = state.fish[i]
    tally = state.tally[i]
    awake = tally.awake_s - f.awake_before
    if awake <= 0.0:
        return 1.0
    hidden = tally.hidden_s + tally.corner_s - f.hidden_before
    open_part = min(max(1.0 - hidden / awake, 0.0), 1.0)
    return open_part + (1.0 - open_part) * state.par[0].hidden_meal


@rule
def digest(state: State, floor: Floor) -> None:
    """Close a day of food: renew condition, and let fish grow where they do.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    """
    t = state.tank[0]
    p = state.par[0]
    fish = state.fish
    n = len(fish)
    if t.fed == 0:
        for i in range(n):
            fish[i].hunger = 0.0
    if t.fed == 0 and t.growing == 0:
        return
    total = 0.0
    count = 0
    for i in range(n):
        if fish[i].presence == IN_TANK:
            total += table_share(state, i)
            count += 1
    keep = math.exp(-1.0 / p.condition_time)
    for i in range(n):
        f = fish[i]
        if f.presence != IN_TANK:
            continue
        need = daily_need(state, i)
        if t.fed == 1:
            share = f.eaten_today / need
        else:
            share = table_share(state, i) * count / total if total > 0.0 else 1.0
            state.tally[i].food += share * need
        state.tally[i].need += need
        share = min(share, p.appetite_times)
        f.condition = share + (f.condition - share) * keep
        f.eaten_today = 0.0
        f.hidden_before = state.tally[i].hidden_s + state.tally[i].corner_s
        f.awake_before = state.tally[i].awake_s
        if t.growing == 1:
            fed = max(f.condition - p.upkeep_share, 0.0) / (1.0 - p.upkeep_share)
            rate = f.growth_rate * t.growth_speed * min(fed, MOST_GROWTH)
            rate *= 1.0 - p.growth_rank * beaten_share(state, i)
            length = f.grown_length - (f.grown_length - f.length) * math.exp(-rate)
            if length > f.length:
                set_length(state, floor, i, length)
