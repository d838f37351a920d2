"""Inner: the compiled rules of the inner loop of a watched tick, and nothing round them.

What goes over pairs and moves calm fish: by profile four fifths of a watched tick. Left out are
the decisions (attacks, cover), chases, contests, meals, and what is slow.
"""

from __future__ import annotations

from sim.compiler import rule_entry
from sim.rules.codes import IN_TANK, SWIM
from sim.rules.look import count_together, gather, look_round
from sim.rules.move import change_layer, cruise, steer
from sim.state import State
from sim.tables import Floor


def inner_ticks(state: State, floor: Floor, ticks: int) -> None:
    """Advance calm fish by so many ticks in which nobody decides anything."""
    t = state.tank[0]
    s = state.settings[0]
    fish = state.fish
    dt = s.tick * s.look_every
    for _ in range(ticks):
        t.tick += 1
        if t.tick % s.look_every == 0:
            gather(state, floor, dt, True)
            count_together(state)
            look_round(state, floor, dt, True)
            for i in range(len(fish)):
                if fish[i].presence == IN_TANK and fish[i].act == SWIM:
                    if fish[i].room < 0:
                        change_layer(state, floor, i, dt)
                    steer(state, floor, i, dt)
        for i in range(len(fish)):
            if fish[i].presence == IN_TANK and fish[i].act == SWIM:
                cruise(state, floor, i)


ticks_of_rules = rule_entry(inner_ticks)
