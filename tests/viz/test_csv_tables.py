"""Cells: a name is never read as a formula, and a number stays as it is."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from tests.viz.commands import SMALL, holdwater
from viz.csv_tables import guarded, text_of

NAMES = ("=1+2", "+Flint", "-Flint", "@Flint")


@pytest.mark.parametrize("name", [*NAMES, "\t=1", "\r=1"])
def test_a_name_that_begins_as_a_formula_gets_an_apostrophe(name: str) -> None:
    assert guarded(name) == f"'{name}"


@pytest.mark.parametrize("cell", [-1.5, -3, 0, 2.0, "", "Flint", "a=b", "'=1"])
def test_numbers_and_plain_names_are_left_alone(cell: object) -> None:
    assert guarded(cell) is cell


def test_a_table_is_guarded_cell_by_cell() -> None:
    rows = [["design", "dose_injury"], ["=SUM(A1)", -0.5]]
    assert "".join(text_of(lambda: iter(rows))) == "design,dose_injury\n'=SUM(A1),-0.5\n"


def test_names_of_a_scenario_reach_no_table_as_formulas(tmp_path: Path) -> None:
    text = SMALL.replace("Small tank", "=Small tank").replace("Flint", "+Flint")
    (tmp_path / "odd.toml").write_text(text.replace('"pot"\nkind', '"@pot"\nkind'))
    for more in ((), ("--replay", 0)):
        ended = holdwater("run", "odd.toml", "--runs", 2, "--csv", "out", *more, cwd=tmp_path)
        assert ended.code == 0, ended.err
    cells = set()
    for path in (tmp_path / "out").glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as stream:
            cells |= {cell for row in csv.reader(stream) for cell in row}
    odd = {cell for cell in cells if cell[:1] in "=+-@" and cell}
    assert {cell for cell in odd if not is_number(cell)} == set()
    assert {"'=Small tank", "'+Flint"} <= cells


def is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True
