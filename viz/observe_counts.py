"""A keeper's counts as a file: a CSV with a row for each fish and sitting, and its template."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from sim.fields import shown
from sim.sittings import KINDS, Row, Sitting, check_rows, usual_sitting
from viz.asked import quoted

if TYPE_CHECKING:
    from sim.scenario import Scenario

COLUMNS = ("fish", "minutes", "day", "hour", *KINDS)
NEEDED = ("fish", "minutes")
MOST_BYTES = 1_000_000
MOST_ROWS = 5000


def template_text(scenario: Scenario) -> str:
    """Return a file to be filled in: a row for each fish, and one for each group together.

    Parameters
    ----------
    scenario
        The tank.
    """
    from sim.units import format_clock

    usual = usual_sitting(scenario)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for group in scenario.fish:
        when = max(usual, Sitting(int(group.joins_day) + 1, usual.at_h, usual.minutes))
        if group.joins_day <= 0.0:
            when = usual
        if when.ends <= scenario.days:
            at = format_clock(when.at_h)
            writer.writerow([group.name, f"{when.minutes:g}", when.day, at, "", "", ""])
    return out.getvalue()


def read_counts(path: Path, scenario: Scenario) -> tuple[Row, ...]:
    """Return what a file of counts holds, checked against the tank.

    Parameters
    ----------
    path
        The file.
    scenario
        The tank that was watched.

    Raises
    ------
    Refused
        With every row and column that cannot be.
    """
    try:
        return check_rows(scenario, rows_of(_text(path), scenario))
    except Refused as refusal:
        name = quoted(path)
        raise Refused(
            [
                Problem(f"{name}, {one.where}" if one.where else name, one.sentence)
                for one in refusal.problems
            ]
        ) from None


def _text(path: Path) -> str:
    try:
        if not path.is_file():
            raise Refused(
                Problem("", "there is no such file; expected counts as CSV. `holdwater observe "
                        "FILE --template counts.csv` writes one to be filled in.")
            )  # fmt: skip
        if path.stat().st_size > MOST_BYTES:
            raise Refused(
                Problem("", f"it is larger than {MOST_BYTES // 1_000_000} MB; expected counts.")
            )
        return path.read_text("utf-8-sig")
    except UnicodeDecodeError:
        raise Refused(
            Problem("", "it is no text in UTF-8; expected counts as CSV. Save it as such.")
        ) from None
    except OSError as error:
        raise Refused(
            Problem("", f"it cannot be read ({error.strerror or error}); expected a file.")
        ) from None


def rows_of(text: str, scenario: Scenario) -> tuple[Row, ...]:
    """Return the rows of a text of counts, cells read but not held against the tank.

    Parameters
    ----------
    text
        CSV with a header; commas, or semicolons.
    scenario
        The tank: it says when a sitting is taken to be whose day or hour is left out.

    Raises
    ------
    Refused
        With every row and column that cannot be read.
    """
    first = text.lstrip().split("\n", 1)[0]
    mark = ";" if first.count(";") > first.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    lines: list[tuple[int, list[str]]] = []
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                lines.append((reader.line_num, [cell.strip() for cell in cells]))
    except csv.Error as error:
        sentence = f"it cannot be read as CSV ({error}); expected cells with commas between them."
        raise Refused(Problem(f"row {reader.line_num}", sentence)) from None
    if not lines:
        raise Refused(Problem("", f"it is empty; expected a header: {','.join(COLUMNS)}."))
    if len(lines) > MOST_ROWS:
        raise Refused(Problem("", f"got {len(lines)} rows; expected {MOST_ROWS} at most."))
    header = [cell.lower().replace(" ", "_") for cell in lines[0][1]]
    _check_header(header, lines[0][0])
    problems: list[Problem] = []
    rows: list[Row] = []
    for number, cells in lines[1:]:
        place = f"row {number}"
        if len(cells) > len(header):
            problems.append(
                Problem(
                    place,
                    f"got {len(cells)} cells; expected {len(header)}, as the header has. Correct "
                    "it.",
                )
            )
            continue
        told = dict(zip(header, cells, strict=False))
        row = row_of({name: told.get(name, "") for name in COLUMNS}, scenario, place, problems)
        if row is not None:
            rows.append(row)
    if problems:
        raise Refused(problems)
    return tuple(rows)


def _check_header(header: Sequence[str], number: int) -> None:
    strange = [name for name in header if name not in COLUMNS]
    missing = [name for name in NEEDED if name not in header]
    twice = sorted({name for name in header if header.count(name) > 1})
    expected = f"expected {', '.join(COLUMNS)}. Correct the header."
    problems = []
    if strange:
        got = ", ".join(shown(name) for name in strange)
        problems.append(Problem(f"row {number}", f"got the column {got}; {expected}"))
    if missing:
        gone = " and ".join(missing)
        problems.append(Problem(f"row {number}", f"the column {gone} is missing; {expected}"))
    if twice:
        problems.append(Problem(f"row {number}", f"got {', '.join(twice)} twice; {expected}"))
    if problems:
        raise Refused(problems)


def row_of(
    cells: dict[str, str], scenario: Scenario, place: str, problems: list[Problem]
) -> Row | None:
    """Return one row as it was typed, or None with what is wrong noted.

    Parameters
    ----------
    cells
        Text by the names of `COLUMNS`.
    scenario
        The tank.
    place
        What the row is called in sentences.
    problems
        Takes what is wrong.
    """
    before = len(problems)

    def wrong(column: str, expected: str) -> None:
        got = shown(cells[column]) if cells[column] else "nothing"
        sentence = f"got {got}; expected {expected}. Correct it."
        problems.append(Problem(f"{place}, {column}", sentence))

    def amount(column: str, expected: str) -> float | None:
        try:
            found = float(cells[column]) if re.fullmatch(r"[\d.]{1,9}", cells[column]) else None
        except ValueError:
            found = None
        if found is None:
            wrong(column, expected)
        return found

    def whole(column: str, expected: str) -> int | None:
        if re.fullmatch(r"\d{1,6}", cells[column]):
            return int(cells[column])
        wrong(column, expected)
        return None

    if not cells["fish"]:
        wrong("fish", "the name of a fish or a group")
    minutes = amount("minutes", "a number of minutes, such as 10")
    usual = usual_sitting(scenario, minutes=minutes or 10.0)
    day: int | None = usual.day
    if cells["day"]:
        day = whole("day", "the number of a day, 0 is the first; or nothing")
    at_h: float | None = usual.at_h
    if cells["hour"]:
        at_h = _hour(cells["hour"])
        if at_h is None:
            wrong("hour", 'a time of day such as "14:00"; or nothing')
    given, taken = (
        whole(kind, "a whole number of chases; or nothing where they were not counted")
        if cells[kind]
        else None
        for kind in KINDS[:2]
    )
    hidden = None
    if cells[KINDS[2]]:
        hidden = amount(KINDS[2], "minutes; or nothing where they were not counted")
    if len(problems) > before:
        return None
    assert minutes is not None
    assert day is not None
    assert at_h is not None
    return Row(place, cells["fish"], Sitting(day, at_h, minutes), (given, taken, hidden))


def _hour(text: str) -> float | None:
    from sim.units import UnitError, parse_clock

    if re.fullmatch(r"\d{1,2}(\.\d{1,4})?", text):
        hours = float(text)
        return hours if hours < 24.0 else None
    try:
        return parse_clock(text)
    except UnitError:
        return None
