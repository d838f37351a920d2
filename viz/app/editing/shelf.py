"""Shelf: the scenario files of the folders a person pointed at, the only ones that are opened."""

from __future__ import annotations

import functools
import hashlib
import os
import tomllib
from pathlib import Path

from sim.errors import Problem, Refused
from sim.fields import printable
from sim.scenario import Scenario

MOST_LISTED = 200


def folders(*, started_in: Path, files: tuple[Path | None, ...] = ()) -> tuple[Path, ...]:
    """Return the folders that are read and written.

    Those of the open files, the one the app was started in, and its `scenarios`, if it has one.

    Parameters
    ----------
    started_in
        Where the app was started.
    files
        Of the open tanks; None for one that stands in no file.
    """
    there = [*(file.parent for file in files if file is not None), started_in]
    if (started_in / "scenarios").is_dir():
        there.append(started_in / "scenarios")
    return tuple(dict.fromkeys(Path(os.path.realpath(folder)) for folder in there))


def digest_of(path: Path) -> str:
    """Return the SHA-256 of a file's bytes, in hex; empty where it cannot be read.

    Parameters
    ----------
    path
        Any file.
    """
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""


def listed(folders: tuple[Path, ...]) -> tuple[Path, ...]:
    """Return the scenario files of folders, in the order of their names.

    A file that is plainly something else is left out, and a link that leads elsewhere; one that
    cannot be read is not, since what is wrong with it is said when it is opened.

    Parameters
    ----------
    folders
        Those a person pointed at.
    """
    found: list[Path] = []
    for folder in dict.fromkeys(Path(os.path.realpath(folder)) for folder in folders):
        try:
            there = sorted(p for p in folder.glob("*.toml") if _lies_in(p, folder))
        except OSError:
            continue
        found += [path for path in there if not path.name.startswith(".")]
    return tuple(path for path in found[:MOST_LISTED] if _may_be_tank(path, _stamp(path)))


def _lies_in(path: Path, folder: Path) -> bool:
    """Return whether a path is a file of a folder, and no link that leads out of it."""
    return path.is_file() and Path(os.path.realpath(path)).is_relative_to(folder)


def _stamp(path: Path) -> tuple[int, int]:
    """Return what changes when a file is written: a page asks of the same files again and again."""
    try:
        there = path.stat()
    except OSError:
        return 0, 0
    return there.st_mtime_ns, there.st_size


@functools.lru_cache(maxsize=4 * MOST_LISTED)
def _may_be_tank(path: Path, stamp: tuple[int, int]) -> bool:
    try:
        keys = tomllib.loads(path.read_bytes().decode("utf-8"))
    except (OSError, ValueError):
        return True
    return not keys or any(key in keys for key in ("based_on", *Scenario.model_fields))


def path_listed(name: str, *, folders: tuple[Path, ...]) -> Path:
    """Return the path of one of the files of `listed`.

    Parameters
    ----------
    name
        Its path as text.
    folders
        Those a person pointed at.

    Raises
    ------
    Refused
        If it is not among them.
    """
    for path in listed(folders):
        if str(path) == name:
            return path
    raise Refused(
        Problem(
            printable(name.replace("\\", "/").rsplit("/", 1)[-1]),
            "this is not in the folder that the app was started in, nor beside a tank that is "
            "open; expected a file from there. Choose it as a file of your own instead.",
        )
    )
