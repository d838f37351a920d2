"""Jobs: whole pieces of work as a keeper asks for them, in wall time."""

from __future__ import annotations

import statistics
import time
from dataclasses import dataclass
from pathlib import Path

from sim.batch import play_batch
from sim.check import check_file
from sim.comparison import Comparison, Design, compare
from sim.layout import Layout
from sim.scenario import Scenario
from sim.slices import SlicedTable
from tests.benchmarks.fresh import peak_mb

TOP = Path(__file__).parents[2]
FOUR, SIX = (TOP / "scenarios" / f"convict-{word}-foot.toml" for word in ("four", "six"))
RUNS = 100


def ten_fish(path: Path) -> tuple[Scenario, Layout]:
    """Return a shipped convict tank with one more swordtail, which makes ten fish."""
    checked = check_file(path)
    groups = tuple(
        group.model_copy(update={"count": group.count + 1}) if group.count == 6 else group
        for group in checked.scenario.fish
    )
    scenario = checked.scenario.model_copy(update={"fish": groups})
    if sum(group.count for group in scenario.fish) != 10:
        raise RuntimeError(f"{path.name} has not ten fish with one swordtail more")
    return scenario, checked.layout


def designs() -> list[Design]:
    """Return the two designs of the main job, each with ten fish."""
    made = []
    for path in (FOUR, SIX):
        scenario, layout = ten_fish(path)
        layout.floor()
        made.append(Design.of(scenario, layout, name=path.stem, path=path))
    return made


def read_all(comparison: Comparison) -> float:
    """Work out everything a report reads, and return the share of time that was watched."""
    made = (
        comparison.summaries,
        comparison.differences,
        comparison.fish_differences,
        comparison.verdicts,
    )
    if not all(made):
        raise RuntimeError("the comparison said nothing")
    shares = [float(batch.runs["watched_share"].mean()) for batch in comparison.batches]
    return statistics.mean(shares)


@dataclass(frozen=True, slots=True)
class MainJob:
    """Wall times (s) of the main job.

    Parameters
    ----------
    played_s, read_s
        Playing all runs, and working out all that is said of them.
    watched_share
        Share of the waking time that was watched tick by tick.
    """

    played_s: float
    read_s: float
    watched_share: float


def main_job(*, workers: int, runs: int = RUNS) -> MainJob:
    """Play the main job once in this process; the rules must be compiled already."""
    made = designs()
    began = time.perf_counter()
    comparison = compare(made, runs=runs, workers=workers)
    played = time.perf_counter()
    share = read_all(comparison)
    return MainJob(played - began, time.perf_counter() - played, share)


def scaling(*, runs: int, times: int = 3) -> tuple[float, float]:
    """Return the wall time (s) of some runs on one worker and on two, the least of each.

    They take turns, so that what else the machine does falls on both.
    """
    one, two = [], []
    for _ in range(times):
        one.append(main_job(workers=1, runs=runs).played_s)
        two.append(main_job(workers=2, runs=runs).played_s)
    return min(one), min(two)


def one_tank(*, runs: int, days: float) -> float:
    """Return the wall time (s) of some runs of the four-foot tank with ten fish, on two workers."""
    scenario, layout = ten_fish(FOUR)
    scenario = scenario.model_copy(update={"days": days})
    layout.floor()
    began = time.perf_counter()
    play_batch(scenario, layout, runs=runs, workers=2)
    return time.perf_counter() - began


def kept_of_a_run_kb(*, runs: int = 20) -> float:
    """Return what one run of a day of the four-foot tank leaves behind in a batch's tables, kB."""
    checked = check_file(FOUR)
    scenario = checked.scenario.model_copy(update={"days": 1.0})
    batch = play_batch(scenario, checked.layout, runs=runs, workers=2)
    tables = [value for value in vars(batch).values() if isinstance(value, SlicedTable)]
    if not tables:
        raise RuntimeError("a batch keeps no tables in slices")
    return sum(len(table) * table.dtype.itemsize for table in tables) / runs / 1e3


def peaks_mb(*, few: int, many: int) -> tuple[float, float, float]:
    """Return peak memory (MB) of the shipped comparison, and of few and many short runs.

    Parameters
    ----------
    few, many
        Runs of one day of the four-foot tank.
    """
    whole = peak_mb("compare", str(FOUR), str(SIX), "--runs", str(RUNS))
    short = [peak_mb("run", str(FOUR), "--days", "1", "--runs", str(runs)) for runs in (few, many)]
    return whole, short[0], short[1]
