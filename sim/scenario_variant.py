"""How a variant's file changes the file it is based on.

A variant states only what differs. Tables are merged key by key. In the lists ``pieces``, ``fish``,
``events`` and ``observe`` an entry with a name the base has changes that entry, any other is added
at the end; ``[remove]`` takes entries out by name, or ``"all"``. Every other list is replaced
whole. When the footprint differs, the variant says whether inherited places keep or stretch.

Every value remembers the file it came from, so that an error names the right one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from sim.errors import Problem
from sim.fields import printable, shown
from sim.scenario_rules import Place, did_you
from sim.tanks import find_tank
from sim.units import parse_length

NAMED_LISTS = ("pieces", "fish", "events", "observe")
VARIANT_KEYS = ("based_on", "pieces_when_resized", "remove")
RESIZE_CHOICES = ("keep", "stretch")

_PLACES = ("site", "owns", "place", "joins_place")

# keys that say the same thing in two ways: stating one in a variant drops the inherited other
_SIDES = ("length", "width", "height")
_PIECE_ALTERNATIVES = {
    "size": ("length", "width", "height", "outline", "doors", "shape"),
    "outline": ("size", "length", "width", "shape"),
    "length": ("outline",),
    "width": ("outline",),
    "kind": ("size", "length", "width", "height", "outline", "doors", "shape"),
}


@dataclass
class Sourced:
    """A value of a file, and the file it stands in.

    Parameters
    ----------
    value : a scalar, a dict of `Sourced`, or a list of `Sourced`.
    file : the file, as shown to the reader.
    """

    value: Any
    file: str

    def plain(self) -> Any:
        """The value without its sources, as TOML would give it."""
        if isinstance(self.value, dict):
            return {key: part.plain() for key, part in self.value.items()}
        if isinstance(self.value, list):
            return [part.plain() for part in self.value]
        return self.value

    def file_of(self, place: Place) -> str:
        """The file that states a place, or else the nearest table around it."""
        node = self
        for step in place:
            inside = node.value
            if isinstance(inside, list) and isinstance(step, int):
                inside = dict(enumerate(inside))
            if not isinstance(inside, dict) or step not in inside:
                break
            node = inside[step]
        return node.file


def source(value: Any, *, file: str) -> Sourced:
    """A parsed TOML value with its file noted on every part.

    Parameters
    ----------
    value : as `tomllib` gives it.
    file : the file, as shown to the reader.

    Returns
    -------
    the same tree of `Sourced`.
    """
    if isinstance(value, dict):
        return Sourced({key: source(part, file=file) for key, part in value.items()}, file)
    if isinstance(value, list | tuple):  # a tuple where it was made in memory
        return Sourced([source(part, file=file) for part in value], file)
    return Sourced(value, file)


@dataclass
class _Merge:
    """One merge of a variant into its base, with the problems found on the way."""

    file: str
    base_file: str
    problems: list[Problem] = field(default_factory=list)

    def refuse(self, key: str, sentence: str) -> None:
        self.problems.append(Problem(f"{self.file}, {key}", sentence))


def merge(base: Sourced, variant: Sourced) -> tuple[Sourced, list[Problem]]:
    """A base with the changes of a variant.

    Parameters
    ----------
    base : the base's table, complete.
    variant : the variant's table, with its ``based_on`` and the other keys of a variant.

    Returns
    -------
    the merged table, without the keys of a variant, and the problems found.
    """
    job = _Merge(file=variant.file, base_file=base.file)
    stated = dict(variant.value)
    resize = stated.pop("pieces_when_resized", None)
    remove = stated.pop("remove", None)
    stated.pop("based_on", None)
    merged = dict(base.value)
    _remove(merged, remove, job)
    footprint = _footprint(merged)
    inherited = [id(part) for part in _named_entries(merged)]
    for key, part in stated.items():
        if key in NAMED_LISTS and _is_list_of_tables(part):
            merged[key] = _merge_named(merged.get(key), part, key=key, job=job)
        elif isinstance(part.value, dict) and isinstance(_value(merged, key), dict):
            merged[key] = _merge_table(key, merged[key], part)
        else:
            merged[key] = part
    _resize(merged, resize, footprint, _footprint(merged), bool(inherited), job)
    return Sourced(merged, variant.file), job.problems


def _value(table: Mapping[str, Sourced], key: str) -> Any:
    return table[key].value if key in table else None


def _is_list_of_tables(part: Sourced | None) -> bool:
    return (
        part is not None
        and isinstance(part.value, list)
        and all(isinstance(entry.value, dict) for entry in part.value)
    )


def _named_entries(table: Mapping[str, Sourced]) -> Iterator[Sourced]:
    if _is_list_of_tables(table.get("pieces")):
        yield from table["pieces"].value


def _name_of(entry: Sourced) -> str | None:
    name = _value(entry.value, "name") if isinstance(entry.value, dict) else None
    return " ".join(name.split()).lower() if isinstance(name, str) else None


def _remove(merged: dict[str, Sourced], remove: Sourced | None, job: _Merge) -> None:
    if remove is None:
        return
    if not isinstance(remove.value, dict):
        job.refuse("remove", 'expected a table, for example [remove] with pieces = ["left pot"].')
        return
    for key, wanted in remove.value.items():
        if key not in NAMED_LISTS:
            job.refuse(
                f"remove.{printable(key)}",
                f"unknown key; expected {', '.join(NAMED_LISTS)}. "
                + did_you(key, NAMED_LISTS, otherwise="Take it out."),
            )
            continue
        entries = list(_value(merged, key) or []) if _is_list_of_tables(merged.get(key)) else []
        if wanted.value == "all":
            merged[key] = Sourced([], job.file)
            continue
        names = wanted.plain()
        if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
            job.refuse(f"remove.{key}", f'got {shown(names)}; expected a list of names, or "all".')
            continue
        known = {name: entry for entry in entries if (name := _name_of(entry)) is not None}
        for name in names:
            if " ".join(name.split()).lower() not in known:
                job.refuse(
                    f"remove.{key}",
                    f"got {shown(name)}, which {job.base_file} does not have; expected one of its "
                    "names. " + did_you(name, known, otherwise="Correct it."),
                )
        gone = {" ".join(name.split()).lower() for name in names}
        kept = [entry for entry in entries if _name_of(entry) not in gone]
        merged[key] = Sourced(kept, merged[key].file if key in merged else job.file)


def _merge_named(base: Sourced | None, stated: Sourced, *, key: str, job: _Merge) -> Sourced:
    entries = list(base.value) if base is not None and _is_list_of_tables(base) else []
    position = {name: i for i, entry in enumerate(entries) if (name := _name_of(entry))}
    stated_names: set[str] = set()
    for entry in stated.value:
        name = _name_of(entry)
        if name is not None and name in position and name not in stated_names:
            entries[position[name]] = _merge_table(key, entries[position[name]], entry)
        else:
            entries.append(entry)
        if name is not None:
            stated_names.add(name)
    return Sourced(entries, stated.file)


def _merge_table(key: str, base: Sourced, stated: Sourced) -> Sourced:
    """Merge one table; what the variant states drops an inherited other way of saying it."""
    table = dict(base.value)
    new = stated.value
    if key == "tank":
        if "size" in new:
            table = {name: part for name, part in table.items() if name not in _SIDES}
        elif any(side in new for side in _SIDES):
            table = _spell_out_size(table)
    if key == "pieces":
        dropped = {other for name in new for other in _PIECE_ALTERNATIVES.get(name, ())}
        table = {name: part for name, part in table.items() if name not in dropped}
    if key == "breeding" and _value(new, "mode") in ("off", "spontaneous"):
        table.pop("spawn_day", None)
    if key == "breeding" and _value(new, "mode") == "spontaneous":
        table.pop("pair", None)
    for name, part in new.items():
        both_tables = isinstance(part.value, dict) and isinstance(_value(table, name), dict)
        table[name] = _merge_table(name, table[name], part) if both_tables else part
    return Sourced(table, stated.file)


def _spell_out_size(table: dict[str, Sourced]) -> dict[str, Sourced]:
    """Turn a standard size into its three sides, so that a variant can change one of them."""
    size = table.get("size")
    if size is None or not isinstance(size.value, str):
        return table
    try:
        tank = find_tank(size.value)
    except ValueError:
        return table  # the base's own error is reported when the whole is checked
    sides = {side: Sourced(f"{getattr(tank, side + '_m')!r} m", size.file) for side in _SIDES}
    return {name: part for name, part in table.items() if name != "size"} | sides


def _footprint(table: Mapping[str, Sourced]) -> tuple[float, float] | None:
    tank = table.get("tank")
    if tank is None or not isinstance(tank.value, dict):
        return None
    plain = _spell_out_size(dict(tank.value))
    try:
        sides = [parse_length(str(plain[side].value)) for side in ("length", "width")]
    except (KeyError, ValueError):
        return None
    return (sides[0], sides[1]) if min(sides) > 0 else None


def _resize(
    merged: dict[str, Sourced],
    choice: Sourced | None,
    before: tuple[float, float] | None,
    after: tuple[float, float] | None,
    has_pieces: bool,
    job: _Merge,
) -> None:
    key = "pieces_when_resized"
    if choice is not None and choice.value not in RESIZE_CHOICES:
        got = shown(choice.plain())
        job.refuse(key, f'got {got}; expected "keep" or "stretch". Choose one.')
        return
    if before is None or after is None or before == after:
        return
    if choice is None:
        if has_pieces:
            job.refuse(
                key,
                f"is missing, and the footprint differs from that of {job.base_file}; expected "
                '"keep" (inherited pieces stay as far from the left and the front glass) or '
                '"stretch" (their places are spread in proportion). Add it.',
            )
        return
    if choice.value == "stretch":
        ratios = (after[0] / before[0], after[1] / before[1])
        for name in (*NAMED_LISTS, "breeding", "feeding"):
            if name in merged:
                merged[name] = _stretched(merged[name], ratios, own_file=job.file)


def _stretched(node: Sourced, ratios: tuple[float, float], *, own_file: str) -> Sourced:
    """Spread every inherited place below a node; what the variant itself states stays."""
    if isinstance(node.value, list):
        parts = [_stretched(part, ratios, own_file=own_file) for part in node.value]
        return Sourced(parts, node.file)
    if not isinstance(node.value, dict):
        return node
    table = {}
    for key, part in node.value.items():
        if part.file == own_file and not isinstance(part.value, dict | list):
            table[key] = part
        elif key in ("x", "y"):
            table[key] = _scaled(part, ratios[key == "y"])
        elif key in _PLACES and isinstance(part.value, list) and part.file != own_file:
            table[key] = _scaled_place(part, ratios)
        elif key == "spots" and isinstance(part.value, list) and part.file != own_file:
            table[key] = Sourced([_scaled_place(p, ratios) for p in part.value], part.file)
        else:
            table[key] = _stretched(part, ratios, own_file=own_file)
    return Sourced(table, node.file)


def _scaled_place(node: Sourced, ratios: tuple[float, float]) -> Sourced:
    if not isinstance(node.value, list) or len(node.value) != 2:
        return node
    both = [_scaled(part, ratio) for part, ratio in zip(node.value, ratios, strict=True)]
    return Sourced(both, node.file)


def _scaled(node: Sourced, ratio: float) -> Sourced:
    if not isinstance(node.value, str):
        return node
    try:
        return Sourced(f"{parse_length(node.value) * ratio!r} m", node.file)
    except ValueError:
        return node  # not a length: reported as it was written
