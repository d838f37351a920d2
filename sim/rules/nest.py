"""Nest: where a pair spawns.

A place of the kind its species spawns at, near what it holds already; a pit cannot be dug in bare
glass, and a cave must let the mother in.

References
----------
None found with numbers; assumed.
"""

from __future__ import annotations

from sim.compiler import rule
from sim.draws import BROOD, chain, uniform
from sim.rules.codes import BARE, CAVE, EDGE, FLAT, OPEN_FLOOR
from sim.state import State
from sim.tables import Floor


@rule
def nest_kind(state: State, i: int) -> int:
    """Return the kind of site a fish spawns at; a pit cannot be dug in bare glass."""
    wanted = state.fish[i].spawns_in
    if wanted == OPEN_FLOOR and state.tank[0].substrate == BARE:
        return FLAT
    return wanted


@rule
def nest_for(state: State, floor: Floor, k: int) -> int:
    """Return the site a pair spawns at: of the kind of its species, near what it holds already.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    k
        Row of the pair.

    Returns
    -------
    int
        A row of the sites, or -1 where the layout has none.
    """
    row = state.broods[k]
    mother = row.mother
    if row.asked >= 0:
        return row.asked
    wanted = nest_kind(state, mother)
    key = chain(chain(state.fish[mother].key, BROOD), row.spawnings)
    held = state.fish[row.father].site
    if held < 0:
        held = state.fish[mother].site
    best = -100.0
    choice = -1
    for s in range(len(floor.site_kind)):
        kind = floor.site_kind[s]
        if floor.site_compartment[s] != state.fish[mother].compartment:
            continue
        if kind == CAVE and state.fits[mother, floor.room_door[floor.site_room[s], 0]] == 0:
            continue
        liking = uniform(chain(key, s))
        if kind == wanted or (wanted == FLAT and kind == EDGE):
            liking += 2.0
        elif kind != OPEN_FLOOR:
            liking += 0.5
        if held >= 0:
            liking -= min(float(floor.site_dist[held, floor.site_cell[s]]), 2.0)
        if liking > best:
            best = liking
            choice = s
    return choice
