"""Differences: exactly in what one tank differs from another, each in a sentence."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sim.fields import file_key, shown
from sim.scenario import FishGroup, Piece, Scenario
from sim.units import format_clock, format_length, format_temperature
from viz.app.editing.changing import rebuilt
from viz.app.editing.glass import resize_tank, trade_name
from viz.checked import counted
from viz.phrases import LETTERS

NEAR_M = 1e-6
UNPLAYED = ("title", "question", "keeper")  # they change no fish


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing in which a tank differs from another.

    Parameters
    ----------
    what
        "tank", "piece", "fish", "event" and so on.
    words
        The sentence, of the second tank.
    """

    what: str
    words: str


def differences(first: Scenario, second: Scenario) -> tuple[Difference, ...]:
    """Return in what a second tank differs from a first, one entry for each thing.

    A tank of another size whose pieces were spread with it differs in one thing.

    Parameters
    ----------
    first, second
        Two tanks; their titles and questions change no fish, and are passed over.
    """
    return tuple(_differences(first, second))


def _differences(first: Scenario, second: Scenario) -> Iterator[Difference]:
    base = first
    sides = ("length_m", "width_m", "height_m")
    if any(getattr(first.tank, s) != getattr(second.tank, s) for s in sides):
        base, how = _resized(first, second)
        yield Difference("tank", f"The tank is {_box(second)} instead of {_box(first)}{how}.")
    yield from _table(base.tank, second.tank, "tank", skip=sides)
    yield from _pieces(base, second)
    yield from _fish(base, second)
    for key in ("breeding", "feeding", "keeper_plan"):
        yield from _whole(key, getattr(base, key), getattr(second, key))
    yield from _entries("event", base.events, second.events)
    yield from _entries("sitting", base.observe, second.observe)
    skip = (
        "tank", "pieces", "fish", "breeding", "feeding", "events", "observe", "keeper_plan",
        *UNPLAYED,
    )  # fmt: skip
    yield from _table(base, second, "", skip=skip)


def _resized(first: Scenario, second: Scenario) -> tuple[Scenario, str]:
    """The first tank in the size of the second, its pieces as they most agree, and how."""
    tank = second.tank
    size = {"length": tank.length_m, "width": tank.width_m, "height": tank.height_m}
    if (first.tank.length_m, first.tank.width_m) == (tank.length_m, tank.width_m):
        return rebuilt(first, tank=resize_tank(first, **size).tank), ""  # type: ignore[arg-type]
    tried = {
        how: resize_tank(first, pieces=how, **size)  # type: ignore[arg-type]
        for how in ("stretch", "keep")
    }
    moved = {how: sum(1 for _ in _pieces(found, second)) for how, found in tried.items()}
    best = min(moved, key=lambda how: moved[how])
    said = {"stretch": ", its pieces spread in proportion", "keep": ""}[best]
    return tried[best], said if first.pieces else ""


def _box(scenario: Scenario) -> str:
    tank = scenario.tank
    name = trade_name(tank)
    sides = [
        format_length(side).removesuffix(" in")
        for side in (tank.length_m, tank.width_m, tank.height_m)
    ]
    return f"{' x '.join(sides)} in{f' ({name})' if name else ''}"


def _pieces(first: Scenario, second: Scenario) -> Iterator[Difference]:
    old = {piece.name.lower(): piece for piece in first.pieces}
    new = {piece.name.lower(): piece for piece in second.pieces}
    for key, piece in new.items():
        if key not in old:
            yield Difference("piece", f"There is one piece more: {piece_words(piece)}.")
    for key, piece in old.items():
        if key not in new:
            yield Difference("piece", f"There is one piece less: {piece_words(piece)}.")
            continue
        other = new[key]
        moved = abs(piece.x_m - other.x_m) > NEAR_M or abs(piece.y_m - other.y_m) > NEAR_M
        turned = abs(piece.turn_rad - other.turn_rad) > NEAR_M
        if moved or turned:
            how = " and ".join(["moved"] * moved + ["turned"] * turned)
            yield Difference("piece", f"{_cap(piece.name)} is {how}.")
        place = ("x_m", "y_m", "turn_rad", "name")
        if any(getattr(piece, k) != getattr(other, k) for k in _keys(piece) if k not in place):
            yield Difference(
                "piece",
                f"{_cap(piece.name)} is {piece_words(other)} instead of {piece_words(piece)}.",
            )


def piece_words(piece: Piece) -> str:
    """Return what a piece is: "stone row, a rock wall of 8 in".

    Parameters
    ----------
    piece
        Of a scenario.
    """
    if piece.size is not None:
        size = piece.size
    elif piece.length_m is not None and piece.width_m is not None:
        size = f"{format_length(piece.length_m)} by {format_length(piece.width_m)}"
    else:
        size = "its own outline"
    return f"{piece.name} ({piece.kind}, {size})"


