"""Many: the peak memory of a batch of very many runs, in a process of its own.

``python -m tests.benchmarks.many RUNS`` plays some runs of a day, has a batch take in their
outcomes again and again, each time under the number of another run, until there are RUNS, and
makes all that `holdwater run` prints and writes of it. It prints how many there were. What playing
takes besides is what a batch of fewer runs takes: no more than a few are under way at a time.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from sim.batch import Batch, run_batch, seed_of
from sim.check import check_file
from sim.comparison import Design
from sim.outcome import Outcome
from sim.scenario_file import scenario_hash
from sim.settings import Settings
from sim.summary import summarise
from tests.benchmarks.fresh import peak_mb_of
from tests.benchmarks.jobs import FOUR
from viz.csv_tables import csv_files
from viz.gathered import results_of_one
from viz.ink import console
from viz.printed import results_page
from viz.record import provenance, results_json, write_whole

PLAYED = 200


def numbered(outcome: Outcome, run: int) -> Outcome:
    """Return an outcome as if it were that of another run."""
    tables = {name: getattr(outcome, name).copy() for name in ("row", "fish", "days", "outgrown")}
    for table in tables.values():
        table["run"] = run
    return replace(outcome, run=run, **tables)


def taken_in(runs: int) -> int:
    """Have a batch of so many runs taken in and told of; return how many it holds."""
    checked = check_file(FOUR)
    scenario = checked.scenario.model_copy(update={"days": 1.0})
    seed = seed_of(scenario, seed=None)
    outcomes = list(run_batch(scenario, checked.layout, runs=PLAYED, seed=seed))
    batch = Batch(
        scenario=scenario, layout=checked.layout, seed=seed, settings=Settings(), changes={},
        asked=runs,
    )  # fmt: skip
    for run in range(runs):
        batch.add(numbered(outcomes[run % PLAYED], run))
    design = Design(
        name=FOUR.stem, path=FOUR, scenario=scenario, layout=checked.layout,
        hash=scenario_hash(scenario),
    )  # fmt: skip
    origin = provenance(seed=seed, settings=batch.settings, watch="windows", changes={})
    results = results_of_one(summarise(batch), design=design, provenance=origin)
    console().print(results_page(results))
    with TemporaryDirectory() as folder:
        tables = csv_files(Path(folder), names=[design.name], batches=(batch,))
        write_whole({Path(folder) / "a.json": results_json(results), **tables}, folder=Path(folder))
    return batch.done


def taken_in_mb(runs: int) -> float:
    """Return the peak memory (MB) of a process that takes in and tells of so many runs."""
    return peak_mb_of("-m", "tests.benchmarks.many", str(runs))


if __name__ == "__main__":
    print(taken_in(int(sys.argv[1])))
