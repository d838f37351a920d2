"""A batch that is killed goes on; a full disk and a store that cannot be written lose nothing."""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from sim.kept_store import FILE, Store
from tests.viz.commands import SMALL, TOP, Ended, command, environment, holdwater
from viz.cli import outcome

RUNS = 24
FIRST = 2  # that are kept before there is no more room
WORDS = ("run", "tank.toml", "--days", 1, "--hold-assumed", "--json", "out.json", "--csv", "tables")


def kept_in(folder: Path) -> int:
    store = Store(folder, make=False)
    assert store.faults() == []
    number = sum(runs for _, runs, _ in store.questions())
    store.close()
    return number


def left(folder: Path, ended: Ended) -> list[bytes]:
    files = [folder / "out.json", *sorted((folder / "tables").iterdir())]
    return [ended.out.encode(), *(path.read_bytes() for path in files)]


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> list[bytes]:
    """What the batch leaves when nothing happens to it."""
    folder = tmp_path_factory.mktemp("alone")
    (folder / "tank.toml").write_text(SMALL, encoding="utf-8")
    ended = holdwater(*WORDS, "--runs", RUNS, cwd=folder, apart=True)
    assert ended.code == 0, ended.err
    return left(folder, ended)


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "tank.toml").write_text(SMALL, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def here(place: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., Ended]:
    """Run commands in this process."""

    def run(*arguments: object) -> Ended:
        return Ended(outcome([str(word) for word in arguments]), *capsys.readouterr())

    return run


def test_killed_at_random_moments_it_ends_with_the_same_bytes() -> None:
    """Each of the four commands once; `tests.benchmarks.killed` does it fifty times."""
    words = ["-m", "tests.benchmarks.killed", "--times", "4", "--seed", "4", "--share", "0.15"]
    done = subprocess.run(
        [sys.executable, *words],
        cwd=TOP, env=environment(), capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert "4 of 4 ended with the same bytes" in done.stdout
    assert "16 stores killed while they were written" in done.stdout


# --- no room -------------------------------------------------------------------------------


def mounted(folder: Path, options: str) -> bool:
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(folder)],
        capture_output=True, check=False,
    )  # fmt: skip
    return done.returncode == 0


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of so little room that the store does not fit."""
    disk = tmp_path / "disk"
    disk.mkdir()
    if os.geteuid() != 0 or shutil.which("mount") is None or not mounted(disk, "size=200k"):
        pytest.skip("no small disk can be made here")
    try:
        yield disk
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_a_full_disk_is_said_and_what_was_kept_is_gone_on_with(
    here: Callable[..., Ended], place: Path, small_disk: Path, alone: list[bytes]
) -> None:
    store = small_disk / "store"
    assert here(*WORDS, "--runs", FIRST, "--keep", store).code == 0
    (place / "out.json").unlink()
    full = here(*WORDS, "--runs", RUNS, "--keep", store)
    assert full.code == 2
    assert "could not be written (" in full.err
    assert "What was kept before is still there" in full.err
    assert "Traceback" not in full.err
    assert not (place / "out.json").exists()
    subprocess.run(["mount", "-o", "remount,size=8m", str(small_disk)], check=True)
    before = kept_in(store)
    assert FIRST <= before < RUNS
    ended = here(*WORDS, "--runs", RUNS, "--keep", store)
    assert f"{RUNS - before} added." in ended.err
    assert left(place, ended) == alone


def test_a_limit_on_the_size_of_files_is_said_too(
    here: Callable[..., Ended], place: Path, alone: list[bytes]
) -> None:
    assert here(*WORDS, "--runs", FIRST, "--keep", "store").code == 0
    room = (place / "store" / "runs.sqlite").stat().st_size + 20_000

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))

    words = command(*WORDS, "--runs", RUNS, "--keep", "store")
    full = subprocess.run(
        words, cwd=place, env=environment(), capture_output=True, text=True, preexec_fn=limit,
        timeout=300, check=False,
    )  # fmt: skip
    assert full.returncode == 2, full.stderr
    assert "could not be written (" in full.stderr
    assert "Traceback" not in full.stderr
    before = kept_in(place / "store")
    assert FIRST <= before < RUNS
    ended = here(*WORDS, "--runs", RUNS, "--keep", "store")
    assert f"{RUNS - before} added." in ended.err
    assert left(place, ended) == alone


# --- nothing may be written ------------------------------------------------------------------


@pytest.fixture
def sealed(here: Callable[..., Ended], place: Path) -> Iterator[Path]:
    """A store of all runs, on a disk that is read only."""
    ended = here(*WORDS, "--runs", RUNS, "--keep", "store")
    assert ended.code == 0, ended.err
    disk = place / "disk"
    disk.mkdir()
    if os.geteuid() == 0:
        if shutil.which("mount") is None or not mounted(disk, "size=8m"):
            pytest.skip("no disk can be made read only here")
        shutil.copytree(place / "store", disk / "store")
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        try:
            yield disk / "store"
        finally:
            subprocess.run(["umount", str(disk)], check=True)
        return
    shutil.copytree(place / "store", disk / "store")
    (disk / "store" / FILE).chmod(0o444)
    (disk / "store").chmod(0o555)
    try:
        yield disk / "store"
    finally:
        (disk / "store").chmod(0o755)


def test_a_store_that_is_read_only_answers_what_it_holds(
    here: Callable[..., Ended], place: Path, sealed: Path, alone: list[bytes]
) -> None:
    shutil.rmtree(place / "tables")
    held = (sealed / FILE).read_bytes()
    again = here(*WORDS, "--runs", RUNS, "--keep", sealed)
    assert again.code == 0, again.err
    assert left(place, again) == alone
    assert f"{RUNS} runs had been kept, 0 added." in again.err
    more = here(*WORDS, "--runs", RUNS + 2, "--keep", sealed)
    assert more.code == 2
    assert f"{RUNS} of {RUNS + 2} runs are kept, and no more can be written" in more.err
    assert "Traceback" not in more.err
    assert (sealed / FILE).read_bytes() == held
    assert here("kept", "list", sealed).code == 0
    assert here("kept", "verify", sealed, "--again", 0).code == 0
    pruned = here("kept", "prune", sealed, "--all")
    assert pruned.code == 2
    assert "could not be written" in pruned.err


def test_a_place_where_no_store_can_be_made_is_refused_before_anything_is_played(
    here: Callable[..., Ended],
) -> None:
    ended = here(*WORDS, "--runs", 4, "--keep", "no/store")
    assert ended.code == 2
    assert "there is no folder" in ended.err
    assert "played" not in ended.err


def test_interrupted_from_the_keyboard_it_says_what_is_kept(place: Path) -> None:
    """Ctrl-C in the middle: the sentence names the folder, and the next call goes on."""
    import signal
    import time

    words = command("run", "tank.toml", "--runs", 400, "--days", 2, "--keep", "store")
    process = subprocess.Popen(
        words, cwd=place, env=environment(), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
        text=True,
    )  # fmt: skip
    deadline = time.monotonic() + 120
    while time.monotonic() < deadline:
        if (place / "store" / FILE).exists() and kept_in(place / "store") > 0:
            break
        time.sleep(0.2)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=30)
    assert process.returncode == 130
    assert 'they are kept in "store", and the same command goes on from there' in said
    assert 0 < kept_in(place / "store") < 400
