"""Speed: measures the promises of speed and size, and writes docs/performance.md."""

from __future__ import annotations

import math
from pathlib import Path

from sim.check import check_file
from tests.benchmarks.company import settled_tank
from tests.benchmarks.flocking import flocking_ns
from tests.benchmarks.fresh import N_FISH, first_run, median_wall, uncompiled_ratio
from tests.benchmarks.jobs import (
    FOUR,
    RUNS,
    kept_of_a_run_kb,
    main_job,
    one_tank,
    peaks_mb,
    scaling,
)
from tests.benchmarks.kernel import Cost, chase_share, cost_of
from tests.benchmarks.limit.yardstick import Measured, NoCompiler, measure_limit
from tests.benchmarks.machine import describe, load, section_of, table, write_page
from tests.benchmarks.many import taken_in_mb

PAGE = Path(__file__).parents[2] / "docs" / "performance.md"
# Written by other measurements.
OF_OTHERS = (
    "## What each part costs",
    "## The app",
    "## A class on one program",
    "## A class whose browsers are elsewhere",
    "## The same for longer",
    "## On a cluster",
)
COUNTS = (6, 12, 24, 48, 96, 200)
YEAR_RUNS = 10
SCALING_RUNS = 40
FEW_RUNS, MANY_RUNS = 1000, 8000
TAKEN_IN = (1000, 10_000, 100_000)


def below(value: float, limit: float) -> str:
    """Return whether a figure keeps a limit from above."""
    return "met" if value < limit else "**missed**"


def above(value: float, limit: float) -> str:
    """Return whether a figure keeps a limit from below."""
    return "met" if value >= limit else "**missed**"


def growth(costs: dict[int, Cost], *, since: int = N_FISH) -> float:
    """Return the power of the number of fish by which a tick's cost grows, to 200 fish."""
    few, many = costs[since], costs[COUNTS[-1]]
    return math.log(many.ns * many.n_fish / (few.ns * few.n_fish)) / math.log(
        many.n_fish / few.n_fish
    )


def fish_table(costs: dict[int, Cost], flocks: dict[int, float]) -> str:
    """Return the table of costs by number of fish."""
    return table(
        (
            "fish",
            "against 12 fish",
            "Mesa's flocking over it",
            "ns per fish and tick",
            "us per watched fish-second",
            "chases an hour",
        ),
        [
            (
                str(n),
                f"{cost.ns / costs[N_FISH].ns:.2f}",
                f"{flocks[n] / cost.ns:.0f}",
                f"{cost.ns:.0f}",
                f"{cost.us:.2f}",
                f"{cost.chases_per_h:.0f}",
            )
            for n, cost in costs.items()
        ],
    )


def limits() -> dict[int, Measured]:
    """Return the inner loop against C, for few fish and for many; nothing without a compiler."""
    try:
        return {n: measure_limit(n) for n in (N_FISH, COUNTS[-1])}
    except NoCompiler:
        return {}


def limit_rows(measured: dict[int, Measured]) -> list[tuple[str, ...]]:
    """Return the rows of the table of ratios that set the rules against C."""
    if not measured:
        return [("the inner loop of a tick over the same in C", "no C compiler", "within 1.5", "-")]
    return [
        (
            f"the inner loop of a tick over the same in C, {n} fish",
            f"{one.ratio:.2f}",
            "within 1.5",
            below(one.ratio, 1.5),
        )
        for n, one in measured.items()
    ]


def limit_words(measured: dict[int, Measured]) -> str:
    """Return what the yardstick covers and what it took."""
    text = (
        "`tests/benchmarks/limit/inner.c` is the part of a tick that goes over all pairs and moves "
        "calm fish (who sees, schools with, shuns and would attack whom; layers, steering, "
        "steps round pieces), written once more in plain C with the same arithmetic on the same "
        "arrays, compiled by `cc -O3 -march=native -ffp-contract=off`. Both run from copies of one "
        "settled tank and must leave the same bytes, else nothing is reported. Not in it: the "
        "decisions to attack and to hide, chases, contests, meals, what is slow, and leaps."
    )
    for n, one in measured.items():
        text += f" {n} fish: {one.rules_ns:.0f} ns for each fish and tick against {one.c_ns:.0f}."
    return text


