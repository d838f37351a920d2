"""Batches behind a page: the bytes of the command line, partial results, stopping, going on."""

from __future__ import annotations

import threading
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sim.check import check_file
from sim.errors import Problem, Refused
from tests.viz.commands import SMALL, holdwater
from viz.app.batches import BatchJob, asked_for, designs_of_tanks
from viz.app.editing.differences import differences
from viz.app.open_tank import opened
from viz.app.pages.compare import what_differs
from viz.app.repeating.pool import Pool
from viz.app.repeating.rows import (
    RunRow,
    When,
    begins_at,
    gentled,
    in_order,
    picks_of,
    row_words,
)
from viz.csv_tables import csv_files
from viz.record import results_json

HERE = Path(__file__).resolve().parents[3] / "scenarios"
FOUR, SIX = HERE / "convict-four-foot.toml", HERE / "convict-six-foot.toml"


def tanks(*paths: Path, days: float | None = None) -> list[Any]:
    """Open tanks."""
    from sim.check import check_scenario

    found = []
    for path in paths:
        checked = check_file(path)
        if days is not None:
            checked = check_scenario(checked.scenario.model_copy(update={"days": days}))
        found.append(opened(checked, file=path))
    return found


def job(*paths: Path, runs: int, days: float | None = None, **more: Any) -> BatchJob:
    """A batch that has not begun."""
    designs = designs_of_tanks(tanks(*paths, days=days))
    return BatchJob(designs, asked=asked_for(runs), **more)


def files_of(batch: BatchJob, folder: Path) -> dict[str, str]:
    """Its tables as text."""
    names = [design.name for design in batch.designs]
    made = csv_files(folder, names=names, batches=batch.batches)
    return {path.name: "".join(parts) for path, parts in made.items()}


@pytest.mark.parametrize("count", [1, 2])
def test_the_bytes_are_those_of_the_command_line(count: int, tmp_path: Path) -> None:
    command = "run" if count == 1 else "compare"
    small, longer = tmp_path / "small.toml", tmp_path / "longer.toml"
    small.write_text(SMALL, encoding="utf-8")
    longer.write_text(SMALL.replace("30 in", "48 in").replace("Small", "Long"), encoding="utf-8")
    paths = (small, longer)[:count]
    folder, json = tmp_path / "tables", tmp_path / "results.json"
    done = holdwater(
        command, *map(str, paths), "--runs", "6", "--json", str(json), "--csv", str(folder),
        cwd=tmp_path,
    )  # fmt: skip
    assert done.code == 0, done.err
    batch = job(*paths, runs=6).start()
    assert batch.wait(120.0)
    assert batch.now.whole
    assert batch.now.results is not None
    assert results_json(batch.now.results) == json.read_text(encoding="utf-8")
    tables = files_of(batch, folder)
    assert set(tables) == {path.name for path in folder.iterdir()}
    for name, text in tables.items():
        assert text == (folder / name).read_text(encoding="utf-8"), name


def test_a_stopped_batch_goes_on_to_the_same_bytes(tmp_path: Path) -> None:
    whole = job(FOUR, SIX, runs=8, days=2).start()
    assert whole.wait(120.0)
    told = threading.Event()
    halves = job(FOUR, SIX, runs=8, days=2, told=told.set)
    halves.start()
    while halves.now.done == 0:
        assert told.wait(60.0)
        told.clear()
    halves.cancel()
    assert halves.wait(30.0)
    assert halves.now.over
    assert halves.now.cancelled
    assert 0 < halves.now.done < 8
    assert halves.now.results is not None
    assert halves.now.results.designs[0].runs == halves.now.done
    assert halves.start().wait(120.0)
    assert halves.now.whole
    assert files_of(halves, tmp_path) == files_of(whole, tmp_path)
    assert results_json(halves.now.results) == results_json(whole.now.results)
    assert halves.now.rows == whole.now.rows


def test_it_is_stopped_within_half_a_second_in_the_middle_of_a_long_run() -> None:
    pool = Pool(1)
    warm = job(FOUR, runs=1, days=1, pool=pool).start()
    assert warm.wait(120.0)
    long = job(FOUR, runs=4, days=3000, pool=pool)
    long.start()
    time.sleep(0.3)
    began = time.process_time(), time.monotonic()
    long.cancel()
    assert long.wait(30.0)
    # The machine may be busy with something else: half a second of its own time at most.
    assert min(time.process_time() - began[0], time.monotonic() - began[1]) < 0.5
    assert long.now.cancelled
    # and the thread is free for others at once
    assert job(FOUR, runs=1, days=1, pool=pool).start().wait(60.0)


def test_it_tells_at_most_five_times_a_second_and_the_first_runs_come_first() -> None:
    seen: list[tuple[float, int, bool]] = []
    batch = job(FOUR, runs=30, days=2, told=lambda: seen.append(entry()))

    def entry() -> tuple[float, int, bool]:
        return time.monotonic(), batch.now.done, batch.now.results is not None

    batch.start()
    assert batch.wait(120.0)
    assert seen[0][1] == 0
    assert seen[1][1:] == (1, True)  # a partial result with the first run
    assert seen[-1][1:] == (30, True)
    middle = [at for at, _, _ in seen[1:-1]]
    assert all(np.diff(middle) >= 0.19)


