"""Batches that are killed at random moments, and whether they end with the bytes they would have.

``python -m tests.benchmarks.killed --times 50`` plays `run`, `compare`, `sweep` and
`improve` with `--keep` in turn, ends each with signal 9 at a random moment (often several times),
lets the next call finish, and compares what was printed and every file with those of a call that
was left alone.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

from sim.batch import run_one
from sim.check import check_file
from sim.kept import SLICE_RUNS
from sim.kept_question import question_of
from sim.kept_run import parts_of
from sim.kept_store import FILE, Store
from sim.settings import Settings
from tests.viz.commands import SMALL
from viz.cli import outcome

RUNS = {"run": 120, "compare": 60, "sweep": 24, "improve": 100}
LONG = 'based_on = "tank.toml"\npieces_when_resized = "stretch"\n[tank]\nlength = "48 in"\n'


@dataclass(frozen=True)
class Killed:
    """One batch that was killed and gone on with.

    Parameters
    ----------
    command
        Which.
    moments_s
        When it was killed, after each start.
    kept
        Runs that were kept after each kill.
    same
        Whether it ended with the bytes of a batch that was left alone.
    """

    command: str
    moments_s: tuple[float, ...]
    kept: tuple[int, ...]
    same: bool


def words(command: str, *, keep: bool, share: float = 1.0) -> list[str]:
    """Return the arguments of a batch of `RUNS` runs, or a share of them."""
    count = round(share * RUNS[command])
    if command == "improve":
        more = ["--budget", str(max(count, 40)), "--runs", str(max(count // 2, 20))]
    else:
        more = ["--runs", str(count)]
    runs = [*more, "--days", "1", "--workers", "2"]
    files = {
        "run": ["tank.toml", "--json", "out.json", "--csv", "tables"],
        "compare": ["tank.toml", "long.toml", "--json", "out.json", "--csv", "tables"],
        "sweep": ["tank.toml", "--vary", "tank.length=30 in,40 in,60 in", "--csv", "tables",
                  "--json", "out.json"],
        "improve": ["tank.toml", "--out", "better.toml", "--picture", "better.svg"],
    }[command]  # fmt: skip
    return [command, *files, *runs, *(["--keep", "store"] if keep else [])]


def started(command: str, folder: Path, *, keep: bool, share: float) -> int:
    """Start a batch in a folder, as a process of its own, and return its number.

    Forked, so that what takes a second to load is loaded once; no thread runs in this process.
    """
    sys.stdout.flush()
    number = os.fork()
    if number:
        return number
    code = 70
    try:
        os.chdir(folder)
        for stream, name in ((1, "page.txt"), (2, "errors.txt")):
            handle = os.open(name, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(handle, stream)
        code = outcome(words(command, keep=keep, share=share))
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(code)


def left(folder: Path) -> dict[str, bytes]:
    """Return what a batch printed and wrote, by name."""
    names = ("page.txt", "out.json", "better.toml", "better.svg")
    files = [*(folder / name for name in names), *(folder / "tables").glob("*.csv")]
    return {path.name: path.read_bytes() for path in files if path.exists()}


def kept_in(folder: Path) -> int:
    """Return the number of runs a store holds, all of them looked at."""
    if not (folder / "store" / FILE).exists():
        return 0
    store = Store(folder / "store")
    assert store.faults() == []
    number = 0
    for question, runs, _ in store.questions():
        for run, digest, data in store.runs(question):
            parts_of(digest, data, run=run)
        number += runs
    store.close()
    return number


def wait_for(folder: Path, *, runs: int, patience_s: float = 60.0) -> None:
    """Wait until a store holds more runs than so many, or for as long as one has patience."""
    file = folder / "store" / FILE
    until = time.monotonic() + patience_s
    while time.monotonic() < until:
        time.sleep(0.01)
        if not file.exists():
            continue
        with closing(sqlite3.connect(f"{file.as_uri()}?mode=ro", uri=True)) as base:
            try:
                if base.execute("SELECT count(*) FROM runs").fetchone()[0] > runs:
                    return
            except sqlite3.OperationalError:  # it is just being made
                continue


def fresh(folder: Path) -> Path:
    """Return a new folder with two tanks."""
    folder.mkdir()
    (folder / "tank.toml").write_text(SMALL, encoding="utf-8")
    (folder / "long.toml").write_text(LONG, encoding="utf-8")
    return folder


def killed(times: int, *, seed: int, place: Path, share: float = 1.0) -> list[Killed]:
    """Kill batches at random moments and let them go on.

    Parameters
    ----------
    times
        How many batches.
    seed
        Of the moments.
    place
        An empty folder.
    share
        Of the usual number of runs.
    """
    chance = random.Random(seed)
    first = check_file(fresh(place / "first") / "tank.toml")
    run_one(first.scenario, first.layout)  # loads what was compiled, before any fork
    alone: dict[str, tuple[float, dict[str, bytes]]] = {}
    for command in RUNS:
        folder = fresh(place / f"alone-{command}")
        began = time.monotonic()
        _, status = os.waitpid(started(command, folder, keep=False, share=share), 0)
        assert os.waitstatus_to_exitcode(status) == 0, (folder / "errors.txt").read_text()
        alone[command] = (time.monotonic() - began, left(folder))
    found = []
    for number in range(times):
        command = list(RUNS)[number % len(RUNS)]
        took, whole = alone[command]
        folder = fresh(place / f"killed-{number}")
        moments: list[float] = []
        kept: list[int] = []
        done = False
        while not done and (not moments or chance.random() < 0.4):
            began = time.monotonic()
            process = started(command, folder, keep=True, share=share)
            if chance.random() < 0.5:  # in the middle of playing
                wait_for(folder, runs=chance.randrange(round(share * RUNS[command])))
                time.sleep(chance.uniform(0.0, 0.3))
            else:  # any time: while the store is made, the page printed, files written
                soon = chance.random() < 0.4
                time.sleep(chance.uniform(0.0, 0.1 if soon else 1.2 * took))
            moments.append(time.monotonic() - began)
            os.kill(process, signal.SIGKILL)
            done = os.waitstatus_to_exitcode(os.waitpid(process, 0)[1]) == 0
            kept.append(kept_in(folder))
            for name, data in left(folder).items():
                assert name == "page.txt" or data == whole[name], f"half-written: {name}"
        _, status = os.waitpid(started(command, folder, keep=True, share=share), 0)
        assert os.waitstatus_to_exitcode(status) == 0, (folder / "errors.txt").read_text()
        same = left(folder) == whole
        found.append(Killed(command, tuple(moments), tuple(kept), same))
    return found


def store_killed(times: int, *, seed: int, place: Path) -> list[int]:
    """Kill what does nothing but write slices into a new store, and look at what is in it.

    Parameters
    ----------
    times, seed, place
        As `killed`.

    Returns
    -------
    list of int
        Slices that each store held. A slice is there whole or not at all, or this raises.
    """
    chance = random.Random(seed)
    tank = check_file(fresh(place / "store-tank") / "tank.toml")
    outcome_ = run_one(tank.scenario, tank.layout)
    question = question_of(tank.scenario, seed=1, settings=Settings(), changes={})

    def write(folder: Path, *, slices: int) -> None:
        store = Store(folder)
        for first in range(0, slices * SLICE_RUNS, SLICE_RUNS):
            runs = range(first, first + SLICE_RUNS)
            store.put([(question, replace(outcome_, run=run)) for run in runs])
        store.close()

    began = time.monotonic()
    write(place / "slices", slices=5)
    took = time.monotonic() - began
    found = []
    for number in range(times):
        folder = place / f"slices-{number}"
        process = os.fork()
        if process == 0:
            try:
                write(folder, slices=10_000)
            finally:
                os._exit(70)
        time.sleep(chance.uniform(0.0, 2.0 * took))
        os.kill(process, signal.SIGKILL)
        os.waitpid(process, 0)
        store = Store(folder)
        kept = store.numbers(question).tolist()
        assert store.faults() == []
        assert kept == list(range(len(kept)))
        assert len(kept) % SLICE_RUNS == 0, "half a slice"
        for run, digest, data in store.runs(question):
            parts_of(digest, data, run=run)
        store.close()
        found.append(len(kept) // SLICE_RUNS)
    return found


def main() -> None:
    """Kill, and print what came of it; leave with 1 if a batch ended otherwise."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--times", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--share", type=float, default=1.0, help="of the usual runs")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        found = killed(asked.times, seed=asked.seed, place=Path(place), share=asked.share)
        slices = store_killed(4 * asked.times, seed=asked.seed, place=Path(place))
    for one in found:
        moments = ", ".join(f"{moment:.2f} s" for moment in one.moments_s)
        kept = ", ".join(map(str, one.kept))
        print(f"{one.command:8} killed after {moments}; kept {kept}; "
              f"{'the same bytes' if one.same else 'OTHER BYTES'}")  # fmt: skip
    print(f"{sum(one.same for one in found)} of {len(found)} ended with the same bytes; "
          f"{sum(len(one.moments_s) for one in found)} kills")  # fmt: skip
    print(f"{len(slices)} stores killed while they were written: {min(slices)} to {max(slices)} "
          "slices in them, all whole")  # fmt: skip
    sys.exit(0 if all(one.same for one in found) else 1)


if __name__ == "__main__":
    main()
