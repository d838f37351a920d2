"""Kept runs: bytes and back, whose they are, and that a batch of them is the batch."""

from __future__ import annotations

import sqlite3
import threading
from dataclasses import dataclass, fields, replace
from pathlib import Path

import numpy as np
import pytest

from sim import kept, kept_question
from sim.batch import Batch, play_batch, run_batch, run_one
from sim.check import Checked, check_file
from sim.comparison import Design, compare
from sim.errors import Refused
from sim.kept_question import question_of, this_version
from sim.kept_run import Damaged, as_bytes, checksum, from_bytes, parts_of
from sim.kept_store import FILE, Store
from sim.outcome import Outcome
from sim.settings import Settings
from sim.sweep import Precision, play_sweep
from sim.varied import build_points
from sim.varying import plan_points, read_factors
from tests.viz.commands import SMALL

TABLES = ("runs", "fish", "days", "outgrown", "sittings", "acts")


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("kept") / "tank.toml"
    path.write_text(SMALL.replace("days = 2", "days = 1"), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def tank(file: Path) -> Checked:
    return check_file(file)


@pytest.fixture
def store(tmp_path: Path):
    made = Store(tmp_path / "kept")
    yield made
    made.close()


def bytes_of(batch: Batch) -> list[bytes]:
    sums = (batch.chases, batch.wins, batch.ends, batch.david, batch.elo)
    lists = (np.array(batch.landau), np.array(batch.de_vries))
    return [
        *(getattr(batch, name).rows().tobytes() for name in TABLES),
        *(array.tobytes() for array in (*sums, *lists)),
    ]


def counted(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Numbers of the runs that are really played from here on."""
    played: list[int] = []
    usual = kept.play

    def play(jobs, *, workers=None):
        def noted():
            for job in jobs:
                played.append(job.run)
                yield job

        return usual(noted(), workers=workers)

    monkeypatch.setattr(kept, "play", play)
    return played


# --- a run as bytes ------------------------------------------------------------------------


def test_a_run_comes_back_byte_for_byte(tank):
    outcome = run_one(tank.scenario, tank.layout, run=3)
    again = Outcome(**from_bytes(as_bytes(outcome)))
    for one in fields(Outcome):
        first, second = getattr(outcome, one.name), getattr(again, one.name)
        if isinstance(first, np.ndarray):
            assert (first.dtype, first.shape) == (second.dtype, second.shape)
            assert first.tobytes() == second.tobytes()
        else:
            assert first == second
    assert as_bytes(outcome) == as_bytes(again)


def test_a_part_that_is_new_in_a_run_is_carried():
    @dataclass(frozen=True)
    class More:
        run: int
        label: str
        nothing: None
        where: np.ndarray
        rows: np.ndarray
        turned: np.ndarray
        none: np.ndarray

    rows = np.zeros(3, np.dtype([("at", "f8", (2,)), ("who", "u1"), ("in", [("a", "i4")])]))
    rows["at"] = [[1, np.nan], [np.inf, -0.0], [4, 5]]
    more = More(
        run=7,
        label="x",
        nothing=None,
        where=np.arange(12, dtype=np.float32).reshape(3, 4),
        rows=rows,
        turned=np.arange(6).reshape(2, 3).T,
        none=np.zeros((0, 5), bool),
    )
    parts = from_bytes(as_bytes(more))
    assert list(parts) == [one.name for one in fields(More)]
    for name, value in parts.items():
        mine = getattr(more, name)
        if isinstance(mine, np.ndarray):
            assert (value.dtype, value.shape) == (mine.dtype, mine.shape)
            assert value.tobytes() == mine.tobytes()
        else:
            assert value == mine


def test_what_cannot_be_carried_is_not_dropped():
    @dataclass(frozen=True)
    class Odd:
        run: int
        things: list

    with pytest.raises(TypeError, match="things is a list"):
        as_bytes(Odd(1, [1]))
    with pytest.raises(TypeError, match="things is a ndarray"):
        as_bytes(Odd(1, np.array([None])))


def test_damage_is_noticed(tank):
    data = as_bytes(run_one(tank.scenario, tank.layout, run=3))
    digest = checksum(data)
    assert parts_of(digest, data, run=3)["run"] == 3
    for spoilt in (data[:-1], data[:50] + b"\0" + data[51:], b"", b"nonsense"):
        with pytest.raises(Damaged):
            parts_of(digest, spoilt, run=3)
        with pytest.raises(Damaged):
            from_bytes(spoilt)
    with pytest.raises(Damaged, match="it is run 3"):
        parts_of(digest, data, run=4)


# --- whose it is ---------------------------------------------------------------------------


def test_every_part_of_a_question_is_in_its_key(tank, monkeypatch):
    def key(scenario=tank.scenario, *, seed=1, settings=None, changes=None):
        settings = settings or Settings()
        return question_of(scenario, seed=seed, settings=settings, changes=changes or {}).key

    usual = key()
    other = tank.scenario.model_copy(update={"days": 3.0})
    named = tank.scenario.model_copy(update={"title": "Another name", "question": "Why?"})
    assert key(named) == usual
    different = {
        key(other),
        key(seed=2),
        key(settings=Settings(tick_s=0.1)),
        key(settings=Settings(vary=True)),
        key(changes={"stamina_time": 4.0}),
        key(changes={"stamina_time": 5.0}),
    }
    facts = this_version()
    assert {"version", "model", "data", "numpy", "numba", "python", "machine"} <= set(facts)
    assert {"llvmlite", "scipy", "shapely", "geos"} <= set(facts)
    for name in facts:
        monkeypatch.setattr(kept_question, "this_version", lambda name=name: {**facts, name: "x"})
        different.add(key())
    assert len(different) == 6 + len(facts)
    assert usual not in different


def test_runs_of_another_version_are_never_used(tank, store, monkeypatch):
    play_batch(tank.scenario, tank.layout, runs=2, keep=store)
    facts = this_version()
    monkeypatch.setattr(kept_question, "this_version", lambda: {**facts, "model": "0" * 16})
    played = counted(monkeypatch)
    play_batch(tank.scenario, tank.layout, runs=2, keep=store)
    assert played == [0, 1]
    assert [(runs, one.version["model"]) for one, runs, _ in store.questions()] == [
        (2, facts["model"]),
        (2, "0" * 16),
    ]


# --- a batch of them -----------------------------------------------------------------------


def test_a_kept_batch_is_the_batch_asked_again_and_gone_on_with(tank, store, monkeypatch):
    plain = play_batch(tank.scenario, tank.layout, runs=9)
    played = counted(monkeypatch)
    first = play_batch(tank.scenario, tank.layout, runs=5, keep=store, workers=2)
    again = play_batch(tank.scenario, tank.layout, runs=5, keep=store)
    assert played == [0, 1, 2, 3, 4]
    assert bytes_of(first) == bytes_of(again)
    more = play_batch(tank.scenario, tank.layout, runs=9, keep=store, workers=3)
    assert played == list(range(9))
    assert bytes_of(more) == bytes_of(plain)
    assert (store.found, store.added, store.damaged) == (10, 9, 0)


def test_gaps_are_filled_in_the_order_of_the_numbers(tank, store, monkeypatch):
    for first in (2, 6):
        list(run_batch(tank.scenario, tank.layout, runs=2, first=first, keep=store))
    played = counted(monkeypatch)
    outcomes = list(run_batch(tank.scenario, tank.layout, runs=10, keep=store))
    assert [outcome.run for outcome in outcomes] == list(range(10))
    assert played == [0, 1, 4, 5, 8, 9]


def test_what_was_finished_before_a_stop_is_kept(tank, store):
    heard = 0

    def stop(done: int, total: int) -> None:
        nonlocal heard
        heard = done
        if done == 5:
            raise KeyboardInterrupt

    batch = play_batch(tank.scenario, tank.layout, runs=50, keep=store, progress=stop)
    assert batch.interrupted
    (found,) = store.questions()
    assert found[1] == 5 == heard


def test_comparisons_and_sweeps_share_what_is_kept(file, tank, store, monkeypatch):
    play_batch(tank.scenario, tank.layout, runs=4, keep=store)
    longer = file.with_name("longer.toml")
    longer.write_text(
        'based_on = "tank.toml"\npieces_when_resized = "stretch"\n[tank]\nlength = "40 in"\n'
    )
    other = check_file(longer)
    designs = [
        Design(name=name, path=None, scenario=c.scenario, layout=c.layout, hash=name)
        for name, c in (("a", tank), ("b", other))
    ]
    played = counted(monkeypatch)
    kept_one = compare(designs, runs=4, keep=store)
    assert played == [0, 1, 2, 3], "only the second tank"
    plain = compare(designs, runs=4)
    for mine, theirs in zip(kept_one.batches, plain.batches, strict=True):
        assert bytes_of(mine) == bytes_of(theirs)
    played.clear()
    factors = read_factors(["tank.length=30 in,40 in,50 in"])
    tanks = build_points(file, factors, plan_points(factors, plan="full"))
    play_sweep(factors, tanks, plan="full", runs=4, keep=store)
    assert played == [0, 1, 2, 3], "only the third tank"


def test_a_sweep_to_a_width_goes_on_where_it_was(file, store, monkeypatch):
    factors = read_factors(["tank.length=30 in,60 in"])
    tanks = build_points(file, factors, plan_points(factors, plan="full"))
    asked = Precision(outcome="serious", half_width=0.09, most=52)

    def stop(done: int, total: int) -> None:
        if done == 23:
            raise KeyboardInterrupt

    play_sweep(factors, tanks, plan="full", runs=4, precision=asked, keep=store, progress=stop)
    played = counted(monkeypatch)
    rest = play_sweep(factors, tanks, plan="full", runs=4, precision=asked, keep=store)
    plain = play_sweep(factors, tanks, plan="full", runs=4, precision=asked)
    assert len(played) == sum(batch.done for batch in plain.batches) * 2 - 23
    for mine, theirs in zip(rest.batches, plain.batches, strict=True):
        assert bytes_of(mine) == bytes_of(theirs)


def test_a_damaged_run_is_played_again_and_mended(tank, store, monkeypatch):
    plain = play_batch(tank.scenario, tank.layout, runs=3, keep=store)
    base = sqlite3.connect(store.file)
    base.execute("UPDATE runs SET data = zeroblob(length(data)) WHERE run = 1")
    base.commit()
    base.close()
    again = play_batch(tank.scenario, tank.layout, runs=3, keep=store)
    assert bytes_of(again) == bytes_of(plain)
    assert store.damaged == 1
    play_batch(tank.scenario, tank.layout, runs=3, keep=store)
    assert store.damaged == 1


def test_a_slice_is_there_whole_or_not_at_all(tank, store):
    question = question_of(tank.scenario, seed=1, settings=Settings(), changes={})
    good = run_one(tank.scenario, tank.layout, run=0)
    with pytest.raises(TypeError):
        store.put([(question, good), (question, replace(good, run=1, row="no array"[:0] or []))])
    assert store.questions() == []
    store.put([(question, good)])
    assert list(store.numbers(question)) == [0]


def test_two_at_once_lose_nothing(tank, tmp_path):
    """Two programs that play the same question into one folder."""
    plain = play_batch(tank.scenario, tank.layout, runs=12)
    found: list[Batch] = []

    def play() -> None:
        one = Store(tmp_path / "kept")
        found.append(play_batch(tank.scenario, tank.layout, runs=12, keep=one, workers=1))
        one.close()

    threads = [threading.Thread(target=play) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [bytes_of(batch) for batch in found] == [bytes_of(plain)] * 2
    store = Store(tmp_path / "kept")
    assert [runs for _, runs, _ in store.questions()] == [12]
    assert store.faults() == []
    store.close()


# --- a folder that is none -----------------------------------------------------------------


def test_a_file_that_is_no_store_is_refused(tmp_path):
    (tmp_path / "text").mkdir()
    (tmp_path / "text" / FILE).write_text("a letter to a friend, long enough\n" * 100)
    with pytest.raises(Refused, match="file is not a database"):
        Store(tmp_path / "text")
    (tmp_path / "other").mkdir()
    base = sqlite3.connect(tmp_path / "other" / FILE)
    base.execute("CREATE TABLE recipes (name TEXT)")
    base.commit()
    base.close()
    with pytest.raises(Refused, match="no file of kept runs"):
        Store(tmp_path / "other")


def test_a_store_of_a_newer_program_is_refused_and_not_touched(tmp_path):
    Store(tmp_path / "kept").close()
    base = sqlite3.connect(tmp_path / "kept" / FILE)
    base.execute("PRAGMA user_version = 2")
    base.close()
    with pytest.raises(Refused, match="by a newer program"):
        Store(tmp_path / "kept")


def test_a_folder_that_is_not_there_is_made_only_where_that_is_asked(tmp_path):
    with pytest.raises(Refused, match="holds no kept runs"):
        Store(tmp_path / "kept", make=False)
    assert not (tmp_path / "kept").exists()
    with pytest.raises(Refused, match="No such file or directory"):
        Store(tmp_path / "no" / "kept")
