"""Encounter: what an attack leads to, watched or leapt: a display, a chase, a contest.

A contest is settled without space by `contest.fight` in both kinds of time; in watched time the
two hold station while it lasts. Acts that touch come one in `contact_time` after the display; half
of them land on the loser, a third as many on the winner.

References
----------
Barlow1986 (losers gather damage faster, winners little). Rates assumed.
"""

from __future__ import annotations

import numpy as np

from sim.compiler import rule
from sim.draws import CONTEST, LEAP, chain, poisson, uniform
from sim.rules.attack import decide, note
from sim.rules.bite import wound
from sim.rules.borrow import effective_number
from sim.rules.chase import count_chase, learn_from_chase, start_chase
from sim.rules.codes import (
    CHASED,
    CHASED_INSIDE,
    CHASED_WALL,
    FOUGHT,
    HARM_CONTEST,
    HIDDEN,
    IN_TANK,
    SWIM,
    TIRED,
)
from sim.rules.codes import CONTEST as IN_CONTEST
from sim.rules.contest import DISPLAY_TIME, fight, pair_key
from sim.rules.fear import frighten
from sim.rules.harm import add_harm, place_of_harm
from sim.rules.hours import day_row
from sim.rules.learn import experience, remember
from sim.rules.mate import stage_seen
from sim.rules.observe import DISPLAY_ACT, count_act, note_contest, note_decided, watch_contest
from sim.rules.raid import land_bites
from sim.rules.risk import bites_in_rooms
from sim.state import State
from sim.tables import Floor

BORROW = 32.0  # chases, assumed; see docs/decisions/0002-watching-and-leaping.md
CONTEST_PLACE = 8  # tells the draw of a place from those of a leapt chase


@rule
def conclude(
    state: State,
    i: int,
    j: int,
    outcome: int,
    seconds: float,
    contact: float,
    m_i: float,
    v_i: float,
    m_j: float,
    v_j: float,
) -> int:
    """Let both fish of a contest bear and learn what it brought.

    Parameters
    ----------
    state
        State of the run.
    i, j
        The fish that opened it and the other.
    outcome
        1 when `i` won, -1 when `j` did, 0 for a draw.
    seconds, contact
        Length, and the part of it after the display, s.
    m_i, v_i, m_j, v_j
        Estimates (ln weight) and variances at the end.

    Returns
    -------
    int
        The loser, or -1 for a draw.
    """
    t = state.tank[0]
    p = state.par[0]
    t.contests += 1
    t.contest_s += seconds
    state.days[day_row(state)].contests += 1
    note_contest(state, i, j, outcome, seconds)
    remember(state, i, j, m_i, v_i)
    remember(state, j, i, m_j, v_j)
    if outcome == 0:
        return -1
    winner = i if outcome == 1 else j
    loser = j if outcome == 1 else i
    state.tally[winner].contests_won += 1
    state.tally[loser].contests_lost += 1
    state.pair[winner, loser].wins += 1
    if state.pair[loser, winner].beaten == 1:
        t.changed = 1  # a reversal of rank
    state.pair[winner, loser].beaten = 1
    state.pair[loser, winner].beaten = 0
    experience(state, winner, loser, 1.0)
    frighten(state, loser, p.fear_of_chase)
    acts = contact / p.contact_time
    key = chain(pair_key(state, winner, loser, CONTEST), state.pair[winner, loser].wins)
    taken = int(0.5 * acts + uniform(chain(key, 1)))
    given = int(0.5 * acts / p.contest_harm_bias + uniform(chain(key, 2)))
    wound(state, winner, loser, taken, p.contest_harm, chain(key, 3))
    wound(state, loser, winner, given, p.contest_harm, chain(key, 4))
    return loser


@rule
def conclude_at(
    state: State,
    floor: Floor,
    i: int,
    j: int,
    at: tuple[float, float, float, float],
    outcome: int,
    seconds: float,
    contact: float,
    m_i: float,
    v_i: float,
    m_j: float,
    v_j: float,
) -> int:
    """Conclude a contest, and keep where its harm was taken: in the open, wherever it was.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    at
        Where `i` and `j` were, x and y of each, m.
    i, j, outcome, seconds, contact, m_i, v_i, m_j, v_j
        As `conclude`.

    Returns
    -------
    int
        The loser, or -1 for a draw.
    """
    place_i = place_of_harm(state, floor, j, i, at[0], at[1], HARM_CONTEST)
    place_j = place_of_harm(state, floor, i, j, at[2], at[3], HARM_CONTEST)
    dose_i = state.tally[i].dose
    dose_j = state.tally[j].dose
    loser = conclude(state, i, j, outcome, seconds, contact, m_i, v_i, m_j, v_j)
    add_harm(state, j, i, state.tally[i].dose - dose_i, HARM_CONTEST, place_i)
    add_harm(state, i, j, state.tally[j].dose - dose_j, HARM_CONTEST, place_j)
    return loser


