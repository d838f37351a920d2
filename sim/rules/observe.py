"""Observe: acts counted one by one in stretches of time that somebody watches, as with a pad.

An *agonistic act* is one of four things: a display, a bite, an act of mouth wrestling, a chase.

- An attack that goes no further is one display.
- A contest gives one act every `act_time`, of the kind of its phase: displays, then bites (tail
  beats among them), then mouth wrestling; the two fish act in turn.
- A chase is one act, and each bite that lands in it is one more.

Counting changes nothing in the tank. A stretch that is a *meeting* is decided by the first contest
won or the first fish that leaves without one; where its file says so it ends there.

References
----------
Boscolo2011 (acts counted over ten minutes a day). What counts as one act is assumed; the number of
acts in a minute of contest hangs on it.
"""

from __future__ import annotations

from sim.compiler import rule
from sim.rules.contest import phase_ends
from sim.state import State

DISPLAY_ACT, BITE_ACT, WRESTLE_ACT, CHASE_ACT = range(4)


@rule
def stretch_now(state: State) -> int:
    """Return the stretch that is under way or comes next, -1 where none is asked for."""
    t = state.tank[0]
    n = len(state.stretches)
    if n == 0:
        return -1
    while t.stretch + 1 < n and state.stretches[t.stretch + 1].start <= t.clock:
        t.stretch += 1
    return t.stretch


@rule
def count_act(state: State, i: int, j: int, kind: int) -> None:
    """Count one act of fish `i` toward fish `j`, where somebody watches."""
    k = stretch_now(state)
    if k < 0:
        return
    now = state.tank[0].clock
    stretch = state.stretches[k]
    if now < stretch.start or now >= stretch.end:
        return
    stretch.first_act = min(stretch.first_act, now)
    row = state.seen[k, i, j]
    if kind == DISPLAY_ACT:
        row.displays += 1
    elif kind == BITE_ACT:
        row.bites += 1
    elif kind == WRESTLE_ACT:
        row.wrestles += 1
    else:
        row.chases += 1


@rule
def watch_contest(state: State, i: int, j: int, before: float, now: float) -> None:
    """Count the acts of a contest that fall between two moments of it.

    Parameters
    ----------
    state
        State of the run.
    i, j
        The fish that opened it and the other.
    before, now
        Seconds since it began, at the last tick and at this one.
    """
    if len(state.stretches) == 0:
        return
    each = state.par[0].act_time
    done = int(before / each)
    acts = int(now / each)
    if acts == done:
        return
    display, biting = phase_ends(state, i, j, state.pair[min(i, j), max(i, j)].bouts)
    for act in range(done, acts):
        at = (act + 1) * each
        kind = WRESTLE_ACT
        if at <= display:
            kind = DISPLAY_ACT
        elif at <= biting:
            kind = BITE_ACT
        if act % 2 == 0:
            count_act(state, i, j, kind)
        else:
            count_act(state, j, i, kind)


@rule
def note_contest(state: State, i: int, j: int, outcome: int, seconds: float) -> None:
    """Note a contest that has ended in a watched stretch: how long, and how far it went."""
    k = stretch_now(state)
    if k < 0 or state.tank[0].clock < state.stretches[k].start:
        return
    stretch = state.stretches[k]
    if state.tank[0].clock - seconds >= stretch.end:
        return
    display, biting = phase_ends(state, i, j, state.pair[min(i, j), max(i, j)].bouts)
    row = state.seen[k, i, j]
    row.contests += 1
    row.contest_s += seconds
    row.display_s += min(seconds, display)
    row.biting_s += min(max(seconds - display, 0.0), biting - display)
    row.wrestling_s += max(seconds - biting, 0.0)
    if outcome == 1:
        note_decided(state, i, j)
    elif outcome == -1:
        note_decided(state, j, i)


@rule
def note_decided(state: State, winner: int, loser: int) -> None:
    """Note who won the stretch under way, and let time stand still where that ends it."""
    k = stretch_now(state)
    if k < 0:
        return
    t = state.tank[0]
    stretch = state.stretches[k]
    if stretch.winner >= 0 or t.clock < stretch.start or stretch.over == 1:
        return
    stretch.winner = winner
    stretch.loser = loser
    stretch.decided_at = t.clock
    if stretch.until_decided == 1:
        t.stop_at = min(t.stop_at, t.clock)
