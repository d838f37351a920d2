"""What `sums` does: read, check, reckon, show, write."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from sim.fields import shown

if TYPE_CHECKING:
    from sim.check import Checked
    from sim.sums.assumed import Assumed

MOST_TANKS = 4


def show_sums(paths: Sequence[Path], *, asked: Mapping[str, str | None], json: Path | None) -> None:
    """Reckon the sums of one tank or several, show them, and write what was asked for.

    Parameters
    ----------
    paths
        Scenario files.
    asked
        Options as typed, by name (`--ph`); None where one was left out.
    json
        Where to write, or None.

    Raises
    ------
    Refused
        If an option has no sense, a scenario cannot be played, or a file not written.
    """
    from viz.asked import writable_file
    from viz.complaints import complain
    from viz.ink import console
    from viz.record import write_whole
    from viz.sums_page import sums_page
    from viz.sums_results import gather_sums, sums_json

    problems: list[Problem] = []
    given: dict[str, float] = {}
    try:
        given = read_numbers(asked)
    except Refused as refusal:
        problems += refusal.problems
    if json is not None:
        try:
            json = writable_file(json, option="--json")
        except Refused as refusal:
            problems += refusal.problems
    if len(paths) > MOST_TANKS:
        problems.append(
            Problem("sums", f"got {len(paths)}; expected one to {MOST_TANKS} scenario files.")
        )
    if problems:
        raise Refused(problems)
    checked = _read_files(paths)
    results = gather_sums(paths, checked=checked, given=given)
    for found in checked:
        complain(found.warnings, unwise=True)
    console().print(sums_page(results))
    if json is not None:
        write_whole({json: sums_json(results)})


def _read_files(paths: Sequence[Path]) -> list[Checked]:
    from sim.check import check_file

    problems: list[Problem] = []
    found: list[Checked] = []
    for path in paths:
        try:
            found.append(check_file(path))
        except Refused as refusal:
            problems += refusal.problems
    if problems:
        raise Refused(problems)
    return found


def read_numbers(asked: Mapping[str, str | None]) -> dict[str, float]:
    """Return the numbers that were typed, by the names of `sim.sums.assumed`.

    Parameters
    ----------
    asked
        Options as typed, by name (`--ph`); None where one was left out.

    Returns
    -------
    dict
        Name to value, in the unit of the number.

    Raises
    ------
    Refused
        With every one that is no such number, or lies outside its range.
    """
    from sim.sums.assumed import load_assumed
    from sim.units import UnitError

    problems = []
    given: dict[str, float] = {}
    for one in load_assumed().values():
        text = asked.get(one.option) if one.option else None
        if text is None:
            continue
        try:
            value = _reader(one)(text)
        except UnitError as error:
            problems.append(Problem(one.option, str(error)))
            continue
        if one.low <= value <= one.high:
            given[one.name] = value
        else:
            problems.append(Problem(one.option, f"got {shown(text)}; expected {_bounds(one)}."))
    if problems:
        raise Refused(problems)
    return given


def _reader(one: Assumed) -> Callable[[str], float]:
    from sim.units import parse_duration, parse_length, parse_share

    def number(text: str) -> float:
        try:
            return float(text)
        except ValueError:
            return math.nan

    def days(text: str) -> float:
        return parse_duration(text) if math.isnan(number(text)) else number(text)

    def share(text: str) -> float:
        plain = number(text)
        return parse_share(text if math.isnan(plain) else plain)

    if one.unit == "m":
        return parse_length
    if one.unit == "d":
        return days
    return share if one.unit.startswith("share") else number


def _bounds(one: Assumed) -> str:
    """The range as a person would type it."""
    if one.unit.startswith("share"):
        return f'{100.0 * one.low:g} to {100.0 * one.high:g} %, as "{100.0 * one.value:g} %"'
    if one.unit == "d":
        return f'{one.low:g} to {one.high:g} days, as "{one.value:g} days"'
    unit = "" if one.unit == "pH" else f" {one.unit}"
    return f"{one.low:g} to {one.high:g}{unit}"
