r"""Claim: how strongly an owner defends a point, and whose ground the point is.

.. math:: c = \theta^{u^2}, \quad u = d_\mathrm{swim} / (R\,k\,b)

with :math:`\theta` the claim at the published radius, :math:`R = r L (L / L_0)^{0.30}` the reach
(5 lengths of a fish of 5 cm, 8 of a breeding fish of 9 cm: :math:`L_0` is the length of the fish
that were measured), :math:`k` the class of the intruder (own kind 1.3, similar 1, other
0.6) and :math:`b = \sqrt{0.6}` where the point is not seen from the site, so that a barrier
shrinks the *area* by 0.6. A claim never exceeds 1. A fish also claims the water round its own
body. A holder is a fish or a pair; the claim of a pair is the larger of its mates'.

References
----------
The claim at the radius, the factor of shade and the class numbers are assumed; their order and
the radii are published: Wood2012, Sturmbauer2008 (radii); Grantner1998 (exponent of metabolic
need); Imre2002 (shade); Matsumoto2004 (order of the classes).
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiler import rule, rule_entry, small_rule
from sim.rules.codes import IN_TANK
from sim.state import State
from sim.tables import Floor


@small_rule
def curve(state: State, u2: float) -> float:
    """Return the claim at a squared distance in reaches; 0 beyond two reaches."""
    if u2 >= 4.0:
        return 0.0
    place = u2 * 64.0
    k = int(place)
    part = place - k
    return (1.0 - part) * state.claim_curve[k] + part * state.claim_curve[k + 1]


@rule
def body_reach(state: State, length: float, lengths: float, measured: float) -> float:
    """Return the reach (m) of a fish of a length (m), given in lengths of a measured fish (m)."""
    return lengths * length * math.exp(state.par[0].reach_growth * math.log(length / measured))


@rule
def keep_calm_reach(state: State, i: int) -> None:
    """Set the reach and the tether of an owner that guards no brood."""
    f = state.fish[i]
    p = state.par[0]
    f.reach = body_reach(state, f.length, p.reach_calm, p.calm_length)
    f.tether = p.calm_tether * f.reach


@small_rule
def site_claim(state: State, floor: Floor, i: int, cell: int, kind_reach: float) -> float:
    """Return the claim of fish `i` on a cell, from the site it holds; 0 when it holds none."""
    f = state.fish[i]
    if f.site < 0:
        return 0.0
    reach = f.reach * kind_reach
    if floor.site_seen[f.site, cell] == 0 and state.tank[0].no_occlusion == 0:
        reach *= math.sqrt(state.par[0].shade)
    u = floor.site_dist[f.site, cell] / reach
    return curve(state, u * u)


@small_rule
def layer_factor(state: State, a: int, b: int) -> float:
    """Return how much of a claim is left between two layers."""
    apart = abs(a - b)
    if apart == 0:
        return 1.0
    p = state.par[0]
    return p.layer_one if apart == 1 else p.layer_two


@small_rule
def exposure(state: State, floor: Floor, i: int, j: int, d2: float) -> float:
    """Return how strongly fish `i` claims the place where it sees fish `j`, 0 to 1.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i, j
        Possible attacker and victim.
    d2
        Squared distance between them, m2.

    Returns
    -------
    float
        The larger of the claim from the site (less what `j` itself claims there, so that a
        fish at home is attacked less) and of the claim on the water round the body, times the
        share left between their layers.
    """
    f = state.fish[i]
    g = state.fish[j]
    p = state.par[0]
    c = 0.0
    if f.site >= 0:
        c = site_claim(state, floor, i, g.cell, state.pair[i, j].kind_reach)
        if c < p.claim_edge:
            c = 0.0
        elif g.site >= 0:
            c *= 1.0 - site_claim(state, floor, j, g.cell, 1.0)
    near = p.own_space * f.length
    if d2 < near * near:
        c = max(c, p.own_space_claim * curve(state, d2 / (near * near)))
    return c * layer_factor(state, f.layer, g.layer)


def fill_claims(state: State, floor: Floor, claims: np.ndarray) -> None:
    """Write every fish's claim on every cell, as the ticks see it.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    claims
        Filled, shape (n_fish, n_cells); 0 for a fish without a site and under pieces.
    """
    for i in range(len(state.fish)):
        for cell in range(int(floor.dims[6])):
            claims[i, cell] = 0.0
            if floor.free[0, cell] == 1 and state.fish[i].presence == IN_TANK:
                claims[i, cell] = site_claim(state, floor, i, cell, 1.0)


claims_on_cells = rule_entry(fill_claims)


@rule
def holder_of(state: State, floor: Floor, cell: int) -> int:
    """Return the fish in whose territory a cell lies, -1 on open ground."""
    best = state.par[0].claim_edge
    holder = -1
    for i in range(len(state.fish)):
        if state.fish[i].site >= 0 and state.fish[i].presence == IN_TANK:
            c = site_claim(state, floor, i, cell, 1.0)
            if c > best:
                best = c
                holder = i
    return holder


@rule
def measure_ground(state: State, floor: Floor) -> float:
    """Count whose ground each cell of the floor is.

    Parameters
    ----------
    state
        Sets `area` and `free_area` (m2) of every holder.
    floor
        Tables of the layout.

    Returns
    -------
    float
        Share of the open floor that somebody holds.
    """
    fish = state.fish
    n = len(fish)
    edge = state.par[0].claim_edge
    for i in range(n):
        fish[i].area = 0.0
        fish[i].free_area = 0.0
    cells = 0
    held = 0
    for cell in range(int(floor.dims[6])):
        if floor.free[0, cell] == 0:
            continue
        cells += 1
        best = edge
        holder = -1
        for i in range(n):
            f = fish[i]
            if f.site < 0 or f.presence != IN_TANK:
                continue
            c = site_claim(state, floor, i, cell, 1.0)
            if c > edge:
                f.free_area += 1.0
            if c > best:
                best = c
                holder = i
        if holder >= 0:
            held += 1
            fish[holder].area += 1.0
            mate = fish[holder].mate
            if mate >= 0 and fish[mate].site >= 0:
                fish[mate].area += 1.0
    size = floor.dims[3] * floor.dims[3]
    for i in range(n):
        fish[i].area *= size
        fish[i].free_area *= size
    return held / cells if cells > 0 else 0.0
