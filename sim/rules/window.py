"""Window: which stretches of time are watched tick by tick, and which are leapt.

A window lasts four minutes, a gap 0.15 of the waking time since the last change, at
least five minutes and at most three hours, drawn about that and carried over the night; after the
first 30 days twice as much. A change
(somebody took or lost a site, a rank was reversed, a stage of the brood, a newcomer, a serious
injury, a death) ends the gap, fades the pooled exposures and opens a window, so that the first
hours after it are watched densely. A window is not closed on a chase or a contest.
"""

from __future__ import annotations

from sim.compiler import rule
from sim.draws import LEAP, chain, uniform
from sim.rules.attack import busy, weigh_pairs
from sim.rules.bite import injury
from sim.rules.borrow import set_rates
from sim.rules.codes import EGGS, FRY, IN_TANK, LEAPT, MOVED_OUT, NIGHT, SWIM, WATCHED, WRIGGLERS
from sim.rules.dark import night_visits
from sim.rules.familiar import grow_familiar
from sim.rules.fear import draw_cover
from sim.rules.grow import digest
from sim.rules.heal import pass_time
from sim.rules.hours import DAY, lights_off, lights_on
from sim.rules.mate import has_young
from sim.rules.tick import newcomers, slow_update
from sim.rules.young import begin_visits, eat_at_night, pool_visits
from sim.state import State
from sim.tables import Floor

KEPT = 2.0  # windows


@rule
def open_window(state: State, floor: Floor) -> None:
    """Begin to watch: who is in cover is drawn for the time that was leapt."""
    t = state.tank[0]
    s = state.settings[0]
    t.phase = WATCHED
    t.windows += 1
    t.until = t.clock + s.window if s.watch_all == 0 else lights_off(state)
    t.burn_until = t.clock + s.burn
    t.window_time = 0.0
    t.gap_left = 0.0
    t.since_beat = 0
    fish = state.fish
    if t.leapt == 1:
        for i in range(len(fish)):
            if fish[i].presence == IN_TANK:
                draw_cover(state, floor, i)
        t.leapt = 0
    for i in range(len(fish)):
        fish[i].covered_window = 0.0
        fish[i].hidden_window = 0.0
        fish[i].corner_window = 0.0
        for j in range(len(fish)):
            state.pair[i, j].window_exposure = 0.0
            state.pair[i, j].window_exposure_covered = 0.0
            state.together[0, i, j] = 0.0
            state.together[1, i, j] = 0.0
    begin_visits(state)


@rule
def scale_exposures(state: State, keep: float) -> None:
    """Let all pooled exposures and times in cover keep a share of their weight."""
    state.tank[0].pool_weight *= keep
    state.tank[0].pool_square *= keep * keep
    for i in range(len(state.fish)):
        state.fish[i].covered_pool *= keep
        state.fish[i].hidden_pool *= keep
        state.fish[i].corner_pool *= keep
        for j in range(len(state.fish)):
            state.pair[i, j].exposure *= keep
            state.pair[i, j].free *= keep
            state.pair[i, j].exposure_covered *= keep
            state.pair[i, j].free_covered *= keep


@rule
def fade_pool(state: State) -> None:
    """Fade the pooled exposures until they weigh no more than `KEPT` windows just after a change.

    The tank is no longer what they were measured in; but a pair of which nothing new has been
    seen yet is better guessed from before than left out.
    """
    t = state.tank[0]
    window = state.settings[0].window
    most = KEPT * window * window
    if t.pool_time <= most:
        return
    keep = most / t.pool_time
    t.pool_time = most
    scale_exposures(state, keep)
    for k in range(len(state.pool)):
        state.pool[k].weight *= keep


@rule
def take_change(state: State) -> None:
    """Note that the tank has changed now."""
    t = state.tank[0]
    t.changed = 0
    t.changes += 1
    t.last_change = t.awake
    t.gap_left = 0.0
    t.stands_for = state.settings[0].window
    fade_pool(state)


