"""Scenario files: read with everything they are based on, written, hashed, and as a JSON Schema."""

from __future__ import annotations

import hashlib
import json
import os
import stat
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from sim.errors import Problem, Refused
from sim.fields import FROM_FILE, printable, shown
from sim.scenario import Scenario
from sim.scenario_rules import Fault, Place, faults
from sim.scenario_schema import json_schema
from sim.scenario_variant import NAMED_LISTS, Sourced, merge, source
from sim.scenario_words import faults_of, problems_of
from sim.scenario_writing import write_scenario

__all__ = ["gather", "json_schema", "read_scenario", "scenario_hash", "write_scenario"]

LARGEST_FILE_BYTES = 1_000_000
_LONGEST_CHAIN = 10


@dataclass(frozen=True, slots=True)
class Reading:
    """A scenario file as far as it could be read.

    Parameters
    ----------
    scenario : the scenario; where something was wrong, of what was right in it; `None` when the
        file could not be read at all.
    problems : everything that is wrong, empty when ``scenario`` is whole.
    placeheld : top-level keys that were wrong as a whole, and are left out or stood in for.
    tree : the merged table, which knows the file of every value.
    positions : for lists that lost wrong entries, where in ``tree`` the others stand.
    """

    scenario: Scenario | None
    problems: tuple[Problem, ...]
    placeheld: frozenset[str] = frozenset()
    tree: Sourced | None = None
    positions: dict[str, list[int]] = field(default_factory=dict)


def read_scenario(path: str | os.PathLike[str]) -> Scenario:
    """Read a scenario file and the files it is based on.

    Parameters
    ----------
    path : a TOML file.

    Returns
    -------
    the scenario, checked part by part and against itself; geometry is `sim.check`'s.

    Raises
    ------
    Refused : with every problem found.
    """
    reading = gather(path)
    if reading.problems or reading.scenario is None:
        raise Refused(reading.problems)
    return reading.scenario


def gather(path: str | os.PathLike[str]) -> Reading:
    """Read a scenario file, keeping what is right when something is wrong.

    Parameters
    ----------
    path : a TOML file.

    Returns
    -------
    what could be read, and every problem.
    """
    try:
        tree, problems = read_tree(path)
    except Refused as refusal:
        return Reading(None, refusal.problems)
    return reading_of(tree, problems=problems)


def read_tree(path: str | os.PathLike[str]) -> tuple[Sourced, list[Problem]]:
    """Read a file and those it is based on as one table, not yet checked.

    Parameters
    ----------
    path : a TOML file.

    Returns
    -------
    the table, with the question of its first lines as a value, and the problems of merging.

    Raises
    ------
    Refused : if it cannot be read.
    """
    tree, problems, question = _read_chain(Path(path))
    if question and "question" not in tree.value:
        tree.value["question"] = Sourced(question, tree.file)
    return tree, problems


def reading_of(tree: Sourced, *, problems: Sequence[Problem] = ()) -> Reading:
    """Check a table that was read, keeping what is right when something is wrong.

    Parameters
    ----------
    tree : the merged table.
    problems : of reading it.

    Returns
    -------
    what could be read, and every problem.
    """
    scenario, found, placeheld, positions = _validate(tree.plain())
    if scenario is not None:
        more = faults(scenario)
        found += [
            (_unpruned(place, positions), sentence)
            for place, sentence in more
            if place[0] not in placeheld and not _hangs_on(place, placeheld.union(positions))
        ]
    every = (*problems, *problems_of(found, tree=tree))
    return Reading(scenario, every, placeheld, tree, positions)


def _hangs_on(place: Place, incomplete: frozenset[str]) -> bool:
    """Whether a fault may only be there because another part was left out as wrong."""
    if place[-1] in ("joins_day", "spawn_day"):
        return "days" in incomplete
    return place[0] in ("breeding", "events") and bool(incomplete & {"fish", "pieces"})


def _validate(
    plain: dict[str, Any],
) -> tuple[Scenario | None, list[Fault], frozenset[str], dict[str, list[int]]]:
    """Validate; when something is wrong, validate again what is left without it."""
    try:
        return _model(plain), [], frozenset(), {}
    except ValidationError as error:
        found = faults_of(error)
    pruned = dict(plain)
    placeheld: set[str] = set()
    positions: dict[str, list[int]] = {}
    for place, _ in found:
        key = str(place[0]) if place else ""
        if len(place) > 1 and isinstance(place[1], int) and key in NAMED_LISTS:
            kept = positions.setdefault(key, list(range(len(plain[key]))))
            if place[1] in kept:
                kept.remove(place[1])
            pruned[key] = [plain[key][index] for index in kept]
        else:
            placeheld.add(key)
            pruned.pop(key, None)
    pruned.setdefault("tank", {"length": "20 m", "width": "20 m", "height": "20 m"})
    if not pruned.get("fish"):
        pruned["fish"] = [{"species": "Amatitlania nigrofasciata"}]
        placeheld.add("fish")
    try:
        return _model(pruned), found, frozenset(placeheld), positions
    except ValidationError:
        return None, found, frozenset(placeheld), positions


def _model(plain: dict[str, Any]) -> Scenario:
    return Scenario.model_validate(plain, context=FROM_FILE, by_alias=True, by_name=False)


def _unpruned(place: Place, positions: dict[str, list[int]]) -> Place:
    if len(place) > 1 and isinstance(place[1], int) and place[0] in positions:
        return (place[0], positions[place[0]][place[1]], *place[2:])
    return place