def _fish(first: Scenario, second: Scenario) -> Iterator[Difference]:
    old = {group.name.lower(): group for group in first.fish}
    new = {group.name.lower(): group for group in second.fish}
    for key, group in new.items():
        if key not in old:
            yield Difference("fish", f"There are more fish: {group_words(group)}.")
    for key, group in old.items():
        if key not in new:
            yield Difference("fish", f"There are fewer fish: {group_words(group)}.")
        else:
            other, skip = new[key], ("name", "length_m", "length_about")
            before, after = _length(group), _length(other)
            if before != after:
                words = f"{_cap(group.name)}: length {after} instead of {before}."
                yield Difference("fish", words)
            yield from _table(group, other, group.name, what="fish", skip=skip)


def group_words(group: FishGroup) -> str:
    """Return who a group is: "swordtails (6)".

    Parameters
    ----------
    group
        Of a scenario.
    """
    return group.name if group.count == 1 else f"{group.name} ({group.count})"


def _length(group: FishGroup) -> str:
    if group.length_m is None:
        return "adult"
    return f"{'about ' if group.length_about else ''}{format_length(group.length_m)}"


def _entries(what: str, old: tuple[Any, ...], new: tuple[Any, ...]) -> Iterator[Difference]:
    before = {entry.name.lower(): entry for entry in old}
    after = {entry.name.lower(): entry for entry in new}
    for key, entry in after.items():
        if key not in before:
            yield Difference(what, f"There is one {what} more: {entry.name}.")
    for key, entry in before.items():
        if key not in after:
            yield Difference(what, f"There is one {what} less: {entry.name}.")
        elif entry != after[key]:
            yield from _table(entry, after[key], entry.name, what=what, skip=("name",))


def _whole(key: str, old: Any, new: Any) -> Iterator[Difference]:
    """A table that may be missing, as one thing."""
    if old == new:
        return
    name = key.replace("_", " ")
    if old is None or new is None:
        yield Difference(key, f"{_cap(name)} is {'played' if old is None else 'not played'}.")
        return
    parts = [words for _, words in _changes(old, new, skip=())]
    yield Difference(key, f"{_cap(name)}: {'; '.join(parts)}.")


def _table(
    old: Any, new: Any, name: str, *, skip: tuple[str, ...], what: str = ""
) -> Iterator[Difference]:
    for key, words in _changes(old, new, skip=skip):
        start = f"{_cap(name)}: " if name else ""
        yield Difference(what or name or key, f"{_cap(start + words)}.")


def _changes(old: Any, new: Any, *, skip: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for key in _keys(old):
        before, after = getattr(old, key), getattr(new, key)
        if key not in skip and before != after:
            said = file_key(key).replace("_", " ")
            yield key, f"{said} {_value(key, after)} instead of {_value(key, before)}"


def _keys(table: Any) -> tuple[str, ...]:
    return tuple(type(table).model_fields)


def _value(key: str, value: Any) -> str:
    """A value as a keeper reads it."""
    if value is None or value == () or value == "":
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if key.endswith("_m") and isinstance(value, float):
        return format_length(value)
    if key.endswith("_c"):
        return format_temperature(value)
    if key.endswith("_h") and isinstance(value, float):
        return format_clock(value)
    if key in ("share", "share_of_mass", "injury") and isinstance(value, float):
        return f"{100.0 * value:g} %"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple) and len(value) == 2 and all(isinstance(v, float) for v in value):
        return f"{format_length(value[0])} along, {format_length(value[1])} back"
    if isinstance(value, tuple) and all(isinstance(v, str) for v in value):
        return " and ".join(value)
    if isinstance(value, str):
        return shown(value)
    return "other" if not isinstance(value, int) else str(value)


def _cap(words: str) -> str:
    return words[:1].upper() + words[1:]


def told(first: Scenario, second: Scenario, *, number: int = 1) -> str:
    """Return in how many things a tank differs from the first, and what follows from it.

    Parameters
    ----------
    first, second
        The two tanks.
    number
        Place of the second among those that are compared, from 0.
    """
    found = differences(first, second)
    letter = LETTERS[number]
    if not found:
        return f"{letter} is the same as A so far. Change one thing in it."
    if len(found) == 1:
        return f"{letter} differs from A in one thing."
    return (
        f"{letter} differs from A in {counted(len(found), 'thing')}: which of them makes a "
        "difference cannot be told from these two tanks."
    )
