"""Keeper: looks at the tank at certain hours, and moves out who is hurt, or who hurts.

At a check every fish in the tank that is seriously hurt calls for a move: its own, or that of the
fish that has bitten it most since the last check. A move needs a spare place. A fish that was
moved out comes back at the first check after its time, once it is not seriously hurt any more.
Between checks, and on days away, nobody sees anything.

References
----------
None: what a keeper sees and does is assumed, common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.furniture import DAY_S
from sim.rules.codes import IN_TANK, MOVED_OUT
from sim.rules.occasion import MOVE_OUT, PUT_IN, do
from sim.state import NEVER, State

if TYPE_CHECKING:
    from sim.care import KeeperPlan
    from sim.tables import Floor


@dataclass(frozen=True, slots=True)
class Keeper:
    """A keeper's plan, as seconds.

    Parameters
    ----------
    hours_s
        Times of day of a look, in order, s after midnight.
    away
        First and last day of each absence.
    moves
        "victim", "bully" or "nobody".
    places
        Spare places.
    back_s
        How long a moved fish stays out at least; `None` for good.
    """

    hours_s: tuple[float, ...]
    away: tuple[tuple[float, float], ...]
    moves: str
    places: int
    back_s: float | None

    def next_look(self, after_s: float) -> float:
        """Return the time (s) of the first look later than `after_s`; `NEVER` without looks."""
        if not self.hours_s:
            return NEVER
        day = int(after_s // DAY_S)
        last = int(max((end for _, end in self.away), default=0.0)) + day + 2
        while day <= last:
            if not any(start <= day <= end for start, end in self.away):
                for hour in self.hours_s:
                    if day * DAY_S + hour > after_s:
                        return day * DAY_S + hour
            day += 1
        return NEVER


def keeper_of(plan: KeeperPlan | None) -> Keeper | None:
    """Return the keeper of a plan; None where nobody looks."""
    if plan is None or not plan.checks_at:
        return None
    return Keeper(
        hours_s=tuple(sorted({3600.0 * hour for hour in plan.checks_at})),
        away=plan.away_days,
        moves=plan.moves,
        places=plan.spare_places,
        back_s=None if plan.back_after_days is None else DAY_S * plan.back_after_days,
    )


def hurt_now(state: State) -> list[int]:
    """Return the fish in the tank that are seriously hurt, the worst first."""
    injury = np.minimum(1.0, state.fish.skin + state.fish.scales)
    there = state.fish.presence == IN_TANK
    hurt = np.flatnonzero(there & (injury >= state.par.serious_injury[0]))
    return sorted(hurt.tolist(), key=lambda i: (-injury[i], i))


def bully_of(state: State, victim: int) -> int:
    """Return the fish in the tank that bit `victim` most since the last look; -1 for none."""
    bites = state.pair.bites[:, victim] - state.pair.bites_noted[:, victim]
    bites = np.where(state.fish.presence == IN_TANK, bites, 0)
    return int(np.argmax(bites)) if bites.max() > 0 else -1


def look_in(state: State, floor: Floor, keeper: Keeper) -> bool:
    """Let the keeper look once, and do what the plan says.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout; the slow processes have caught up.
    keeper
        The plan.

    Returns
    -------
    bool
        Whether anybody was moved.
    """
    tank, fish = state.tank[0], state.fish
    now = float(tank.clock)
    moved = False
    hurt = np.minimum(1.0, fish.skin + fish.scales) >= state.par.serious_injury[0]
    for i in np.flatnonzero((fish.presence == MOVED_OUT) & (fish.back_at <= now) & ~hurt).tolist():
        do(state, floor, PUT_IN, i, 0.0, 0.0)
        moved = True
    wanted: list[int] = []
    for victim in hurt_now(state):
        who = bully_of(state, victim) if keeper.moves == "bully" else victim
        if who >= 0 and who not in wanted:
            wanted.append(who)
    out = int(np.count_nonzero(fish.presence == MOVED_OUT))
    tank.places_needed = max(int(tank.places_needed), out + len(wanted))
    if wanted:
        tank.needed_day = min(float(tank.needed_day), now / DAY_S)
    if keeper.moves != "nobody":
        for who in wanted:
            if out >= keeper.places:
                tank.short_day = min(float(tank.short_day), now / DAY_S)
                break
            do(state, floor, MOVE_OUT, who, 0.0, 0.0)
            fish.back_at[who] = NEVER if keeper.back_s is None else now + keeper.back_s
            out += 1
            moved = True
    state.pair.bites_noted[:] = state.pair.bites
    day = min(int(now // DAY_S), len(state.days) - 1)
    state.days.places_needed[day] = tank.places_needed
    return moved
