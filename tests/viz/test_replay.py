"""One run of a batch, played again by its number: the same run, told with its reasons."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from tests.viz.commands import SMALL, holdwater

RUNS, NUMBER = 5, 3
OPTIONS = ("--runs", RUNS, "--seed", 7, "--set", "attack_rate=0.3")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("replay")
    (place / "small.toml").write_text(SMALL.replace("tetras", "[red]mob[/red]"))
    for more in (("--csv", "batch"), ("--csv", "one", "--replay", NUMBER)):
        ended = holdwater("run", "small.toml", *OPTIONS, *more, cwd=place)
        assert ended.code == 0, ended.err
        (place / f"{more[1]}.txt").write_text(ended.out, encoding="utf-8")
    return place


def rows(folder: Path, kept: str, table: str) -> list[dict[str, str]]:
    with (folder / kept / f"{table}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.parametrize("table", ["runs", "fish", "days"])
def test_it_is_the_same_run_as_in_the_batch(folder: Path, table: str) -> None:
    mine = [row for row in rows(folder, "batch", table) if row["run"] == str(NUMBER)]
    assert mine == rows(folder, "one", table)
    others = [row for row in rows(folder, "batch", table) if row["run"] == str(NUMBER - 1)]
    assert [{**row, "run": ""} for row in others] != [{**row, "run": ""} for row in mine]


def test_the_tables_hold_every_attack_with_its_factors(folder: Path) -> None:
    attacks = rows(folder, "one", "attacks")
    told = sum(int(row["attacks_count"]) for row in rows(folder, "one", "days"))
    assert len(attacks) == told > 20
    assert {row["run"] for row in attacks} == {str(NUMBER)}
    assert {row["followed"] for row in attacks} <= {"display", "chase", "contest"}
    for row in attacks:
        assert float(row["rate_per_s"]) == 0.3
        assert row["attacker"] != row["victim"]
        assert 0.0 <= float(row["learned_times"]) <= 1.0
        assert row["claim_0_to_1"] == "" or 0.0 <= float(row["claim_0_to_1"]) <= 1.0
    taken = sum(int(row["bites_taken_count"]) for row in rows(folder, "one", "fish"))
    assert 0 < sum(int(row["bites_count"]) for row in attacks) <= taken
    happened = rows(folder, "one", "happenings")
    assert any(row["what"] == "takes a place" and row["detail"] for row in happened)


def test_the_page_tells_fish_happenings_and_reasons(folder: Path) -> None:
    page = (folder / "one.txt").read_text(encoding="utf-8")
    assert max(len(line) for line in page.splitlines()) <= 80
    assert f"run {NUMBER} of {RUNS}, numbered from 0: draw of fish {NUMBER // 2}" in page
    assert "[red]mob[/red] 1" in page
    for part in ("The fish", "What happened", "Why they were attacked", "because: a claim"):
        assert part in page
    assert "aquatic veterinarian" in page
    fish = {row["name"]: row for row in rows(folder, "one", "fish")}
    line = next(line for line in page.splitlines() if line.startswith("Flint"))
    assert line.split()[-2] == fish["Flint"]["bites_taken_count"]


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("--replay", RUNS), f"expected a whole number from 0 to {RUNS - 1}, since the {RUNS}"),
        (("--replay", "last"), 'got "last"; expected a whole number from 0'),
        (("--replay", 0, "--json", "out.json"), "one run has no intervals to keep"),
    ],
)
def test_what_cannot_be_is_said(folder: Path, more: tuple[str | int, ...], says: str) -> None:
    ended = holdwater("run", "small.toml", *OPTIONS, *more, cwd=folder)
    assert ended.code == 2
    assert says in " ".join(ended.err.split())
    assert "Traceback" not in ended.err
    assert not (folder / "out.json").exists()
