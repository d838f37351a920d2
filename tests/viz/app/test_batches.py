"""Batches of a page are the runs of the command line, told as they come, and can be given up."""

from __future__ import annotations

import math
import time
from dataclasses import replace
from pathlib import Path

import pytest

from sim.batch import play_batch
from sim.check import check_file
from sim.comparison import compare
from sim.start import RUNS_PER_DRAW
from sim.summary import summarise
from tests.viz.commands import SMALL
from viz.app.batches import (
    BatchJob,
    RunRow,
    asked_for,
    best,
    designs_of_tanks,
    in_order,
    paired_dots,
    typical,
    worst,
)
from viz.app.editing.differences import differences
from viz.app.open_tank import opened
from viz.app.pages.compare import what_differs
from viz.app.repeating.rows import plain
from viz.gathered import results_of_comparison, results_of_one
from viz.record import results_json


def row(run: int, dose: float, *, serious: float = math.nan, death: float = math.nan) -> RunRow:
    return RunRow(run, math.nan, serious, math.nan, death, dose, run // 4)


@pytest.fixture
def tanks(tmp_path: Path):
    short = tmp_path / "short.toml"
    short.write_text(SMALL, "utf-8")
    long = tmp_path / "long.toml"
    long.write_text(SMALL.replace('"30 in"', '"48 in"').replace("Small", "Long"), "utf-8")
    return [opened(check_file(path), file=path) for path in (short, long)]



def test_one_tank_says_what_run_says(tanks):
    designs = designs_of_tanks(tanks[:1])
    job = BatchJob(designs, asked=asked_for(6)).start()
    assert job.wait(400)
    batch = play_batch(
        designs[0].scenario, designs[0].layout, runs=6, seed=job.seed, settings=job.settings,
        keep_days=False,
    )  # fmt: skip
    assert job.now.results is not None
    same = results_of_one(
        summarise(batch), design=designs[0], provenance=job.now.results.provenance
    )
    assert results_json(job.now.results) == results_json(same)
    assert job.now.over
    assert not job.now.cancelled
    assert [one.run for one in job.now.rows[0]] == list(range(6))


def test_two_tanks_say_what_compare_says(tanks):
    designs = designs_of_tanks(tanks)
    job = BatchJob(designs, asked=asked_for(8)).start()
    assert job.wait(400)
    assert job.now.results is not None
    both = compare(designs, runs=8, seed=job.seed, settings=job.settings, keep_days=False)
    same = results_of_comparison(both, provenance=job.now.results.provenance)
    assert results_json(job.now.results) == results_json(same)
    dots = paired_dots(*job.now.rows)
    assert len(dots) == 8 // RUNS_PER_DRAW


def test_what_was_played_stays_when_it_is_stopped(tanks):
    told = []
    job = BatchJob(designs_of_tanks(tanks[:1]), asked=asked_for(400))
    job._told = lambda: told.append(job.now.done)
    job.start()
    until = time.monotonic() + 60
    while not told and time.monotonic() < until:
        time.sleep(0.02)
    job.cancel()
    assert job.wait(20)
    assert job.now.over
    assert job.now.cancelled
    assert 0 < job.now.done < 400
    assert job.now.results is not None
    assert job.now.results.designs[0].runs == job.now.done
    assert told == sorted(told)


def test_tanks_of_different_days_are_refused_with_a_sentence(tanks):
    other = tanks[1].checked.scenario.model_copy(update={"days": 3.0})
    changed = replace(tanks[1], checked=replace(tanks[1].checked, scenario=other))
    job = BatchJob(designs_of_tanks([tanks[0], changed]), asked=asked_for(4)).start()
    assert job.wait(20)
    assert "different numbers of days" in job.now.refused[0].sentence


def test_a_death_is_worse_than_any_dose_and_the_typical_run_is_the_middle_one():
    rows = [row(0, 5.0), row(1, 1.0, death=2.0), row(2, 2.0, serious=1.0), row(3, 0.5), row(4, 4.0)]
    assert [one.run for one in in_order(rows)] == [1, 2, 0, 4, 3]
    assert worst(rows).run == 1
    assert best(rows).run == 3
    assert typical(rows).run == 2


def test_a_row_says_in_words_what_it_shows():
    told = plain(replace(row(7, 1.0, serious=4.26), hurt_day=2.0))
    assert told["words"] == "Run 7: torn fins on day 2.0, a serious injury on day 4.3. Watch it."
    assert (told["hurt"], told["moved"], told["death"]) == (2.0, None, None)
    assert "nobody hurt" in plain(row(8, 0.0))["words"]


def test_more_than_one_difference_is_said(tanks):
    one = tanks[0].scenario
    longer = tanks[1].scenario
    assert what_differs(differences(one, longer)).startswith("Differs from A in one thing")
    fewer = longer.model_copy(update={"fish": longer.fish[:1]})
    assert "cannot be put down to one" in what_differs(differences(one, fewer))
    assert what_differs(differences(one, one)) == "Nothing differs from A."
