"""What may be changed in a challenge: everything else that differs is told, and refused.

What is allowed is undone in a copy of the tank; whatever then still differs from the start was not
allowed, and is said in the words of `viz.app.editing.differences`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import BaseModel

from sim.care import Observation
from sim.errors import Problem, Refused
from sim.fields import file_key
from sim.observing import days_of
from viz.app.editing.changing import rebuilt
from viz.app.editing.differences import UNPLAYED, differences

if TYPE_CHECKING:
    from sim.scenario import Scenario
    from viz.app.challenges import Challenge, May

Part = TypeVar("Part", bound=BaseModel)

LISTS = ("pieces", "fish", "events", "observe")
ALL = "*"


def not_allowed(challenge: Challenge, tried: Scenario) -> tuple[str, ...]:
    """Return what differs from the start and may not, a sentence each.

    Parameters
    ----------
    challenge
        With its start.
    tried
        The tank as the player left it.
    """
    start = challenge.start.scenario
    undone = rebuilt(tried, **{key: getattr(start, key) for key in UNPLAYED})
    for may in challenge.may:
        undone = _undone(undone, start, may)
    found = tuple(one.words for one in differences(start, undone))
    if not found and _ordered(undone) != _ordered(start):
        return ("Something differs that cannot be told apart.",)
    return found


def refuse_what_is_not_allowed(challenge: Challenge, tried: Scenario) -> None:
    """Refuse a tank in which something was changed that may not be.

    Parameters
    ----------
    challenge, tried
        As `not_allowed`.

    Raises
    ------
    Refused
        With a sentence for each such thing.
    """
    found = not_allowed(challenge, tried)
    if found:
        may = " ".join(one.words for one in challenge.may)
        raise Refused(
            [
                Problem("challenge", f"{words} That may not be changed here. Undo it. {may}")
                for words in found
            ]
        )


def _ordered(scenario: Scenario) -> Any:
    """A scenario with its lists in the order of their names, which changes nothing in a run."""
    sort: Callable[[Any], str] = lambda entry: entry.name.lower()  # noqa: E731
    return rebuilt(
        scenario, **{key: tuple(sorted(getattr(scenario, key), key=sort)) for key in LISTS}
    )


def _undone(tried: Scenario, start: Scenario, may: May) -> Scenario:
    """The tank with what one allowance allows taken back."""
    if may.part in LISTS:
        entries = _undone_list(getattr(tried, may.part), getattr(start, may.part), may)
        return rebuilt(tried, **{may.part: entries})
    if may.part == "":
        return _undone_keys(tried, start, may)
    old, new = getattr(start, may.part), getattr(tried, may.part)
    if old is None or new is None:
        # A table that is there or not as a whole, such as the keeper's plan.
        new = old if new is None or _says_only(new, may) else new
        return rebuilt(tried, **{may.part: new})
    return rebuilt(tried, **{may.part: _undone_keys(new, old, may)})


def _undone_list(tried: tuple[Any, ...], start: tuple[Any, ...], may: May) -> tuple[Any, ...]:
    old = {entry.name.lower(): entry for entry in start}
    names = set(old) if ALL in may.names else {name.lower() for name in may.names}
    left, kept = may.add, []
    for entry in tried:
        key = entry.name.lower()
        if key not in old:
            size = entry.count if may.part == "fish" else 1
            if size <= left and _says_only(entry, may):
                left -= size
                continue
            kept.append(entry)
        elif key in names:
            kept.append(_undone_keys(entry, old[key], may))
        else:
            kept.append(entry)
    if may.remove:
        there = {entry.name.lower() for entry in tried}
        kept += [entry for key, entry in old.items() if key in names and key not in there]
    return tuple(kept)


def _undone_keys(new: Part, old: Part, may: May) -> Part:
    """A table with the keys that may differ put back, where they are what they may be."""
    if "sittings" in may.bounds and isinstance(new, Observation):
        low, high = may.bounds["sittings"]
        if not low <= len(days_of(new)) <= high:
            return new
    back = {
        key: getattr(old, key)
        for key in type(new).model_fields
        if getattr(new, key) != getattr(old, key)
        and file_key(key) in may.keys
        and _fits(file_key(key), getattr(new, key), may)
    }
    return new.model_copy(update=back)


def _says_only(entry: Any, may: May) -> bool:
    """Whether an entry that is new says nothing but what it may."""
    for key, field in type(entry).model_fields.items():
        value, name = getattr(entry, key), file_key(key)
        plain = not field.is_required() and value == field.get_default(call_default_factory=True)
        if name != "name" and not plain and not (name in may.keys and _fits(name, value, may)):
            return False
    return True


def _fits(key: str, value: Any, may: May) -> bool:
    if key in may.values:
        allowed = [one.lower() if isinstance(one, str) else one for one in may.values[key]]
        each = value if isinstance(value, tuple) else (value,)
        if not all((one.lower() if isinstance(one, str) else one) in allowed for one in each):
            return False
    if key in may.bounds:
        low, high = may.bounds[key]
        number = len(value) if isinstance(value, tuple) else value
        if not isinstance(number, int | float) or not low <= number <= high:
            return False
    return True
