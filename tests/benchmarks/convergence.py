"""Convergence: finer steps and every waking second against the defaults; docs/convergence.md."""

from __future__ import annotations

from pathlib import Path

from sim.settings import Settings
from tests.benchmarks.machine import describe, load, table, write_page
from tests.benchmarks.played import (
    Columns,
    Pair,
    Statistic,
    Steps,
    compare,
    mean_of,
    median_day,
    play_columns,
    pooled,
    spread_of,
)

PAGE = Path(__file__).parents[2] / "docs" / "convergence.md"
# Harm a bite that puts the share of runs with a serious injury in the middle of its range,
# where a bias would show most.
HARM = {"convict_three_foot": 0.0024, "firemouth_three_foot": 0.002}
WINDOW_RUNS, WINDOW_DAYS = 400, 10.0
STEP_RUNS, STEP_DAYS = 60, 2.0

WINDOWS: dict[str, Statistic] = {
    "share of runs with a serious injury": mean_of("serious"),
    "spread over runs of the injury dose": spread_of("dose"),
    "spread over runs of the worst injury": spread_of("worst_injury"),
    "median first day of a serious injury": median_day,
    "mean injury dose": mean_of("dose"),
    "chases an hour": mean_of("chases_per_h"),
    "bites a chase (contests' bites included)": pooled("bites", "chases"),
    "contests a run": mean_of("contests"),
    "hours hidden a day": mean_of("hidden_h_per_day"),
}
STEPS: dict[str, Statistic] = {
    "bites a chase (of the chases in the log)": pooled("logged_bites", "logged_chases"),
    "ended: left": pooled("ended_left", "ended"),
    "ended: hidden": pooled("ended_reached", "ended"),
    "ended: tired": pooled("ended_tired", "ended"),
    "ended: submitted": pooled("ended_submitted", "ended"),
    "chases an hour": mean_of("chases_per_h"),
}


def cells(name: str, pair: Pair) -> tuple[str, ...]:
    """Return the row of a table for one statistic."""
    return (
        name,
        f"{pair.default.value:.3f} ± {pair.default.error:.3f}",
        f"{pair.other.value:.3f} ± {pair.other.error:.3f}",
        f"{pair.difference.value:+.3f} ± {pair.difference.error:.3f}",
        f"{pair.ratio.value:.2f} ± {pair.ratio.error:.2f}",
    )


def window_verdicts(pairs: list[Pair]) -> str:
    """Return what of the criterion for windows is kept, in words."""
    share, dose, worst, day = pairs[:4]
    apart = abs(share.difference.value)
    said = [
        f"share within 0.03: {'kept' if apart <= 0.03 else '**missed**'} "
        f"({share.difference.value:+.3f}, standard error {share.difference.error:.3f})"
    ]
    for name, pair in (("spread of dose", dose), ("spread of worst", worst), ("median day", day)):
        kept = abs(pair.ratio.value - 1.0) <= 0.15
        said.append(
            f"{name} within 15 %: {'kept' if kept else '**missed**'} "
            f"({100 * (pair.ratio.value - 1):+.0f} %, "
            f"standard error {100 * pair.ratio.error:.0f} %)"
        )
    return "; ".join(said) + "."


def windows(name: str) -> list[str]:
    """Return the section of the page that holds the windows of one scenario against all time."""
    changes = {"harm_per_bite": HARM[name]}

    def play(settings: Settings) -> Columns:
        return play_columns(
            name, runs=WINDOW_RUNS, days=WINDOW_DAYS, settings=settings, changes=changes
        )

    every = play(Settings(watch_all=True))
    usual = play(Settings())
    pairs = compare(usual, every, WINDOWS)
    head = ("", "default", "every second", "difference", "ratio")
    parts = [
        f"### {name.replace('_', ' ')}, harm a bite {HARM[name]}",
        f"{WINDOW_RUNS} runs of {WINDOW_DAYS:.0f} days each way over the same fish; the default "
        f"watched {100 * usual['watched_share'].mean():.1f} % of the waking time.",
        table(head, [cells(key, pair) for key, pair in zip(WINDOWS, pairs, strict=True)]),
        window_verdicts(pairs),
    ]
    trend = []
    for words, settings in (
        ("half as densely", Settings(gap_share=0.3, gap_most_s=4 * 3600.0)),
        ("default", Settings()),
        ("half the gaps", Settings(gap_share=0.075, gap_most_s=3600.0)),
    ):
        columns = usual if words == "default" else play(settings)
        share, dose, _, day = compare(columns, every, dict(list(WINDOWS.items())[:4]))
        trend.append(
            (
                words,
                f"{100 * columns['watched_share'].mean():.1f}",
                f"{share.difference.value:+.3f} ± {share.difference.error:.3f}",
                f"{dose.ratio.value:.2f}",
                f"{day.ratio.value:.2f} ± {day.ratio.error:.2f}",
            )
        )
    parts.append(
        table(("watched", "%", "share, difference", "spread of dose, ratio", "day, ratio"), trend)
    )
    return parts


def steps(name: str) -> list[str]:
    """Return the section that holds the time steps of one scenario against four times finer."""

    def play(settings: Settings) -> Columns:
        return play_columns(name, runs=STEP_RUNS, days=STEP_DAYS, settings=settings)

    usual = play(Steps(watch_all=True))
    finer = play(Steps(watch_all=True, tick_s=0.05, micro_s=0.003125, look_s=0.1))
    pairs = compare(usual, finer, STEPS)
    head = ("", "default", "four times finer", "difference", "ratio")
    return [
        f"### {name.replace('_', ' ')}",
        f"{STEP_RUNS} runs of {STEP_DAYS:.0f} days, every second watched: 0.2 s, looks each 0.4 s "
        "and chases in 12.5 ms, against 0.05 s, 0.1 s and 3.125 ms.",
        table(head, [cells(key, pair) for key, pair in zip(STEPS, pairs, strict=True)]),
    ]


def measure() -> None:
    """Play everything and write the page."""
    before = load()
    parts = [
        "# Convergence",
        "Written by `python -m tests.benchmarks convergence`. ± is one standard error, by "
        "resampling draws of fish.",
        "## Watching windows against watching every second",
        "Wanted: the share of runs with a serious injury within 0.03, its spread and the median "
        "first day within 15 %. The harm of a bite is set so that the share is mid-range, where a "
        "bias shows most; at the default harm the shares are near 0 or 1 and would pass unseen.",
    ]
    for name in HARM:
        parts += windows(name)
    parts += [
        "Where a ratio of means is off by more than two of its errors, the leap is biased there; "
        "`--watch all` has none of it.",
        "## Steps of time",
        "Wanted: bites a chase and the ends of chases within 5 %.",
    ]
    for name in HARM:
        parts += steps(name)
    parts += [
        "That no path crosses an outline is held by a property test (`tests/sim/test_move.py`), "
        "not by this page. The size of cells is not studied here.",
        describe(load_before=before),
    ]
    write_page(PAGE, parts=parts)
    print(PAGE.read_text("utf-8"))
