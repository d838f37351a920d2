"""`holdwater sweep`: its page, files and figure, the same twice; what is refused."""

from __future__ import annotations

import csv
import json
import os
import tomllib
from pathlib import Path

import pyarrow.parquet
import pytest

from tests.viz.commands import SMALL, TOP, Ended, holdwater

SWEEP = ("--vary", "tank.length=30 in,40 in,60 in", "--vary", "hardscape.caves=0..1")


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sweep")
    (folder / "tank.toml").write_text(SMALL, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def ended(place: Path) -> Ended:
    done = holdwater(
        "sweep", "tank.toml", *SWEEP, "--runs", 12, "--days", 1, "--workers", 2, "-o", "out",
        "--outcome", "dose", "--outcome", "chases_per_h", cwd=place,
    )  # fmt: skip
    assert done.code == 0, done.err
    return done


def rows(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_the_page_says_what_gains_and_where_it_ends(ended: Ended) -> None:
    page = " ".join(ended.out.split())
    for words in (
        "tank.length: 30 in, 40 in, 60 in", "6 points, all combinations, 12 runs of 1 day each",
        "tank.length, injury received, summed over the fish:", "Where the caves stand",
        "From value to value", "the same fish at every point", "Before you build it",
    ):  # fmt: skip
        assert words in page
    assert max(map(len, ended.out.splitlines())) <= 80


def test_the_tables_are_tidy_and_alike_in_both_kinds(place: Path, ended: Ended) -> None:
    out = place / "out"
    found = rows(out / "outcomes.csv")
    doses = [row for row in found if row["outcome"] == "dose"]
    assert [row["tank.length_in"] for row in doses] == ["30.0"] * 2 + ["40.0"] * 2 + ["60.0"] * 2
    assert [row["hardscape.caves"] for row in doses] == ["0", "1"] * 3
    for name in ("outcomes", "steps", "caves"):
        table = pyarrow.parquet.read_table(out / f"{name}.parquet").to_pylist()
        text = rows(out / f"{name}.csv")
        assert len(table) == len(text) > 0
        for one, other in zip(table, text, strict=True):
            assert {k: "" if v is None else str(v) for k, v in one.items()} == other


def test_each_sentence_stands_on_numbers_of_the_file(place: Path, ended: Ended) -> None:
    whole = json.loads((place / "out" / "sweep.json").read_text(encoding="utf-8"))
    assert whole["format"] == "holdwater sweep 1"
    assert whole["provenance"]["seed"] == 1
    assert len(whole["sentences"]) == 4
    page = " ".join(ended.out.split())
    for one in whole["sentences"]:
        assert one["words"] in page
        for pointer in one["sources"]:
            node = whole
            for step in pointer.strip("/").split("/"):
                node = node[int(step)] if isinstance(node, list) else node[step]
            assert node


def test_the_tank_of_each_point_is_there_and_gives_the_same(place: Path, ended: Ended) -> None:
    tanks = sorted((place / "out" / "tanks").iterdir())
    assert len(tanks) == 6
    last = tomllib.loads(tanks[-1].read_text(encoding="utf-8"))
    assert last["tank"]["length"] == "60 in"
    again = holdwater(
        "run", tanks[-1], "--runs", 12, "--json", "one.json", cwd=place
    )  # fmt: skip
    assert again.code == 0, again.err
    alone = json.loads((place / "one.json").read_text())["designs"][0]
    point = json.loads((place / "out" / "sweep.json").read_text())["points"][-1]
    assert alone["hash"] == point["hash"]
    assert alone["outcomes"]["dose"] == point["outcomes"]["dose"]


def test_the_same_sweep_gives_the_same_bytes(place: Path, ended: Ended) -> None:
    again = holdwater(
        "sweep", "tank.toml", *SWEEP, "--runs", 12, "--days", 1, "--workers", 1, "-o", "twin",
        "--outcome", "dose", "--outcome", "chases_per_h", cwd=place,
    )  # fmt: skip
    assert again.out.replace('"twin" is', '"out" is') == ended.out
    first, second = place / "out", place / "twin"
    names = sorted(str(path.relative_to(first)) for path in first.rglob("*") if path.is_file())
    assert len(names) == 9 + 6
    for name in names:
        assert (first / name).read_bytes() == (second / name).read_bytes(), name


def test_a_hypercube_and_its_figure(place: Path) -> None:
    done = holdwater(
        "sweep", "tank.toml", "--vary", "tank.length=30 in..60 in", "--vary",
        "fish.tetras.count=0..3", "--plan", "latin", "--points", 8, "--runs", 4, "--days", 1,
        "--figure", "response.svg", "--parquet", "parquet", "--csv", "csv", cwd=place,
    )  # fmt: skip
    assert done.code == 0, done.err
    page = " ".join(done.out.split())
    assert "8 points, a Latin hypercube, 4 runs" in page
    assert "all else alike" in page
    svg = (place / "response.svg").read_text(encoding="utf-8")
    assert svg.startswith("<?xml")
    assert len(rows(place / "csv" / "steps.csv")) > 0
    assert (place / "parquet" / "outcomes.parquet").stat().st_size > 1000


def test_without_the_library_of_parquet_it_is_said_that_it_is_left_out(
    place: Path, tmp_path: Path
) -> None:
    (tmp_path / "pyarrow.py").write_text('raise ImportError("not here")\n', encoding="utf-8")
    done = holdwater(
        "sweep", place / "tank.toml", "--vary", "tank.length=30 in,40 in", "--runs", 2, "-o", "out",
        cwd=tmp_path, PYTHONPATH=f"{tmp_path}{os.pathsep}{TOP}",
    )  # fmt: skip
    assert done.code == 0, done.err
    (said,) = [line for line in done.err.splitlines() if "parquet" in line]
    assert said == (
        "-o: outcomes.parquet, steps.parquet were left out, since the library that writes Parquet, "
        'pyarrow, is not installed. Install it with pip install "holdwater[tables]".'
    )
    written = {path.name for path in (tmp_path / "out").iterdir()}
    assert written == {
        "sweep.json", "outcomes.csv", "steps.csv", "response.png", "response.svg", "tanks"
    }  # fmt: skip


def test_tanks_of_an_earlier_sweep_in_the_folder_are_named(place: Path, tmp_path: Path) -> None:
    for values, left in (("30 in,40 in,50 in", ()), ("30 in,40 in", ("point-3.toml",))):
        done = holdwater(
            "sweep", place / "tank.toml", "--vary", f"tank.length={values}", "--runs", 2,
            "--days", 0.2, "-o", "out", cwd=tmp_path,
        )  # fmt: skip
        assert done.code == 0, done.err
        page = " ".join(done.out.split())
        assert '"out" is written.' in page
        assert ("Of an earlier sweep, and left there: " in page) == bool(left)
        assert all(name in page for name in left)


def test_with_the_library_of_parquet_nothing_is_said_of_it(ended: Ended) -> None:
    assert "parquet" not in ended.err.lower()


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ((), "got no key with more than one value"),
        (("--vary", "tank.length=1 ft,2 ft", "--plan", "round"), "expected full or latin"),
        (("--vary", "tank.length=3 ft,4 ft", "--precision", "x"), "half the width"),
        (("--vary", "tank.length=3 ft,4 ft", "--most-runs", "90"), "without --precision"),
        (("--vary", "tank.length=3 ft,4 ft", "--figure", "a.bmp"), ".png, .svg or .pdf"),
        (("--vary", "tank.length=3 ft,4 ft", "--outcome", "joy"), "--outcome"),
        (("--vary", "tank.length=3 ft,4 ft", "-o", "no/where"), "there is no folder"),
        (("--vary", "tank.wings=3 ft,4 ft"), "tank.wings"),
    ],
)
def test_what_cannot_be_asked_is_refused_and_nothing_is_written(
    arguments: tuple[str, ...], sentence: str, tmp_path: Path
) -> None:
    (tmp_path / "tank.toml").write_text(SMALL, encoding="utf-8")
    done = holdwater("sweep", "tank.toml", *arguments, cwd=tmp_path)
    assert done.code == 2
    assert sentence in done.err
    assert "Traceback" not in done.err
    assert [path.name for path in tmp_path.iterdir()] == ["tank.toml"]