def measure() -> None:
    """Measure everything and write the page."""
    before = load()
    main_job(workers=2, runs=2)  # compiles, if need be, before anything is timed
    print("rules compiled; the main job", flush=True)
    job = main_job(workers=2)
    one, two = scaling(runs=SCALING_RUNS)
    odds = one_tank(runs=20, days=30.0)
    year = one_tank(runs=YEAR_RUNS, days=365.0) * 100.0 / YEAR_RUNS
    print("ticks by number of fish", flush=True)
    costs = {n: cost_of(n) for n in COUNTS}
    flocks = {n: flocking_ns(n, seconds=0.7) for n in COUNTS}
    print("the same in C", flush=True)
    in_c = limits()
    checked = check_file(FOUR)
    chases, chases_error = chase_share(settled_tank(checked.scenario, checked.layout))
    print("processes of their own", flush=True)
    slow, quick = uncompiled_ratio()
    cold, warm = first_run(FOUR)
    whole_mb, few_mb, many_mb = peaks_mb(few=FEW_RUNS, many=MANY_RUNS)
    shown = median_wall("--help")
    checks = median_wall("check", str(FOUR))

    twelve = costs[N_FISH]
    flock = flocks[N_FISH] / twelve.ns
    wall = job.played_s + job.read_s
    power = growth(costs)
    taken_in = ", ".join(f"{taken_in_mb(runs):.0f} MB for {runs}" for runs in TAKEN_IN)
    left_kb = kept_of_a_run_kb()
    ratios = [
        (
            f"Mesa's flocking example, per agent and step, over a fish and tick, {N_FISH} of each",
            f"{flock:.0f}",
            "at least 300",
            above(flock, 300.0),
        ),
        ("two workers over one", f"{one / two:.2f}", "at least 1.8", above(one / two, 1.8)),
        (
            f"power of the number of fish by which a tick's cost grows, {N_FISH} to {COUNTS[-1]}",
            f"{power:.2f}",
            "far below 2, taken as 1.6",
            below(power, 1.6),
        ),
        ("the same ticks uncompiled over compiled", f"{slow / quick:.0f}", "none", "-"),
        *limit_rows(in_c),
    ]
    times = [
        (
            f"main job: two designs, ten fish, 30 days, {RUNS} runs each, two workers, s",
            f"{wall:.1f}",
            "under 15 (aim 10)",
            below(wall, 15.0),
        ),
        (f"us per watched fish-second, {N_FISH} fish", f"{twelve.us:.2f}", "under 0.8",
         below(twelve.us, 0.8)),
        (f"ns per fish and tick, {N_FISH} fish", f"{twelve.ns:.0f}", "under 100",
         below(twelve.ns, 100.0)),
        ("rough odds: 20 runs of one tank, 30 days, s", f"{odds:.2f}", "under 2", below(odds, 2.0)),
        (f"a year, 100 runs (100/{YEAR_RUNS} of {YEAR_RUNS} runs), s", f"{year:.0f}", "under 60",
         below(year, 60.0)),
        ("first run on a machine, s more than a later one", f"{cold - warm:.0f}", "under 60",
         below(cold - warm, 60.0)),
        ("`holdwater --help`, s", f"{shown:.2f}", "under 1", below(shown, 1.0)),
        ("`holdwater check`, s", f"{checks:.2f}", "under 1", below(checks, 1.0)),
    ]  # fmt: skip
    head = ("what", "measured", "promised", "")
    page = PAGE.read_text("utf-8")
    others = [section_of(page, heading) for heading in OF_OTHERS]
    write_page(
        PAGE,
        parts=[
            "# Performance",
            "Written by `python -m tests.benchmarks speed`. Nothing in the test suite is timed.",
            describe(load_before=before),
            "## Ratios",
            table(head, ratios),
            "## Times",
            table(head, times),
            "## Where it goes",
            f"- Of the main job, playing took {job.played_s:.1f} s and everything that is said of "
            f"the runs {job.read_s:.1f} s. It watches {100 * job.watched_share:.1f} % of the "
            "waking time; what that costs in truth is in [convergence.md](convergence.md).\n"
            f"- {SCALING_RUNS} runs of each design took {one:.1f} s on one worker and {two:.1f} s "
            "on two (the best of three, in turns).\n"
            f"- Chases take {100 * chases:.1f} % (standard error {100 * chases_error:.1f}) of the "
            "watched time of the four-foot tank, settled.\n"
            f"- Peak memory of the shipped comparison: {whole_mb:.0f} MB. Of one-day runs of one "
            f"tank, {few_mb:.0f} MB at {FEW_RUNS} and {many_mb:.0f} MB at {MANY_RUNS}. Each "
            f"leaves {left_kb:.1f} kB in tables, each of which keeps its last 8 MB in memory and "
            "has the rest on disk. Outcomes of 200 runs of a day taken in again and again, each "
            "time as those of another run, and all said and written that `holdwater run` says "
            f"and writes: {taken_in}.\n"
            f"- With nothing compiled the first run took {cold:.0f} s, the same again {warm:.1f} s."
            f"\n- Uncompiled, a fish and tick costs {slow / 1e3:.0f} us (the first ticks of "
            f"{N_FISH} fish; {quick:.0f} ns compiled).",
            "## By number of fish",
            "A mixed company made by code, a third of it cichlids, 0.07 m2 of floor for each fish, "
            "three pieces; played for a day, then watched every second with ticks of 0.2 s. "
            "Processor time of one thread. A look asks of one fish and all others at "
            "once which of them may matter to it, by distance and by who shuns whom; who sees "
            "whom, and what two fish are to each other, is asked only of these and within a "
            "school. Mesa's example runs as it ships, without its visualisation, in "
            "the same session; its agents share a fixed square, so they see more neighbours the "
            "more there are. One of its steps is not the same work as one of our ticks: it is a "
            "yardstick of an ordinary agent model, no more.",
            fish_table(costs, flocks),
            f"From {COUNTS[-2]} to {COUNTS[-1]} fish alone the power is "
            f"{growth(costs, since=COUNTS[-2]):.1f}: there it is the pairs that cost, and the "
            "memory they lie in.",
            "## Against C",
            limit_words(in_c),
            *filter(None, others),
        ],
    )
    print(PAGE.read_text("utf-8"))
