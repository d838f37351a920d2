"""What was asked on the command line, checked before anything is computed."""

from __future__ import annotations

import math
import os
import tempfile
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import get_args

from sim.errors import Problem, Refused
from sim.fields import shown

MOST_RUNS = 1_000_000
MOST_DAYS = 3650.0
MOST_WORKERS = 256
MOST_SEED = 2**63 - 1
MOST_TANK_BYTES = 2_000_000  # what is larger is no scenario file
TANK_KEYS = {"tank", "based_on", "fish"}


def quoted(path: str | os.PathLike[str]) -> str:
    """Return a path as a sentence quotes it: whole, and without what would move the cursor.

    Parameters
    ----------
    path
        Any path.
    """
    return '"' + "".join(c if c.isprintable() else "?" for c in os.fspath(path)) + '"'


def whole(option: str, text: str, *, low: int, high: int) -> int:
    """Return a whole number that was asked for.

    Parameters
    ----------
    option
        Where it was asked, for the sentence: ``"--runs"``.
    text
        What was typed.
    low, high
        Least and greatest number allowed.

    Raises
    ------
    Refused
        If it is no such number.
    """
    try:
        number = int(text)
    except ValueError:
        number = low - 1
    if not low <= number <= high:
        raise Refused(
            Problem(option, f"got {shown(text)}; expected a whole number from {low} to {high}.")
        )
    return number


def number_of_days(text: str, *, option: str = "--days") -> float:
    """Return the days a run is to last.

    Parameters
    ----------
    text
        What was typed: a number, or a duration such as ``"6 weeks"``.
    option
        Where it was asked.

    Raises
    ------
    Refused
        If it is no duration, not above zero, or longer than ten years.
    """
    from sim.units import UnitError, parse_duration

    try:
        days = float(text)
    except ValueError:
        try:
            days = parse_duration(text)
        except UnitError:
            days = math.nan
    if not 0.0 < days <= MOST_DAYS:
        raise Refused(
            Problem(
                option,
                f"got {shown(text)}; expected days above 0 and up to {MOST_DAYS:g}, such as 30 or "
                '"6 weeks".',
            )
        )
    return days


def parameter_changes(given: Iterable[str], *, scale: str | None = None) -> dict[str, float]:
    """Return the parameters to change, from `NAME=VALUE`.

    Parameters
    ----------
    given
        What was typed, once for each parameter.
    scale
        Harm of a bite as a multiple of its default, as typed, or None.

    Raises
    ------
    Refused
        If one is not of that form, names no parameter, or lies outside its range.
    """
    from sim.parameters import load_parameters

    table = load_parameters()
    changes: dict[str, float] = {}
    problems = []
    for text in given:
        name, equals, value = (part.strip() for part in text.partition("="))
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not equals or not name:
            problems.append(
                Problem("--set", f"got {shown(text)}; expected NAME=VALUE, as stamina_time=4.")
            )
        elif name not in table:
            problems.append(no_parameter(name, where="--set"))
        elif name in changes:
            problems.append(
                Problem("--set", f"{shown(name)} is set twice; expected one value. Keep one.")
            )
        elif not table[name].low <= number <= table[name].high:
            row = table[name]
            problems.append(
                Problem(
                    f"--set {name}",
                    f"got {shown(value)}; expected {row.low:g} to {row.high:g} {row.unit}".rstrip()
                    + f". `holdwater parameters {name}` says why.",
                )
            )
        else:
            changes[name] = number
    if scale is not None:
        harm = table["harm_per_bite"]
        least, most = harm.low / harm.value, harm.high / harm.value
        try:
            times = float(scale)
        except ValueError:
            times = math.nan
        if not least <= times <= most:
            problems.append(
                Problem(
                    "--injury-scale",
                    f"got {shown(scale)}; expected a multiple of the default harm of a bite, "
                    f"{least:.2g} to {most:.2g}. 1 is the default.",
                )
            )
        elif harm.name in changes:
            problems.append(
                Problem(
                    "--injury-scale",
                    f"is given beside --set {harm.name}, which says the same; expected one of "
                    "them. Keep one.",
                )
            )
        else:
            changes[harm.name] = times * harm.value
    if problems:
        raise Refused(problems)
    return changes


def no_parameter(name: str, *, where: str) -> Problem:
    """Return the sentence for a parameter that there is not, with names that are near.

    Parameters
    ----------
    name
        What was typed.
    where
        Where it was typed.
    """
    from difflib import get_close_matches

    from sim.parameters import load_parameters

    near = get_close_matches(name, load_parameters(), n=3)
    hint = f" Did you mean {' or '.join(near)}?" if near else ""
    return Problem(
        where,
        f"got {shown(name)}; expected the name of a parameter.{hint} "
        "`holdwater parameters` lists them.",
    )


