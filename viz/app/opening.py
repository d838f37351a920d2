"""Scenario files as the app opens them: from a path, from a browser, and kept over a reload."""

from __future__ import annotations

import re
import tempfile
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused

if TYPE_CHECKING:
    from sim.check import Checked
    from sim.scenario import Scenario

MOST_TEXT_BYTES = 1_000_000  # as `sim.scenario_file` reads at most
_MOST_NAME = 120


def shipped(name: str) -> Path:
    """Return the path of a tank that ships with the program.

    Parameters
    ----------
    name
        Of its file.
    """
    return Path(str(files("scenarios").joinpath(name)))


def open_path(path: Path) -> Checked:
    """Return what a file holds, checked whole.

    Parameters
    ----------
    path
        A scenario file.

    Raises
    ------
    Refused
        With every problem.
    """
    from sim.check import check_file

    return check_file(path)


def open_text(text: str, *, name: str = "") -> Checked:
    """Return what a text from the browser holds, checked whole.

    A browser hands over one file and not the folder it lies in, so the text may be based on a
    shipped tank, and on nothing else of this machine.

    Parameters
    ----------
    text
        The text of a scenario file.
    name
        What the file is called there, for the messages.

    Raises
    ------
    Refused
        With every problem.
    """
    from sim.check import check_file

    called = _plain_name(name)
    if len(text.encode("utf-8", errors="replace")) > MOST_TEXT_BYTES:
        raise Refused(
            Problem(
                called,
                f"the file is too large; expected at most {MOST_TEXT_BYTES / 1e6:g} MB. Check that "
                "it is the right file.",
            )
        )
    with tempfile.TemporaryDirectory(prefix="holdwater-") as folder:
        # A folder inside another, since a file may also be based on one in a folder beside it.
        inner = Path(folder) / "tanks"
        inner.mkdir()
        for base in files("scenarios").iterdir():
            if base.name.endswith(".toml"):
                (inner / base.name).write_text(base.read_text("utf-8"), encoding="utf-8")
        path = inner / called
        path.write_text(text, encoding="utf-8", errors="replace", newline="")
        try:
            return check_file(path)
        except Refused as refusal:
            raise Refused(
                [_without(problem, f"{inner}/") for problem in refusal.problems],
                warnings=[_without(problem, f"{inner}/") for problem in refusal.warnings],
            ) from None


def tank_from_kept(entry: Any) -> tuple[str, Scenario, Scenario | None]:
    """Return the name of a kept tank, what it was, and what had been saved of it.

    Parameters
    ----------
    entry
        One of the ``tanks`` that `Session.kept` returned, as the browser gave it back.

    Raises
    ------
    Refused
        If a text is no scenario any more.
    TypeError, KeyError
        If it is something else altogether.
    """
    name, text, saved = entry["name"], entry["text"], entry["saved"]
    if not isinstance(name, str) or not isinstance(text, str):
        raise TypeError("a kept tank without a name or a text")
    before = None if saved is None else read_text(saved)
    return name[:_MOST_NAME], read_text(text), before


def read_text(text: str) -> Scenario:
    """Return the scenario a text holds, whatever its geometry; for tanks in the making.

    Parameters
    ----------
    text
        As `sim.scenario_writing.write_scenario` writes it: based on nothing.

    Raises
    ------
    Refused
        If it is no scenario, or too large.
    TypeError
        If it is no text.
    """
    from sim.scenario_file import read_scenario

    if not isinstance(text, str):
        raise TypeError("no text")
    if len(text) > MOST_TEXT_BYTES:
        raise Refused(Problem("tank", "the text is too large."))
    with tempfile.TemporaryDirectory(prefix="holdwater-") as folder:
        inner = Path(folder) / "tanks"
        inner.mkdir()
        path = inner / "tank.toml"
        path.write_text(text, encoding="utf-8", errors="replace", newline="")
        return read_scenario(path)


def _plain_name(name: str) -> str:
    """A file name without folders or anything that could lead elsewhere."""
    plain = re.sub(r"[^\w .-]", "-", name.replace("\\", "/").rpartition("/")[2]).lstrip(".- ")
    plain = plain[-_MOST_NAME:] or "tank"
    return plain if plain.endswith(".toml") else f"{plain}.toml"


def _without(problem: Problem, folder: str) -> Problem:
    return Problem(problem.where.replace(folder, ""), problem.sentence.replace(folder, ""))
