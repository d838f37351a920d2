"""The commands that answer at once, and a run of one tank."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from sim.model_version import data_digest, model_version
from sim.parameters import load_parameters
from sim.scenario_schema import json_schema
from tests.viz.commands import SMALL, TOP, environment, holdwater
from viz.cautions import CAUTIONS


def test_help_names_every_command(tmp_path: Path) -> None:
    ended = holdwater("--help", cwd=tmp_path, apart=True)
    assert ended.code == 0
    for name in ("compare", "run", "sweep", "kept", "check", "species", "parameters", "schema"):
        assert f"\n  {name} " in ended.out


def test_help_and_check_wait_for_nothing_slow(tmp_path: Path) -> None:
    """What takes long to import is not imported; the time itself is measured elsewhere."""
    (tmp_path / "tank.toml").write_text(SMALL)
    slow = ("numba", "scipy", "mesa", "matplotlib", "pint", "solara")
    for arguments in ("['--help']", "['check', 'tank.toml']"):
        code = (
            f"import sys; from viz.cli import outcome; outcome({arguments}); print([*sys.modules])"
        )
        done = subprocess.run(
            [sys.executable, "-c", code],
            cwd=tmp_path, env=environment(), capture_output=True, text=True, check=True,
        )  # fmt: skip
        modules = done.stdout.splitlines()[-1]
        assert not [name for name in slow if f"'{name}'" in modules], arguments


def test_no_command_shows_help(tmp_path: Path) -> None:
    ended = holdwater(cwd=tmp_path, apart=True)
    assert ended.code == 2
    assert "Usage: holdwater" in ended.out


def test_version(tmp_path: Path) -> None:
    ended = holdwater("--version", cwd=tmp_path, apart=True)
    assert ended.code == 0
    lines = ended.out.splitlines()
    assert lines[0].startswith("holdwater ")
    for fact in (model_version()["model"], data_digest()):
        assert fact in lines[1]
    for fact in ("numba", "numpy", "python"):
        assert model_version()[fact] in lines[2]
    for fact in ("llvmlite", "scipy", "shapely", "geos"):
        assert model_version()[fact] in lines[3]
    assert model_version()["libm"] in lines[4]


@pytest.mark.parametrize("path", sorted((TOP / "scenarios").glob("*.toml")), ids=lambda p: p.stem)
def test_check_of_what_is_shipped(path: Path, tmp_path: Path) -> None:
    ended = holdwater("check", path, cwd=tmp_path)
    assert ended.code == 0, ended.err
    assert "can be played" in ended.out


def test_parameters_lists_all_with_unit_range_and_source(tmp_path: Path) -> None:
    ended = holdwater("parameters", cwd=tmp_path)
    assert ended.code == 0
    text = re.sub(r"\s+", " ", ended.out)
    for one in load_parameters().values():
        row = f"{one.name} {one.value:g} {one.low:g} to {one.high:g} {one.unit} "
        assert row + one.source.replace("`", "") in text
    assert max(map(len, ended.out.splitlines())) <= 81


def test_one_parameter(tmp_path: Path) -> None:
    ended = holdwater("parameters", "stamina_time", cwd=tmp_path)
    assert ended.code == 0
    for words in ("3 s", "1 to 8 s", "assumed: seconds of burst until tired"):
        assert words in ended.out


def test_one_species(tmp_path: Path) -> None:
    ended = holdwater("species", "convict cichlid", cwd=tmp_path)
    assert ended.code == 0
    assert "Amatitlania nigrofasciata" in ended.out


def test_schema(tmp_path: Path) -> None:
    assert json.loads(holdwater("schema", cwd=tmp_path).out) == json_schema()
    assert holdwater("schema", "--out", "s.json", cwd=tmp_path).code == 0
    assert json.loads((tmp_path / "s.json").read_text(encoding="utf-8")) == json_schema()


def test_run_of_one_tank(tmp_path: Path) -> None:
    (tmp_path / "tank.toml").write_text(SMALL)
    ended = holdwater(
        "run", "tank.toml", "--runs", "4", "--days", "1 day", "--seed", "9", "--without", "hiding",
        cwd=tmp_path, apart=True,
    )  # fmt: skip
    assert ended.code == 0, ended.err
    assert "4 of 4 runs played" in ended.err
    text = " ".join(ended.out.split())
    assert "4 runs of 1 day, over 2 draws of fish; seed 9" in text
    assert "switched off: hiding" in text
    for caution in CAUTIONS:
        assert caution in text
    assert [path.name for path in tmp_path.iterdir()] == ["tank.toml"]


@pytest.mark.parametrize(
    "words",
    [
        ("check", "tank.toml"),
        ("check", "no.toml"),
        ("run", "tank.toml", "--runs", "2", "--days", "1"),
        ("compare", "tank.toml", "tank.toml", "--runs", "many", "--days", "-1"),
        ("species", "convict"),
        ("no-such-command",),
    ],
    ids=lambda words: "-".join(words),
)
def test_a_process_of_its_own_says_what_this_one_says(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    (tmp_path / "tank.toml").write_text(SMALL)
    ended = [holdwater(*words, cwd=tmp_path, apart=apart) for apart in (True, False)]
    first, second = ((one.code, one.out, told(one.err)) for one in ended)
    assert first == second


def told(err: str) -> list[str]:
    """Return what an error stream says, but for progress, which hangs on how fast it goes."""
    lines = err.splitlines()
    return [one for one in lines if "runs played" not in one and "Compiling the rules" not in one]


def test_an_old_terminal_gets_question_marks_not_a_crash(tmp_path: Path) -> None:
    (tmp_path / "tank.toml").write_text(SMALL.replace("Flint", "Flüßchen"), encoding="utf-8")
    ended = holdwater(
        "run", "tank.toml", "--runs", "1", cwd=tmp_path, PYTHONIOENCODING="ascii", PYTHONUTF8="0"
    )
    assert ended.code == 0, ended.err
    assert "Fl??chen" in ended.out
