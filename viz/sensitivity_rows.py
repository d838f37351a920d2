"""Rows of a study of sensitivity: JSON lines, a plan before the rows that follow it.

A row is written when its point is done. A line that was cut short is dropped, and what was killed
goes on from there and ends with the same bytes.
"""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from sim.errors import Problem, Refused
from sim.sensitivity.plan import Plan
from sim.sensitivity.playing import Row
from viz.asked import quoted


@dataclass(slots=True)
class Kept:
    """What a file holds.

    Parameters
    ----------
    path
        The file.
    plans
        By key.
    rows
        Of each plan, in the order of its points.
    whole
        Bytes up to the end of the last whole line.
    """

    path: Path
    plans: dict[str, Plan] = field(default_factory=dict)
    rows: dict[str, list[Row]] = field(default_factory=dict)
    whole: int = 0


def read_rows(path: Path) -> Kept:
    """Return what a file holds; nothing where there is no file.

    Raises
    ------
    Refused
        If it cannot be read, or is no such file.
    """
    kept = Kept(path)
    try:
        data = path.read_bytes() if path.exists() else b""
    except OSError as error:
        raise Refused(
            Problem(quoted(path), f"it could not be read ({error.strerror}); expected a file.")
        ) from None
    kept.whole = data.rfind(b"\n") + 1
    for number, line in enumerate(data[: kept.whole].splitlines(), start=1):
        try:
            _take(kept, json.loads(line))
        except (ValueError, KeyError, TypeError):
            raise Refused(
                Problem(
                    f"{quoted(path)}, line {number}",
                    "is no row of a study of sensitivity; expected a file that "
                    "`python -m viz.sensitivity` began. Name another file.",
                )
            ) from None
    return kept


def _take(kept: Kept, line: dict[str, Any]) -> None:
    if "plan" in line:
        told = line["plan"]
        plan = Plan(**{**told, "names": tuple(told["names"])})
        kept.plans[plan.key] = plan
        kept.rows[plan.key] = []
        return
    rows = kept.rows[line["of"]]
    if line["number"] != len(rows):
        raise ValueError(line["number"])
    _ = line["seen"]
    rows.append(line)


class Writer:
    """Appends plans and rows to a file, each line whole on disk before the next is begun."""

    def __init__(self, kept: Kept) -> None:
        self.kept = kept
        try:
            # What was cut short goes first, or the next line would be glued to it.
            if kept.path.exists() and kept.path.stat().st_size > kept.whole:
                os.truncate(kept.path, kept.whole)
            self.stream = kept.path.open("a", encoding="utf-8", newline="\n")
        except OSError as error:
            raise Refused(
                Problem(
                    quoted(kept.path),
                    f"it could not be written ({error.strerror}); expected a place one may write "
                    "to. Name another place.",
                )
            ) from None

    def begin(self, plan: Plan) -> None:
        """Write a plan, unless the file has it; its rows are appended after it.

        Raises
        ------
        Refused
            If the file has another plan of this stage.
        """
        known = self.kept.plans.get(plan.key)
        if known is None:
            self._line({"plan": asdict(plan)})
            self.kept.plans[plan.key] = plan
            self.kept.rows[plan.key] = []
            return
        check_same(self.kept.path, known, plan)

    def add(self, row: Row) -> None:
        """Write a row."""
        self._line(row)
        self.kept.rows[row["of"]].append(row)

    def _line(self, value: dict[str, Any]) -> None:
        self.stream.write(json.dumps(value, separators=(",", ":")) + "\n")
        self.stream.flush()

    def close(self) -> None:
        """Close the file."""
        self.stream.close()


WORDS = {"seed": "--seed", "runs": "--runs", "days": "--days"}


def check_same(path: Path, known: Plan, asked: Plan) -> None:
    """Refuse to mix rows of two plans.

    Parameters
    ----------
    path
        The file.
    known, asked
        Its plan of a stage, and the one that is to go on.
    """
    problems = [
        Problem(
            f"{quoted(path)}, {known.key}",
            f"was begun with {option} {getattr(known, name):g}, got {getattr(asked, name):g}; "
            "expected the same. Begin another file for it.",
        )
        for name, option in WORDS.items()
        if getattr(known, name) != getattr(asked, name)
    ]
    if known.model != asked.model:
        problems.append(
            Problem(
                f"{quoted(path)}, {known.key}",
                "was played by other rules or numbers than these; expected the same. Begin "
                "another file.",
            )
        )
    elif known.names != asked.names:
        problems.append(
            Problem(
                f"{quoted(path)}, {known.key}",
                "moves other numbers than were asked for; expected the same. Leave out --factors, "
                "or begin another file.",
            )
        )
    if problems:
        raise Refused(problems)
