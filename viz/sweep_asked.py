"""The options of `holdwater sweep` that are its own, checked before anything is computed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from sim.fields import shown
from viz import asked as reading
from viz.played import tried

if TYPE_CHECKING:
    from sim.sweep import Precision
    from sim.varying import Factor

USUAL_OUTCOMES = ("dose", "serious")
USUAL_MOST = 2000
PLANS = ("full", "latin")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """The options of `sweep` that are its own, checked.

    Parameters
    ----------
    factors, plan, points
        What is varied, and which combinations.
    outcomes
        To be told.
    precision
        Until when each point is played, or None.
    csv, parquet, figure, out
        Where to write, or None.
    """

    factors: tuple[Factor, ...]
    plan: str
    points: int | None
    outcomes: tuple[str, ...]
    precision: Precision | None
    csv: Path | None
    parquet: Path | None
    figure: Path | None
    out: Path | None


def read_wanted(
    *,
    vary: Iterable[str],
    plan: str,
    points: str | None,
    outcomes: Iterable[str],
    precision: str | None,
    most_runs: str | None,
    csv: object,
    parquet: Path | None,
    figure: Path | None,
    out: Path | None,
) -> Wanted:
    """Return what was typed, checked; every wrong option is named at once.

    Parameters
    ----------
    vary, plan, points, outcomes, precision, most_runs, csv, parquet, figure, out
        As typed.

    Raises
    ------
    Refused
        If an option has no sense.
    """
    from sim.varying import MOST_POINTS, read_factors

    found: list[Problem] = []
    if plan not in PLANS:
        found.append(Problem("--plan", f"got {shown(plan)}; expected full or latin."))
    factors = tried(found, lambda: read_factors(vary))
    count = tried(
        found,
        lambda: (
            None if points is None else reading.whole("--points", points, low=2, high=MOST_POINTS)
        ),
    )
    told = tried(found, lambda: _outcomes(outcomes)) or USUAL_OUTCOMES
    until = tried(found, lambda: _precision(precision, most_runs, outcome=told[0]))
    if figure is not None:
        tried(found, lambda: _figure_file(figure))
    if parquet is not None:
        from viz.sweep_tables import needs_pyarrow

        tried(found, needs_pyarrow)
        tried(found, lambda: reading.writable_folder(parquet, option="--parquet"))
    if out is not None:
        tried(found, lambda: reading.writable_folder(out, option="-o"))
    if found or factors is None:
        raise Refused(found)
    return Wanted(
        factors=factors,
        plan=plan,
        points=count,
        outcomes=told,
        precision=until,
        csv=csv if isinstance(csv, Path) else None,
        parquet=parquet,
        figure=figure,
        out=out,
    )


def _outcomes(given: Iterable[str]) -> tuple[str, ...]:
    from sim.figures import MEASURES

    names = tuple(dict.fromkeys(given))
    wrong = [
        Problem(
            "--outcome",
            f"got {shown(name)}; expected one of {', '.join(MEASURES)}.",
        )
        for name in names
        if name not in MEASURES
    ]
    if wrong:
        raise Refused(wrong)
    return names


def _precision(text: str | None, most_runs: str | None, *, outcome: str) -> Precision | None:
    from sim.sweep import Precision

    if text is None:
        if most_runs is not None:
            raise Refused(
                Problem(
                    "--most-runs",
                    "is given without --precision; expected both, or --runs alone.",
                )
            )
        return None
    name, equals, width = (part.strip() for part in text.rpartition("="))
    try:
        half = float(width)
    except ValueError:
        half = -1.0
    if equals:
        (outcome,) = _outcomes([name])
    elif outcome == USUAL_OUTCOMES[0]:
        outcome = "serious"  # a bare width is of the share that everybody can picture
    if not 0.0 < half < 1e6:
        raise Refused(
            Problem(
                "--precision",
                f"got {shown(text)}; expected half the width of an interval, as 0.05 (of the share "
                "of runs with a serious injury) or dose=0.2.",
            )
        )
    most = USUAL_MOST
    if most_runs is not None:
        most = reading.whole("--most-runs", most_runs, low=40, high=reading.MOST_RUNS)
    return Precision(outcome=outcome, half_width=half, most=most)


def _figure_file(path: Path) -> Path:
    from viz.sweep_figure import KINDS

    if path.suffix.lower().lstrip(".") not in KINDS:
        raise Refused(
            Problem(
                "--figure",
                f"got {reading.quoted(path)}; expected a name that ends in .png, .svg or .pdf.",
            )
        )
    return reading.writable_file(path, option="--figure")
