"""Runs on a cluster: what it costs above threads, and what a million would take.

``python -m tests.benchmarks.cluster`` starts a scheduler and workers as processes of their own,
which speak over the loopback device, plays a batch on threads and on them in turns, measures the
parts one by one, and writes its section of `docs/performance.md`.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from statistics import median

from sim.batch import Batch, collect, run_batch
from sim.check import Checked, check_file
from sim.cluster import ERRAND_S, Cluster, Errand, run_errand
from sim.crew import Job, Workers, usual_workers
from sim.kept_run import as_bytes, checksum, parts_of
from sim.outcome import Outcome
from sim.settings import Settings
from tests.benchmarks.machine import describe, load, table, write_section

TOP = Path(__file__).parents[2]
PAGE = TOP / "docs" / "performance.md"
TANK = TOP / "scenarios" / "convict-four-foot.toml"
HEADING = "## On a cluster"
MILLION, MANY = 1_000_000, 64


@dataclass(frozen=True, slots=True)
class Parts:
    """What a run costs, in seconds of processor time unless said.

    Parameters
    ----------
    play_s
        Playing it, on a worker.
    pack_s
        Making bytes of it there.
    take_s
        Making an outcome of the bytes and taking it into the batch, at the one who asked.
    errand_s
        Wall time of an errand in which nothing is played, many of them on their way at once.
    sent_bytes
        Of an outcome.
    """

    play_s: float
    pack_s: float
    take_s: float
    errand_s: float
    sent_bytes: int


@contextmanager
def cluster(workers: int) -> Iterator[Cluster]:
    """Have a scheduler and so many workers of one thread, each a process, on loopback."""
    from distributed import Client

    def started(*words: str) -> subprocess.Popen[bytes]:
        return subprocess.Popen([sys.executable, "-m", *words], cwd=TOP, stdout=log, stderr=log)

    with tempfile.TemporaryDirectory() as place, (Path(place) / "log").open("wb") as log:
        file = Path(place) / "scheduler.json"
        common = ("--scheduler-file", str(file), "--host", "127.0.0.1", "--no-dashboard")
        processes = [started("distributed.cli.dask_scheduler", "--port", "0", *common)]
        try:
            while not file.exists():
                time.sleep(0.1)
            for _ in range(workers):
                words = ("--nthreads", "1", "--no-nanny")
                processes.append(started("distributed.cli.dask_worker", *words, *common))
            with Client(json.loads(file.read_text())["address"], set_as_default=False) as client:
                client.wait_for_workers(workers, timeout=120)
                yield Cluster(client)
        finally:
            for process in reversed(processes):  # the scheduler last, or workers look for it
                process.terminate()
                try:
                    process.wait(20)
                except subprocess.TimeoutExpired:
                    process.kill()


def batch_s(tank: Checked, *, runs: int, first: int, workers: Workers) -> tuple[float, Batch]:
    """Play a batch and return the wall time and what came of it."""
    batch = Batch(scenario=tank.scenario, layout=tank.layout, seed=1, settings=Settings(),
                  changes={}, asked=runs)  # fmt: skip
    began = time.monotonic()
    outcomes = run_batch(tank.scenario, tank.layout, runs=runs, first=first, workers=workers)
    collect(outcomes, into=(batch,), total=runs)
    return time.monotonic() - began, batch


def parts_of_a_run(tank: Checked, players: Cluster, *, runs: int) -> Parts:
    """Measure what a run is made of."""
    play, pack, take, sizes = [], [], [], []
    batch = Batch(scenario=tank.scenario, layout=tank.layout, seed=1, settings=Settings(),
                  changes={})  # fmt: skip
    for run in range(runs):
        job = Job(scenario=tank.scenario, layout=tank.layout, run=run)
        at = [time.thread_time()]
        history = job.begin()
        history.advance()
        outcome = history.outcome()
        at.append(time.thread_time())
        data = as_bytes(outcome)
        digest = checksum(data)
        at.append(time.thread_time())
        batch.add(Outcome(**parts_of(digest, data, run=run)))
        at.append(time.thread_time())
        for found, (start, end) in zip((play, pack, take), pairwise(at), strict=True):
            found.append(end - start)
        sizes.append(len(data))
    empty = Errand(jobs=(), facts=players.facts)
    count = 200
    began = time.monotonic()
    futures = [players.client.submit(run_errand, empty, pure=False) for _ in range(count)]
    players.client.gather(futures)
    errand_s = (time.monotonic() - began) / count
    return Parts(sum(play) / runs, median(pack), median(take), errand_s, round(median(sizes)))


def section(parts: Parts, *, threads: float, workers: float, count: int, runs: int) -> list[str]:
    """Return the paragraphs of the page."""
    busy_s = parts.play_s + parts.pack_s
    errands = MILLION * busy_s / ERRAND_S
    playing = MILLION * busy_s / MANY
    taking = MILLION * parts.take_s
    handing = errands * parts.errand_s
    rows = [
        ("a million runs played, 64 workers", f"{playing / 3600.0:.1f} h"),
        ("their bytes made outcomes and taken in, one process", f"{taking / 3600.0:.1f} h"),
        (f"{errands:,.0f} errands handed out and taken back", f"{handing / 60.0:.1f} min"),
        ("bytes that travel", f"{MILLION * parts.sent_bytes / 1e9:.0f} GB"),
    ]
    longest = max(playing, taking, handing)
    which = {playing: "the playing", taking: "the taking in", handing: "the handing out"}[longest]
    return [
        f"The shipped four-foot tank, 30 days a run; {count} threads against {count} worker "
        "processes of one thread each, with a scheduler of its own, over loopback.",
        f"- {runs} runs took {threads:.1f} s on threads and {workers:.1f} s on the workers, the "
        f"best of three in turns: {workers / threads:.2f} times as long, with the same bytes.",
        f"- A run takes {1e3 * parts.play_s:.1f} ms of processor time to play, "
        f"{1e3 * parts.pack_s:.2f} ms to pack, {parts.sent_bytes / 1e3:.1f} kB to send, and "
        f"{1e3 * parts.take_s:.2f} ms at the one who asked. An errand in which nothing is played "
        f"takes {1e3 * parts.errand_s:.2f} ms of wall time; one is made to take {ERRAND_S:g} s.",
        "What a million runs would take on 64 workers, reckoned from these parts and not played "
        "(the workers no slower than this processor, the network no narrower than loopback):",
        table(("part", "takes"), rows),
        f"These go on side by side, so about {longest / 3600.0:.1f} h, and it is {which} that "
        "decides. What is said of them at the end is not in it.",
    ]


def main() -> None:
    """Measure, and write the section."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--runs", type=int, default=60)
    parser.add_argument("--times", type=int, default=3)
    asked = parser.parse_args()
    before, count = load(), usual_workers()
    tank = check_file(TANK)
    with cluster(count) as players:
        # All is loaded, and tables are made.
        batch_s(tank, runs=4 * count, first=0, workers=players.play)
        batch_s(tank, runs=count, first=0, workers=count)
        threads, workers = [], []
        for _ in range(asked.times):
            took, here = batch_s(tank, runs=asked.runs, first=0, workers=count)
            threads.append(took)
            took, there = batch_s(tank, runs=asked.runs, first=0, workers=players.play)
            workers.append(took)
            assert here.runs.rows().tobytes() == there.runs.rows().tobytes()
            assert here.fish.rows().tobytes() == there.fish.rows().tobytes()
        parts = parts_of_a_run(tank, players, runs=asked.runs)
    told = section(parts, threads=min(threads), workers=min(workers), count=count, runs=asked.runs)
    written = "Written by `python -m tests.benchmarks.cluster`. "
    told.insert(0, written + describe(load_before=before))
    write_section(PAGE, HEADING, parts=told)
    print("\n\n".join(told))


if __name__ == "__main__":
    main()
