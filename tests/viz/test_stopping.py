"""Ctrl-C: it ends within a second, says what was finished, and leaves nothing behind."""

from __future__ import annotations

import signal
import subprocess
import time
from pathlib import Path

import pytest

from tests.viz.commands import SMALL, command, environment, holdwater

PATIENCE_S = (
    5.0  # the promise is 1 s; a busy machine is given more, what is left to play takes hours
)


def stopped_after(
    marker: str, *, cwd: Path, arguments: list[str], **more: str
) -> tuple[int, str, float]:
    """Start a command, press Ctrl-C when its error stream says `marker`; code, stream, seconds."""
    with subprocess.Popen(
        command(*arguments),
        cwd=cwd,
        env=environment(PYTHONUNBUFFERED="1", **more),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stderr is not None
        seen = ""
        try:
            for line in process.stderr:
                seen += line
                if marker in line:
                    break
            else:
                pytest.fail(f"it ended without saying {marker!r}: {seen}")
            time.sleep(0.5)
            began = time.monotonic()
            process.send_signal(signal.SIGINT)
            rest = process.communicate(timeout=60)[1]
            return process.returncode, seen + rest, time.monotonic() - began
        finally:
            process.kill()


@pytest.fixture(scope="module")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> None:
    """The rules are compiled and kept, so that nothing but runs is stopped."""
    folder = tmp_path_factory.mktemp("compiled")
    (folder / "tank.toml").write_text(SMALL)
    words = ("run", "tank.toml", "--runs", 1)
    assert holdwater(*words, cwd=folder, apart=True).code == 0
    assert "Compiling" not in holdwater(*words, cwd=folder, apart=True).err


@pytest.mark.usefixtures("compiled")
@pytest.mark.parametrize("name", ["run", "compare"])
@pytest.mark.parametrize("watch", ["auto", "all"])
def test_while_playing(name: str, watch: str, tmp_path: Path) -> None:
    (tmp_path / "tank.toml").write_text(SMALL)
    files = ["tank.toml"] * (2 if name == "compare" else 1)
    arguments = [
        name,
        *files,
        "--runs",
        "100000",
        "--watch",
        watch,
        "--json",
        "o.json",
        "--csv",
        "t",
    ]
    code, said, took = stopped_after("played", cwd=tmp_path, arguments=arguments)
    assert code == 130
    assert "of 100000 runs" in said.splitlines()[-1]
    assert "finished; nothing was written" in said
    assert not said.splitlines()[-1].startswith("Stopped: 0 ")
    assert "Traceback" not in said
    assert took < PATIENCE_S
    assert [path.name for path in tmp_path.iterdir()] == ["tank.toml"]


def test_while_compiling(tmp_path: Path) -> None:
    (tmp_path / "tank.toml").write_text(SMALL)
    code, said, took = stopped_after(
        "Compiling the rules",
        cwd=tmp_path,
        arguments=["run", "tank.toml"],
        XDG_CACHE_HOME=str(tmp_path / "cache"),
        LOCALAPPDATA=str(tmp_path / "cache"),
    )
    assert code == 130
    assert "Stopped" in said
    assert "Traceback" not in said
    assert took < PATIENCE_S
