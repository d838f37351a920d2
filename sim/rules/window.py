"""Window: which stretches of time are watched tick by tick, and which are leapt.

A window lasts two minutes, a gap 0.3 of the waking time since the last change of the tank, at
least five minutes and at most four hours. A change (somebody took or lost a site, a rank was
reversed, a stage of the brood, a newcomer, a serious injury, a death) ends the gap, forgets the
pooled exposures and opens a window, so that the first hours after it are watched almost whole.
A window is not closed on a chase or a contest.
"""

from __future__ import annotations

from sim.compiler import rule
from sim.rules.attack import busy, weigh_pairs
from sim.rules.bite import injury
from sim.rules.codes import IN_TANK, LEAPT, NIGHT, NOWHERE, SWIM, WATCHED
from sim.rules.heal import pass_time
from sim.rules.hours import DAY, lights_off
from sim.rules.tick import newcomers, slow_update
from sim.state import State
from sim.tables import Floor



@rule
def open_window(state: State) -> None:
    """Begin to watch."""
    t = state.tank[0]
    s = state.settings[0]
    t.phase = WATCHED
    t.windows += 1
    t.until = t.clock + s.window
    t.burn_until = t.clock + s.burn
    t.window_time = 0.0
    t.since_beat = 0
    fish = state.fish
    for i in range(len(fish)):
        fish[i].hidden_window = 0.0
        fish[i].corner_window = 0.0
        for j in range(len(fish)):
            state.pair[i, j].window_exposure = 0.0


@rule
def forget(state: State) -> None:
    """Forget the pooled exposures: the tank is no longer what they were measured in."""
    t = state.tank[0]
    t.pool_time = 0.0
    for i in range(len(state.fish)):
        state.fish[i].hidden_pool = 0.0
        state.fish[i].corner_pool = 0.0
        for j in range(len(state.fish)):
            state.pair[i, j].exposure = 0.0


@rule
def take_change(state: State) -> None:
    """Note that the tank has changed now."""
    t = state.tank[0]
    t.changed = 0
    t.changes += 1
    t.last_change = t.awake
    forget(state)


@rule
def pool_window(state: State) -> None:
    """Add the exposures of a window to the pool, the older ones fading."""
    t = state.tank[0]
    keep = state.settings[0].pool_keep
    t.pool_time = keep * t.pool_time + t.window_time
    fish = state.fish
    for i in range(len(fish)):
        f = fish[i]
        f.hidden_pool = keep * f.hidden_pool + f.hidden_window
        f.corner_pool = keep * f.corner_pool + f.corner_window
        for j in range(len(fish)):
            link = state.pair[i, j]
            link.exposure = keep * link.exposure + link.window_exposure


@rule
def flush(state: State, floor: Floor) -> None:
    """Let the slow processes catch up with the ticks since their last update."""
    t = state.tank[0]
    if t.since_beat > 0:
        dt = t.since_beat * state.settings[0].tick
        t.since_beat = 0
        slow_update(state, floor, dt)


@rule
def close_window(state: State, floor: Floor) -> None:
    """End a window that has run its time: go on watching, leap, or let the night fall."""
    t = state.tank[0]
    s = state.settings[0]
    off = lights_off(state)
    night = t.clock >= off
    if busy(state):
        return
    flush(state, floor)
    pool_window(state)
    if t.changed > 0:
        take_change(state)
    if night:
        fall_of_night(state)
        return
    if s.all == 1:
        open_window(state)
        t.until = off
        return
    gap = min(max(s.gap_share * (t.awake - t.last_change), s.gap_least), s.gap_most)
    t.phase = LEAPT
    t.until = min(t.clock + gap, off)
    if t.until - t.clock < 1.0:
        open_window(state)


@rule
def fall_of_night(state: State) -> None:
    """Close the day's row and begin the night, in which fish rest and heal."""
    t = state.tank[0]
    day = state.days[min(int((t.clock - 1.0) / DAY), len(state.days) - 1)]
    total = 0.0
    alive = 0
    for i in range(len(state.fish)):
        f = state.fish[i]
        if f.presence == IN_TANK:
            f.act = SWIM
            f.target = -1
            total += injury(state, i)
            alive += 1
            if f.room < 0:
                f.goal = NOWHERE
                f.hiding = 0
    day.injury = total / alive if alive > 0 else 0.0
    day.alive = alive
    t.phase = NIGHT
    t.until = (int((t.clock - 1.0) / DAY) + 1) * DAY + t.light_on


@rule
def night(state: State, floor: Floor) -> None:
    """Pass a night: fish rest and heal, nobody attacks (assumed)."""
    t = state.tank[0]
    pass_time(state, t.until - t.clock)
    t.clock = t.until
    newcomers(state, floor)
    weigh_pairs(state)
    open_window(state)
