"""The tanks of a sweep: a scenario file with the values of one point put in.

Each point is a variant of the file, merged as a file with `based_on` is, so that a key means what
it means in a scenario. Two keys are not the language's own: ``hardscape.caves`` is how many caves
the tank has (`sim.more_caves`), ``hardscape.cave`` the kind and size of those that are added. A
``count`` of 0 takes a group of fish out.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sim.check import Checked, check_reading
from sim.errors import Problem, Refused
from sim.fields import shown
from sim.more_caves import Caves, cave_named, with_caves
from sim.scenario import MOST_PIECES, Scenario
from sim.scenario_file import read_tree, reading_of
from sim.scenario_rules import did_you
from sim.scenario_variant import NAMED_LISTS, Sourced, merge, source
from sim.scenario_writing import piece_table
from sim.varying import WHERE, Factor, Point

CAVES, CAVE = "hardscape.caves", "hardscape.cave"
RESIZE = "pieces_when_resized"
LONGEST_TITLE = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Varied:
    """One point of a sweep as a tank that can be played.

    Parameters
    ----------
    values
        One for each factor.
    checked
        The scenario and its layout.
    caves
        What was done about its caves; None where their number is the file's.
    """

    values: Point
    checked: Checked
    caves: Caves | None

    @property
    def scenario(self) -> Scenario:
        """What is played."""
        return self.checked.scenario


def build_points(
    path: str | os.PathLike[str],
    factors: Sequence[Factor],
    points: Sequence[Point],
    *,
    days: float | None = None,
    without: Sequence[str] = (),
) -> tuple[Varied, ...]:
    """Return the tanks of a sweep.

    Parameters
    ----------
    path
        A scenario file.
    factors, points
        What varies, and the values at each point.
    days
        Instead of the file's, or None.
    without
        Mechanisms switched off, beside those of the file.

    Raises
    ------
    Refused
        With everything that is wrong, at any point.
    """
    _meaningful(factors)
    tree, found = read_tree(path)
    check_reading(reading_of(tree, problems=found), file=os.fspath(path))  # the file itself first
    steps = [_path(tree, factor.key) for factor in factors]
    problems: dict[Problem, None] = {}
    tanks: list[Varied] = []
    for point in points:
        label = point_label(factors, point)
        try:
            own = _variant(tree, factors, steps, point)
            if days is not None:
                own["days"] = days
            own.setdefault("title", _titled(path, tree, label))
            if without:
                own["without"] = list(dict.fromkeys([*tree.plain().get("without", ()), *without]))
            tanks.append(_built(path, tree, own, factors=factors, point=point, label=label))
        except Refused as refusal:
            problems.update(dict.fromkeys(refusal.problems))
    if problems:
        raise Refused(list(problems))
    return tuple(tanks)


def own_title(factors: Sequence[Factor], tank: Varied) -> str:
    """Return the title of the file that a point is made of."""
    return tank.scenario.title.removesuffix(f", {point_label(factors, tank.values)}")


def _titled(path: str | os.PathLike[str], tree: Sourced, label: str) -> str:
    """Return the title of a point: that of the file, and what tells it from the others."""
    title = " ".join(str(tree.plain().get("title") or Path(path).stem).split())
    whole = f"{title}, {label}"
    return whole if len(whole) <= LONGEST_TITLE else title


def unwise_of(
    path: str | os.PathLike[str], factors: Sequence[Factor], tanks: Sequence[Varied]
) -> list[Problem]:
    """Return what is unwise at the points, each sentence once, with the number of its points.

    Parameters
    ----------
    path
        The scenario file.
    factors, tanks
        Of `build_points`.
    """
    found: dict[tuple[str, str], list[str]] = {}
    for tank in tanks:
        label = point_label(factors, tank.values)
        start = f"{os.fspath(path)} with {label}"
        for one in tank.checked.warnings:
            where = one.where.removeprefix(start).removeprefix(", ")
            found.setdefault((where, one.sentence), []).append(label)
    return [
        Problem(
            f"{os.fspath(path)}, {where}",
            sentence
            + (
                ""
                if len(labels) == len(tanks)
                else f" So at {len(labels)} of {len(tanks)} points, first {labels[0]}."
            ),
        )
        for (where, sentence), labels in found.items()
    ]


def _meaningful(factors: Sequence[Factor]) -> None:
    """Refuse what would be varied without a word, or could not be compared."""
    keys = {factor.key.lower(): factor for factor in factors}
    problems = []
    if "days" in keys and keys["days"].varies:
        problems.append(
            Problem(
                f"{WHERE} days",
                "got several; expected the same number of days at every point, or they cannot be "
                "compared. Say how many with --days.",
            )
        )
    if "seed" in keys:
        problems.append(
            Problem(
                f"{WHERE} seed",
                "got a seed; expected something of the tank, since every point plays the same fish "
                "and luck. Say which with --seed.",
            )
        )
    if CAVE in keys and CAVES not in keys:
        problems.append(
            Problem(
                f"{WHERE} {CAVE}",
                f"is given without {CAVES}; expected both, as hardscape.caves=0..4. Say how many.",
            )
        )
    unknown = [key for key in keys if key.startswith("hardscape") and key not in (CAVES, CAVE)]
    problems += [
        Problem(f"{WHERE} {keys[key].key}", f"unknown key; expected {CAVES} or {CAVE}.")
        for key in unknown
    ]
    if problems:
        raise Refused(problems)


def point_label(factors: Sequence[Factor], point: Point) -> str:
    """Return what tells a point from the others: ``"tank.length = 4 ft, hardscape.caves = 2"``."""
    return ", ".join(
        f"{factor.key} = {value.text}"
        for factor, value in zip(factors, point, strict=True)
        if factor.varies
    )


def _built(
    path: str | os.PathLike[str],
    tree: Sourced,
    own: dict[str, Any],
    *,
    factors: Sequence[Factor],
    point: Point,
    label: str,
) -> Varied:
    file = f"{os.fspath(path)} with {label}"
    merged, found = merge(tree, source(own, file=WHERE))
    reading = reading_of(merged, problems=found)
    chosen = {f.key.lower(): v for f, v in zip(factors, point, strict=True)}
    if CAVES not in chosen:
        return Varied(values=point, checked=check_reading(reading, file=file), caves=None)
    if reading.scenario is None or reading.problems:
        raise Refused(reading.problems)
    count = chosen[CAVES].plain
    where = f"{file}, {CAVES}"
    if not isinstance(count, int) or isinstance(count, bool) or not 0 <= count <= MOST_PIECES:
        raise Refused(
            Problem(
                f"{WHERE} {CAVES}",
                f"got {shown(chosen[CAVES].text)}; expected whole numbers from 0 to {MOST_PIECES}.",
            )
        )
    cave = None
    if CAVE in chosen:
        cave = cave_named(chosen[CAVE].text, where=f"{WHERE} {CAVE}")
    caves = with_caves(reading.scenario, count=count, cave=cave, where=where)
    change = {
        "remove": {"pieces": list(caves.taken_out)},
        "pieces": [piece_table(piece) for piece in caves.added],
    }
    merged, found = merge(merged, source(change, file=file))
    return Varied(
        values=point,
        checked=check_reading(reading_of(merged, problems=found), file=file),
        caves=caves,
    )


def _variant(
    tree: Sourced,
    factors: Sequence[Factor],
    steps: Sequence[tuple[str, ...] | None],
    point: Point,
) -> dict[str, Any]:
    """Return the table of a variant that holds the values of a point."""
    own: dict[str, Any] = {RESIZE: "stretch"}
    for path, value in zip(steps, point, strict=True):
        if path is None:
            continue
        if path[0] == "fish" and path[2:] == ("count",) and value.plain == 0:
            own.setdefault("remove", {}).setdefault("fish", []).append(path[1])
            continue
        table = own
        if path[0] in NAMED_LISTS:
            entries = own.setdefault(path[0], [])
            table = next((one for one in entries if one["name"] == path[1]), {})
            if not table:
                table["name"] = path[1]
                entries.append(table)
            path = path[2:]
        for step in path[:-1]:
            table = table.setdefault(step, {})
            if not isinstance(table, dict):
                raise _clash(".".join(path))
        table[path[-1]] = deepcopy(value.plain)
    gone = {name.lower() for name in own.get("remove", {}).get("fish", ())}
    if gone and "fish" in own:  # what else varies of a group that is not there has no meaning
        own["fish"] = [one for one in own["fish"] if one["name"].lower() not in gone]
    return own


def _clash(key: str) -> Refused:
    return Refused(Problem(f"{WHERE} {key}", "varies a part of what varies whole; keep one."))


def _path(tree: Sourced, key: str) -> tuple[str, ...] | None:
    """Return the steps of a key, with the name of an entry as one step; None for our own keys."""
    if key.lower() in (CAVES, CAVE):
        return None
    root, _, rest = key.partition(".")
    if root not in NAMED_LISTS:
        return tuple(key.split("."))
    names = list(_names(tree, root))
    for name in sorted(names, key=len, reverse=True):
        if rest.lower().startswith(f"{name.lower()}.") and len(rest) > len(name) + 1:
            return (root, name, *rest[len(name) + 1 :].split("."))
    tried = rest.rpartition(".")[0] or rest
    raise Refused(
        Problem(
            f"{WHERE} {key}",
            f"got no name of the file's {root} and a key of it; expected {root}.NAME.KEY, with one "
            f"of its names: {', '.join(names) or 'it has none'}. "
            + did_you(tried, names, otherwise="Correct it."),
        )
    )


def _names(tree: Sourced, root: str) -> list[str]:
    entries: Any = tree.plain().get(root, [])
    if not isinstance(entries, list):
        return []
    return [
        " ".join(one["name"].split())
        for one in entries
        if isinstance(one, Mapping) and isinstance(one.get("name"), str)
    ]