def switched_off(given: Iterable[str]) -> tuple[str, ...]:
    """Return the mechanisms to switch off.

    Parameters
    ----------
    given
        What was typed, once for each mechanism.

    Raises
    ------
    Refused
        If there is no such mechanism.
    """
    from sim.scenario import Mechanism

    known = get_args(Mechanism)
    problems = [
        Problem("--without", f"got {shown(name)}; expected one of {', '.join(known)}.")
        for name in given
        if name not in known
    ]
    if problems:
        raise Refused(problems)
    return tuple(dict.fromkeys(given))


def writable_file(path: Path, *, option: str, over_tanks: bool = False) -> Path:
    """Return the path of a file that can be written, found out before an hour is spent on it.

    Parameters
    ----------
    path
        Where it is to stand.
    option
        The option it was given by.
    over_tanks
        Whether a scenario file may be written over, as where another one is written.

    Raises
    ------
    Refused
        If its folder is missing or not writable, the path is a folder, or a tank would be lost.
    """
    possible(path, option=option)
    if path.is_dir():
        raise Refused(
            Problem(option, f"got {quoted(path)}, a folder; expected the name of a file.")
        )
    if path.exists() and not path.is_file():
        raise Refused(
            Problem(option, f"got {quoted(path)}, no ordinary file; expected one. Name another.")
        )
    if not over_tanks and path.exists() and _holds_a_tank(path):
        raise Refused(
            Problem(
                option,
                f"got {quoted(path)}, a scenario file that would be lost; expected another name.",
            )
        )
    folder = path.parent
    if not folder.is_dir():
        raise Refused(
            Problem(
                option,
                f"got {quoted(path)}, but there is no folder {quoted(folder)}; expected "
                "a file in a folder that exists. Make the folder first.",
            )
        )
    _probe(folder, option=option)
    return path


def possible(path: Path, *, option: str) -> None:
    """Refuse a path at which nothing can ever stand, as one whose name is too long.

    Parameters
    ----------
    path
        Any path.
    option
        The option it was given by.

    Raises
    ------
    Refused
        If the system does not take it. That nothing is there is no reason.
    """
    try:
        path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise Refused(
            Problem(
                option, f"got {quoted(path)}, which cannot be reached ({reason}); expected another."
            )
        ) from None


def page_file(path: Path, *, option: str) -> Path:
    """Return the path of a report that can be written.

    Parameters
    ----------
    path, option
        As of `writable_file`.

    Raises
    ------
    Refused
        As there; and if its name does not say that it is HTML.
    """
    if path.suffix.lower() not in (".html", ".htm"):
        raise Refused(Problem(option, f"got {quoted(path)}; expected a name that ends in .html."))
    return writable_file(path, option=option)


def _holds_a_tank(path: Path) -> bool:
    """Return whether a file is a scenario file, by what it holds."""
    try:
        if path.stat().st_size > MOST_TANK_BYTES:
            return False
        keys = tomllib.loads(path.read_text("utf-8")).keys()
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return False
    return not keys.isdisjoint(TANK_KEYS)


def writable_folder(path: Path, *, option: str) -> Path:
    """Return the path of a folder that is there or can be made in one that is there.

    Parameters
    ----------
    path
        The folder.
    option
        The option it was given by.

    Raises
    ------
    Refused
        If it is a file, or cannot be written.
    """
    possible(path, option=option)
    if path.exists() and not path.is_dir():
        raise Refused(
            Problem(option, f"got {quoted(path)}, a file; expected a folder. Name another.")
        )
    folder = path if path.is_dir() else path.absolute().parent
    if not folder.is_dir():
        raise Refused(
            Problem(
                option,
                f"got {quoted(path)}, but there is no folder {quoted(folder)}; expected "
                "a folder, or a new one in a folder that exists. Make that one first.",
            )
        )
    _probe(folder, option=option)
    return path


def kept_folder(path: Path) -> Path:
    """Return the path of a folder of kept runs, or of a new one.

    One that is there may be read only: what it answers in full needs no writing.

    Parameters
    ----------
    path
        The folder.

    Raises
    ------
    Refused
        If it is a file, or can neither be found nor made.
    """
    possible(path, option="--keep")
    return path if path.is_dir() else writable_folder(path, option="--keep")


def _probe(folder: Path, *, option: str) -> None:
    """Write nothing into a folder, to learn whether one may: rights alone do not tell."""
    try:
        handle, name = tempfile.mkstemp(prefix=".holdwater-", dir=folder)
    except OSError as error:
        raise Refused(
            Problem(
                option,
                f"nothing can be written in {quoted(folder)} "
                f"({error.strerror or error}); expected a folder you may write in. Name another.",
            )
        ) from None
    os.close(handle)
    os.unlink(name)