@rule
def next_contest(state: State, i: int, j: int) -> int:
    """Return the number of the coming contest of a pair, and count it."""
    link = state.pair[min(i, j), max(i, j)]
    link.bouts += 1
    return link.bouts


@rule
def attack(state: State, floor: Floor, i: int, j: int, claim: float) -> None:
    """Let fish `i` attack fish `j` in watched time.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    i, j
        Attacker and victim, both free.
    claim
        Exposure of the moment, for the log.
    """
    t = state.tank[0]
    outcome = decide(state, i, j, state.fish[j].room >= 0)
    row = note(state, floor, i, j, outcome, claim, 1)
    state.days[day_row(state)].attacks += 1
    if outcome == CHASED:
        note_decided(state, i, j)
        start_chase(state, floor, i, j, row)
        return
    if outcome != FOUGHT:
        count_act(state, i, j, DISPLAY_ACT)
        t.displays += 1
        state.tally[i].displays += 1
        state.fish[i].rest_until = t.clock + DISPLAY_TIME
        return
    won, seconds, contact, m_i, v_i, m_j, v_j = fight(state, i, j, next_contest(state, i, j))
    f = state.fish[i]
    g = state.fish[j]
    f.act = IN_CONTEST
    g.act = IN_CONTEST
    f.target = j
    g.target = i
    f.chase_cause = row
    f.act_start = t.clock
    g.act_start = t.clock
    f.act_until = t.clock + seconds
    g.act_until = t.clock + seconds
    f.won = won
    g.won = 2  # marks the fish that did not open the contest
    f.contest_contact = contact
    f.estimate = m_i
    f.doubt = v_i
    g.estimate = m_j
    g.doubt = v_j


@rule
def contest_tick(state: State, floor: Floor, i: int) -> None:
    """Close a watched contest when its time has come; the winner chases the loser."""
    f = state.fish[i]
    if f.won == 2:
        if f.target < 0 or state.fish[f.target].act != IN_CONTEST:
            f.act = SWIM
        return
    j = f.target
    since = min(state.tank[0].clock, f.act_until) - f.act_start
    watch_contest(state, i, j, since - state.settings[0].tick, since)
    if state.tank[0].clock < f.act_until:
        return
    g = state.fish[j]
    f.act = SWIM
    g.act = SWIM
    f.target = -1
    g.target = -1
    row = f.chase_cause
    state.log[row].seconds = f.act_until - f.act_start
    loser = conclude_at(
        state,
        floor,
        i,
        j,
        (f.x, f.y, g.x, g.y),
        f.won,
        f.act_until - f.act_start,
        f.contest_contact,
        f.estimate,
        f.doubt,
        g.estimate,
        g.doubt,
    )
    if loser < 0 or f.presence != IN_TANK or g.presence != IN_TANK:
        return
    start_chase(state, floor, j if loser == i else i, loser, row)


@rule
def sample_chase(state: State, i: int, j: int, u: float) -> int:
    """Return a watched chase to stand for one in a leap: of the pair, else the bully, else any.

    Parameters
    ----------
    state
        State of the run.
    i, j
        Pursuer and victim.
    u
        Uniform draw.

    Returns
    -------
    int
        Row of the pool, or -1 when no chase has been watched yet.
    """
    rows = min(state.tank[0].pool_rows, len(state.pool))
    square_same = 0.0
    square_mine = 0.0
    weight_same = 0.0
    weight_mine = 0.0
    weight_all = 0.0
    for k in range(rows):
        row = state.pool[k]
        weight_all += row.weight
        if row.attacker == i:
            square_mine += row.weight * row.weight
            weight_mine += row.weight
            if row.victim == j:
                square_same += row.weight * row.weight
                weight_same += row.weight
    # A few chases of a pair say little about it: they speak for it by n / (n + BORROW), and the
    # bully's other chases for the rest, so that one bad chase is not repeated for days.
    same = effective_number(weight_same, square_same)
    mine = effective_number(weight_mine, square_mine)
    own = same / (same + BORROW)
    level = 2
    if u < own:
        u /= own
    else:
        u = (u - own) / (1.0 - own)
        own = mine / (mine + BORROW)
        level = 1
        if u < own:
            u /= own
        else:
            u = (u - own) / (1.0 - own)
            level = 0
    at = u * (weight_same if level == 2 else (weight_mine if level == 1 else weight_all))
    last = -1
    for k in range(rows):
        row = state.pool[k]
        if level == 0 or (row.attacker == i and (level == 1 or row.victim == j)):
            last = k
            at -= row.weight
            if at <= 0.0:
                break
    return last


