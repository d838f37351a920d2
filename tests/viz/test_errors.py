"""What a person can get wrong: exit code 2, a sentence, no traceback, nothing left behind."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.viz.commands import SMALL, Ended, holdwater

SENTENCES: dict[str, tuple[Callable[[Path], None], str]] = {
    "made-up word": (lambda p: _write(p, SMALL.replace("[tank]", "[tank]\nlenght = 3")), "lenght"),
    "fish too big": (lambda p: _write(p, SMALL.replace('"4 in"', '"40 in"')), "longer than any"),
    "negative length": (
        lambda p: _write(p, SMALL.replace('"30 in"', '"-30 in"')),
        "tank.length",
    ),
    "two stones in one place": (
        lambda p: _write(
            p,
            SMALL + '[[pieces]]\nname = "twin"\nkind = "pot"\nsize = "6 in"\nx = "8 in"\n'
            'y = "6 in"\n',
        ),
        "twin",
    ),
    "no file": (lambda p: None, "there is no such file"),
    "folder": (lambda p: p.mkdir(), "this is a folder"),
    "binary": (lambda p: _bytes(p, bytes(range(256)) * 4), "this is a binary file"),
    "not text": (lambda p: _bytes(p, b"title = \xff\xfe"), "not UTF-8"),
    "empty": (lambda p: _write(p, ""), "the file is empty"),
    "50 MB": (lambda p: _bytes(p, b"#" * 50_000_000), "too large, 50.0 MB"),
    "based on itself": (lambda p: _write(p, 'based_on = "tank.toml"\n'), "based on this file"),
}


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


def _bytes(path: Path, data: bytes) -> None:
    path.write_bytes(data)


def assert_refused(ended: Ended, words: str) -> None:
    """The words are in a sentence on the error stream, which holds nothing but sentences."""
    assert ended.code == 2, ended.err
    assert words in ended.err
    assert "Traceback" not in ended.err
    assert ended.out == ""
    lines = ended.err.strip().splitlines()
    assert all(line.rstrip()[-1] in ".?)" for line in lines), ended.err


@pytest.mark.parametrize("case", SENTENCES)
@pytest.mark.parametrize("name", ["check", "run", "compare"])
def test_scenario_file(name: str, case: str, tmp_path: Path) -> None:
    make, words = SENTENCES[case]
    make(tmp_path / "tank.toml")
    files = ["tank.toml"] * (2 if name == "compare" else 1)
    before = sorted(tmp_path.iterdir())
    assert_refused(holdwater(name, *files, cwd=tmp_path, apart=case == "no file"), words)
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--runs", "0"], "--runs: got"),
        (["--runs", "many"], "--runs: got"),
        (["--runs", "2.5"], "--runs: got"),
        (["--days", "-1"], "--days: got"),
        (["--days", "nan"], "--days: got"),
        (["--days", "inf"], "--days: got"),
        (["--days", "soon"], "--days: got"),
        (["--seed", "-3"], "--seed: got"),
        (["--workers", "0"], "--workers: got"),
        (["--watch", "never"], "--watch: got"),
        (["--watch", "nan"], "--watch: got"),
        (["--set", "stamina_time"], "NAME=VALUE"),
        (["--set", "stamina_time=1e9"], "expected 1 to 8 s"),
        (["--set", "stamina_time=nan"], "expected 1 to 8 s"),
        (["--set", "stamina_tim=3"], "Did you mean stamina_time"),
        (["--set", "stamina_time=3", "--set", "stamina_time=4"], "set twice"),
        (["--without", "gravity"], "expected one of assessment"),
        (["--without", "hiding", "--days", "0"], "--days: got"),
        (["--json", "missing/out.json"], "there is no folder"),
        (["--json", "."], "a folder; expected the name of a file"),
        (["--csv", "tank.toml"], "a file; expected a folder"),
        (["--csv", "missing/tables"], "there is no folder"),
        (["--colour", "blue"], "--colour"),
        (["second.toml"], "second.toml"),
    ],
)
def test_option(options: list[str], words: str, tmp_path: Path) -> None:
    _write(tmp_path / "tank.toml", SMALL)
    before = sorted(tmp_path.iterdir())
    assert_refused(holdwater("run", "tank.toml", *options, cwd=tmp_path), words)
    assert sorted(tmp_path.iterdir()) == before


def test_every_wrong_option_is_named(tmp_path: Path) -> None:
    _write(tmp_path / "tank.toml", SMALL)
    ended = holdwater("run", "tank.toml", "--runs", "0", "--days", "-1", cwd=tmp_path)
    assert len(ended.err.splitlines()) == 2


def test_days_before_a_fish_joins(tmp_path: Path) -> None:
    _write(tmp_path / "tank.toml", SMALL + "joins_day = 1\n")
    ended = holdwater("run", "tank.toml", "--days", "0.5", cwd=tmp_path)
    assert_refused(ended, "joins_day")


@pytest.mark.parametrize("option", ["--json", "--csv", "--keep", "--report"])
def test_a_name_that_is_too_long_for_any_file(option: str, tmp_path: Path) -> None:
    _write(tmp_path / "tank.toml", SMALL)
    name = 300 * "a" + ".html"
    ended = holdwater("run", "tank.toml", option, name, cwd=tmp_path)
    assert_refused(ended, "cannot be reached")


@pytest.mark.parametrize("host", ["..a", "bücher..de", 300 * "a"])
def test_a_host_that_is_no_name(host: str, tmp_path: Path) -> None:
    ended = holdwater("app", "--no-browser", "--keep", "none", "--host", host, cwd=tmp_path)
    assert_refused(ended, "which is no address of this machine")


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write everywhere")
@pytest.mark.parametrize("option", ["--json", "--csv"])
def test_folder_that_may_not_be_written(option: str, tmp_path: Path) -> None:
    _write(tmp_path / "tank.toml", SMALL)
    locked = tmp_path / "locked"
    locked.mkdir(mode=0o500)
    ended = holdwater("run", "tank.toml", option, "locked/out", cwd=tmp_path)
    assert_refused(ended, "nothing can be written")


@pytest.mark.skipif(not Path("/proc/self").is_dir(), reason="needs a folder nobody may write in")
@pytest.mark.parametrize("option", ["--json", "--csv"])
def test_folder_that_nobody_may_write_in(option: str, tmp_path: Path) -> None:
    _write(tmp_path / "tank.toml", SMALL)
    ended = holdwater("run", "tank.toml", option, "/proc/self/out", cwd=tmp_path)
    assert_refused(ended, "nothing can be written")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["compare", "tank.toml"], "two to four"),
        (["compare", *["tank.toml"] * 5], "two to four"),
        (["check"], "missing argument"),
        (["conjure"], "no such command"),
        (["species", "unicorn fish"], "no such fish"),
        (["parameters", "stamina"], "Did you mean stamina_time"),
        (["schema", "--out", "missing/s.json"], "there is no folder"),
    ],
)
def test_command(arguments: list[str], words: str, tmp_path: Path) -> None:
    _write(tmp_path / "tank.toml", SMALL)
    assert_refused(holdwater(*arguments, cwd=tmp_path), words)
    assert [path.name for path in tmp_path.iterdir()] == ["tank.toml"]


def test_brackets_and_escapes_in_a_file_name_are_only_text(tmp_path: Path) -> None:
    ended = holdwater("check", "[red]x[/red]\x1b[2J.toml", cwd=tmp_path)
    assert ended.code == 2
    assert "[red]x[/red]?[2J.toml: there is no such file" in ended.err


def test_check_goes_on_after_a_wrong_file(tmp_path: Path) -> None:
    _write(tmp_path / "tank.toml", SMALL)
    ended = holdwater("check", "none.toml", "tank.toml", cwd=tmp_path)
    assert ended.code == 2
    assert "tank.toml  can be played" in ended.out
    assert "30 x 12 x 16 in" in ended.out
