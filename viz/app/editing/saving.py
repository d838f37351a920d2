"""Saving: a tank written as the file that the command line reads, where one pointed, never over
another in silence."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from sim.errors import Problem, Refused
from sim.fields import shown
from sim.scenario import Scenario
from sim.scenario_writing import write_scenario
from viz.app.editing.shelf import digest_of
from viz.app.editing.verdict import judge
from viz.record import write_whole

LONGEST_NAME = 80
ENDING = ".toml"


@dataclass(frozen=True, slots=True)
class Saved:
    """A tank that was written.

    Parameters
    ----------
    file
        Where.
    digest
        Of its bytes.
    """

    file: Path
    digest: str


class Occupied(Refused):
    """There is a file of that name already; it may be written over if one says so."""


def file_name(text: str) -> str:
    """Return the name of the file that a person means, with its ending.

    Parameters
    ----------
    text
        As typed.

    Raises
    ------
    Refused
        If it is no plain name.
    """
    name = " ".join(text.split())
    if name and not name.lower().endswith(ENDING):
        name += ENDING
    bad = not name.isprintable() or any(letter in name for letter in '/\\:*?"<>|')
    if name.lower() in ("", ENDING) or bad or name.startswith(".") or len(name) > LONGEST_NAME:
        raise Refused(
            Problem(
                "file name",
                f"got {shown(text)}; expected a plain name such as my-tank.toml, of at most "
                f"{LONGEST_NAME} characters and without / or \\. Correct it.",
            )
        )
    return name


def suggested_name(scenario: Scenario, *, folder: Path) -> str:
    """Return a name that no file of the folder has, after the title of the tank.

    Parameters
    ----------
    scenario
        The tank.
    folder
        Where it would be saved.
    """
    letters = (letter if letter.isalnum() else "-" for letter in scenario.title.lower())
    stem = "-".join(filter(None, "".join(letters).split("-")))[:60] or "my-tank"
    names = (f"{stem}{'' if k == 1 else f'-{k}'}{ENDING}" for k in range(1, 10_000))
    return next(name for name in names if not os.path.lexists(folder / name))


def save(
    scenario: Scenario,
    name: str,
    *,
    folder: Path,
    over: bool = False,
    seen: str = "",
) -> Saved:
    """Write a tank to a file of a folder.

    Parameters
    ----------
    scenario
        The tank; it must be one that can be played, since no other can be opened again.
    name
        Of the file.
    folder
        One that a person pointed at.
    over
        Write over a file of that name.
    seen
        Digest of that file as it was when it was opened; if it differs now, it is told even
        before it is written over.

    Raises
    ------
    Occupied
        If there is a file of that name and `over` was not said.
    Refused
        If the name is none, the tank cannot be played, or the file cannot be written.
    """
    path = Path(os.path.realpath(folder)) / file_name(name)
    found = judge(scenario)
    if found.checked is None:
        raise Refused(
            Problem(
                path.name,
                "the tank cannot be played as it stands, and could not be opened again "
                f"({found.problems[0]}). Mend that first.",
            )
        )
    if os.path.lexists(path) and not os.path.isfile(path):
        raise Refused(
            Problem(path.name, "this is no ordinary file; expected another name. Choose one.")
        )
    if Path(os.path.realpath(path)).parent != path.parent:
        raise Refused(
            Problem(
                path.name,
                "this is a link to another folder; expected a file of this one. Choose another "
                "name.",
            )
        )
    if os.path.lexists(path) and not over:
        other = bool(seen) and digest_of(path) != seen
        raise Occupied(
            Problem(
                path.name,
                "there is a file of that name already"
                + (", and another program has changed it since it was opened" if other else "")
                + "; expected a new name. Choose one, or say that it is to be written over: its "
                "remarks, and what it was based on, are then gone.",
            )
        )
    write_whole({path: write_scenario(scenario)})
    return Saved(path, digest_of(path))