@rule
def leapt_chase(state: State, floor: Floor, i: int, j: int, row: int) -> None:
    """Let a chase happen in unwatched time, drawn from the watched ones."""
    count_chase(state, floor, i, j)
    key = chain(chain(pair_key(state, i, j, LEAP), state.pair[i, j].chases), 5)
    k = sample_chase(state, i, j, uniform(key))
    end = TIRED
    if k >= 0:
        model = state.pool[k]
        end = model.end if model.end < 5 else TIRED
        outside = poisson(chain(key, 2), model.risk)
        inside = bites_in_rooms(state, model.entries, model.stay, chain(key, 3))
        at = (model.risk_x, model.risk_y)
        harm = wound_at(state, floor, i, j, outside, at, model.risk_way, key)
        at = (model.in_x, model.in_y)
        harm += wound_at(state, floor, i, j, inside, at, CHASED_INSIDE, chain(key, 4))
        entry = state.log[row]
        entry.bites = outside + inside
        entry.wall_bites = inside * model.in_wall
        if model.risk_way == CHASED_WALL:
            entry.wall_bites += outside
        entry.seconds = model.seconds
        entry.harm += harm
        entry.x = model.x
        entry.y = model.y
        for _ in range(outside + inside):
            frighten(state, j, state.par[0].fear_of_bite)
    state.ends[stage_seen(state, i), end] += 1
    state.log[row].end = end
    if end == HIDDEN:
        state.fish[j].cover = 1.0
    if state.fish[j].presence == IN_TANK:
        learn_from_chase(state, i, j)
    frighten_onlookers(state, i, j, key)


@rule
def wound_at(
    state: State,
    floor: Floor,
    i: int,
    j: int,
    bites: int,
    at: tuple[float, float],
    way: int,
    key: np.uint64,
) -> float:
    """Let the bites of a leapt chase land at a place (m), and return the injury they add."""
    if bites == 0 or state.fish[j].presence != IN_TANK:
        return 0.0
    return land_bites(state, floor, i, j, bites, at, way, chain(key, 1))


@rule
def frighten_onlookers(state: State, i: int, j: int, key: np.uint64) -> None:
    """Frighten those that see a leapt chase of `j` by `i`, each as often as it saw watched ones."""
    shown = state.fish[i].shown
    if shown <= 0.0:
        return
    for k in range(len(state.fish)):
        saw = state.pair[k, i].saw
        if k in (i, j) or saw <= 0.0 or state.fish[k].presence != IN_TANK:
            continue
        if uniform(chain(key ^ state.fish[k].key, 6)) * shown < saw:
            frighten(state, k, state.par[0].fear_of_sight)


@rule
def found_in_room(state: State, i: int, j: int) -> bool:
    """Draw whether a leapt attack of `i` finds `j` in a room, where it cannot turn and fight.

    Where `j` was when the last window closed says nothing of an attack hours later: it is drawn
    by the share of the pair's attacks that fall on `j` in cover, and of its cover that is a room.
    """
    link = state.pair[i, j]
    g = state.fish[j]
    if link.rate_covered <= 0.0 or g.covered_pool <= 0.0:
        return False
    there = g.cover * link.rate_covered
    there *= min(g.hidden_pool / g.covered_pool, 1.0)
    open_share = (1.0 - g.cover) * link.rate
    key = chain(chain(pair_key(state, i, j, LEAP), link.ordinal), 7)
    return uniform(key) * (there + open_share) < there


@rule
def place_of_leapt_contest(state: State, i: int, j: int) -> tuple[float, float]:
    """Return where (m) a contest of `i` with `j` in unwatched time was, by a watched chase."""
    key = chain(chain(pair_key(state, i, j, LEAP), state.pair[i, j].chases), CONTEST_PLACE)
    k = sample_chase(state, i, j, uniform(key))
    x = state.fish[j].x
    y = state.fish[j].y
    if k >= 0:
        x = state.pool[k].risk_x
        y = state.pool[k].risk_y
    return x, y


@rule
def leapt_attack(state: State, floor: Floor, i: int, j: int) -> None:
    """Let fish `i` attack fish `j` in unwatched time, by the same rules."""
    t = state.tank[0]
    outcome = decide(state, i, j, found_in_room(state, i, j))
    row = note(state, floor, i, j, outcome, -1.0, 0)
    state.days[day_row(state)].attacks += 1
    if outcome == CHASED:
        leapt_chase(state, floor, i, j, row)
        return
    if outcome != FOUGHT:
        t.displays += 1
        state.tally[i].displays += 1
        return
    won, seconds, contact, m_i, v_i, m_j, v_j = fight(state, i, j, next_contest(state, i, j))
    state.log[row].seconds = seconds
    for k in range(2):
        f = state.fish[i if k == 0 else j]
        f.act_until = t.clock + seconds
    x, y = place_of_leapt_contest(state, i, j)
    at = (x, y, x, y)
    loser = conclude_at(state, floor, i, j, at, won, seconds, contact, m_i, v_i, m_j, v_j)
    if loser >= 0 and state.fish[loser].presence == IN_TANK:
        winner = j if loser == i else i
        if state.fish[winner].presence == IN_TANK:
            leapt_chase(state, floor, winner, loser, row)
