r"""Leap: unwatched time, from the exposures of watched time and the slow state of the moment.

In pieces of at most ten minutes, and no longer than lets a few attacks of the busiest pair fall,
each ordered pair draws

.. math:: N_{ij} \sim \mathrm{Poisson}(\mathrm{slow}_{ij}(t)\; \bar E_{ij}\; \Delta t)

attacks, with :math:`\bar E` the pooled exposure a second of the time in which both are free: a
contest takes both out for as long as it lasts, and hiding follows from the fear of the moment.
Each attack is decided, each contest fought by the rules of watched time; each chase draws its end
and the risk of its bites from the watched chases. Injury, fear and learning act inside the piece,
so one seen event never stands for many. What few windows tell of a pair is borrowed from its likes
(see `borrow`).

Own clocks and stages end a piece where they fall due, and a change of the tank ends the leap.
"""

from __future__ import annotations

from sim.compiler import only_rule, rule
from sim.draws import LEAP, chain, poisson, uniform
from sim.rules.breed import time_to_brood_event
from sim.rules.codes import IN_TANK, NOT_YET
from sim.rules.contest import pair_key
from sim.rules.dark import time_to_dusk
from sim.rules.encounter import leapt_attack
from sim.rules.fear import pass_cover
from sim.rules.hours import day_row, lights_off
from sim.rules.pair import time_to_pairing
from sim.rules.settle import time_to_own_event
from sim.rules.tick import slow_update
from sim.rules.window import fall_of_night, open_window, take_change
from sim.state import State
from sim.tables import Floor

SPENT = 1e300  # s, the time of a row that is done with


@rule
def attack_rate(state: State, i: int, j: int) -> float:
    """Return the attacks a second of `i` on `j` while neither is held by a contest.

    Exposure is measured apart for a victim in the open and one in cover; how likely either is
    follows from its fear of the moment, so that a few windows do not have to tell it.
    """
    link = state.pair[i, j]
    if link.slow <= 0.0:
        return 0.0
    covered = state.fish[j].cover
    rate = (1.0 - covered) * link.rate + covered * link.rate_covered
    return link.slow * (1.0 - state.fish[i].cover) * rate


@rule
def held_by_contest(state: State, i: int) -> bool:
    """Return whether a contest that was leapt holds a fish still."""
    return state.tank[0].clock < state.fish[i].act_until


@rule
def draw_attacks(state: State, dt: float) -> int:
    """Draw the attacks of the coming piece into the list, and return how many there are."""
    t = state.tank[0]
    n = len(state.fish)
    count = 0
    for i in range(n):
        for j in range(n):
            mean = attack_rate(state, i, j) * dt
            if mean <= 0.0:
                continue
            key = chain(pair_key(state, i, j, LEAP), t.pieces)
            for k in range(poisson(key, mean)):
                if count < len(state.due):
                    row = state.due[count]
                    row.time = t.clock + dt * uniform(chain(key, 1000 + k))
                    row.attacker = i
                    row.victim = j
                    count += 1
    for k in range(count, len(state.due)):
        state.due[k].time = SPENT
    return count


@rule
def earliest(state: State) -> int:
    """Return the row of the list whose time comes first."""
    best = 0
    for k in range(1, len(state.due)):
        if state.due[k].time < state.due[best].time:
            best = k
    return best


@rule
def piece_length(state: State) -> float:
    """Return how long (s) the coming piece of a leap may be."""
    t = state.tank[0]
    s = state.settings[0]
    dt = min(s.piece, t.until - t.clock)
    n = len(state.fish)
    busiest = 0.0
    total = 0.0
    for i in range(n):
        for j in range(n):
            rate = attack_rate(state, i, j)
            busiest = max(busiest, rate)
            total += rate
    # The list of a piece has room for four times as many as are expected.
    busiest = max(busiest, 4.0 * s.piece_events / len(state.due) * total)
    if busiest * dt > s.piece_events:
        dt = max(s.piece_events / busiest, 30.0)
    dt = min(dt, time_to_own_event(state) + 0.5, time_to_dusk(state) + 0.5)
    dt = min(dt, time_to_brood_event(state), time_to_pairing(state))
    for i in range(n):
        f = state.fish[i]
        if f.presence == NOT_YET and f.join_time > t.clock:
            dt = min(dt, f.join_time - t.clock)
    if t.next_meal > t.clock:
        dt = min(dt, t.next_meal - t.clock)
    if t.stop_at > t.clock:
        dt = min(dt, t.stop_at - t.clock)
    return max(min(dt, t.until - t.clock), 0.2)


@only_rule
def leap_piece(state: State, floor: Floor) -> None:
    """Leap one piece of unwatched time, and go back to watching where it ends the gap.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    """
    t = state.tank[0]
    fish = state.fish
    n = len(fish)
    dt = piece_length(state)
    t.pieces += 1
    count = draw_attacks(state, dt)
    for i in range(n):
        if fish[i].presence == IN_TANK:
            covered = dt * pass_cover(state, i, dt)
            if fish[i].covered_pool > 0.0:
                hidden = covered * fish[i].hidden_pool / fish[i].covered_pool
                state.tally[i].hidden_s += hidden
                state.days[day_row(state)].hidden_s += hidden
                corner = covered * fish[i].corner_pool / fish[i].covered_pool
                state.tally[i].corner_s += corner
    start = t.clock
    for _ in range(count):
        k = earliest(state)
        row = state.due[k]
        i = row.attacker
        j = row.victim
        t.clock = row.time
        row.time = SPENT
        if fish[i].presence != IN_TANK or fish[j].presence != IN_TANK:
            continue
        if fish[i].compartment != fish[j].compartment:
            continue
        if not held_by_contest(state, i) and not held_by_contest(state, j):
            leapt_attack(state, floor, i, j)
    t.clock = start + dt
    t.leapt = 1
    slow_update(state, floor, dt)
    off = lights_off(state)
    if t.changed > 0:
        take_change(state)
        if t.clock < off:
            open_window(state, floor)
            return
    if t.clock >= t.until - 1e-9:
        if t.clock >= off - 1e-6:
            fall_of_night(state)
        elif t.gap_left <= 1.0:
            open_window(state, floor)
