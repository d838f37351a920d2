"""Results made up for tests of words and tables; no simulation stands behind them."""

from __future__ import annotations

from dataclasses import replace

from viz.results import (
    AtRiskResult,
    DesignResult,
    DifferenceResult,
    FishResult,
    Number,
    Results,
    VerdictResult,
)
from viz.results import Verdict as Word

UNITS = {
    "serious": "share of runs",
    "death": "share of runs",
    "dose": "injury",
    "chases_per_h": "1/h",
    "bites_per_h": "1/h",
    "hidden_h_per_day": "h/day",
    "corner_h_per_day": "h/day",
    "held_share": "share of floor",
    "open_share": "share of floor",
}


def number(
    estimate: float | None, low: float | None, high: float | None, unit: str = "1/h"
) -> Number:
    """Return a number over 50 draws of fish."""
    return Number(estimate, low, high, unit, 50, "made up")


def design(
    *,
    serious: tuple[float, float, float] = (0.12, 0.07, 0.20),
    death: tuple[float, float, float] = (0.0, 0.0, 0.037),
    pair: tuple[str, ...] = (),
    at_risk: str = "Moth",
    runs: int = 100,
    fish: tuple[str, ...] = ("Moth", "Rook"),
) -> DesignResult:
    """Return one tank."""
    outcomes = {name: number(2.0, 1.0, 3.0, unit) for name, unit in UNITS.items()}
    outcomes["serious"] = number(*serious, UNITS["serious"])
    outcomes["death"] = number(*death, UNITS["death"])
    for name in ("held_share", "open_share"):
        outcomes[name] = number(0.5, 0.4, 0.6, UNITS[name])
    own = {
        "serious": number(0.1, 0.05, 0.2, "share of runs"),
        "hidden_h_per_day": number(6.0, 5.0, 7.0, "h/day"),
        "chases_taken_per_h": number(4.0, 3.0, 5.0),
        "bites_taken_per_h": number(1.5, 1.0, 2.0),
    }
    return DesignResult(
        name="Pool",
        file="pool.toml",
        hash="0" * 64,
        length_m=1.2192,
        width_m=0.4572,
        height_m=0.5334,
        light_h=11.0,
        days=30.0,
        pair=pair,
        runs=runs,
        draws=runs // 2,
        outcomes=outcomes,
        without=(),
        interrupted=False,
        ends={"tired": number(0.25, 0.2, 0.3, "share of chases")},
        at_risk=AtRiskResult(at_risk, "serious", number(0.1, 0.04, 0.2, "share of runs")),
        spreads={"dose": number(0.4, 0.2, 0.6, "share of variance")},
        doubts={},
        by_harm=(),
        fish=tuple(FishResult(name, "Amatitlania nigrofasciata", 3.0, own) for name in fish),
    )


def results(*designs: DesignResult, word: Word = "better", by: str | None = "dose") -> Results:
    """Return a comparison of tanks with the first, or the results of one."""
    verdicts = tuple(
        VerdictResult(0, k, word, by, "The criterion.", False, 31, 12, 7)
        for k in range(1, len(designs))
    )
    differences = tuple(
        replace(row, second=k) for k in range(1, len(designs)) for row in _differences()
    )
    provenance: dict[str, object] = {"seed": 1, "watch": "auto", "parameters_changed": {}}
    return Results(
        provenance, tuple(designs), differences, verdicts, designs[0].runs, "Not measured."
    )


def _differences() -> tuple[DifferenceResult, ...]:
    ratio = number(0.6, 0.4, 0.8, "times")
    plain = DifferenceResult(
        0, 1, None, "dose", "injury", -1.2, -2.0, -0.4, "made up", 31, 12, 7, ratio, 0.3
    )
    return (
        plain,
        replace(plain, outcome="serious", unit="share of runs", estimate=-0.08, low=-0.15,
                high=-0.01, ratio=None),
        replace(plain, outcome="hidden_h_per_day", unit="h/day", estimate=0.5, low=0.2, high=0.8,
                ratio=None),
        replace(plain, fish="Moth"),
        replace(plain, fish="Rook", estimate=0.1, low=-0.2, high=0.4),
    )  # fmt: skip
