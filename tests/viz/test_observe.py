"""`holdwater observe`: counts in, what is refused, what it says, and what it writes."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from sim.check import check_file
from tests.viz.commands import SMALL
from viz import cli
from viz.observe_results import NarrowedResult, RangeResult
from viz.observe_words import untold, watched_words

HEADER = "fish,minutes,day,hour,chases_given,chases_taken,minutes_hidden\n"
BRIEF = ("--learn", "80", "--runs", "8", "--days", "1")
COUNTS = f"{HEADER}Flint,10,0,13:00,9,0,0\ntetras,10,0,13:00,0,9,14.5\n"
OTHER = 'based_on = "small.toml"\npieces_when_resized = "stretch"\ntank.length = "48 in"\n'


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "small.toml").write_text(SMALL, "utf-8")
    (tmp_path / "long.toml").write_text(OTHER, "utf-8")
    (tmp_path / "counts.csv").write_text(COUNTS, "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def plain(text: str) -> str:
    return " ".join(text.split())


def test_it_says_what_counts_tell_and_plays_two_tanks_with_these_fish(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = ["observe", "small.toml", "counts.csv", "long.toml", *BRIEF]
    code = cli.outcome([*asked, "--json", "o.json", "--csv", "tab", "-o", "known.toml"])
    said = capsys.readouterr()
    assert code == 0, said.err
    page = plain(said.out)
    for words in (
        "What was counted in ten minutes", "day 0, 13:00, 10 minutes", "Flint 9 (",
        "What it tells of the answer", "What it tells of the fish",
        "by their tempers alone, these fish take".capitalize(),
        "They were learnt from 80 runs", "The further hour would be day 0, 13:10, 60 minutes",
        "These counts do not tell the 2 fish of the tetras apart",
        "8 runs of 1 day each", "aquatic veterinarian",
    ):  # fmt: skip
        assert words in page, words
    told = json.loads((folder / "o.json").read_text("utf-8"))
    assert told["format"] == "holdwater observe 1"
    assert [one["count"] for one in told["counted"]] == [9.0, 0.0, 0.0, 0.0, 9.0, 14.5]
    for row in told["sentences"]:
        for source in row["sources"]:
            at = told
            for part in source.strip("/").split("/"):
                at = at[int(part)] if isinstance(at, list) else at[part]
    assert [one["what"] for one in told["answers"]].count("ratio") == 1
    names = {path.name for path in (folder / "tab").iterdir()}
    assert {"runs.csv", "tempers.csv", "temper_draws.csv"} <= names
    with (folder / "tab" / "tempers.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["fish"] for row in rows] == ["Flint", "tetras 1", "tetras 2"]
    low, high = (float(rows[0][f"aggression_times_now_{end}"]) for end in ("low", "high"))
    assert 0.0 < low < high
    if (folder / "known.toml").exists():
        checked = check_file(folder / "known.toml").scenario
        assert any(group.temper != "unknown" for group in checked.fish)
    else:
        assert "of no fish the counts tell clearly enough" in page


def test_a_template_is_written_once_and_says_so_when_nothing_is_filled_in(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.outcome(["observe", "small.toml", "--template", "pad.csv"]) == 0
    text = (folder / "pad.csv").read_text("utf-8")
    assert text == f"{HEADER}Flint,10,1,13:00,,,\ntetras,10,1,13:00,,,\n"
    assert "pad.csv" in capsys.readouterr().out
    assert cli.outcome(["observe", "small.toml", "--template", "pad.csv"]) == 2
    assert "is there already and may be filled in" in plain(capsys.readouterr().err)
    assert (folder / "pad.csv").read_text("utf-8") == text
    assert cli.outcome(["observe", "small.toml", "pad.csv"]) == 2
    assert "nothing was counted" in plain(capsys.readouterr().err)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "it is empty; expected a header: fish,minutes,"),
        ("fish,chases\nFlint,3\n", 'got the column "chases"; expected fish, minutes, day'),
        ("fish,chases_given\nFlint,3\n", "the column minutes is missing"),
        (f"{HEADER}Flint,10,0,13:00,3.5,,\n", 'row 2, chases_given: got "3.5"; expected a whole'),
        (f"{HEADER}Flint,10,0,13:00,-1,,\n", 'row 2, chases_given: got "-1"'),
        (f"{HEADER}Flint,ten,0,13:00,1,,\n", 'row 2, minutes: got "ten"; expected a number'),
        (f"{HEADER}Flint,,0,13:00,1,,\n", "row 2, minutes: got nothing; expected a number"),
        (f"{HEADER}Flint,10,0,noon,1,,\n", 'row 2, hour: got "noon"; expected a time of day'),
        (f"{HEADER}Flint,10,x,13:00,1,,\n", 'row 2, day: got "x"; expected the number of a day'),
        (f"{HEADER}\nBrook,10,0,13:00,1,,\n", 'row 3, fish: got "Brook", which nothing here'),
        (f"{HEADER}Flint,10,0,13:00,1,0,2,5\n", "row 2: got 8 cells; expected 7"),
        (f"{HEADER}Flint,10,0,13:00,1,0,nan\n", 'row 2, minutes_hidden: got "nan"'),
    ],
)
def test_bad_rows_are_refused_with_their_row_and_column(
    folder: Path, capsys: pytest.CaptureFixture[str], text: str, says: str
) -> None:
    (folder / "counts.csv").write_text(text, "utf-8")
    assert cli.outcome(["observe", "small.toml", "counts.csv", *BRIEF, "--json", "o.json"]) == 2
    error = plain(capsys.readouterr().err)
    assert says in error
    assert '"counts.csv"' in error
    assert not (folder / "o.json").exists()


def test_semicolons_and_a_mark_at_the_start_are_read_too(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = "\ufeff" + COUNTS.replace(",", ";").replace("Flint;10;0;13:00", "Brook;10;0;13:00")
    (folder / "counts.csv").write_text(text, "utf-8")
    assert cli.outcome(["observe", "small.toml", "counts.csv", *BRIEF]) == 2
    error = plain(capsys.readouterr().err)
    assert 'row 2, fish: got "Brook"' in error
    assert "row 3" not in error


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("small.toml",), "got no files of counts; expected one that ends in .csv"),
        (("small.toml", "none.csv"), "there is no such file; expected counts as CSV"),
        (("counts.csv",), "got 0 scenario files"),
        (("small.toml", "counts.csv", "--learn", "10"), "--learn: got"),
        (("small.toml", "counts.csv", "-o", "known.txt"), "expected a name that ends in .toml"),
        (("small.toml", "counts.csv", "-o", "small.toml"), "a file that is read"),
        (("small.toml", "counts.csv", "--without", "individuality"), "every fish is average"),
    ],
)
def test_calls_without_sense_are_refused(
    folder: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], says: str
) -> None:
    assert cli.outcome(["observe", *arguments]) == 2
    assert says in plain(capsys.readouterr().err)


def narrowed(before: tuple[float, float], now: tuple[float, float], told: float) -> NarrowedResult:
    ranges = [RangeResult(low, 0.5 * (low + high), high) for low, high in (before, now)]
    return NarrowedResult(*ranges, before[1] / before[0], now[1] / now[0], None, "factor", told)


def test_a_range_that_is_as_wide_as_before_is_called_untold() -> None:
    assert untold(narrowed((0.5, 2.0), (0.5, 2.0), 0.3))
    assert untold(narrowed((0.5, 2.0), (0.8, 1.2), 0.0))
    assert not untold(narrowed((0.5, 2.0), (0.8, 2.2), 0.3))


def test_how_long_one_watched_is_said_as_one_says_it() -> None:
    assert [watched_words(minutes) for minutes in (10.0, 30.0, 180.0)] == [
        "ten minutes", "30 minutes", "3 hours",
    ]  # fmt: skip
