"""Occasions: what the scenario and the keeper do to a tank, each at its time between two strides.

The list of a scenario's events is fixed; how far a run has come in it, and when its keeper looks
next, stand in the state, so a copy of the state goes on as the run itself would.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sim.day_zero import DayZero, begin_to_count
from sim.furniture import event_time_s
from sim.keeper import Keeper, keeper_of, look_in
from sim.observing import Stretch, fish_rows, role_of, stretches_of
from sim.refurnish import refurnish
from sim.rules.codes import DEAD
from sim.rules.occasion import (
    CATCH_UP,
    GO_ON,
    LIGHTS,
    PUT_IN,
    STIR,
    TAKE_FRY,
    TAKE_OUT,
    WATCH,
    do,
)
from sim.state import NEVER

if TYPE_CHECKING:
    from sim.care import Event
    from sim.layout import Layout
    from sim.scenario import Scenario
    from sim.state import State

SOON_S = 1e-6
STOP_S = 1e-9  # as `sim.rules.advance.stopped`: both must tell alike, however one steps


@dataclass(frozen=True, slots=True)
class Occasion:
    """One thing that happens to a tank at a time that is known beforehand.

    Parameters
    ----------
    time_s
        Since midnight of day 0.
    event
        The event of the scenario; None where fish of `who` join.
    who
        Rows of the fish it is done to.
    stage
        Stage of the furniture from then on.
    zero
        Where day 0 of a tank that has settled begins; then it is nothing else.
    """

    time_s: float
    event: Event | None
    who: tuple[int, ...]
    stage: int
    zero: DayZero | None = None


class Occasions:
    """All that is done to a tank from outside, in the order of time.

    Parameters
    ----------
    scenario, layout
        The scenario as it is lived, and its layout.
    zero
        When it begins to count, where the tank settles first. Nothing is done to it before.
    """

    def __init__(self, scenario: Scenario, layout: Layout, zero: DayZero | None = None) -> None:
        self.layout = layout
        self.zero = zero
        self.keeper: Keeper | None = keeper_of(scenario.keeper_plan)
        self.fixed = fixed_occasions(scenario, layout, zero)
        self.stretches = stretches_of(scenario)
        self.rows = fish_rows(scenario)

    def prepare(self, state: State) -> None:
        """Set the first stop of a run that has just begun, and do what is due at once."""
        if self.keeper is not None:
            begin_s = self.zero.time_s if self.zero else float(state.tank.clock[0])
            state.tank.next_check = self.keeper.next_look(begin_s - SOON_S)
        self.serve(state)

    def due(self, state: State) -> bool:
        """Return whether something is to be done now."""
        return bool(state.tank.clock[0] >= state.tank.stop_at[0] - STOP_S)

    def serve(self, state: State) -> None:
        """Do all that is due, and set the next stop.

        Parameters
        ----------
        state
            State of the run, between two strides, with nobody in a chase or a contest.
        """
        tank = state.tank[0]
        now = float(tank.clock)
        floors = self.layout.floors()
        started = changed = refurnished = False
        if self.stretches:
            changed = started = self._end_stretch(state)
        while True:
            k = int(tank.next_event)
            event_s = self.fixed[k].time_s if k < len(self.fixed) else NEVER
            check_s = float(tank.next_check)
            if min(event_s, check_s) > now + SOON_S:
                break
            if not started:
                do(state, floors[int(tank.furniture)], CATCH_UP, -1, 0.0, 0.0)
                started = True
            if event_s <= check_s:
                refurnished |= self._happen(state, self.fixed[k])
                tank.next_event = k + 1
                changed |= self.fixed[k].zero is None
            else:
                assert self.keeper is not None
                changed |= look_in(state, floors[int(tank.furniture)], self.keeper)
                tank.next_check = self.keeper.next_look(max(check_s, now))
        tank.stop_at = min(event_s, check_s)
        if self.stretches:
            changed |= self._begin_stretch(state, caught_up=started)
            tank.stop_at = min(float(tank.stop_at), self._next_watch_s(state))
        if changed:
            do(state, floors[int(tank.furniture)], GO_ON, int(refurnished), 0.0, 0.0)

    def _next_watch_s(self, state: State) -> float:
        """Return when the stretch in hand begins or ends, as far as is known."""
        k = int(state.tank.next_stretch[0])
        if k >= len(self.stretches):
            return NEVER
        under_way = state.tank.watch_until[0] >= self.stretches[k].end_s
        return self.stretches[k].end_s if under_way else self.stretches[k].start_s

    def _begin_stretch(self, state: State, *, caught_up: bool) -> bool:
        """Begin to watch where a stretch is due; return whether fish were put in for it."""
        tank = state.tank[0]
        k = int(tank.next_stretch)
        if k >= len(self.stretches) or tank.watch_until >= self.stretches[k].end_s:
            return False
        if self.stretches[k].start_s > float(tank.clock) + SOON_S:
            return False
        floor = self.layout.floors()[int(tank.furniture)]
        who = self._called(state, self.stretches[k])
        if who is None:
            state.stretches.missed[k] = 1
            who = ()
        if not caught_up:
            do(state, floor, CATCH_UP, -1, 0.0, 0.0)
        tank.watch_until = self.stretches[k].end_s
        for i in who:
            do(state, floor, PUT_IN, i, 0.0, 0.0)
        do(state, floor, WATCH, -1, 0.0, 0.0)
        return bool(who)

    def _end_stretch(self, state: State) -> bool:
        """End the stretch that is over; return whether fish were taken out after it."""
        tank = state.tank[0]
        k = int(tank.next_stretch)
        if k >= len(self.stretches) or tank.watch_until < self.stretches[k].end_s:
            return False
        row = state.stretches[k]
        decided = row.until_decided == 1 and row.winner >= 0
        if not decided and self.stretches[k].end_s > float(tank.clock) + SOON_S:
            return False
        row.over = 1
        row.ended = tank.clock
        tank.next_stretch = k + 1
        tank.watch_until = 0.0
        who = () if row.missed == 1 else self._called(state, self.stretches[k]) or ()
        if who:
            floor = self.layout.floors()[int(tank.furniture)]
            do(state, floor, CATCH_UP, -1, 0.0, 0.0)
            for i in who:
                do(state, floor, TAKE_OUT, i, 0.0, 0.0)
        return bool(who)

    def _called(self, state: State, stretch: Stretch) -> tuple[int, ...] | None:
        """Return the rows of those a meeting is for; None where one is not to be had."""
        found: list[int] = []
        for name in stretch.fish:
            role = role_of(name)
            if role is None:
                found += self.rows[name.lower()]
                continue
            which = [k for k, one in enumerate(self.stretches) if one.name.lower() == role[1]][-1]
            field = "winner" if role[0] == "winner of" else "loser"
            found.append(int(state.stretches[field][which]))
        if any(i < 0 or state.fish.presence[i] == DEAD for i in found):
            return None
        return tuple(found)

    def _happen(self, state: State, what: Occasion) -> bool:
        """Let one occasion happen; return whether the furniture changed."""
        if what.zero is not None:
            begin_to_count(state, what.zero)
            return False
        tank, event = state.tank[0], what.event
        before = int(tank.furniture)
        if what.stage != before:
            stages = self.layout.stages
            moved = event is not None and event.do == "re-arrange"
            tank.furniture = what.stage
            refurnish(state, stages[before], stages[what.stage], rearranged=moved)
        floor = self.layout.floors()[what.stage]
        if event is None:
            for i in what.who:
                do(state, floor, PUT_IN, i, 0.0, 0.0)
            return False
        if event.place is not None:
            for i in what.who:
                state.fish.put_x[i], state.fish.put_y[i] = event.place
        if event.do in ("take out", "divider in"):
            for i in what.who:
                do(state, floor, TAKE_OUT, i, 0.0, 0.0)
        if event.do in ("bring back", "divider in"):
            for i in what.who:
                do(state, floor, PUT_IN, i, 0.0, 0.0)
        if event.do == "water change":
            do(state, floor, STIR, -1, float(event.share or 0.0), 0.0)
        elif event.do == "take the fry":
            do(state, floor, TAKE_FRY, -1, 0.0, 0.0)
        elif event.do == "lights":
            on_s, off_s = float(tank.light_on), float(tank.light_off)
            hours_s = off_s - on_s
            if event.lights_on_h is not None:
                on_s = 3600.0 * event.lights_on_h
            if event.light_hours is not None:
                hours_s = 3600.0 * event.light_hours
            do(state, floor, LIGHTS, -1, on_s, on_s + hours_s)
        return what.stage != before


def fixed_occasions(
    scenario: Scenario, layout: Layout, zero: DayZero | None = None
) -> tuple[Occasion, ...]:
    """Return what happens at times that are known beforehand, in their order.

    Parameters
    ----------
    scenario, layout
        The scenario as it is lived, and its layout.
    zero
        When it begins to count; that comes first, and what is due earlier is done then.
    """
    first_s = zero.time_s if zero else 0.0
    rows = fish_rows(scenario)
    joins = [
        Occasion(
            max(86400.0 * group.joins_day + 3600.0 * group.joins_at_h, first_s),
            None,
            rows[group.name.lower()],
            0,
        )
        for group in scenario.fish
        if group.joins_at_h is not None
    ]
    found: list[tuple[float, int, Occasion]] = [(j.time_s, -1, j) for j in joins]
    if zero:
        found.append((zero.time_s, -2, Occasion(zero.time_s, None, (), 0, zero)))
    for number, k in enumerate(layout.furniture.order if scenario.events else ()):
        event = scenario.events[k]
        who = tuple(sorted({i for name in event.fish for i in rows.get(name.lower(), ())}))
        time_s = max(event_time_s(scenario, event), first_s)
        stage = layout.furniture.after[k]
        found.append((time_s, number, Occasion(time_s, event, who, stage)))
    found.sort(key=lambda one: one[:2])
    stage, ordered = 0, []
    for _, _, one in found:
        if one.event is None:
            one = replace(one, stage=stage)
        stage = one.stage
        ordered.append(one)
    return tuple(ordered)
