"""What must hold of the events of a scenario, of its keeper and of its lights."""

from __future__ import annotations

from collections.abc import Iterator

from sim.care import Event
from sim.fields import shown
from sim.furniture import BRINGS, TAKES, event_time_s, named_pieces
from sim.naming import member_names
from sim.scenario import Scenario

Fault = tuple[tuple[str | int, ...], str]

DIVIDERS = ("divider", "cleardivider", "meshdivider")
DAY_S = 86400.0


def is_divider(kind: str) -> bool:
    """Return whether a kind of piece is one of the dividers, however it is written."""
    return "".join(letter for letter in kind.lower() if letter not in " -_") in DIVIDERS


def event_faults(scenario: Scenario) -> Iterator[Fault]:
    """What cannot be in the events, the keeper's plan and the lights.

    Parameters
    ----------
    scenario : a scenario whose parts are right one by one.

    Returns
    -------
    place and sentence for each fault.
    """
    yield from _lights(scenario)
    yield from _days(scenario)
    yield from _what_is_where(scenario)
    yield from _fry(scenario)
    yield from _doors(scenario)
    yield from _keeper(scenario)


def _lights(scenario: Scenario) -> Iterator[Fault]:
    on_h, hours = scenario.tank.lights_on_h, scenario.tank.light_hours
    if scenario.tank.dusk_hours * 2 > hours:
        yield (
            ("tank", "dusk_hours"),
            f"got {scenario.tank.dusk_hours:g} h at either end of {hours:g} h of light; expected "
            "at most half of it. Lower it.",
        )
    for index, event in _in_order(scenario):
        if event.do != "lights":
            continue
        on_h = on_h if event.lights_on_h is None else event.lights_on_h
        hours = hours if event.light_hours is None else event.light_hours
        if on_h + hours > 24.0:
            yield (
                ("events", index, "light_hours"),
                f"got light from {on_h:g} h for {hours:g} h, past midnight; expected it to go off "
                "by 24 h. Let it come on earlier, or shorten it.",
            )


def _days(scenario: Scenario) -> Iterator[Fault]:
    for index, event in enumerate(scenario.events):
        if event.on_day >= scenario.days:
            yield (
                ("events", index, "on_day"),
                f"got {event.on_day:g}, when the run is over; expected a day before "
                f"{scenario.days:g}. Lower it, or raise `days`.",
            )


def _in_order(scenario: Scenario) -> list[tuple[int, Event]]:
    events = list(enumerate(scenario.events))
    return sorted(events, key=lambda one: (event_time_s(scenario, one[1]), one[0]))


def _what_is_where(scenario: Scenario) -> Iterator[Fault]:
    """Nothing is taken that is not there, nor brought that is."""
    kinds = {piece.name.lower(): piece.kind for piece in scenario.pieces}
    there = _at_first(scenario)
    groups = {
        name.lower(): {member.lower() for member in member_names(group)}
        for group in scenario.fish
        for name in (group.name, *member_names(group))
    }
    for group in scenario.fish:
        groups.update({name.lower(): {name.lower()} for name in member_names(group)})
    joins = {
        name.lower(): DAY_S * group.joins_day + 3600.0 * (group.joins_at_h or 0.0)
        for group in scenario.fish
        for name in member_names(group)
    }
    moved_by_keeper = scenario.keeper_plan is not None and scenario.keeper_plan.moves != "nobody"
    away: set[str] = set()
    for index, event in _in_order(scenario):
        divider = (event.divider or "").lower()
        if divider in kinds and not is_divider(kinds[divider]):
            yield (
                ("events", index, "divider"),
                f"got {shown(event.divider)}, which is no divider but a {kinds[divider]}; expected "
                "a piece of a kind of divider. Name that.",
            )
        for name in sorted(named_pieces(event) & set(kinds)):
            if event.do in BRINGS and name in there:
                yield ("events", index), _twice(name, "is in the tank by then", "take it out first")
            elif event.do in TAKES and name not in there:
                yield ("events", index), _twice(name, "is not in the tank then", "bring it first")
        there |= named_pieces(event) if event.do in BRINGS else set()
        there -= named_pieces(event) if event.do in TAKES else set()
        for place, move in enumerate(event.moves):
            if move.piece.lower() in kinds and move.piece.lower() not in there:
                yield (
                    ("events", index, "moves", place, "piece"),
                    _twice(move.piece, "is not in the tank then", "bring it first"),
                )
        for name in event.fish:
            for fish in sorted(groups.get(name.lower(), ())):
                late = joins[fish] > event_time_s(scenario, event)
                if event.do == "bring back":
                    if fish not in away and not moved_by_keeper:
                        yield (
                            ("events", index, "fish"),
                            _twice(fish, "has not been taken out by then", "take it out first"),
                        )
                    away.discard(fish)
                elif late or fish in away:
                    yield (
                        ("events", index, "fish"),
                        _twice(fish, "is not in the tank then", "choose another day"),
                    )
                if event.do == "take out":
                    away.add(fish)


def _at_first(scenario: Scenario) -> set[str]:
    there = {piece.name.lower() for piece in scenario.pieces}
    seen: set[str] = set()
    for _, event in _in_order(scenario):
        if event.do in BRINGS:
            there -= named_pieces(event) - seen
        seen |= named_pieces(event)
    return there


def _twice(name: str, what: str, mend: str) -> str:
    return f"got {shown(name)}, which {what}; expected otherwise. Take it out here, or {mend}."


def _fry(scenario: Scenario) -> Iterator[Fault]:
    if scenario.breeding.mode != "off":
        return
    for index, event in enumerate(scenario.events):
        if event.do == "take the fry":
            yield (
                ("events", index, "do"),
                'got "take the fry" with breeding off, when there are none; expected breeding. '
                "Switch breeding on, or take the event out.",
            )


def _doors(scenario: Scenario) -> Iterator[Fault]:
    for index, piece in enumerate(scenario.pieces):
        for number, door in enumerate(piece.doors):
            if door.along_m and not is_divider(piece.kind):
                yield (
                    ("pieces", index, "doors", number, "along_m"),
                    f"got {door.along_m:g} m for the door of a {piece.kind}; expected `along` for "
                    "a divider only. Take it out, and say which way the door is `facing`.",
                )


def _keeper(scenario: Scenario) -> Iterator[Fault]:
    plan = scenario.keeper_plan
    if plan is None:
        return
    if plan.moves != "nobody" and not plan.checks_at:
        yield (
            ("keeper_plan", "checks_at"),
            f'is missing with moves = "{plan.moves}"; expected the times of day of a look. Add '
            'them, for example checks_at = ["08:00", "19:00"].',
        )
    if plan.back_after_days is not None and plan.moves == "nobody":
        yield (
            ("keeper_plan", "back_after_days"),
            f"got {plan.back_after_days:g} with moves = "
            '"nobody", when nobody has to come back; expected none. Take it out.',
        )
    for index, (start, end) in enumerate(plan.away_days):
        if end < start:
            yield (
                ("keeper_plan", "away_days", index),
                f"got {start:g} to {end:g}; expected the first day, then the last. Swap them.",
            )
