"""Convergence: the defaults against finer steps, finer cells and every waking second watched.

Writes docs/convergence.md; every sentence that says how it came out is made from the figures.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from sim.outcome import END_FIELDS
from sim.rules.codes import CHASE_ENDS
from sim.settings import Settings
from tests.benchmarks.judged import (
    CHASE_APART,
    SHARE_APART,
    SPREAD_APART,
    Verdicts,
    figures,
    judge,
    ratio_text,
)
from tests.benchmarks.machine import describe, load, section_of, table, write_page
from tests.benchmarks.played import (
    Columns,
    Pair,
    Statistic,
    Steps,
    compare,
    layout_with_cells,
    mean_of,
    median_day,
    play_columns,
    pooled,
    small,
    spread_of,
)

PAGE = Path(__file__).parents[2] / "docs" / "convergence.md"
MONTHS = "## After the first month"  # written by `months`
ENOUGH = "## Number of runs"  # written by `enough`
DEFAULTS = "## The defaults that follow"  # written by hand
SCENARIOS = ("convict_three_foot", "firemouth_three_foot")
# Harm a bite at which some four runs in ten have a serious injury.
HARM = {"convict_three_foot": 0.0005, "firemouth_three_foot": 0.0008}
WINDOW_RUNS, WINDOW_DAYS = 300, 10.0
STEP_RUNS, STEP_DAYS = 300, 1.0
RARE_END = 0.02  # an end with a smaller share is shown and not judged
HEAD = ("", "default", "other", "default less other", "default / other", "asked")

SHARE = "share of runs with a serious injury"
WINDOWS: dict[str, Statistic] = {
    SHARE: mean_of("serious"),
    "spread of the injury dose over runs": spread_of("dose"),
    "spread of the worst injury over runs": spread_of("worst_injury"),
    "median first day of a serious injury": median_day,
    "mean injury dose": mean_of("dose"),
    "chases an hour": mean_of("chases_per_h"),
    "bites a chase": pooled("logged_bites", "logged_chases"),
    "bites an hour, contests included": mean_of("bites_per_h"),
    "contests a run": mean_of("contests"),
    "hours hidden a day": mean_of("hidden_h_per_day"),
}
WINDOW_LIMITS = {
    SHARE: SHARE_APART,
    **dict.fromkeys(list(WINDOWS)[1:4], SPREAD_APART),
}
TREND = {name: WINDOWS[name] for name in (SHARE, *list(WINDOWS)[1:6])}
DENSER = {
    "gaps 0.3 of the time since a change": {"gap_share": 0.3},
    "windows of 150 s": {"window_s": 150.0},
    "gaps 0.1, windows of 300 s": {"gap_share": 0.1, "window_s": 300.0},
    "gaps to 1 h": {"gap_most_s": 3600.0},
    "gaps to 4 h": {"gap_most_s": 4 * 3600.0},
}

BITES = "bites a chase"
STEPS: dict[str, Statistic] = {
    BITES: pooled("logged_bites", "logged_chases"),
    **{
        f"ended: {text}": pooled(field, "ended")
        for field, text in zip(END_FIELDS, CHASE_ENDS, strict=True)
    },
    "chases an hour": mean_of("chases_per_h"),
    "attacks an hour": mean_of("attacks_per_h"),
    "hours hidden a day": mean_of("hidden_h_per_day"),
}
FINER = {
    "all of it four times finer": Steps(watch_all=True, tick_s=0.05, look_s=0.1, micro_s=0.003125),
    "tick alone, 0.05 s": Steps(watch_all=True, tick_s=0.05),
    "looks each 0.2 s": Steps(watch_all=True, look_s=0.2),
    "looks and ticks each 0.1 s": Steps(watch_all=True, tick_s=0.1, look_s=0.1),
    "sub-step of a chase alone, 3.125 ms": Steps(watch_all=True, micro_s=0.003125),
}
FINE = next(iter(FINER))


def words(name: str) -> str:
    """Return the words a scenario goes by on the page."""
    return name.replace("_", " ")


def paired(
    default: Columns, other: Columns, statistics: Mapping[str, Statistic]
) -> dict[str, Pair]:
    """Return pairs by the name of their statistic."""
    return dict(zip(statistics, compare(default, other, statistics), strict=True))


def windows(name: str, verdicts: Verdicts) -> list[str]:
    """Return the part of the page that sets the windows of one scenario against all time."""
    changes = {"harm_per_bite": HARM[name]}

    def play(settings: Settings) -> Columns:
        print(f"{name}: windows, {settings}", flush=True)
        return play_columns(
            name, runs=WINDOW_RUNS, days=WINDOW_DAYS, settings=settings, changes=changes
        )

    every = play(Settings(watch_all=True))
    usual = play(Settings())
    rows = judge(paired(usual, every, WINDOWS), WINDOW_LIMITS, where=words(name), verdicts=verdicts)
    daily = [
        (
            str(day + 1),
            f"{usual['daily_dose'][:, day].mean():.3f}",
            f"{every['daily_dose'][:, day].mean():.3f}",
            f"{usual['daily_dose'][:, day].mean() / every['daily_dose'][:, day].mean():.2f}",
        )
        for day in range(int(WINDOW_DAYS))
    ]
    trend = [trend_row("default", usual, every, TREND)]
    trend += [
        trend_row(text, play(Settings(**more)), every, TREND)  # type: ignore[arg-type]
        for text, more in DENSER.items()
    ]
    return [
        f"### {words(name).capitalize()}, harm a bite {HARM[name]}",
        table(("", "default", "every second", *HEAD[3:]), rows),
        "Mean injury dose by day:",
        table(("day", "default", "every second", "ratio"), daily),
        "With other windows, the same runs against every second watched:",
        table(
            (
                "windows",
                "watched",
                "share less",
                *(f"{text}, ratio" for text in list(TREND)[1:]),
            ),
            trend,
        ),
    ]


def trend_row(
    text: str, columns: Columns, other: Columns, statistics: Mapping[str, Statistic]
) -> tuple[str, ...]:
    """Return a row that sets one way of watching against another: the share, then ratios."""
    pairs = list(paired(columns, other, statistics).values())
    share = pairs[0].difference
    return (
        text,
        f"{100 * columns['watched_share'].mean():.1f} %",
        f"{share.value:+.3f} ± {share.error:.3f}",
        *(f"{pair.ratio.value:.2f} ± {pair.ratio.error:.2f}" for pair in pairs[1:]),
    )


def steps(name: str, verdicts: Verdicts) -> list[str]:
    """Return the part of the page on the steps of time of one scenario."""

    def play(settings: Settings) -> Columns:
        print(f"{name}: steps, {settings}", flush=True)
        return play_columns(name, runs=STEP_RUNS, days=STEP_DAYS, settings=settings)

    usual = play(Steps(watch_all=True))
    by_way = {text: paired(usual, play(way), STEPS) for text, way in FINER.items()}
    limits = {
        text: CHASE_APART
        for text, pair in by_way[FINE].items()
        if text == BITES
        or (text.startswith("ended") and max(pair.default.value, pair.other.value) >= RARE_END)
    }
    rows = judge(by_way[FINE], limits, where=words(name), verdicts=verdicts)
    apart = [
        (
            text,
            *(ratio_text(pairs[key]) for key in (*limits, "chases an hour")),
        )
        for text, pairs in by_way.items()
    ]
    return [
        f"### {words(name).capitalize()}",
        table(("", "default", "four times finer", *HEAD[3:]), rows),
        "One at a time; default over finer:",
        table(("what is finer", *limits, "chases an hour"), apart),
    ]


def cells(name: str) -> list[str]:
    """Return the part of the page on the size of cells for one scenario."""
    settings = Settings(watch_all=True)
    print(f"{name}: cells", flush=True)
    usual = play_columns(name, runs=STEP_RUNS, days=STEP_DAYS, settings=settings)
    finer = play_columns(name, runs=STEP_RUNS, days=STEP_DAYS, settings=settings, cell_m=0.02)
    side = float(layout_with_cells(small(name), 0.04).floor().dims[3])
    pairs = paired(usual, finer, {**STEPS, "share of the floor held": mean_of("held_share")})
    return [
        f"### {words(name).capitalize()}",
        table(
            ("", f"{100 * side:.0f} cm", "2 cm", *HEAD[3:5]),
            [(text, *figures(pair)) for text, pair in pairs.items()],
        ),
    ]


def measure() -> None:
    """Play everything and write the page."""
    before = load()
    of_windows, of_steps = Verdicts(), Verdicts()
    window_parts = [part for name in SCENARIOS for part in windows(name, of_windows)]
    step_parts = [part for name in SCENARIOS for part in steps(name, of_steps)]
    cell_parts = [part for name in SCENARIOS for part in cells(name)]
    write_page(
        PAGE,
        parts=[
            "# Convergence",
            "Written by `python -m tests.benchmarks convergence`. Does it matter that time is cut "
            "into steps and mostly leapt? Two small tanks are played with the defaults and in "
            "finer ways, over the same fish, and compared by means, by spread and by shares of "
            "runs. ± is one standard error, by resampling the draws of fish. *Met*: the estimate "
            "is inside what is asked. *In doubt*: outside by less than two standard errors. "
            "*Missed*: outside by more.",
            f"**Steps.** {of_steps.paragraph()}",
            f"**Windows.** {of_windows.paragraph()}",
            section_of(PAGE.read_text("utf-8"), DEFAULTS),
            "## Steps of time",
            f"{STEP_RUNS} runs of {STEP_DAYS:.0f} day, every second watched. Default: ticks of "
            "0.2 s, looks each 0.4 s, chases in sub-steps of 12.5 ms; against 0.05 s, 0.1 s and "
            f"3.125 ms. Asked: bites a chase, and each end with a share of {RARE_END} or more, "
            f"within {100 * CHASE_APART:.0f} %. Draws are keyed by tick, so other steps are other "
            "histories; only their distributions are compared. Bites are those of chases still in "
            "the log (the last attacks of a run); contests land bites as well, not counted here.",
            *step_parts,
            "## Windows",
            f"{WINDOW_RUNS} runs of {WINDOW_DAYS:.0f} days: the default against every waking "
            f"second watched. Asked: the share of runs with a serious injury within {SHARE_APART}, "
            f"its spreads and the median first day within {100 * SPREAD_APART:.0f} %. The harm of "
            "a bite is set so that the share is in the middle, where a bias shows most; near 0 or "
            "1 any scheme passes. The median day is over the runs that had a serious injury, so "
            "it is the noisiest of the figures.",
            *window_parts,
            "## Cells",
            f"{STEP_RUNS} runs of {STEP_DAYS:.0f} day, every second watched, on the usual cells "
            "and on cells of 2 cm. Nothing was promised of it.",
            *cell_parts,
            section_of(PAGE.read_text("utf-8"), MONTHS),
            section_of(PAGE.read_text("utf-8"), ENOUGH),
            "## Measured on",
            describe(load_before=before),
        ],
    )
    print(PAGE.read_text("utf-8"))
