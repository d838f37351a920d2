"""Runs on a Dask cluster: the same bytes as on threads, also when a worker is killed."""

from __future__ import annotations

import contextlib
import json
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from sim.batch import run_one
from sim.check import check_file
from sim.crew import Job
from sim.errors import Refused
from tests.benchmarks.killed import kept_in
from tests.viz.commands import SMALL, Ended, environment, holdwater
from viz.cli import outcome

LONG = 'based_on = "tank.toml"\npieces_when_resized = "stretch"\n[tank]\nlength = "48 in"\n'
DASHBOARD = 8787  # where Dask listens by default
RUNS = 300  # of which a worker is at work on one errand when it is killed
SHORT = ("--days", 1, "--json", "out.json", "--csv", "tables")


@dataclass
class Scheduler:
    """A scheduler of its own process, and how to give it workers.

    Parameters
    ----------
    file
        Which the scheduler has written.
    more
        Environment of its workers.
    """

    file: Path
    more: dict[str, str] = field(default_factory=dict)

    @property
    def address(self) -> str:
        return str(json.loads(self.file.read_text())["address"])

    def worker(self) -> subprocess.Popen[bytes]:
        """Start a worker, and return it once the scheduler knows it."""
        words = ["distributed.cli.dask_worker", "--scheduler-file", str(self.file), "--no-nanny",
                 "--nthreads", "1", "--no-dashboard", "--host", "127.0.0.1"]  # fmt: skip
        log = self.file.with_name(f"worker-{time.monotonic_ns()}.log")
        process = started(words, log=log, **self.more)
        wait_for(lambda: "Registered to" in log.read_text(errors="replace"))
        return process


def started(words: list[str], *, log: Path, **more: str) -> subprocess.Popen[bytes]:
    with log.open("wb") as stream:
        return subprocess.Popen(
            [sys.executable, "-m", *words], cwd=log.parent, env=environment(**more), stdout=stream,
            stderr=stream,
        )  # fmt: skip


def wait_for(what: Callable[[], bool]) -> None:
    until = time.monotonic() + 120
    while not what():
        assert time.monotonic() < until, "waited too long"
        time.sleep(0.05)


@contextmanager
def served(folder: Path, *words: str, **more: str) -> Iterator[Scheduler]:
    """A scheduler with one worker for the length of a block; more can be started."""
    (folder / "tank.toml").write_text(SMALL, encoding="utf-8")
    checked = check_file(folder / "tank.toml")
    run_one(checked.scenario, checked.layout)  # compiled here, where nothing waits for it
    file = folder / "scheduler.json"
    process = started(
        ["distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard",
         "--scheduler-file", str(file), *words],
        log=folder / "scheduler.log", **more,
    )  # fmt: skip
    processes = [process]
    try:
        wait_for(file.exists)
        found = Scheduler(file, more)
        processes.insert(0, found.worker())
        yield found
    finally:
        for one in processes:
            one.terminate()
            try:
                one.wait(20)
            except subprocess.TimeoutExpired:
                one.kill()
                one.wait()


@pytest.fixture(scope="module")
def scheduler(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Scheduler]:
    """A scheduler with one worker; whoever uses it may start another."""
    pytest.importorskip("distributed")
    with served(tmp_path_factory.mktemp("cluster")) as found:
        yield found


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (tmp_path / "tank.toml").write_text(SMALL, encoding="utf-8")
    (tmp_path / "long.toml").write_text(LONG, encoding="utf-8")
    return tmp_path


def left(folder: Path, ended: Ended) -> dict[str, bytes]:
    """What a batch printed and wrote; the folder is then as before."""
    assert ended.code == 0, ended.err
    files = [folder / "out.json", *sorted((folder / "tables").iterdir())]
    found = {"page": ended.out.encode(), **{file.name: file.read_bytes() for file in files}}
    shutil.rmtree(folder / "tables")
    (folder / "out.json").unlink()
    return found


@pytest.mark.parametrize(
    "words",
    [
        ("compare", "tank.toml", "long.toml", "--runs", 3),
        ("sweep", "tank.toml", "--vary", "tank.length=30 in,40 in", "--runs", 3),
    ],
    ids=["compare", "sweep"],
)
def test_a_scheduler_gives_the_bytes_of_threads(
    words: tuple[str, ...], place: Path, scheduler: Scheduler
) -> None:
    there = left(place, holdwater(*words, *SHORT, "--on", scheduler.address, cwd=place, apart=True))
    assert there == left(place, holdwater(*words, *SHORT, cwd=place))


