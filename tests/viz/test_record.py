"""Files of results: valid by the schema, every sentence traceable, all or nothing."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from sim.errors import Refused
from sim.outcome import DAY_ROW, FISH_ROW, RUN_ROW
from tests.viz.commands import SMALL, TOP, Ended, holdwater
from viz.csv_tables import TABLES, column_name
from viz.record import write_whole

RUNS = 6
Again = Callable[..., Ended]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two tanks, and what a comparison of them left."""
    place = tmp_path_factory.mktemp("record")
    (place / "short.toml").write_text(SMALL.replace("tetras", "[red]mob[/red]"))
    (place / "long.toml").write_text(
        'based_on = "short.toml"\npieces_when_resized = "stretch"\ntitle = "[bold]Long[/bold]"\n'
        '[tank]\nlength = "48 in"\n'
        '[keeper_plan]\nchecks_at = ["12:00"]\nmoves = "victim"\nspare_places = 1\n'
    )
    ended = holdwater(
        "compare", "short.toml", "long.toml", "--runs", RUNS, "--set", "stamina_time=4",
        "--json", "out.json", "--csv", "tables", cwd=place,
    )  # fmt: skip
    assert ended.code == 0, ended.err
    (place / "page.txt").write_text(ended.out, encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def found(folder: Path) -> dict[str, Any]:
    result: dict[str, Any] = json.loads((folder / "out.json").read_text(encoding="utf-8"))
    return result


def test_schema_is_a_schema_and_the_file_is_valid(found: dict[str, Any]) -> None:
    schema = json.loads((TOP / "docs" / "results.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(found)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda whole: whole.pop("provenance"),
        lambda whole: whole["designs"][0].pop("hash"),
        lambda whole: whole["designs"][0]["outcomes"].pop("serious"),
        lambda whole: whole["differences"][0].update(better=-1),
        lambda whole: whole["verdicts"][0].update(verdict="perhaps"),
        lambda whole: whole.update(more=1),
    ],
)
def test_schema_sees_what_is_wrong(found: dict[str, Any], spoil: Callable[[Any], Any]) -> None:
    schema = json.loads((TOP / "docs" / "results.schema.json").read_text(encoding="utf-8"))
    whole = json.loads(json.dumps(found))
    spoil(whole)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema).validate(whole)


def test_a_keeper_leaves_spare_places_and_the_tank_without_one_none(found: dict[str, Any]) -> None:
    short, long = found["designs"]
    assert short["spare"] is None
    assert "separated" not in short["outcomes"]
    assert long["spare"]["places"] >= 0
    assert 0.0 <= long["spare"]["enough"]["estimate"] <= 1.0
    assert {"separated", "moved_out", "places_needed", "places_short"} <= set(long["outcomes"])


def test_provenance(found: dict[str, Any]) -> None:
    played = found["provenance"]
    assert played["parameters_changed"] == {"stamina_time": 4.0}
    assert played["seed"] == 1
    assert [design["runs"] for design in found["designs"]] == [RUNS, RUNS]
    assert found["designs"][0]["hash"] != found["designs"][1]["hash"]


def test_every_sentence_points_at_its_numbers(found: dict[str, Any]) -> None:
    """What a pointer leads to holds each figure of the sentence, rounded as the words round."""
    assert len(found["sentences"]) > 5
    for sentence in found["sentences"]:
        numbers = {
            number for source in sentence["sources"] for number in numbers_in(at(found, source))
        }
        assert numbers or "too little" in sentence["words"] or "More runs" in sentence["words"]
        for words in re.findall(r"\d+(?:\.\d+)?", without_names(sentence["words"], found)):
            value = float(words)
            places = len(words.partition(".")[2])
            slack = 0.5 * 10.0**-places + 1e-9
            assert any(
                abs(abs(factor * number) - value) <= slack
                for number in numbers
                for factor in (1.0, 100.0)
            ) or value in {100.0, RUNS, 11.0, 0.01}, (words, sentence)


def at(whole: Any, pointer: str) -> Any:
    for step in pointer.removeprefix("/").split("/"):
        whole = whole[int(step)] if isinstance(whole, list) else whole[step]
    return whole


def numbers_in(value: Any) -> Iterator[float]:
    if isinstance(value, dict):
        for part in value.values():
            yield from numbers_in(part)
        if {"better", "same", "worse"} <= set(value):
            yield value["better"] + value["same"] + value["worse"]
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield value


def without_names(words: str, found: dict[str, Any]) -> str:
    for design in found["designs"]:
        for fish in design["fish"]:
            words = words.replace(fish["name"], "")
    return words


