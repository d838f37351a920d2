"""Mentions: events, owners, mates and nests that speak of a piece or a fish by its name.

When a piece or a fish goes or is called otherwise, what speaks of it follows, so that no edit
leaves a tank that speaks of something that is not there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from sim.care import Event
from sim.scenario import FishGroup, Scenario
from viz.app.editing.changing import rebuilt, remade

Change = Callable[[str], str | None]


def pieces_followed(scenario: Scenario, change: Change) -> Scenario:
    """Return a scenario whose events, owners and nest follow a change of names of pieces.

    Parameters
    ----------
    scenario
        As it stands.
    change
        Gives the new name for a name, or None where the piece is gone.
    """
    events = []
    for event in scenario.events:
        divider = None if event.divider is None else change(event.divider)
        moves = tuple(
            remade(move, piece=name)
            for move in event.moves
            if (name := change(move.piece)) is not None
        )
        update = {"pieces": _kept(event.pieces, change), "moves": moves, "divider": divider}
        events += _event(event, update)
    fish = tuple(_owner(group, change) for group in scenario.fish)
    breeding = scenario.breeding
    if isinstance(breeding.site, str) and breeding.site != "auto":
        breeding = remade(breeding, site=change(breeding.site) or "auto")
    return rebuilt(scenario, events=tuple(events), fish=fish, breeding=breeding)


def fish_followed(scenario: Scenario, change: Change) -> Scenario:
    """Return a scenario whose events, mates, pair and meetings follow a change of names of fish.

    Parameters
    ----------
    scenario
        As it stands.
    change
        Gives the new name for a name of a fish or a group, or None where it is gone.
    """
    events = []
    for event in scenario.events:
        left = _kept(event.fish, change)
        events += _event(event, {"fish": left, "place": event.place if left else None})
    breeding = scenario.breeding
    if breeding.pair is not None:
        pair = _kept(breeding.pair, change)
        breeding = remade(breeding, pair=pair if len(pair) == 2 else None)
    observe = []
    for one in scenario.observe:
        if not one.fish:
            observe.append(one)
            continue
        left = tuple(
            name for name in (_called(word, change) for word in one.fish) if name is not None
        )
        if len(left) == len(one.fish):
            observe.append(remade(one, fish=left))
    fish = tuple(_mated(group, change) for group in scenario.fish)
    return rebuilt(
        scenario, events=tuple(events), breeding=breeding, observe=tuple(observe), fish=fish
    )


def _called(word: str, change: Change) -> str | None:
    """A name in a meeting; those that won or lost an earlier one are no names."""
    return word if word.lower().startswith(("winner of ", "loser of ")) else change(word)


def _kept(names: tuple[str, ...], change: Change) -> tuple[str, ...]:
    return tuple(name for old in names if (name := change(old)) is not None)


def _event(event: Event, update: Mapping[str, object]) -> list[Event]:
    """The event as it follows, or nothing where what it was done to is gone."""
    if all(getattr(event, key) == value for key, value in update.items()):
        return [event]
    there = {**dict(event), **update}
    if any(there[key] for key in ("fish", "pieces", "moves")) or there["divider"]:
        return [remade(event, **update)]
    return []


def _owner(group: FishGroup, change: Change) -> FishGroup:
    past = group.established
    if past is None or not isinstance(past.owns, str):
        return group
    return remade(group, established=remade(past, owns=change(past.owns)))


def _mated(group: FishGroup, change: Change) -> FishGroup:
    past = group.established
    if past is None or past.mate is None:
        return group
    mate = change(past.mate)
    brood = past.brood if mate is not None else None
    return remade(group, established=remade(past, mate=mate, brood=brood))
