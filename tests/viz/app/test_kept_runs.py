"""The app keeps its runs: asked again, gone on with, over a reload, by several at once, or not."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import pytest

from sim.errors import Refused
from sim.kept_store import FILE, Store
from tests.viz.app.rendering import page_context, rendered, shown
from tests.viz.app.test_batches import files_of
from tests.viz.commands import SMALL
from viz.app import kept_runs, page, serving
from viz.app.batches import BatchJob, asked_for, designs_of_tanks
from viz.app.building.bench import bench_of
from viz.app.building.words import BuildWords
from viz.app.editing.odds import Odds, OddsJob
from viz.app.open_tank import opened
from viz.app.opening import open_path
from viz.app.pages.repeat import Repeat
from viz.app.repeating.beginning import begin_batch
from viz.app.repeating.playing import far_words
from viz.app.session import Look, Session
from viz.record import results_json


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "small.toml"
    path.write_text(SMALL.replace("days = 2", "days = 1"), encoding="utf-8")
    return path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "kept" / "runs"


def job(file: Path, *, runs: int, **more: Any) -> BatchJob:
    """A batch of one tank that has not begun."""
    return BatchJob(
        designs_of_tanks([opened(open_path(file), file=file)]), asked=asked_for(runs), **more
    )


def played(file: Path, *, runs: int, **more: Any) -> BatchJob:
    """A batch of one tank that is over."""
    made = job(file, runs=runs, **more).start()
    assert made.wait(120.0)
    return made


def no_more_is_played(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise AssertionError("a run was played that is kept")

    monkeypatch.setattr("viz.app.repeating.pool.play_one", fail)
    monkeypatch.setattr("sim.kept.play_one", fail)


def test_the_same_question_is_answered_without_playing(
    file: Path, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = played(file, runs=9, keep=folder)
    plain = played(file, runs=9)
    assert (first.now.found, plain.now.found) == (0, 0)
    no_more_is_played(monkeypatch)
    again = played(file, runs=9, keep=folder)
    assert again.now.whole
    assert again.now.found == 9
    assert again.now.unkept == ()
    assert far_words(again, again.now).endswith("; 9 runs had been kept")
    assert again.now.results is not None
    assert plain.now.results is not None
    for one in (first, again):
        assert results_json(one.now.results) == results_json(plain.now.results)
        assert files_of(one, tmp_path) == files_of(plain, tmp_path)
        assert one.now.rows == plain.now.rows


def test_more_runs_go_on_from_those_that_are_kept(file: Path, folder: Path, tmp_path: Path) -> None:
    played(file, runs=4, keep=folder)
    more = played(file, runs=7, keep=folder)
    assert (more.now.done, more.now.found) == (7, 4)
    assert files_of(more, tmp_path) == files_of(played(file, runs=7), tmp_path)


def test_a_stopped_batch_goes_on_in_another_program(
    file: Path, folder: Path, tmp_path: Path
) -> None:
    told = threading.Event()
    halves = job(file, runs=40, keep=folder, told=told.set).start()
    while halves.now.done == 0:
        assert told.wait(60.0)
        told.clear()
    halves.cancel()
    assert halves.wait(30.0)
    assert 0 < halves.now.done < 40
    code = (
        "import sys; from pathlib import Path; from tests.viz.app.test_kept_runs import played;"
        "one = played(Path(sys.argv[1]), runs=40, keep=Path(sys.argv[2]));"
        "print(one.now.done, one.now.found)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(file), str(folder)],
        capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.stdout.split() == ["40", str(halves.now.done)], done.stderr
    assert halves.start().wait(120.0)  # and here too, to the same bytes
    assert files_of(halves, tmp_path) == files_of(played(file, runs=40), tmp_path)


def test_only_what_is_kept_can_be_read(file: Path, folder: Path) -> None:
    played(file, runs=3, keep=folder)
    made = job(file, runs=8, keep=folder).start(only_kept=True)
    assert made.wait(60.0)
    assert (made.now.done, made.now.found, made.now.cancelled) == (3, 3, True)
    assert made.start().wait(120.0)
    assert (made.now.done, made.now.found, made.now.whole) == (8, 3, True)


def test_over_a_reload_a_batch_is_there_again(
    file: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("viz.app.repeating.beginning.RUNS", (6,))
    before = Session(file, keep=folder)
    assert begin_batch(before, runs=6, tanks=(0,)) == ()
    assert before.batch.wait(120.0)
    kept = before.kept()
    assert kept["batch"] == {"runs": 6, "tanks": [0], "stopped": False}
    before.close()
    no_more_is_played(monkeypatch)
    after = Session(file, keep=folder)
    after.arrive(look=Look(), kept=kept, been=True)
    assert after.batch.wait(60.0)
    assert (after.batch.now.done, after.batch.now.whole) == (6, True)
    after.close()


def test_over_a_reload_what_was_stopped_waits(
    file: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("viz.app.repeating.beginning.RUNS", (6,))
    played(file, runs=2, keep=folder)
    session = Session(file, keep=folder)
    kept = {**session.kept(), "batch": {"runs": 6, "tanks": [0], "stopped": True}}
    assert session.restore(kept)
    assert session.batch.wait(60.0)
    assert (session.batch.now.done, session.batch.now.cancelled) == (2, True)
    session.close()


@pytest.mark.parametrize(
    "batch",
    [None, 3, "x", {}, {"runs": 7, "tanks": [0]}, {"runs": 20}, {"runs": 20, "tanks": []},
     {"runs": 20, "tanks": [1]}, {"runs": 20, "tanks": [0, 0]}, {"runs": 20, "tanks": [True]},
     {"runs": [20], "tanks": [0]}, {"runs": 20, "tanks": [-1]}, {"runs": 20, "tanks": {"a": 1}}],
)  # fmt: skip
def test_a_batch_that_makes_no_sense_is_passed_over(file: Path, folder: Path, batch: Any) -> None:
    session = Session(file, keep=folder)
    assert session.restore({**session.kept(), "batch": batch})
    assert session.batch is None
    session.close()


def test_rough_odds_are_kept_too(file: Path, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def odds() -> Odds:
        told: list[Odds] = []
        checked = open_path(file)
        one = OddsJob(checked, told.append, runs=5, wait_s=0.0, keep=folder).start()
        assert one.wait(120.0)
        return told[-1]

    first = odds()
    no_more_is_played(monkeypatch)
    again = odds()
    assert first.results is not None
    assert again.said == first.said
    # Repeat asks the same question, so that it goes on from there.
    assert played(file, runs=5, keep=folder).now.found == 5


def test_two_pages_at_once_keep_each_run_once(file: Path, folder: Path, tmp_path: Path) -> None:
    pages = [job(file, runs=12, keep=folder) for _ in range(4)]
    for one in pages:
        one.start()
    assert all(one.wait(120.0) for one in pages)
    assert [one.now.unkept for one in pages] == [()] * 4
    store = Store(folder)
    assert [runs for _, runs, _ in store.questions()] == [12]
    assert store.faults() == []
    store.close()
    tables = [files_of(one, tmp_path) for one in pages]
    assert tables == [tables[0]] * 4


def test_programs_that_make_the_same_place_at_once(tmp_path: Path) -> None:
    """Each opens the folder the moment it is told to; none takes the other's file for a lock."""
    code = (
        "import sys; from pathlib import Path\n"
        "from sim.kept_store import Store\n"
        "print('ready', flush=True)\n"
        "for name in sys.stdin:\n"
        "    store = Store(Path(name.strip())); print(store.writable, flush=True); store.close()"
    )
    several = [
        subprocess.Popen(
            [sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        for _ in range(3)
    ]
    try:
        for one in several:
            assert one.stdout is not None
            assert one.stdout.readline() == "ready\n"
        for number in range(20):
            for one in several:
                assert one.stdin is not None
                one.stdin.write(f"{tmp_path / str(number)}\n")
                one.stdin.flush()
            for one in several:
                assert one.stdout is not None
                assert one.stdout.readline() == "True\n", number
    finally:
        for one in several:
            one.communicate(timeout=20)


# --- a place where nothing can be kept ------------------------------------------------------


def spoilt(folder: Path) -> None:
    """Have the file hold something else altogether."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / FILE).write_bytes(b"no runs, but something of somebody's " * 400)


def test_a_place_that_is_none_is_said_and_the_runs_are_shown(
    file: Path, folder: Path, tmp_path: Path
) -> None:
    spoilt(folder)
    made = played(file, runs=3, keep=folder)
    assert made.now.whole
    (problem,) = made.now.unkept
    assert "could not be opened" in problem.sentence
    assert files_of(made, tmp_path) == files_of(played(file, runs=3), tmp_path)
    assert (folder / FILE).read_bytes().startswith(b"no runs, but something of somebody's")


def test_a_full_disk_is_said_and_the_runs_are_shown(
    file: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    played(file, runs=2, keep=folder)

    def full(*_: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(Store, "_asked", full)
    made = played(file, runs=40, keep=folder)
    assert made.now.whole
    assert made.now.found == 0  # forty are another question: what nobody measured is drawn for them
    (problem,) = made.now.unkept
    assert "could not be written (database or disk is full)" in problem.sentence
    assert "make room or name another folder" in problem.sentence
    few = played(file, runs=4, keep=folder)
    assert (few.now.found, few.now.whole) == (2, True)


def test_a_place_that_can_only_be_read_answers_what_it_has(
    file: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    played(file, runs=3, keep=folder)

    def shut(self: Store, mode: str) -> sqlite3.Connection:
        raise sqlite3.OperationalError("attempt to write a readonly database")

    monkeypatch.setattr(Store, "_writing", shut)
    assert played(file, runs=3, keep=folder).now.unkept == ()
    made = played(file, runs=5, keep=folder)
    assert (made.now.whole, made.now.found) == (True, 3)
    (problem,) = made.now.unkept
    assert problem.sentence.startswith("3 of 5 runs are kept, and no more can be written")


def test_a_store_that_goes_bad_while_it_is_read_is_said_once(
    file: Path, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    played(file, runs=4, keep=folder)

    def bad(self: Store, *_: object) -> None:
        with self._said("read"):
            raise sqlite3.DatabaseError("database disk image is malformed")

    monkeypatch.setattr(Store, "get", bad)
    made = played(file, runs=6, keep=folder)
    assert made.now.whole
    assert len(made.now.unkept) == 1
    assert "database disk image is malformed" in made.now.unkept[0].sentence
    assert files_of(made, tmp_path) == files_of(played(file, runs=6), tmp_path)


def test_the_page_says_that_nothing_is_kept(file: Path, folder: Path) -> None:
    spoilt(folder)
    session = Session(file, keep=folder)
    with page_context():
        repeat = rendered(Repeat(session))
        assert begin_batch(session, runs=2, tanks=(0,)) == ()
        assert session.batch.wait(120.0)
        assert "They are played, but not kept: the kept runs in" in shown(repeat)
        assert "Watch the worst run" in shown(repeat)
        bench = bench_of(session)
        bench.looking.odds = Odds(1, 20, unkept=session.batch.now.unkept)
        bench.looking._wanted = -1  # nobody has them played here
        words = rendered(BuildWords(session))
        assert "Rough odds" in shown(words)
    session.close()


# --- which place it is ----------------------------------------------------------------------


def test_the_usual_place_is_in_the_data_of_the_user(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("platformdirs.user_data_dir", lambda name: str(tmp_path / name))
    assert kept_runs.folder_for(None) == tmp_path / "holdwater" / "runs"
    assert not (tmp_path / "holdwater").exists()  # made with the first runs


def test_a_place_that_is_named_is_tried_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert kept_runs.folder_for("none") is None
    monkeypatch.chdir(tmp_path)
    assert kept_runs.folder_for("a/b") == tmp_path / "a" / "b"
    assert (tmp_path / "a" / "b" / FILE).exists()
    spoilt(tmp_path / "c")
    with pytest.raises(Refused, match="could not be opened"):
        kept_runs.folder_for("c")
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(Refused, match="cannot be made"):
        kept_runs.folder_for("file/inside")


def test_pages_are_told_the_place_and_no_foreign_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import os

    kept = dict(os.environ)
    try:
        os.environ["HOLDWATER_APP_KEEP"] = "/somewhere/foreign"
        serving.prepare(assets=tmp_path, file=None)
        assert kept_runs.folder_of_pages() is None
        serving.prepare(assets=tmp_path, file=None, keep=tmp_path / "runs")
        session = page.new_session()
        assert session.keep == tmp_path / "runs"
        session.close()
    finally:
        os.environ.clear()
        os.environ |= kept
    shutil.rmtree(tmp_path / "runs", ignore_errors=True)


def test_how_much_room_they_take_is_said(file: Path, folder: Path) -> None:
    assert kept_runs.spoken_size(folder) == "next to nothing so far"
    folder.mkdir(parents=True)
    (folder / FILE).write_bytes(bytes(3_400_000))
    assert kept_runs.spoken_size(folder) == "3 MB so far"
