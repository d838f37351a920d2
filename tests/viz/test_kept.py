"""`--keep` and `holdwater kept`, as a person meets them."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pyarrow.parquet
import pytest

from tests.viz.commands import SMALL, Ended, holdwater
from viz.cli import outcome


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("kept")
    (folder / "tank.toml").write_text(SMALL, encoding="utf-8")
    (folder / "long.toml").write_text(
        'based_on = "tank.toml"\npieces_when_resized = "stretch"\n[tank]\nlength = "48 in"\n'
    )
    return folder


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]):
    """Run commands in this process, in a folder of their own."""
    monkeypatch.chdir(tmp_path)

    def command(*arguments: object) -> Ended:
        code = outcome([str(word) for word in arguments])
        return Ended(code, *capsys.readouterr())

    return command


def asked(place: Path, name: str, *arguments: str | int) -> tuple[Ended, list[bytes]]:
    """A batch, and the bytes of all it wrote."""
    words = ("--days", 1, "--json", f"{name}.json", "--csv", name, *arguments)
    ended = holdwater("compare", "tank.toml", "long.toml", *words, cwd=place)
    assert ended.code == 0, ended.err
    files = [place / f"{name}.json", *sorted((place / name).iterdir())]
    return ended, [ended.out.encode(), *(path.read_bytes() for path in files)]


@pytest.fixture(scope="module")
def kept(place: Path) -> list[bytes]:
    """What a comparison of six runs left, its runs kept in `store`."""
    ended, files = asked(place, "first", "--runs", 6, "--keep", "store")
    assert "0 runs had been kept, 12 added." in ended.err
    return files


def test_the_same_question_is_answered_from_what_is_kept(place: Path, kept: list[bytes]) -> None:
    ended, again = asked(place, "again", "--runs", 6, "--keep", "store")
    assert "12 runs had been kept, 0 added." in ended.err
    assert again == kept


def test_more_runs_go_on_and_keeping_changes_nothing(place: Path, kept: list[bytes]) -> None:
    ended, more = asked(place, "more", "--runs", 8, "--keep", "store")
    assert "12 runs had been kept, 4 added." in ended.err
    _, plain = asked(place, "plain", "--runs", 8)
    assert more == plain


def test_run_and_sweep_keep_too(place: Path, kept: list[bytes]) -> None:
    ended = holdwater("run", "long.toml", "--days", 1, "--runs", 3, "--keep", "store", cwd=place)
    assert "3 runs had been kept, 0 added." in ended.err
    words = ("--vary", "tank.length=30 in,48 in", "--days", 1, "--runs", 3, "--keep", "store")
    ended = holdwater("sweep", "tank.toml", *words, cwd=place)
    assert ended.code == 0, ended.err
    assert "6 runs had been kept, 0 added." in ended.err


def test_list_says_what_is_there(place: Path, kept: list[bytes]) -> None:
    ended = holdwater("kept", "list", "store", cwd=place)
    assert ended.code == 0
    page = " ".join(ended.out.split())
    assert page.count("Small tank (numbers held)") == 2
    assert page.count(" this") == 2
    assert max(map(len, ended.out.splitlines())) <= 80


def test_export_holds_every_part_of_every_run(place: Path, kept: list[bytes]) -> None:
    ended = holdwater("kept", "export", "store", "-o", "parquet", cwd=place)
    assert ended.code == 0, ended.err
    folder = place / "parquet"
    runs = pyarrow.parquet.read_table(folder / "runs.parquet").to_pylist()
    fish = pyarrow.parquet.read_table(folder / "fish.parquet").to_pylist()
    facts = json.loads((folder / "questions.json").read_text())
    assert len(facts) == 2
    assert {row["question"] for row in runs} == {one["question"] for one in facts}
    assert len(fish) == 3 * len(runs)
    assert {row["name"] for row in fish} == {"Flint", "tetras 1", "tetras 2"}
    written = json.loads((place / "first.json").read_text())
    short = next(one for one in facts if one["scenario"] == written["designs"][0]["hash"])
    doses = [
        row["dose_injury"]
        for row in runs
        if row["question"] == short["question"] and row["run"] < 6
    ]
    chases = pyarrow.parquet.read_table(folder / "chases.parquet").to_pylist()
    assert all(row["value"] > 0 for row in chases)
    for row in runs:
        mine = [
            c["value"] for c in chases if (c["question"], c["run"]) == (row["question"], row["run"])
        ]
        assert sum(mine) == pytest.approx(row["chases_per_h"] * row["awake_h"])
    mean = written["designs"][0]["outcomes"]["dose"]["estimate"]
    assert sum(doses) / 6 == pytest.approx(mean, rel=1e-12)
    for one in facts:
        ended = holdwater("check", folder / f"{one['question']}.toml", cwd=place)
        assert ended.code == 0
    ended = holdwater("kept", "export", "store", "-o", "parquet", cwd=place)
    assert ended.code == 2
    assert "expected a new folder" in ended.err


def test_verify_finds_damage_and_mends_it(place: Path, here, tmp_path: Path) -> None:
    here("run", place / "tank.toml", "--days", 1, "--runs", 4, "--keep", "own")
    well = here("kept", "verify", "own", "--again", 2)
    assert well.code == 0
    assert "4 runs looked at, 2 played again" in well.out
    assert "all are whole" in well.out
    base = sqlite3.connect(tmp_path / "own" / "runs.sqlite")
    base.execute("UPDATE runs SET data = CAST(data || x'00' AS BLOB) WHERE run = 2")
    base.commit()
    base.close()
    ill = here("kept", "verify", "own")
    assert ill.code == 2
    assert "run 2: its bytes have changed" in ill.err
    here("kept", "verify", "own", "--mend")
    assert here("kept", "verify", "own").code == 0
    rest = here("run", place / "tank.toml", "--days", 1, "--runs", 4, "--keep", "own")
    assert "3 runs had been kept, 1 added." in rest.err


@pytest.mark.parametrize(
    ("column", "value", "said"),
    [
        ("seed", "seed + 1", "what it asks is not what was written"),
        ("settings", "replace(settings, '0', '1')", "what it asks is not what was written"),
        ("scenario", "'[tank'", "its tank cannot be read"),
        ("scenario", "replace(scenario, '30 in', '31 in')", "its tank is not the one"),
        ("changes", "'{'", "what was asked cannot be read"),
        ("changes", "'7'", "what was asked cannot be read"),
        ("seed", "'many'", "what was asked cannot be read"),
    ],
)
def test_verify_finds_a_question_that_is_damaged(
    column: str, value: str, said: str, place: Path, here, tmp_path: Path, kept: list[bytes]
) -> None:
    assert here("run", place / "tank.toml", "--days", 1, "--runs", 2, "--keep", "own").code == 0
    assert here("kept", "verify", "own").code == 0
    base = sqlite3.connect(tmp_path / "own" / "runs.sqlite")
    with base:
        base.execute(f"UPDATE questions SET {column} = {value}")
    base.close()
    ended = here("kept", "verify", "own")
    assert ended.code == 2
    assert said in " ".join(ended.err.split())


@pytest.mark.parametrize("start", ["", " ", "a", "0"])
def test_no_short_beginning_of_a_key_takes_out_runs(start: str, place: Path, here) -> None:
    here("run", place / "tank.toml", "--days", 1, "--runs", 2, "--keep", "own")
    ended = here("kept", "prune", "own", "--question", start)
    assert ended.code == 2
    assert "expected at least 4 letters" in ended.err
    assert "2 runs looked at" in here("kept", "verify", "own").out


def test_verify_finds_a_run_that_is_another(place: Path, here, tmp_path: Path) -> None:
    """Whole by its checksum, but not what this question gives: only playing again tells."""
    words = ("--days", 1, "--runs", 2, "--keep", "own")
    here("run", place / "tank.toml", *words)
    here("run", place / "tank.toml", *words, "--seed", 2)
    base = sqlite3.connect(tmp_path / "own" / "runs.sqlite")
    base.execute(
        "UPDATE runs SET (checksum, data) = (SELECT checksum, data FROM runs AS other "
        "WHERE other.question = 2 AND other.run = runs.run) WHERE question = 1"
    )
    base.commit()
    base.close()
    ended = here("kept", "verify", "own", "--again", 1)
    assert ended.code == 2
    assert "played again, it is another" in ended.err


def test_prune_takes_out_what_is_asked_and_nothing_else(place: Path, here, tmp_path: Path) -> None:
    words = ("--days", 1, "--runs", 2, "--keep", "own")
    here("compare", place / "tank.toml", place / "long.toml", *words)
    base = sqlite3.connect(tmp_path / "own" / "runs.sqlite")
    (key,) = base.execute("SELECT key FROM questions WHERE id = 2").fetchone()
    base.execute("INSERT INTO versions (key, facts) VALUES ('old', '{\"model\": \"old\"}')")
    base.execute("UPDATE questions SET version = 2 WHERE id = 1")
    base.commit()
    base.close()
    listed = here("kept", "list", "own")
    assert "another" in listed.out
    nothing = here("kept", "prune", "own")
    assert nothing.code == 2
    assert "expected --others" in nothing.err
    gone = here("kept", "prune", "own", "--others")
    assert "2 runs of 1 question taken out" in gone.out
    wrong = here("kept", "prune", "own", "--question", "zzzz")
    assert wrong.code == 2
    assert "0 questions begins so" in wrong.err or "0 questions" in wrong.err
    last = here("kept", "prune", "own", "--question", key[:6])
    assert "2 runs of 1 question taken out" in last.out
    assert "none yet" in here("kept", "list", "own").out


@pytest.mark.parametrize("what", ["list", "verify", "prune"])
def test_a_folder_that_keeps_nothing_is_refused(what: str, here, tmp_path: Path) -> None:
    more = ("--all",) if what == "prune" else ()
    ended = here("kept", what, "nowhere", *more)
    assert ended.code == 2
    assert "holds no kept runs" in ended.err
    assert list(tmp_path.iterdir()) == []


def test_a_file_where_the_folder_should_be_is_refused(place: Path) -> None:
    ended = holdwater("run", "tank.toml", "--runs", 1, "--keep", "tank.toml", cwd=place)
    assert ended.code == 2
    assert "a file; expected a folder" in ended.err