@rule
def pool_window(state: State) -> None:
    """Add the exposures of a window to the pool, the older ones fading.

    A window counts by the stretch of time it speaks for. Counted alike, the many windows just
    after a change would outweigh the quiet days, and the leaps would lag behind the tank.
    """
    t = state.tank[0]
    keep = state.settings[0].pool_keep
    w = t.stands_for
    t.pool_time = keep * t.pool_time + w * t.window_time
    t.pool_weight = keep * t.pool_weight + w
    t.pool_square = keep * keep * t.pool_square + w * w
    for k in range(len(state.pool)):
        state.pool[k].weight *= keep
    pool_visits(state, keep, w)
    fish = state.fish
    for i in range(len(fish)):
        f = fish[i]
        f.cover = float(f.hiding)
        f.covered_pool = keep * f.covered_pool + w * f.covered_window
        f.hidden_pool = keep * f.hidden_pool + w * f.hidden_window
        f.corner_pool = keep * f.corner_pool + w * f.corner_window
        f.shown *= keep
        for j in range(len(fish)):
            link = state.pair[i, j]
            link.saw *= keep
            link.exposure = keep * link.exposure + w * link.window_exposure
            link.free = keep * link.free + w * state.together[0, i, j]
            link.exposure_covered = keep * link.exposure_covered + w * link.window_exposure_covered
            link.free_covered = keep * link.free_covered + w * state.together[1, i, j]


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
    t.stands_for = s.window
    if t.changed > 0:
        take_change(state)
    if night:
        fall_of_night(state)
        return
    if s.watch_all == 1 or t.clock < t.watch_until:
        open_window(state, floor)
        return
    begin_gap(state, draw_gap(state))


@rule
def draw_gap(state: State) -> float:
    """Return how much waking time (s) to leap after the window that ends now.

    Half to one and a half times what the time since the last change allows, so that windows fall
    on every hour of the day alike.
    """
    t = state.tank[0]
    s = state.settings[0]
    late = s.late_gaps if t.clock >= s.late else 1.0
    allowed = late * s.gap_share * (t.awake - t.last_change)
    gap = min(max(allowed, s.gap_least), late * s.gap_most)
    return gap * (0.5 + uniform(chain(chain(t.seed, LEAP), t.windows)))


@rule
def begin_gap(state: State, gap: float) -> None:
    """Leap for `gap` seconds of waking time, over the night where they reach so far."""
    t = state.tank[0]
    set_rates(state)
    t.phase = LEAPT
    t.until = min(t.clock + gap, lights_off(state))
    t.gap_left = gap - (t.until - t.clock)
    t.stands_for += gap


@rule
def fall_of_night(state: State) -> None:
    """Close the day's row and begin the night, in which fish rest and heal."""
    t = state.tank[0]
    day = state.days[min(int((t.clock - 1.0) / DAY), len(state.days) - 1)]
    total = 0.0
    alive = 0
    out = 0
    for i in range(len(state.fish)):
        f = state.fish[i]
        if f.presence == IN_TANK:
            f.act = SWIM
            f.target = -1
            total += injury(state, i)
            alive += 1
        elif f.presence == MOVED_OUT:
            out += 1
    day.injury = total / alive if alive > 0 else 0.0
    day.alive = alive
    day.moved_out = out
    day.places_needed = t.places_needed
    t.phase = NIGHT
    t.until = lights_on(state)


@rule
def pass_night(state: State, floor: Floor, dt: float) -> None:
    """Let `dt` seconds of darkness do what they do: who is about at night comes upon a nest."""
    t = state.tank[0]
    grow_familiar(state, floor, dt)
    if t.breeding == 0 or t.no_brood == 1 or t.stage < EGGS or t.stage > WRIGGLERS:
        return
    for k in range(len(state.broods)):
        if has_young(state, k) and state.broods[k].stage != FRY:
            for i in range(len(state.fish)):
                if state.fish[i].brood != k:
                    eat_at_night(state, k, i, night_visits(state, i, dt / 3600.0))
            return  # who is about by night finds the first nest


@rule
def night(state: State, floor: Floor) -> None:
    """Pass a night, or its part up to a stop: fish rest and heal, nobody attacks (assumed)."""
    t = state.tank[0]
    to = min(t.until, t.stop_at) if t.stop_at > t.clock else t.until
    pass_night(state, floor, to - t.clock)
    pass_time(state, to - t.clock)
    t.clock = to
    newcomers(state, floor)
    weigh_pairs(state)
    if to < t.until:
        return
    digest(state, floor)
    if t.changed > 0:
        take_change(state)
    if t.gap_left > 1.0 and state.settings[0].watch_all == 0:
        t.stands_for -= t.gap_left
        begin_gap(state, t.gap_left)
    else:
        open_window(state, floor)