@pytest.mark.parametrize(
    ("words", "written"),
    [
        (("why", "tank.toml", "--runs", 4, "--json", "why.json"), ("why.json",)),
        (
            ("improve", "tank.toml", "--budget", 120, "--runs", 20, "--out", "better.toml",
             "--picture", "better.svg"),
            ("better.toml", "better.svg"),
        ),
        (("report", "tank.toml", "long.toml", "--runs", 4, "--out", "report.html"),
         ("report.html",)),
    ],
    ids=["why", "improve", "report"],
)  # fmt: skip
def test_reasons_and_searches_are_played_there_too(
    words: tuple[str | int, ...], written: tuple[str, ...], place: Path, scheduler: Scheduler
) -> None:
    found = []
    for more in (("--on", scheduler.address), ()):
        ended = holdwater(*words, "--days", 1, *more, cwd=place, apart=bool(more))
        assert ended.code == 0, ended.err
        files = [place / name for name in written]
        found.append([ended.out, *(file.read_bytes() for file in files if file.exists())])
        for file in files:
            file.unlink(missing_ok=True)
    assert found[0] == found[1]
    assert len(found[0]) > 1 or words[0] == "improve"  # which may find nothing better


def certificate(folder: Path) -> dict[str, str]:
    """Make a certificate for 127.0.0.1, and return the words by which Dask is told of it."""
    made = subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj",
         "/CN=127.0.0.1", "-addext", "subjectAltName=IP:127.0.0.1", "-keyout", "key.pem",
         "-out", "cert.pem"],
        cwd=folder, capture_output=True, check=False,
    )  # fmt: skip
    assert made.returncode == 0, made.stderr
    words = {"DASK_DISTRIBUTED__COMM__TLS__CA_FILE": str(folder / "cert.pem"),
             "DASK_DISTRIBUTED__COMM__REQUIRE_ENCRYPTION": "True"}  # fmt: skip
    for who in ("SCHEDULER", "WORKER", "CLIENT"):
        words[f"DASK_DISTRIBUTED__COMM__TLS__{who}__CERT"] = str(folder / "cert.pem")
        words[f"DASK_DISTRIBUTED__COMM__TLS__{who}__KEY"] = str(folder / "key.pem")
    return words


