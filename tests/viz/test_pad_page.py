"""What somebody with a pad counts, on the page, in JSON and as CSV: the same numbers."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tests.viz.commands import SMALL, TOP, holdwater

RUNS = 6
OBSERVE = """
[[observe]]
name = "after [red]lunch[/red]"
to_day = 1
at = "14:00"
minutes = 20

[[observe]]
name = "match"
from_day = 1
at = "17:00"
minutes = 45
fish = ["Rook"]
until_decided = true

[[fish]]
name = "Rook"
species = "convict cichlid"
sex = "male"
length = "3.9 in"
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("pad")
    (place / "pad.toml").write_text(SMALL + OBSERVE)
    ended = holdwater(
        "run", "pad.toml", "--runs", RUNS, "--json", "out.json", "--csv", "tables", cwd=place
    )
    assert ended.code == 0, ended.err
    (place / "page.txt").write_text(ended.out, encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def found(folder: Path) -> dict[str, Any]:
    result: dict[str, Any] = json.loads((folder / "out.json").read_text(encoding="utf-8"))
    return result


def rows(folder: Path, table: str) -> list[dict[str, str]]:
    with (folder / "tables" / f"{table}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_the_file_is_valid_and_holds_every_observation(found: dict[str, Any]) -> None:
    schema = json.loads((TOP / "docs" / "results.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(found)
    pad, match = found["designs"][0]["observed"]
    assert (pad["days"], pad["at_h"], pad["minutes"], pad["meeting"]) == ([0, 1], 14.0, 20.0, False)
    assert (match["meeting"], match["until_decided"]) == (True, True)
    assert {"decided", "missed"} <= set(match["outcomes"])
    assert "decided" not in pad["outcomes"]


def test_tables_and_numbers_agree(folder: Path, found: dict[str, Any]) -> None:
    kinds = [f"{name}_count" for name in ("displays", "bites", "wrestles", "chases")]
    sittings, acts = rows(folder, "sittings"), rows(folder, "acts")
    assert len(sittings) == RUNS * 3
    for one in found["designs"][0]["observed"]:
        mine = [row for row in sittings if row["observation"] == one["name"]]
        total = sum(int(row[kind]) for row in mine for kind in kinds)
        assert one["outcomes"]["acts"]["estimate"] == pytest.approx(total / len(mine))
        each = [row for row in acts if row["observation"] == one["name"]]
        assert sum(int(row[kind]) for row in each for kind in kinds) == total
        for fish in one["fish"]:
            given = sum(int(row[k]) for row in each if row["actor"] == fish["name"] for k in kinds)
            assert fish["outcomes"]["given"]["estimate"] == pytest.approx(given / len(mine))
    assert {row["start_h"] for row in sittings} == {"14.0", "17.0"}
    assert not any(cell in ("nan", "inf") for row in (*sittings, *acts) for cell in row.values())


def test_the_page_says_it_in_keepers_words(folder: Path, found: dict[str, Any]) -> None:
    page = (folder / "page.txt").read_text(encoding="utf-8")
    assert max(len(line) for line in page.splitlines()) <= 80
    part = page.partition("With a pad")[2].partition("How chases ended")[0]
    assert "after [red]lunch[/red]   days 0 to 1, 14:00, 20 minutes" in part
    assert "match   day 1, 17:00, 45 minutes at most" in part
    assert re.search(r"Rook +[\d.]+", part)
    assert "wins, of 100" in part
    told = [one["words"] for one in found["sentences"] if "/observed/" in one["sources"][0]]
    assert len(told) == 3
    plain = re.sub(r"\s+", " ", part)
    assert all(words in plain for words in told)


def test_each_sentence_stands_on_the_numbers_it_points_at(found: dict[str, Any]) -> None:
    for one in found["sentences"]:
        if "/observed/" not in one["sources"][0]:
            continue
        place = int(one["sources"][0].split("/observed/")[1].split("/")[0])
        observed = found["designs"][0]["observed"][place]
        known = [
            value
            for number in observed["outcomes"].values()
            for value in (number["estimate"], number["low"], number["high"])
            if value is not None
        ]
        for word in re.findall(r"\d+(?:\.\d+)?", one["words"]):
            places = len(word.partition(".")[2])
            slack = 0.5 * 10.0**-places + 1e-9
            near = (abs(f * value - float(word)) <= slack for value in known for f in (1.0, 100.0))
            assert any(near) or word == "100", (word, one["words"])
