r"""Leap: unwatched time, from the exposures of watched time and the slow state of the moment.

In pieces of at most ten minutes, and no longer than lets a few attacks of the busiest pair fall,
each ordered pair draws

.. math:: N_{ij} \sim \mathrm{Poisson}(\mathrm{slow}_{ij}(t)\; \bar E_{ij}\; \Delta t)

attacks, with :math:`\bar E` the pooled exposure a second. Each attack is decided, each contest
fought by the rules of watched time; each chase draws its bites and its end from the watched
chases. Injury, fear and learning act inside the piece, so one seen event never stands for many.
Own clocks and stages end a piece where they fall due, and a change of the tank ends the leap.
"""

from __future__ import annotations

from sim.compiler import rule
from sim.draws import LEAP, chain, poisson
from sim.rules.codes import FRY, IN_TANK, NOT_YET
from sim.rules.contest import pair_key
from sim.rules.encounter import leapt_attack
from sim.rules.hours import day_row, lights_off
from sim.rules.settle import time_to_own_event
from sim.rules.tick import slow_update
from sim.rules.window import fall_of_night, open_window, take_change
from sim.state import State
from sim.tables import Floor


@rule
def piece_length(state: State) -> float:
    """Return how long (s) the coming piece of a leap may be."""
    t = state.tank[0]
    s = state.settings[0]
    dt = min(s.piece, t.until - t.clock)
    n = len(state.fish)
    busiest = 0.0
    if t.pool_time > 0.0:
        for i in range(n):
            for j in range(n):
                rate = state.pair[i, j].slow * state.pair[i, j].exposure / t.pool_time
                busiest = max(busiest, rate)
    if busiest * dt > s.piece_events:
        dt = max(s.piece_events / busiest, 30.0)
    dt = min(dt, time_to_own_event(state) + 0.5)
    if t.breeding == 1 and t.no_brood == 0 and t.stage_until > t.clock:
        dt = min(dt, t.stage_until - t.clock + 0.5)
    if t.stage == FRY:
        dt = min(dt, max(60.0, t.fry_left * 60.0 * state.par[0].fry_step_time + 0.5))
    for i in range(n):
        f = state.fish[i]
        if f.presence == NOT_YET and f.join_time > t.clock:
            dt = min(dt, f.join_time - t.clock)
    return max(min(dt, t.until - t.clock), 0.2)


@rule
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
    if t.pool_time > 0.0:
        for i in range(n):
            if fish[i].presence != IN_TANK:
                continue
            hidden = dt * min(fish[i].hidden_pool / t.pool_time, 1.0)
            state.tally[i].hidden_s += hidden
            state.days[day_row(state)].hidden_s += hidden
            state.tally[i].corner_s += dt * min(fish[i].corner_pool / t.pool_time, 1.0)
            for j in range(n):
                mean = state.pair[i, j].slow * state.pair[i, j].exposure / t.pool_time * dt
                if mean <= 0.0 or fish[j].presence != IN_TANK:
                    continue
                key = chain(pair_key(state, i, j, LEAP), t.pieces)
                for _ in range(poisson(key, mean)):
                    if fish[i].presence == IN_TANK and fish[j].presence == IN_TANK:
                        leapt_attack(state, floor, i, j)
    t.clock += dt
    slow_update(state, floor, dt)
    off = lights_off(state)
    if t.changed > 0:
        take_change(state)
        if t.clock < off:
            open_window(state)
            return
    if t.clock >= t.until - 1e-9:
        if t.clock >= off - 1e-6:
            fall_of_night(state)
        else:
            open_window(state)
