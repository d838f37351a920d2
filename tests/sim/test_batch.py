"""Batches: order, bytes, laziness, interruption, and tables in slices."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Iterator

import numpy as np
import pytest

from sim.batch import Batch, play_batch, run_batch, run_one
from sim.comparison import Design
from sim.crew import AHEAD, Job, play
from sim.elo import elo_ratings
from sim.errors import Refused
from sim.outcome import RUN_ROW, Outcome
from sim.settings import Settings
from sim.slices import SlicedTable
from tests.sim import made


@pytest.fixture(scope="module")
def tank() -> Design:
    return made.design(days=1.0)


@pytest.fixture(scope="module")
def long_tank() -> Design:
    return made.design(days=300.0)


@pytest.fixture(scope="module")
def compiled(tank: Design) -> None:
    """Have the rules compiled before anything is timed."""
    run_one(tank.scenario, tank.layout)


def as_bytes(outcome: Outcome) -> bytes:
    arrays = (outcome.row, outcome.fish, outcome.days, outcome.chases, outcome.wins,
              outcome.ends, outcome.log)  # fmt: skip
    return b"".join(np.ascontiguousarray(a).tobytes() for a in arrays)


# The promise is one second; a loaded machine is given more, far under a long run.
PROMPT_S = 5.0


def threads(*, patience_s: float = 60.0) -> list[str]:
    """Name the threads of runs that are still there after a while.

    A thread that is compiling cannot be cut short, so on a cold cache it needs that while.
    """
    end = time.monotonic() + patience_s
    names = [t.name for t in threading.enumerate() if t.name.startswith("run-")]
    while names and time.monotonic() < end:
        time.sleep(0.05)
        names = [t.name for t in threading.enumerate() if t.name.startswith("run-")]
    return names


def test_one_worker_two_workers_and_a_single_run_give_the_same_bytes(tank: Design) -> None:
    runs = 5
    one, two = (
        [
            as_bytes(o)
            for o in run_batch(tank.scenario, tank.layout, runs=runs, seed=7, workers=workers)
        ]
        for workers in (1, 2)
    )
    assert one == two
    assert len(set(one)) == runs
    assert as_bytes(run_one(tank.scenario, tank.layout, run=3, seed=7)) == one[3]


def test_first_says_where_the_numbers_begin(tank: Design) -> None:
    whole = list(run_batch(tank.scenario, tank.layout, runs=4, workers=2))
    rest = list(run_batch(tank.scenario, tank.layout, runs=2, first=2, workers=2))
    assert [o.run for o in rest] == [2, 3]
    assert [as_bytes(o) for o in rest] == [as_bytes(o) for o in whole[2:]]


def test_jobs_are_taken_only_as_they_are_needed(tank: Design) -> None:
    taken = 0

    def jobs() -> Iterator[Job]:
        nonlocal taken
        for run in range(1000):
            taken += 1
            yield Job(scenario=tank.scenario, layout=tank.layout, run=run)

    outcomes = play(jobs(), workers=2)
    for _ in range(3):
        next(outcomes)
    assert taken <= 3 + AHEAD * 2
    outcomes.close()  # type: ignore[attr-defined]
    assert threads() == []


@pytest.mark.usefixtures("compiled")
def test_closing_ends_long_runs_promptly(tank: Design, long_tank: Design) -> None:
    short = [Job(scenario=tank.scenario, layout=tank.layout, run=0)]
    watch_all = Settings(watch_all=True)
    long = [
        Job(scenario=long_tank.scenario, layout=long_tank.layout, run=run, settings=watch_all)
        for run in range(4)
    ]
    outcomes = play([*short, *long], workers=2)
    next(outcomes)
    began = time.monotonic()
    outcomes.close()  # type: ignore[attr-defined]
    assert time.monotonic() - began < PROMPT_S
    assert threads() == []


@pytest.mark.usefixtures("compiled")
def test_the_keyboard_ends_a_batch_promptly(long_tank: Design) -> None:
    long_tank.layout.floor()
    pressed: list[float] = []

    def press() -> None:
        pressed.append(time.monotonic())
        signal.raise_signal(signal.SIGINT)

    timer = threading.Timer(0.5, press)
    timer.start()
    batch = play_batch(
        long_tank.scenario, long_tank.layout, runs=50, settings=Settings(watch_all=True)
    )
    returned = time.monotonic()
    timer.join()
    assert batch.interrupted
    assert batch.done < 50
    assert returned - pressed[0] < PROMPT_S
    assert threads() == []


def test_an_interruption_keeps_what_was_finished(tank: Design) -> None:
    def press_at_three(done: int, total: int) -> None:
        assert total == 50
        if done == 3:
            raise KeyboardInterrupt

    batch = play_batch(tank.scenario, tank.layout, runs=50, progress=press_at_three)
    assert (batch.interrupted, batch.done, batch.asked) == (True, 3, 50)
    assert batch.runs["run"].tolist() == [0, 1, 2]
    assert threads() == []


def test_progress_is_told_of_every_run(tank: Design) -> None:
    told: list[tuple[int, int]] = []
    batch = play_batch(
        tank.scenario, tank.layout, runs=3, workers=2, progress=lambda *a: told.append(a)
    )
    assert told == [(0, 3), (1, 3), (2, 3), (3, 3)]
    assert not batch.interrupted


def test_a_refusal_in_a_thread_reaches_the_caller(tank: Design) -> None:
    with pytest.raises(Refused, match="nonsense: is not one of the parameters"):
        play_batch(tank.scenario, tank.layout, runs=3, changes={"nonsense": 1.0})
    assert threads() == []


def test_no_workers_are_refused(tank: Design) -> None:
    with pytest.raises(Refused, match="workers: got 0; expected 1 or more"):
        play_batch(tank.scenario, tank.layout, runs=1, workers=0)


def test_a_batch_adds_up_its_runs(tank: Design) -> None:
    outcomes = list(run_batch(tank.scenario, tank.layout, runs=3))
    batch = play_batch(tank.scenario, tank.layout, runs=3)
    assert batch.runs.rows().tobytes() == b"".join(o.row.tobytes() for o in outcomes)
    assert batch.fish.rows().tobytes() == b"".join(o.fish.tobytes() for o in outcomes)
    assert batch.days.rows().tobytes() == b"".join(o.days.tobytes() for o in outcomes)
    assert batch.chases.sum() > 0
    given = batch.fish["chases_given"].reshape(3, batch.n_fish).sum(axis=0)
    assert batch.chases.sum(axis=1).tolist() == given.tolist()
    won = batch.fish["contests_won"].reshape(3, batch.n_fish).sum(axis=0)
    assert batch.wins.sum(axis=1).tolist() == won.tolist()
    assert len(batch.landau) == len(batch.de_vries) == 3


def test_the_days_can_be_left_out(tank: Design) -> None:
    batch = play_batch(tank.scenario, tank.layout, runs=2, keep_days=False)
    assert len(batch.days) == 0
    assert len(batch.runs) == 2


def test_the_seed_is_that_given_else_the_files_else_one(tank: Design) -> None:
    own = made.design(days=1.0, seed=5)
    assert play_batch(own.scenario, own.layout, runs=1).seed == 5
    assert play_batch(own.scenario, own.layout, runs=1, seed=9).seed == 9
    assert play_batch(tank.scenario, tank.layout, runs=1).seed == 1


def test_ratings_come_from_chases_in_order_of_time(tank: Design) -> None:
    bouts = [(0, 1), (0, 1), (1, 2), (2, 0)]
    batch = Batch(
        scenario=tank.scenario, layout=tank.layout, seed=1, settings=Settings(), changes={}
    )
    for run in range(2):
        batch.add(made.outcome(run, n_fish=batch.n_fish, chased=bouts))
    assert batch.elo == pytest.approx(2 * elo_ratings(bouts, n_fish=batch.n_fish))
    other = Batch(
        scenario=tank.scenario, layout=tank.layout, seed=1, settings=Settings(), changes={}
    )
    other.add(made.outcome(0, n_fish=batch.n_fish, chased=bouts[::-1]))
    assert not np.allclose(other.elo, batch.elo / 2)


@pytest.mark.parametrize("slice_rows", [1, 3, 4, 1000])
def test_a_sliced_table_gives_back_its_rows(slice_rows: int) -> None:
    rng = np.random.default_rng(3)
    table = SlicedTable(RUN_ROW, slice_rows=slice_rows)
    parts = []
    for size in (1, 2, 5, 1, 4, 1):
        part = np.zeros(size, RUN_ROW)
        part["run"] = rng.integers(1000, size=size)
        part["dose"] = rng.random(size)
        parts.append(part)
        table.extend(part)
        assert len(table._open) < slice_rows * RUN_ROW.itemsize
        together = np.concatenate(parts)
        assert len(table) == len(together)
        assert table.rows().tobytes() == together.tobytes()
        assert table["dose"].tolist() == together["dose"].tolist()
    assert np.concatenate(list(table.slices())).tobytes() == together.tobytes()
    assert max(len(part) for part in table.slices()) <= slice_rows


def test_an_empty_sliced_table_has_empty_columns() -> None:
    table = SlicedTable(RUN_ROW)
    assert len(table) == len(table.rows()) == len(table["dose"]) == 0