def _read_chain(path: Path) -> tuple[Sourced, list[Problem], str]:
    """Read a file and its bases; the nearest file's question counts."""
    if "\0" in str(path):
        raise Refused(
            Problem(
                printable(str(path)),
                "the name holds a null character; expected the name of a file. Check the name.",
            )
        )
    folder = Path(os.path.realpath(path.parent))
    root = folder.parent if folder.parent != folder.parent.parent else folder
    chain: list[tuple[dict[str, Any], str]] = []
    seen: list[str] = []
    question = ""
    shown_as, where = path, str(path)
    while True:
        real = os.path.realpath(shown_as)
        if real in seen:
            raise Refused(
                Problem(
                    where,
                    f"got {shown(str(shown_as))}, which is based on this file in turn; expected a "
                    "file that ends the chain. Take one `based_on` out.",
                )
            )
        if len(seen) == _LONGEST_CHAIN:
            raise Refused(
                Problem(
                    where,
                    f"the chain of bases is longer than {_LONGEST_CHAIN} files; expected fewer. "
                    "Base the file on one further down the chain.",
                )
            )
        seen.append(real)
        text = _read_text(shown_as, where=where)
        table = _parse_toml(text, file=str(shown_as))
        question = question or _question_of(text)
        chain.append((table, str(shown_as)))
        if "based_on" not in table:
            break
        where = f"{shown_as}, based_on"
        shown_as = _base_path(table["based_on"], beside=shown_as, root=root, where=where)
    problems: list[Problem] = []
    base_table, base_file = chain.pop()
    for key in ("pieces_when_resized", "remove"):
        if base_table.pop(key, None) is not None:
            problems.append(
                Problem(
                    f"{base_file}, {key}",
                    "has a meaning only together with `based_on`; expected both or neither. "
                    "Take it out.",
                )
            )
    tree = source(base_table, file=base_file)
    for table, file in reversed(chain):
        tree, more = merge(tree, source(table, file=file))
        problems += more
    return tree, problems, question


def _base_path(base: Any, *, beside: Path, root: Path, where: str) -> Path:
    """The file a `based_on` names, if it lies where a scenario may point."""

    def refuse(sentence: str) -> Refused:
        return Refused(Problem(where, sentence))

    if not isinstance(base, str) or not base.strip() or not base.isprintable():
        raise refuse(f'got {shown(base)}; expected a file name such as "my-tank.toml".')
    if os.path.isabs(base) or ":" in base or base.startswith("~") or "\\" in base:
        raise refuse(
            f"got {shown(base)}; expected a path relative to this file, with forward slashes. "
            "Copy the base beside this file."
        )
    if not base.endswith(".toml"):
        raise refuse(f"got {shown(base)}; expected a file that ends in .toml. Correct the name.")
    path = Path(os.path.normpath(beside.parent / base))
    if not Path(os.path.realpath(path)).is_relative_to(root):
        raise refuse(
            f"got {shown(base)}, which lies outside the scenario's folders; expected a file in the "
            "same folder, below it, or in a folder beside it. Copy the base there."
        )
    return path


def _read_text(path: Path, *, where: str) -> str:
    """The text of a file, refused when it is no readable text of sensible size."""
    named = "" if where == str(path) else f"got {shown(str(path))}, "

    def refuse(sentence: str) -> Refused:
        return Refused(Problem(where, named + sentence))

    try:
        status = os.stat(path)
        if stat.S_ISDIR(status.st_mode):
            raise refuse("this is a folder; expected a scenario file. Name a file in it.")
        if not stat.S_ISREG(status.st_mode):
            raise refuse("this is no ordinary file; expected a scenario file. Name another.")
        if status.st_size > LARGEST_FILE_BYTES:
            raise refuse(
                f"the file is too large, {status.st_size / 1e6:.1f} MB; expected at most "
                f"{LARGEST_FILE_BYTES / 1e6:g} MB. Check that it is the right file."
            )
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_FILE_BYTES + 1)
    except FileNotFoundError:
        raise refuse("there is no such file; expected a scenario file. Check the name.") from None
    except PermissionError:
        raise refuse("the file may not be read; expected one you may read.") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise refuse(f"the file cannot be read ({reason}); expected a scenario file.") from None
    if b"\0" in raw:
        raise refuse("this is a binary file; expected a scenario in TOML, as text.")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refuse(
            f"the file is not UTF-8 text (byte {error.start}); expected UTF-8. Save it as UTF-8."
        ) from None
    if not text.strip():
        raise refuse("the file is empty; expected a scenario. Copy one from `scenarios/`.")
    return text.replace("\r\n", "\n")


def _parse_toml(text: str, *, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        reason = str(error)
        reason = printable(reason[:1].lower() + reason[1:])
    except ValueError:  # an integer of thousands of digits
        reason = "a number is too long"
    except RecursionError:
        reason = "lists or tables are nested too deeply"
    raise Refused(
        Problem(
            file,
            f"this is not valid TOML: {reason}; expected lines such as length = "
            '"48 in". Mend that line.',
        )
    )


def _question_of(text: str) -> str:
    """The first two comment lines of a file, as one line."""
    lines = []
    for line in text.split("\n")[:2]:
        if not line.startswith("#"):
            break
        lines.append(line.lstrip("#").strip())
    return " ".join(filter(None, lines))


def scenario_hash(scenario: Scenario) -> str:
    """The identity of what a scenario simulates.

    Parameters
    ----------
    scenario : a checked scenario.

    Returns
    -------
    SHA-256, in hex, of the canonical JSON of all its values in SI; title, question and keeper
    are left out, since they change no fish.
    """
    values = scenario.model_dump(mode="json", exclude={"title", "question", "keeper"})
    canonical = json.dumps(values, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(canonical.encode("ascii")).hexdigest()
