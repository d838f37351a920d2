"""Speed: measures the promises of speed and size, and writes docs/performance.md."""

from __future__ import annotations

import statistics
import time
from pathlib import Path

from sim.batch import play_batch
from sim.check import check_file
from sim.comparison import Design, compare
from sim.scenario_file import scenario_hash
from tests.benchmarks.company import settled
from tests.benchmarks.flocking import flocking_ns
from tests.benchmarks.fresh import (
    N_FISH,
    first_run,
    holdwater,
    median_wall,
    uncompiled_ratio,
)
from tests.benchmarks.machine import describe, load, table, write_page

TOP = Path(__file__).parents[2]
PAGE = TOP / "docs" / "performance.md"
FOUR, SIX = (TOP / "scenarios" / f"convict-{word}-foot.toml" for word in ("four", "six"))
COUNTS = (6, 12, 24, 48, 96)
TICKS_OF_FISH = 600_000


def tick_ns(n_fish: int) -> float:
    """Return the time of one watched tick of a settled tank for each fish, in ns.

    Parameters
    ----------
    n_fish
        Number of fish.
    """
    history = settled(n_fish)
    ticks = max(1000, TICKS_OF_FISH // n_fish)
    figures = []
    for _ in range(3):
        began = time.thread_time()
        history.strides(ticks)
        figures.append((time.thread_time() - began) / ticks / n_fish * 1e9)
    return statistics.median(figures)


def main_job(workers: int) -> tuple[float, float]:
    """Return the wall time (s) of the main job and the share of time it watches."""
    designs = []
    for path in (FOUR, SIX):
        checked = check_file(path)
        digest = scenario_hash(checked.scenario)
        designs.append(
            Design(
                name=path.stem,
                path=path,
                scenario=checked.scenario,
                layout=checked.layout,
                hash=digest,
            )
        )
    began = time.perf_counter()
    result = compare(designs, runs=100, workers=workers)
    assert result.verdicts
    watched = float(result.batches[0].runs.rows()["watched_share"].mean())
    return time.perf_counter() - began, watched


def runs_wall(workers: int) -> float:
    """Return the wall time (s) of sixty runs of the four-foot tank on some workers."""
    checked = check_file(FOUR)
    began = time.perf_counter()
    play_batch(checked.scenario, checked.layout, runs=60, workers=workers)
    return time.perf_counter() - began


def met(value: float, limit: float) -> str:
    """Return whether a figure keeps a limit from above."""
    return "met" if value < limit else "**missed**"


def measure() -> None:
    """Measure everything and write the page."""
    before = load()
    runs_wall(1)
    per_fish = {n: tick_ns(n) for n in COUNTS}
    flock = flocking_ns(12)
    slow, quick = uncompiled_ratio()
    job, watched = main_job(2)
    one = statistics.median(runs_wall(1) for _ in range(3))
    two = statistics.median(runs_wall(2) for _ in range(3))
    cold, warm = first_run(FOUR)
    peak = holdwater("compare", str(FOUR), str(SIX), "--runs", "100").peak_mb
    shown = median_wall("--help")
    checks = median_wall("check", str(FOUR))
    tick = 0.2
    at_12 = per_fish[12]
    rows = [
        (
            str(n),
            f"{ns:.0f}",
            f"{ns / tick / 1e3:.2f}",
            f"{ns / at_12:.2f}",
        )
        for n, ns in per_fish.items()
    ]
    promises = [
        ("ns per fish and tick, 12 fish", f"{at_12:.0f}", "under 100", met(at_12, 100)),
        (
            "microseconds per watched fish-second, 12 fish",
            f"{at_12 / tick / 1e3:.2f}",
            "under 0.8",
            met(at_12 / tick / 1e3, 0.8),
        ),
        (
            "main job: two designs, 9 fish, 30 days, 100 runs each, with all statistics, s",
            f"{job:.1f}",
            "under 20 now, 15 promised, 10 the aim",
            met(job, 15),
        ),
        (
            "Mesa's flocking per agent and step, over a fish and tick of ours, 12 agents",
            f"{flock / at_12:.0f}",
            "at least 300",
            "met" if flock / at_12 >= 300 else "**missed**",
        ),
        (
            "two workers over one",
            f"{one / two:.2f}",
            "at least 1.8",
            "met" if one / two >= 1.8 else "**missed**",
        ),
        (
            "first run ever over one with the rules compiled, extra s",
            f"{cold - warm:.0f}",
            "under 60",
            met(cold - warm, 60),
        ),
        ("`holdwater --help`, s", f"{shown:.2f}", "under 1", met(shown, 1)),
        ("`holdwater check`, s", f"{checks:.2f}", "under 1", met(checks, 1)),
    ]
    write_page(
        PAGE,
        parts=[
            "# Performance",
            "Written by `python -m tests.benchmarks speed`.",
            describe(load_before=before),
            "## Against the promises",
            table(("what", "measured", "wanted", ""), promises),
            "## Cost of the tick",
            "A settled mixed company, a third of it cichlids, watched every second; its floor "
            "grows with the number of fish. The tick is 0.2 s.",
            table(
                ("fish", "ns per fish and tick", "us per watched fish-second", "against 12 fish"),
                rows,
            ),
            "A look compares all pairs, so the cost of a fish grows with the company.",
            "## Other figures",
            f"- The same first ticks with the compiler off cost {slow / 1e3:.0f} us per fish and "
            f"tick, {slow / quick:.0f} times as much as compiled.\n"
            f"- The main job watches {100 * watched:.1f} % of the waking time; how near that comes "
            "to watching all is in [convergence.md](convergence.md).\n"
            f"- Peak memory of the main job's process: {peak:.0f} MB.\n"
            f"- A first run with nothing compiled took {cold:.0f} s in all, the same again "
            f"{warm:.1f} s.\n"
            f"- Company: {N_FISH} fish where not said otherwise.",
        ],
    )
    print(PAGE.read_text("utf-8"))