def test_rows_are_those_of_the_tables_and_are_sorted() -> None:
    batch = job(FOUR, runs=12, days=5).start()
    assert batch.wait(120.0)
    (rows,) = batch.now.rows
    table = batch.batches[0].runs
    assert [row.run for row in rows] == list(range(12))
    assert [row.dose for row in rows] == list(table.column("dose"))
    for row, day in zip(rows, table.column("serious_day"), strict=True):
        assert row.soonest[0] == day
    order = in_order(rows, "worst")
    assert [row.badness for row in order] == sorted((r.badness for r in rows), reverse=True)
    assert {row.run for row in order} == set(range(12))
    picks = picks_of(rows)
    assert picks is not None
    assert (picks.worst, picks.typical, picks.best) == (order[0], order[6], order[-1])
    names = [f"fish {number}" for number in range(9)]
    assert row_words(rows[3], names=names, days=5.0).startswith("Run 3, 5 days: ")


def test_pairs_are_counted_as_the_verdict_counts_them() -> None:
    batch = job(FOUR, SIX, runs=12, days=3).start()
    assert batch.wait(120.0)
    assert batch.now.results is not None
    (found,) = batch.now.results.verdicts
    (pairs,) = batch.now.pairs
    words = [pair.word for pair in pairs]
    assert len(words) == 6
    counts = [words.count(word) for word in ("better", "alike", "worse")]
    assert counts == [found.better, found.same, found.worse]
    doses = batch.batches[1].runs.column("dose").reshape(6, 2).mean(axis=1)
    np.testing.assert_allclose([pair.second for pair in pairs], doses)


def row(run: int, dose: float, *, serious: int = 0, dead: int = 0) -> RunRow:
    """A row made up."""
    hurt = tuple(When(float(k + 1), k) for k in range(serious))
    gone = tuple(When(float(k + 1), k) for k in range(dead))
    first = When(0.5, 0) if dose else None
    return RunRow(run, run // 2, first, hurt, (), gone, dose)


def test_a_death_is_worse_than_any_injury_and_the_typical_run_is_in_the_middle() -> None:
    rows = [row(0, 5.0), row(1, 1.0, dead=1), row(2, 2.0, serious=1), row(3, 0.0), row(4, 4.0)]
    assert [one.run for one in in_order(rows, "worst")] == [1, 2, 0, 4, 3]
    assert [one.run for one in in_order(rows, "soonest")] == [1, 2, 0, 4, 3]
    assert [one.run for one in in_order(rows[::-1], "number")] == [0, 1, 2, 3, 4]
    picks = picks_of(rows)
    assert picks is not None
    assert (picks.worst.run, picks.typical.run, picks.best.run) == (1, 0, 3)
    assert picks_of([]) is None


def test_a_row_says_in_words_what_it_shows_and_a_gentle_one_shows_no_wound() -> None:
    names = ("Moth", "Rook")
    bad = replace(row(7, 1.0, serious=2, dead=1), moved=(When(3.0, 1),))
    assert row_words(bad, names=names, days=9.0) == (
        "Run 7, 9 days: Moth on day 1.0, Rook on day 2.0 seriously hurt; Rook on day 3.0 moved "
        "out; Moth on day 1.0 dead."
    )
    assert row_words(row(8, 0.0), names=names, days=9.0) == "Run 8, 9 days: nobody hurt."
    assert "first hurt on day 0.5, Moth" in row_words(row(9, 1.0), names=names, days=9.0)
    assert row_words(gentled(bad), names=names, days=9.0) == (
        "Run 7, 9 days: Moth on day 1.0, Rook on day 2.0 moved out."
    )
    assert begins_at(bad) == pytest.approx(0.98)
    assert begins_at(row(8, 0.0)) is None


def test_more_than_one_difference_is_said() -> None:
    one, longer = (tank.scenario for tank in tanks(FOUR, SIX))
    assert what_differs(differences(one, longer)).startswith("Differs from A in one thing")
    fewer = longer.model_copy(update={"fish": longer.fish[:1]})
    assert "cannot be put down to one" in what_differs(differences(one, fewer))
    assert what_differs(differences(one, one)) == "Nothing differs from A."


def test_what_cannot_be_played_is_refused_with_its_sentence() -> None:
    one, other = tanks(FOUR)[0], tanks(SIX, days=5)[0]
    batch = BatchJob(designs_of_tanks([one, other]), asked=asked_for(4)).start()
    assert batch.wait(20.0)
    assert "different numbers of days" in batch.now.refused[0].sentence
    assert not batch.now.whole
    broken = replace(one, checked=None, problems=(Problem("pieces", "it hangs in the air."),))
    with pytest.raises(Refused, match="it hangs in the air"):
        designs_of_tanks([other, broken])


def test_a_closed_batch_tells_nothing_more() -> None:
    told: list[int] = []
    batch = job(FOUR, runs=50, days=5, told=lambda: told.append(1)).start()
    batch.close()
    count = len(told)
    assert batch.wait(30.0)
    assert len(told) <= count + 1
    done = batch.now.done
    assert batch.start().wait(0.0)  # it does not begin again
    assert batch.now.done == done < 50


def test_of_two_who_ask_neither_waits_for_the_other() -> None:
    pool = Pool(1)
    long = job(FOUR, runs=400, days=2, pool=pool).start()
    short = job(FOUR, runs=3, days=2, pool=pool).start()
    assert short.wait(120.0)
    assert short.now.whole
    assert not long.wait(0.0)
    long.close()
    assert long.wait(30.0)


def test_long_runs_of_one_do_not_take_the_thread_from_short_ones_of_another() -> None:
    pool = Pool(1)
    warm = job(FOUR, runs=1, days=1, pool=pool).start()
    assert warm.wait(120.0)
    long = job(FOUR, runs=400, days=60, pool=pool).start()
    while long.now.done == 0:
        time.sleep(0.01)
    short = job(FOUR, runs=8, days=1, pool=pool).start()
    before = long.now.done
    assert short.wait(120.0)
    # Turn by turn it would have been eight; by time it is the one under way and one more or two.
    assert long.now.done - before <= 4
    long.close()
    assert long.wait(30.0)
