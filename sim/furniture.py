"""Furniture: what stands in the tank at first and after each event that changes it.

Every state of the furniture is one stage, with a layout of its own; stages that are alike are one.
"""

from __future__ import annotations

from dataclasses import dataclass

from sim.care import Event
from sim.scenario import Piece, Scenario

DAY_S = 86400.0
BRINGS = ("bring back", "divider in")
TAKES = ("take out", "divider out")


@dataclass(frozen=True, slots=True)
class Furniture:
    """The stages of a tank's furniture.

    Parameters
    ----------
    stages
        The pieces of each, the first that of the start.
    order
        Numbers of the events in the order of their times, those of one time as in the file.
    after
        The stage after each event, by its number in the file.
    """

    stages: tuple[tuple[Piece, ...], ...]
    order: tuple[int, ...]
    after: tuple[int, ...]

    def event_of(self, stage: int) -> int:
        """Return the number of the first event after which a stage stands; -1 for the start."""
        return next((k for k in self.order if self.after[k] == stage), -1) if stage else -1


def event_time_s(scenario: Scenario, event: Event) -> float:
    """Return when an event happens, in seconds since midnight of day 0.

    Parameters
    ----------
    scenario
        Its lights, and events that change them, say when a day begins.
    event
        One of its events; without a time of day it happens when the light comes on.
    """
    at_h = event.at_h
    if at_h is None:
        at_h = scenario.tank.lights_on_h
        earlier = [e for e in scenario.events if e.do == "lights" and e.on_day < event.on_day]
        for other in sorted(earlier, key=lambda e: e.on_day):
            at_h = at_h if other.lights_on_h is None else other.lights_on_h
    return DAY_S * event.on_day + 3600.0 * at_h


def named_pieces(event: Event) -> set[str]:
    """Return the pieces an event brings or takes, in lower case."""
    return {name.lower() for name in (*event.pieces, *((event.divider,) if event.divider else ()))}


def furniture_of(scenario: Scenario) -> Furniture:
    """Return the stages of a scenario's furniture.

    A piece whose first event is to be brought back, or to be put in as a divider, is not there
    until then.

    Parameters
    ----------
    scenario
        Its pieces and events; a piece of another name is passed over.
    """
    events = scenario.events
    order = sorted(range(len(events)), key=lambda k: (event_time_s(scenario, events[k]), k))
    pieces = {piece.name.lower(): piece for piece in scenario.pieces}
    absent: set[str] = set()
    seen: set[str] = set()
    for k in order:
        for name in named_pieces(events[k]) - seen:
            if events[k].do in BRINGS:
                absent.add(name)
        seen |= named_pieces(events[k])
    there = {name for name in pieces if name not in absent}
    stages = [tuple(piece for name, piece in pieces.items() if name in there)]
    after = [0] * len(events)
    now = 0
    for k in order:
        event = events[k]
        if event.do in BRINGS:
            there |= named_pieces(event) & set(pieces)
        elif event.do in TAKES:
            there -= named_pieces(event)
        for move in event.moves:
            piece = pieces.get(move.piece.lower())
            if piece is not None:
                turn = piece.turn_rad if move.turn_rad is None else move.turn_rad
                update = {"x_m": move.x_m, "y_m": move.y_m, "turn_rad": turn}
                pieces[move.piece.lower()] = piece.model_copy(update=update)
        stage = tuple(piece for name, piece in pieces.items() if name in there)
        if stage != stages[now]:
            if stage not in stages:
                stages.append(stage)
            now = stages.index(stage)
        after[k] = now
    return Furniture(tuple(stages), tuple(order), tuple(after))
