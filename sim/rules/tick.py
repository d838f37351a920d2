"""Tick: the order of the rules in watched time.

1. the clock
2. every second tick, each fish looks: sees, schools, fears, claims, attacks, seeks cover
3. every second tick, each calm fish may change its layer, and steers
4. calm fish cruise along their headings
5. chases are swept in sub-steps
6. contests that have run their time are concluded
7. every fifty ticks, what is slow: healing, memory, sites, brood, newcomers, ground held
"""

from __future__ import annotations

from sim.compiler import only_rule, rule
from sim.rules.arrive import arrive
from sim.rules.attack import weigh_pairs
from sim.rules.breed import brood_clock
from sim.rules.chase import pursue
from sim.rules.claim import measure_ground
from sim.rules.codes import CONTEST, IN_TANK, NOT_YET, PURSUE, SWIM
from sim.rules.encounter import contest_tick
from sim.rules.familiar import grow_familiar
from sim.rules.heal import pass_time
from sim.rules.hours import day_row
from sim.rules.hunt import grow_hungry
from sim.rules.look import look
from sim.rules.move import change_layer, cruise, steer
from sim.rules.pair import pair_clocks
from sim.rules.passage import try_doorways
from sim.rules.settle import own_clocks
from sim.state import State
from sim.tables import Floor

GROUND_EVERY = 1800.0  # s of waking time between measurements of the ground held


@rule
def newcomers(state: State, floor: Floor) -> None:
    """Put in the fish whose day has come."""
    t = state.tank[0]
    for i in range(len(state.fish)):
        if state.fish[i].presence == NOT_YET and state.fish[i].join_time <= t.clock:
            arrive(state, floor, i)


@rule
def slow_update(state: State, floor: Floor, dt: float) -> None:
    """Let `dt` seconds of waking time do what is slow.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    dt
        Waking seconds since the last slow update.
    """
    t = state.tank[0]
    t.awake += dt
    day = state.days[day_row(state)]
    pass_time(state, dt)
    grow_familiar(state, floor, dt)
    grow_hungry(state, dt)
    newcomers(state, floor)
    brood_clock(state, floor, dt)
    pair_clocks(state, floor, dt)
    own_clocks(state, floor, dt)
    try_doorways(state, floor, dt)
    t.held_s += t.held_now * dt
    t.area_time += dt
    day.held_s += t.held_now * dt
    day.area_time += dt
    for i in range(len(state.fish)):
        if state.fish[i].presence == IN_TANK:
            state.tally[i].awake_s += dt
            day.awake_s += dt
    if t.awake >= t.next_area or t.changed == 1:
        t.held_now = measure_ground(state, floor)
        t.next_area = t.awake + GROUND_EVERY
        if t.changed == 1:
            t.changed = 2  # seen here; the window or leap takes note when it ends
    weigh_pairs(state)
    day.stage = t.stage


@only_rule
def tick(state: State, floor: Floor) -> None:
    """Advance the tank by one tick of watched time.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    """
    t = state.tank[0]
    s = state.settings[0]
    fish = state.fish
    n = len(fish)
    t.tick += 1
    t.clock += s.tick
    t.watched_s += s.tick
    if t.tick % s.look_every == 0:
        look(state, floor)
        dt = s.tick * s.look_every
        for i in range(n):
            if fish[i].presence == IN_TANK and fish[i].act == SWIM:
                if fish[i].room < 0:
                    change_layer(state, floor, i, dt)
                steer(state, floor, i, dt)
    for i in range(n):
        if fish[i].presence == IN_TANK and fish[i].act == SWIM:
            cruise(state, floor, i)
    for i in range(n):
        if fish[i].presence != IN_TANK:
            continue
        if fish[i].act == PURSUE:
            pursue(state, floor, i)
        elif fish[i].act == CONTEST:
            contest_tick(state, floor, i)
    t.since_beat += 1
    if t.since_beat >= s.beat_every:
        dt = t.since_beat * s.tick
        t.since_beat = 0
        slow_update(state, floor, dt)