def test_tls_gives_the_bytes_of_threads_and_strangers_nothing(
    place: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    pytest.importorskip("distributed")
    if shutil.which("openssl") is None:
        pytest.skip("no openssl, with which the certificates are made")
    folder = tmp_path / "tls"
    folder.mkdir()
    known = certificate(folder)
    words = ("run", "tank.toml", "--runs", 3, *SHORT)
    with served(folder, "--protocol", "tls", **known) as scheduler:
        assert scheduler.address.startswith("tls://")
        there = left(place, holdwater(*words, "--on", scheduler.address, cwd=place, **known))
        assert there == left(place, holdwater(*words, cwd=place))
        open_address = scheduler.address.replace("tls://", "tcp://")
        monkeypatch.chdir(place)
        monkeypatch.setattr("viz.cluster_asked.PATIENCE_S", 2.0)
        assert outcome([*map(str, words), "--on", open_address]) == 2
    said = capsys.readouterr().err
    assert "nobody answers" in said
    assert "Traceback" not in said
    assert not (place / "out.json").exists()


def test_a_worker_that_is_killed_costs_time_and_no_rows(place: Path, scheduler: Scheduler) -> None:
    words = ("run", "tank.toml", "--runs", RUNS, *SHORT)
    threads = left(place, holdwater(*words, cwd=place))
    doomed = scheduler.worker()
    command = [sys.executable, "-m", "viz.cli", *map(str, words)]
    process = subprocess.Popen(
        [*command, "--on", scheduler.address, "--keep", "store"], cwd=place, env=environment(),
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    wait_for(lambda: kept_in(place) > 0)
    assert kept_in(place) < RUNS
    doomed.send_signal(signal.SIGKILL)
    doomed.wait(30)
    out, err = process.communicate(timeout=300)
    assert left(place, Ended(process.returncode, out, err)) == threads
    assert f"0 runs had been kept, {RUNS} added." in err
    again = holdwater(*words, "--keep", "store", cwd=place)
    assert f"{RUNS} runs had been kept, 0 added." in again.err
    assert left(place, again) == threads


def test_workers_of_this_machine_give_the_bytes_of_threads(place: Path) -> None:
    pytest.importorskip("distributed")
    words = ("run", "tank.toml", "--runs", 4, *SHORT)
    with contextlib.ExitStack() as taken:
        with contextlib.suppress(OSError):  # somebody else has it, which will do
            taken.enter_context(socket.create_server(("127.0.0.1", DASHBOARD)))
        there = holdwater(*words, "--on", "dask", "--workers", 2, cwd=place, apart=True)
    for word in ("Traceback", "Warning", str(DASHBOARD)):
        assert word not in there.err
    assert left(place, there) == left(place, holdwater(*words, "--workers", 1, cwd=place))


# --- what cannot be ------------------------------------------------------------------------------


@pytest.fixture
def refused(
    place: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Any:
    monkeypatch.chdir(place)

    def said(*words: str) -> str:
        assert outcome(["run", "tank.toml", "--runs", "1", *words]) == 2
        return capsys.readouterr().err

    return said


def test_without_the_library_it_says_what_to_install(
    refused: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert "pip install 'holdwater[dask]'" in refused("--on", "dask")


@pytest.mark.parametrize("text", ["", "threads", "10.0.0.7:8786", "http://10.0.0.7:8786", "tcp://"])
def test_what_is_no_address_is_refused(text: str, refused: Any) -> None:
    assert 'expected "dask"' in refused("--on", text)


@pytest.mark.parametrize("kind", ["ws", "wss", "ucx", "inproc"])
def test_only_ways_that_were_meant_are_spoken(kind: str, refused: Any) -> None:
    assert 'expected "dask"' in refused("--on", f"{kind}://127.0.0.1:8786")


def test_tls_without_a_certificate_is_refused_at_once(refused: Any) -> None:
    assert "no certificate" in refused("--on", "tls://127.0.0.1:8786")


def test_the_workers_of_a_scheduler_are_its_own(refused: Any) -> None:
    assert "whose workers are those" in refused("--on", "tcp://127.0.0.1:1", "--workers", "2")


def test_one_run_told_is_played_here(refused: Any) -> None:
    pytest.importorskip("distributed")
    assert "is played here" in refused("--on", "dask", "--replay", "0")


def test_nobody_at_the_address_is_said(refused: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("viz.cluster_asked.PATIENCE_S", 0.5)
    said = refused("--on", "tcp://127.0.0.1:1")
    assert "nobody answers at tcp://127.0.0.1:1" in said
    assert "Traceback" not in said


class Workers:
    """What `distributed.Client` would say of one worker that has other facts."""

    def __init__(self, **facts: str) -> None:
        self.facts = facts

    def run(self, function: Any, *, on_error: str) -> dict[str, Any]:
        return {"tcp://10.0.0.8:4000": {**function(), **self.facts}}


def test_a_worker_with_another_library_plays_nothing() -> None:
    from sim.cluster import Cluster

    with pytest.raises(Refused, match=r"10\.0\.0\.8:4000 plays another model, got numba 0\.1"):
        Cluster(Workers(numba="0.1"))


def test_a_worker_on_another_machine_is_known_as_such() -> None:
    from sim.cluster import Cluster
    from viz.cluster_asked import other_machines

    names = Cluster(Workers(machine="another")).other_machines
    assert names == ("machine",)
    assert "may end with other bytes" in str(other_machines(names, kept=False))
    assert "are not kept together" in str(other_machines(names, kept=True))


class Dying:
    """A client each of whose workers dies at every errand."""

    def __init__(self) -> None:
        self.handed_out = 0

    def run(self, function: Any, *, on_error: str) -> dict[str, Any]:
        return {"tcp://10.0.0.8:4000": function()}

    def nthreads(self) -> dict[str, int]:
        return {"tcp://10.0.0.8:4000": 1}

    def submit(self, *_: Any, **__: Any) -> Dying:
        self.handed_out += 1
        return self

    def cancel(self, *_: Any, **__: Any) -> None: ...

    def result(self, *, timeout: float) -> None:
        from distributed import KilledWorker

        raise KilledWorker("errand", None, 3)


def test_an_errand_that_every_worker_dies_of_is_given_up_with_a_sentence(place: Path) -> None:
    pytest.importorskip("distributed")
    from sim.cluster import AHEAD, TRIES, Cluster

    checked, client = check_file(place / "tank.toml"), Dying()
    jobs = (Job(scenario=checked.scenario, layout=checked.layout, run=k) for k in range(100))
    with pytest.raises(Refused, match="every worker that played the same runs died"):
        next(Cluster(client).play(jobs))
    assert client.handed_out == AHEAD + TRIES


def test_an_errand_for_another_model_is_not_played() -> None:
    from sim.cluster import Errand, run_errand
    from sim.kept_question import this_version

    with pytest.raises(Refused, match="plays another model"):
        run_errand(Errand(jobs=(), facts={**this_version(), "model": "another"}))