def test_what_is_printed_is_what_is_kept(folder: Path, found: dict[str, Any]) -> None:
    page = re.sub(r"\s+", " ", (folder / "page.txt").read_text(encoding="utf-8"))
    for sentence in found["sentences"]:
        assert re.sub(r"\s+", " ", sentence["words"]) in page
    for caution in found["cautions"]:
        assert caution in page


def test_page_is_readable_at_80_columns_and_names_are_only_text(folder: Path) -> None:
    page = (folder / "page.txt").read_text(encoding="utf-8")
    assert max(len(line) for line in page.splitlines()) <= 80
    assert "[bold]Long[/bold]" in page
    assert "[red]mob[/red] 1" in page
    assert "\x1b" not in page


@pytest.mark.parametrize("table", TABLES)
def test_tables(folder: Path, table: str) -> None:
    with (folder / "tables" / f"{table}.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    if table == "outgrown":
        assert rows == []  # nobody grows here; tests/sim/test_grow.py has one who does
        return
    if table in ("sittings", "acts"):
        assert rows == []  # nobody watches here; tests/viz/test_pad_page.py has one who does
        return
    if table in ("harms", "holders"):
        assert {row["design"] for row in rows} == {"Small tank", "[bold]Long[/bold]"}
        assert all(float(row["dose_injury"]) > 0.0 for row in rows)
        return
    counts = {"runs": RUNS, "fish": 3 * RUNS, "days": 2 * RUNS, "chases": 6, "ends": 7 * 6}
    assert len(rows) == 2 * counts[table]
    assert {row["design"] for row in rows} == {"Small tank", "[bold]Long[/bold]"}
    assert not any(cell in ("nan", "inf", "-inf") for row in rows for cell in row.values())


def test_tables_agree_with_each_other(folder: Path, found: dict[str, Any]) -> None:
    def rows(table: str) -> list[dict[str, str]]:
        with (folder / "tables" / f"{table}.csv").open(encoding="utf-8", newline="") as stream:
            return [row for row in csv.DictReader(stream) if row["design"] == "Small tank"]

    chases = sum(int(row["chases_count"]) for row in rows("chases"))
    assert chases == sum(int(row["chases_given_count"]) for row in rows("fish"))
    assert chases == sum(int(row["chases_count"]) for row in rows("days"))
    assert chases > 0
    dose = sum(float(row["dose_injury"]) for row in rows("fish"))
    for table in ("harms", "holders"):
        assert sum(float(row["dose_injury"]) for row in rows(table)) == pytest.approx(dose)
    hurt = sum(int(row["serious_0_or_1"]) for row in rows("runs"))
    assert found["designs"][0]["outcomes"]["serious"]["estimate"] == pytest.approx(hurt / RUNS)


@pytest.mark.parametrize("dtype", [RUN_ROW, FISH_ROW, DAY_ROW])
def test_every_column_says_its_unit(dtype: Any) -> None:
    plain = {"run", "draw", "number_set", "fish", "day", "stage", "holds_site", "mate"}
    ends = ("_m", "_m2", "_g", "_h", "_per_h", "_per_day", "_per_fish", "_day", "_count", "_share",
            "_0_or_1", "_0_to_1", "_injury", "_times_convict", "_sd_over_mean")  # fmt: skip
    names = {column_name(name) for name in dtype.names} - plain
    assert not [name for name in names if not name.endswith(ends)]


def test_same_bytes_again_whatever_the_workers(folder: Path) -> None:
    first = (folder / "out.json").read_bytes()
    ended = holdwater(
        "compare", "short.toml", "long.toml", "--runs", RUNS, "--set", "stamina_time=4",
        "--json", "again.json", "--workers", "1", cwd=folder,
    )  # fmt: skip
    assert ended.code == 0, ended.err
    assert (folder / "again.json").read_bytes() == first


def test_nothing_is_left_of_a_failed_write(tmp_path: Path) -> None:
    def broken() -> Iterator[str]:
        yield "a,b\n"
        raise OSError(28, "No space left on device")

    (tmp_path / "old.csv").write_text("old")
    with pytest.raises(Refused, match="No space left"):
        write_whole({tmp_path / "old.csv": "new", tmp_path / "other.csv": broken()})
    assert [path.name for path in tmp_path.iterdir()] == ["old.csv"]
    assert (tmp_path / "old.csv").read_text() == "old"
    with pytest.raises(Refused, match="No space left"):
        write_whole({tmp_path / "made" / "x.csv": broken()}, folder=tmp_path / "made")
    assert not (tmp_path / "made").exists()


def test_a_file_is_written_through_a_link(tmp_path: Path) -> None:
    (tmp_path / "real.json").write_text("old")
    (tmp_path / "link.json").symlink_to("real.json")
    write_whole({tmp_path / "link.json": "new"})
    assert (tmp_path / "link.json").is_symlink()
    assert (tmp_path / "real.json").read_text() == "new"
