"""Pad: what a keeper counted at the real tank, as it is typed, and as the command's rows.

It needs no browser. Text stands as it was typed until it is asked what it means; what cannot be is
refused with the sentences of `holdwater observe`.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from sim.naming import member_names
from sim.sittings import KINDS, Row, check_rows, usual_sitting
from sim.units import format_clock
from viz.observe_counts import COLUMNS, row_of, rows_of

if TYPE_CHECKING:
    from sim.scenario import Scenario

MOST_SITTINGS = 12
WHEN = ("minutes", "day", "hour")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sitting as it was typed.

    Parameters
    ----------
    when
        Text by `WHEN`.
    cells
        Text by name of the fish or group, and by `sim.sittings.KINDS`; only what is not blank.
    """

    when: Mapping[str, str]
    cells: Mapping[tuple[str, str], str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Pad:
    """All sittings as they were typed.

    Parameters
    ----------
    sheets
        One for each sitting.
    each
        Whether the fish of a group are counted one by one.
    """

    sheets: tuple[Sheet, ...]
    each: bool = False

    @classmethod
    def blank(cls, scenario: Scenario) -> Pad:
        """Return a pad on which nothing is counted yet.

        Parameters
        ----------
        scenario
            The tank.
        """
        return cls((_usual(scenario),))

    def names(self, scenario: Scenario) -> list[str]:
        """Return who is counted: groups together, or every fish.

        Parameters
        ----------
        scenario
            The tank.
        """
        if self.each:
            return [name for group in scenario.fish for name in member_names(group)]
        return [group.name for group in scenario.fish]

    def put(self, sheet: int, who: str, kind: str, text: str) -> Pad:
        """Return the pad with something typed in a cell, or in `WHEN` where `who` is empty.

        Parameters
        ----------
        sheet
            Place of the sitting.
        who, kind
            The cell.
        text
            As typed.
        """
        one = self.sheets[sheet]
        text = text.strip()
        if not who:
            new = replace(one, when={**one.when, kind: text})
        else:
            cells = {key: value for key, value in one.cells.items() if key != (who, kind)}
            new = replace(one, cells={**cells, (who, kind): text} if text else cells)
        return replace(self, sheets=(*self.sheets[:sheet], new, *self.sheets[sheet + 1 :]))

    def more(self, scenario: Scenario) -> Pad:
        """Return the pad with a further sitting, a day after the last; at most `MOST_SITTINGS`.

        Parameters
        ----------
        scenario
            The tank.
        """
        if len(self.sheets) >= MOST_SITTINGS:
            return self
        last = self.sheets[-1].when
        day = last["day"]
        when = {**last, "day": str(int(day) + 1) if day.isdecimal() and len(day) < 6 else day}
        return replace(self, sheets=(*self.sheets, Sheet(when)))

    def without(self, sheet: int) -> Pad:
        """Return the pad without a sitting, unless it is the only one."""
        if len(self.sheets) == 1:
            return self
        return replace(self, sheets=(*self.sheets[:sheet], *self.sheets[sheet + 1 :]))

    def rows(self, scenario: Scenario) -> tuple[Row, ...]:
        """Return what was counted, checked against the tank.

        Parameters
        ----------
        scenario
            The tank that was watched.

        Raises
        ------
        Refused
            With all that cannot be.
        """
        problems: list[Problem] = []
        rows: list[Row] = []
        for number, sheet in enumerate(self.sheets, start=1):
            start = f"sitting {number}, " if len(self.sheets) > 1 else ""
            for who in self._told(sheet, scenario):
                cells = {**dict.fromkeys(COLUMNS, ""), **sheet.when, "fish": who}
                cells |= {kind: sheet.cells.get((who, kind), "") for kind in KINDS}
                row = row_of(cells, scenario, f"{start}{who}", problems)
                if row is not None:
                    rows.append(row)
        if problems:
            raise Refused(_once(problems))
        return check_rows(scenario, rows)

    def _told(self, sheet: Sheet, scenario: Scenario) -> list[str]:
        """Who has anything counted; what was typed of fish that are not listed now stays away."""
        return [
            who
            for who in self.names(scenario)
            if any(sheet.cells.get((who, kind)) for kind in KINDS)
        ]

    def as_text(self, scenario: Scenario) -> str:
        """Return the pad as a file for `holdwater observe`.

        Parameters
        ----------
        scenario
            The tank.
        """
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(COLUMNS)
        for sheet in self.sheets:
            for who in self.names(scenario):
                cells = [sheet.cells.get((who, kind), "") for kind in KINDS]
                writer.writerow([who, *(sheet.when[key] for key in WHEN), *cells])
        return out.getvalue()


def pad_of_text(text: str, scenario: Scenario) -> Pad:
    """Return a pad with what a file of counts holds.

    Parameters
    ----------
    text
        Of the file.
    scenario
        The tank.

    Raises
    ------
    Refused
        With every row and column that cannot be.
    """
    rows = check_rows(scenario, rows_of(text, scenario))
    groups = {group.name for group in scenario.fish}
    each = any(row.who not in groups for row in rows)
    if each and any(row.who in groups and _many(scenario, row.who) for row in rows):
        raise Refused(
            Problem("", "some groups are counted together and some fish by themselves; expected "
                    "one of the two here. `holdwater observe` takes both.")
        )  # fmt: skip
    sheets = []
    for sitting in dict.fromkeys(row.sitting for row in rows):
        when = {
            "minutes": f"{sitting.minutes:g}",
            "day": str(sitting.day),
            "hour": format_clock(sitting.at_h),
        }
        cells = {
            (row.who, kind): f"{count:g}"
            for row in rows
            if row.sitting == sitting
            for kind, count in zip(KINDS, row.counts, strict=True)
            if count is not None
        }
        sheets.append(Sheet(when, cells))
    if len(sheets) > MOST_SITTINGS:
        raise Refused(
            Problem("", f"got {len(sheets)} sittings; expected {MOST_SITTINGS} at most here. "
                    "`holdwater observe` takes more.")
        )  # fmt: skip
    return Pad(tuple(sheets), each=each)


def _many(scenario: Scenario, name: str) -> bool:
    return any(group.name == name and group.count > 1 for group in scenario.fish)


def _usual(scenario: Scenario) -> Sheet:
    usual = usual_sitting(scenario)
    return Sheet(
        {"minutes": f"{usual.minutes:g}", "day": str(usual.day), "hour": format_clock(usual.at_h)}
    )


def _once(problems: list[Problem]) -> list[Problem]:
    """What is wrong with the sitting itself, said once and not for every fish."""
    found: dict[tuple[str, str], Problem] = {}
    for one in problems:
        column = one.where.rsplit(", ", 1)[-1]
        key = (column if column in WHEN else one.where, one.sentence)
        found.setdefault(key, replace(one, where=column) if column in WHEN else one)
    return list(found.values())
