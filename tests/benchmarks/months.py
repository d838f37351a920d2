"""Months: whether the longer gaps after the first month change what comes of a tank.

``python -m tests.benchmarks months`` plays a small tank for 90 days, with gaps as they are, as in
the first month throughout, and four times shorter throughout, and writes its section into
docs/convergence.md.
"""

from __future__ import annotations

from sim.settings import Settings
from tests.benchmarks.convergence import (
    MONTHS,
    PAGE,
    SHARE,
    WINDOWS,
    paired,
    trend_row,
    words,
)
from tests.benchmarks.judged import SHARE_APART, SPREAD_APART, Verdicts, judge
from tests.benchmarks.machine import describe, load, table, write_section
from tests.benchmarks.played import (
    Columns,
    Statistic,
    mean_of,
    play_columns,
    spread_of,
)

NAME = "convict_three_foot"
RUNS, DAYS = 400, 90
HARM = 0.00035  # at which some half of the runs have a serious injury
USUAL = Settings()
FIRST_MONTH = int(USUAL.late_days)
DENSE = Settings(
    gap_share=USUAL.gap_share / 4.0,
    gap_least_s=USUAL.gap_least_s / 4.0,
    gap_most_s=USUAL.gap_most_s / 4.0,
    late_gaps=1.0,
)
WAYS = {
    "default": USUAL,
    "as in the first month throughout": Settings(late_gaps=1.0),
    "three times as long after it": Settings(late_gaps=3.0),
}
STATISTICS: dict[str, Statistic] = {
    SHARE: WINDOWS[SHARE],
    "spread of the injury dose after the first month over runs": spread_of("late_dose"),
    "spread of the worst injury over runs": spread_of("worst_injury"),
    "mean injury dose after the first month": mean_of("late_dose"),
    "chases an hour": mean_of("chases_per_h"),
    "contests a run": mean_of("contests"),
    "hours hidden a day": mean_of("hidden_h_per_day"),
}
TREND = {name: STATISTICS[name] for name in list(STATISTICS)[:4]}
LIMITS = {**dict.fromkeys(TREND, SPREAD_APART), SHARE: SHARE_APART}


def play(settings: Settings) -> Columns:
    """Return the runs of the small tank, with the dose (injury) after the first month beside."""
    print(f"{NAME}: {settings}", flush=True)
    columns = play_columns(
        NAME, runs=RUNS, days=DAYS, settings=settings, changes={"harm_per_bite": HARM}
    )
    columns["late_dose"] = columns["daily_dose"][:, FIRST_MONTH:].sum(axis=1)
    return columns


def measure() -> None:
    """Play everything and write the section."""
    before = load()
    dense = play(DENSE)
    rows, others = [], []
    verdicts = Verdicts()
    for text, settings in WAYS.items():
        columns = play(settings)
        if text == "default":
            pairs = paired(columns, dense, STATISTICS)
            rows = judge(pairs, LIMITS, where=words(NAME), verdicts=verdicts)
        others.append(trend_row(text, columns, dense, TREND))
    write_section(
        PAGE,
        MONTHS,
        parts=[
            f"Written by `python -m tests.benchmarks months`: {words(NAME)}, {RUNS} runs of "
            f"{DAYS} days, harm a bite {HARM}. After {FIRST_MONTH} days gaps, and the longest they "
            f"may be, are {USUAL.late_gaps:.0f} times as long, so that a year can be played; days "
            "before that are the same bytes either way. Held against gaps that are four times "
            f"shorter from the first day to the last ({100 * dense['watched_share'].mean():.0f} % "
            "watched: every second of months is out of reach). Asked as under *Windows*.",
            verdicts.paragraph(),
            table(("", "default", "dense", "default less dense", "default / dense", "asked"), rows),
            "With other gaps after the first month, the same runs against the dense ones:",
            table(
                (
                    "gaps",
                    "watched",
                    "share less",
                    *(f"{name}, ratio" for name in list(TREND)[1:]),
                ),
                others,
            ),
            describe(load_before=before),
        ],
    )
