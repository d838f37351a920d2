"""A sweep as files: tidy tables as CSV and Parquet, JSON, and the tank of each point."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused
from viz.csv_tables import text_of
from viz.sweep_results import SweepResults
from viz.sweep_words import sure_sentences, sweep_sentences

if TYPE_CHECKING:
    from sim.sweep import Sweep

FORMAT = "holdwater sweep 1"


@dataclass(frozen=True, slots=True)
class Tidy:
    """A tidy table.

    Parameters
    ----------
    name
        Of its file, without an ending.
    columns
        Names, units at their ends.
    rows
        One value for each column; None where there is none.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Any, ...], ...]


def tidy_tables(results: SweepResults) -> tuple[Tidy, ...]:
    """Return the tables of a sweep.

    Parameters
    ----------
    results
        What was found.

    Returns
    -------
    tuple of Tidy
        ``outcomes``, a row per point and outcome; ``steps``, a row per change; ``caves``, a row
        per cave of a point, where their number was varied.
    """
    heads, picks = _factor_columns(results)
    outcomes = [
        (
            number,
            *(pick(point) for pick in picks),
            point.runs,
            outcome,
            found.unit,
            found.estimate,
            found.low,
            found.high,
            found.n,
            found.method,
        )
        for number, point in enumerate(results.points, start=1)
        for outcome, found in point.outcomes.items()
    ]
    tables = [
        Tidy(
            "outcomes",
            (
                "point", *heads, "runs_count", "outcome", "unit", "estimate", "low", "high",
                "draws_count", "method",
            ),
            tuple(outcomes),
        ),
        Tidy(
            "steps",
            (
                "factor", "start", "end", "part", "outcome", "unit", "estimate", "low", "high",
                "draws_count", "method", "says",
            ),
            tuple(
                (
                    step.factor, step.start, step.end, step.part, step.outcome, step.unit,
                    step.estimate, step.low, step.high, step.n, step.method, step.says,
                )
                for step in results.steps
            ),
        ),
    ]  # fmt: skip
    caves = tuple(
        (
            number, *(pick(point) for pick in picks), cave.name, cave.what, cave.kind, cave.size,
            cave.x_m, cave.y_m, cave.turn_deg,
        )
        for number, point in enumerate(results.points, start=1)
        for cave in point.caves
    )  # fmt: skip
    if caves:
        columns = ("point", *heads, "name", "what", "kind", "size", "x_m", "y_m", "turn_deg")
        tables.append(Tidy("caves", columns, caves))
    return tuple(tables)


def _factor_columns(results: SweepResults) -> tuple[list[str], list[Any]]:
    """Return the columns of the factors, as written and as numbers, and what reads them."""
    heads: list[str] = []
    picks: list[Any] = []
    for k, factor in enumerate(results.factors):
        heads.append(factor.key)
        picks.append(lambda point, k=k: point.values[k])
        if factor.ordered:
            unit = re.sub(r"\W+", "_", factor.unit).strip("_") or "number"
            heads.append(f"{factor.key}_{unit}")
            picks.append(lambda point, k=k: point.numbers[k])
    return heads, picks


def csv_text(table: Tidy) -> Iterator[str]:
    """Return the text of a table as CSV, row by row; an empty cell where there is no value."""

    def rows() -> Iterator[Sequence[Any]]:
        yield table.columns
        for row in table.rows:
            yield ["" if value is None else value for value in row]

    return text_of(rows)


def parquet_bytes(table: Tidy) -> bytes:
    """Return a table as the bytes of a Parquet file.

    Parameters
    ----------
    table
        Its columns are text, whole numbers or fractions.

    Raises
    ------
    Refused
        If pyarrow is not installed.
    """
    arrow, parquet = needs_pyarrow()
    columns = {name: [row[k] for row in table.rows] for k, name in enumerate(table.columns)}
    stream = io.BytesIO()
    parquet.write_table(arrow.table(columns), stream)
    return stream.getvalue()


def needs_pyarrow(*, option: str = "--parquet") -> tuple[Any, Any]:
    """Return pyarrow and its module for Parquet.

    Parameters
    ----------
    option
        What asked for it.

    Raises
    ------
    Refused
        If it is not installed.
    """
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError:
        raise Refused(
            Problem(
                option,
                "the library that writes Parquet is not installed; expected pyarrow. Install it "
                'with pip install "holdwater[tables]", or take --csv.',
            )
        ) from None
    return pyarrow, parquet


def sweep_json(results: SweepResults) -> str:
    """Return a sweep as JSON text, with a newline at its end.

    Parameters
    ----------
    results
        What was found.
    """
    from viz.cautions import ABSOLUTE_SWEEP, CAUTIONS

    whole = {
        "format": FORMAT,
        **asdict(results),
        "sentences": [
            {"words": one.words, "sources": list(one.sources)} for one in sweep_sentences(results)
        ],
        "how_sure": sure_sentences(results),
        "cautions": [ABSOLUTE_SWEEP, *CAUTIONS],
    }
    return json.dumps(whole, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def tank_files(sweep: Sweep, folder: Path) -> dict[Path, str | bytes | Iterable[str]]:
    """Return the scenario file of each point, by path.

    Parameters
    ----------
    sweep
        What was played.
    folder
        Where they are to stand.
    """
    from sim.scenario_file import write_scenario

    digits = len(str(len(sweep.tanks)))
    return {
        folder / f"point-{number:0{digits}d}.toml": write_scenario(tank.scenario)
        for number, tank in enumerate(sweep.tanks, start=1)
    }
