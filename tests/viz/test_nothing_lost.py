"""No option that names a file to write takes a tank from its keeper."""

from __future__ import annotations

from pathlib import Path

import pytest

from sim.errors import Refused
from tests.viz.commands import SMALL, holdwater
from viz.asked import page_file, writable_file

FEW = ("--runs", 2, "--days", 0.1)


@pytest.mark.parametrize(
    ("words", "option"),
    [
        (("run", "tank.toml", *FEW, "--json", "tank.toml"), "--json"),
        (("run", "tank.toml", *FEW, "--json", "other"), "--json"),
        (("why", "tank.toml", *FEW, "--json", "tank.toml"), "--json"),
        (("report", "tank.toml", *FEW, "--json", "tank.toml", "-o", "r.html"), "--json"),
        (("sums", "tank.toml", "--json", "tank.toml"), "--json"),
        (("sweep", "tank.toml", "--vary", "days=1", "--json", "tank.toml"), "--json"),
        (("schema", "--out", "tank.toml"), "--out"),
    ],
)
def test_a_scenario_file_is_not_written_over(
    tmp_path: Path, words: tuple[object, ...], option: str
) -> None:
    for name in ("tank.toml", "other"):
        (tmp_path / name).write_text(SMALL)
    ended = holdwater(*words, cwd=tmp_path)
    assert ended.code == 2
    assert f"{option}: got" in ended.err
    assert "a scenario file that would be lost; expected another name." in ended.err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["other", "tank.toml"]
    assert all(path.read_text() == SMALL for path in tmp_path.iterdir())


def test_a_report_says_by_its_name_what_it_is(tmp_path: Path) -> None:
    for name in ("r.pdf", "tank.toml", "r"):
        with pytest.raises(Refused, match=r"expected a name that ends in \.html\."):
            page_file(tmp_path / name, option="--report")
    assert page_file(tmp_path / "R.HTML", option="--report")


def test_an_earlier_answer_is_written_over(tmp_path: Path) -> None:
    for name, text in (("a.json", "{}"), ("b.toml", "title = 'no tank'"), ("c", "\0\1")):
        (tmp_path / name).write_text(text)
        assert writable_file(tmp_path / name, option="--json") == tmp_path / name
    (tmp_path / "d.toml").write_text(SMALL)
    assert writable_file(tmp_path / "d.toml", option="--out", over_tanks=True)
