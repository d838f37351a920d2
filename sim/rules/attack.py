r"""Attack: a hazard per second that multiplies slow factors by the exposure of the moment.

.. math::
   h_{ij} = \underbrace{\lambda\, w\, T_i\, H_i\, k_{ij}\, S_{ij}\, (1 - s\,a_{ji})(1 - e\,f_{ij})
            (1 - I_i)}_{\mathrm{slow}} \; E_{ij}

rate, warmth of the water (1 unless asked for), temperament, brood heat, likeness (own kind,
similar, other), preferred size
:math:`S = \exp(-\ln^2(L_j / 0.75 L_i) / 2\sigma^2)`, what the victim has learned to show
(submission), familiarity and the attacker's own injury; :math:`E` is the claim on the place where
it sees the other (see `claim`). One target at a time, one pursuer for each victim. What follows is
decided by assessment: the attacker may only display, the other may leave at once, or they contend.
A fish that fits the mouth is not attacked as a rival but hunted (see `hunt`).

References
----------
Beeching1992 (size most attacked); Leiser1999 (familiar neighbours); order of likeness from the
convict study in the evidence page. The numbers are assumed.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiler import rule, small_rule
from sim.draws import ATTACK, chain, uniform
from sim.rules.bite import injury
from sim.rules.codes import (
    CHASED,
    CONTEST,
    DISPLAY_ONLY,
    FOUGHT,
    IN_TANK,
    PURSUE,
    SWIM,
    TO_FOOD,
)
from sim.rules.contest import pair_key, size_up
from sim.rules.harm import way_to_cover
from sim.rules.hunt import hunt_rate
from sim.rules.mate import mate_as_rival, stage_seen
from sim.rules.room import passes_a_door
from sim.state import State
from sim.tables import Floor


@rule
def ripeness(state: State, i: int) -> float:
    """Return how much of its grown rate an immature fish attacks at, 1 from maturity on."""
    f = state.fish[i]
    if f.length >= f.ripe_length:
        return 1.0
    return math.exp(state.par[0].unripe_power * math.log(f.length / f.ripe_length))


@small_rule
def learned_share(state: State, i: int, j: int) -> float:
    """Return what learning leaves of `i`'s attacks on `j`: submission shown, and familiarity."""
    if state.tank[0].no_learning == 1:
        return 1.0
    p = state.par[0]
    submission = 1.0 - p.submission * state.pair[j, i].avoid
    return submission * (1.0 - p.dear_enemy * state.pair[i, j].familiar)


@rule
def weigh_pairs(state: State) -> None:
    """Set the slow part of every pair's attack hazard, attacks per second at exposure 1."""
    fish = state.fish
    p = state.par[0]
    n = len(fish)
    for i in range(n):
        f = fish[i]
        own = p.attack_rate * f.aggression * f.heat * (1.0 - injury(state, i))
        own *= 1.0 + state.tank[0].stir
        own *= ripeness(state, i) * f.warmth
        for j in range(n):
            link = state.pair[i, j]
            if i == j or f.presence != IN_TANK or fish[j].presence != IN_TANK:
                link.slow = 0.0
                continue
            if link.prey == 1:
                link.slow = hunt_rate(state, i)
                continue
            link.slow = own * link.likeness * link.size_factor * learned_share(state, i, j)
            if f.mate == j:
                link.slow *= mate_as_rival(state, i, j)


@small_rule
def free_to_attack(state: State, i: int) -> bool:
    """Return whether a fish has its attention free: not busy, rested, in the open, not hiding."""
    f = state.fish[i]
    now = state.tank[0].clock
    return (
        f.act == SWIM
        and f.room < 0
        and f.hiding == 0
        and now >= f.rest_until
        and now >= f.act_until  # a contest that was leapt may still hold it
    )


@rule
def note(
    state: State, floor: Floor, i: int, j: int, outcome: int, claim: float, watched: int
) -> int:
    """Write an attack and the factors that multiplied into the log; return its row."""
    t = state.tank[0]
    row_number = t.log_rows % len(state.log)
    t.log_rows += 1
    row = state.log[row_number]
    link = state.pair[i, j]
    p = state.par[0]
    row.time = t.clock
    row.attacker = i
    row.victim = j
    row.outcome = outcome
    row.watched = watched
    row.stage = stage_seen(state, i)
    row.claim = claim
    row.rate = p.attack_rate
    row.temperament = state.fish[i].aggression
    row.heat = state.fish[i].heat
    row.likeness = link.likeness
    row.size_factor = link.size_factor
    row.learned = learned_share(state, i, j)
    row.x = state.fish[j].x
    row.y = state.fish[j].y
    row.to_cover = way_to_cover(state, floor, j, state.fish[j].cell)
    row.bites = 0
    row.wall_bites = 0
    row.end = -1
    row.seconds = 0.0
    row.harm = 0.0
    return row_number


@rule
def decide(state: State, i: int, j: int, sheltered: bool) -> int:
    """Return what comes of an attack of fish `i` on fish `j`, which may sit in a room.

    The attacker goes on with the chance :math:`1 / (1 + e^{-(m - a_0)/a_1})` of its estimate;
    the other leaves at once when even its hopeful estimate lies under its line, or when it is
    no territorial fish.

    Returns
    -------
    int
        `DISPLAY_ONLY`, `CHASED` or `FOUGHT`.
    """
    p = state.par[0]
    link = state.pair[i, j]
    key = chain(pair_key(state, i, j, ATTACK), link.ordinal)
    link.ordinal += 1
    state.tank[0].attacks += 1
    if state.tank[0].meal == 1:
        state.tank[0].meal_attacks += 1
        if state.fish[i].goal == TO_FOOD:
            state.tank[0].food_attacks += 1
    if link.prey == 1:
        return CHASED
    m_i, _ = size_up(state, i, j, chain(key, 1))
    bold = (m_i - p.attack_line) / p.attack_line_width
    if uniform(chain(key, 2)) > 1.0 / (1.0 + math.exp(-bold)):
        return DISPLAY_ONLY
    if state.fish[j].territorial == 0 or state.fish[j].act != SWIM or sheltered:
        return CHASED
    m_j, v_j = size_up(state, j, i, chain(key, 3))
    if m_j + p.hope * math.sqrt(v_j) < -p.giving_up_line:
        return CHASED
    return FOUGHT


@small_rule
def available(state: State, floor: Floor, i: int, j: int) -> bool:
    """Return whether `i` can attack fish `j` now: nobody pursues it, and it can be reached."""
    g = state.fish[j]
    if g.act != SWIM or state.tank[0].clock < g.act_until:
        return False
    if g.room < 0:
        return True
    return passes_a_door(state, floor, i, g.room)


@rule
def pick_victim(state: State, i: int, key: np.uint64) -> int:
    """Return whom fish `i` attacks, by share of its hazard at the last look."""
    total = state.fish[i].hazard
    at = uniform(key) * total
    last = -1
    for j in range(len(state.fish)):
        h = state.hazards[i, j]
        if h > 0.0:
            last = j
            at -= h
            if at <= 0.0:
                break
    return last


@rule
def busy(state: State) -> bool:
    """Return whether a chase or a contest is under way anywhere."""
    for i in range(len(state.fish)):
        if state.fish[i].act == PURSUE or state.fish[i].act == CONTEST:
            return True
    return False
