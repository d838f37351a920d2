"""Played: many runs of a scenario as plain columns, and how two such sets differ.

Two runs share each draw of fish, so whatever is said of runs is resampled by draw, and two sets
played with the same fish are resampled together.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from unittest import mock

import numpy as np

import sim.tables
from sim.batch import run_batch
from sim.check import Checked, check_file
from sim.layout import Layout
from sim.outcome import END_FIELDS
from sim.rules.codes import CHASED
from sim.settings import Settings

RESAMPLES = 1000
WORKERS = 2

Columns = dict[str, np.ndarray]
Statistic = Callable[[Columns], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps(Settings):
    """Settings in which the time between two looks may be chosen too.

    Parameters
    ----------
    look_s
        Seconds between two looks round.
    """

    look_s: float = 0.4

    def record(self) -> np.recarray:
        """Return the settings as the record that the rules read, shape (1,)."""
        row = Settings.record(self)
        row["look_every"] = max(1, round(self.look_s / self.tick_s))
        return row


@cache
def small(name: str) -> Checked:
    """Return a small scenario of this folder, read once."""
    return check_file(Path(__file__).parent / f"{name}.toml")


def layout_with_cells(checked: Checked, cell_m: float) -> Layout:
    """Return the layout of a scenario with its tables made on cells of another size."""
    layout = Layout(checked.scenario)
    with mock.patch.object(sim.tables, "CELL_M", cell_m):
        floor = layout.floor()
    if abs(floor.dims[3] - cell_m) > 0.1 * cell_m:
        raise RuntimeError(f"asked for cells of {cell_m} m, got {floor.dims[3]}")
    return layout


def play_columns(
    name: str,
    *,
    runs: int,
    days: float,
    settings: Settings | None = None,
    changes: Mapping[str, float] | None = None,
    cell_m: float | None = None,
) -> Columns:
    """Play a small scenario and return its runs as columns.

    Parameters
    ----------
    name
        File of this folder, without its ending.
    runs, days
        How many runs, and how long each.
    settings, changes
        As of `sim.batch.run_batch`.
    cell_m
        Side of the cells of the tables; the usual one where None.

    Returns
    -------
    dict
        One array for each measure, shape (runs,); `daily_dose` has shape (runs, days).
    """
    checked = small(name)
    layout = checked.layout if cell_m is None else layout_with_cells(checked, cell_m)
    scenario = checked.scenario.model_copy(update={"days": days})
    rows = []
    daily = []
    logged: list[tuple[float, float]] = []
    for outcome in run_batch(
        scenario, layout, runs=runs, seed=1, workers=WORKERS, settings=settings, changes=changes
    ):
        rows.append(outcome.row[0])
        daily.append(outcome.days["dose"])
        log = outcome.log[outcome.log["outcome"] == CHASED]
        logged.append((len(log), log["bites"].sum()))
    table = np.array(rows)
    columns = {str(field): table[field].astype(float) for field in table.dtype.names or ()}
    columns["chases"] = np.rint(columns["chases_per_h"] * columns["awake_h"])
    columns["bites"] = np.rint(columns["bites_per_h"] * columns["awake_h"])
    columns["ended"] = sum((columns[field] for field in END_FIELDS), np.zeros(runs))
    # Those of chases alone, over the attacks the log still holds; contests land bites as well.
    columns["logged_chases"], columns["logged_bites"] = np.array(logged).T.astype(float)
    columns["daily_dose"] = np.array(daily)
    return columns


def mean_of(field: str) -> Statistic:
    """Return the statistic: mean over runs."""
    return lambda columns: float(columns[field].mean())


def spread_of(field: str) -> Statistic:
    """Return the statistic: standard deviation over runs."""
    return lambda columns: float(columns[field].std(ddof=1))


def pooled(above: str, below: str) -> Statistic:
    """Return the statistic: sum of one column over the sum of another."""
    return lambda columns: float(columns[above].sum() / max(columns[below].sum(), 1e-12))


def median_day(columns: Columns) -> float:
    """Return the median day of the first serious injury among runs that had one."""
    days = columns["serious_day"]
    days = days[np.isfinite(days)]
    return float(np.median(days)) if len(days) else float("nan")


@dataclass(frozen=True, slots=True)
class Value:
    """A statistic with its standard error from resampled draws of fish."""

    value: float
    error: float


@dataclass(frozen=True, slots=True)
class Pair:
    """A statistic of two sets of runs over the same fish.

    Parameters
    ----------
    default, other
        Under the default, and under what it is held against.
    difference, ratio
        Default less other, and default over other.
    """

    default: Value
    other: Value
    difference: Value
    ratio: Value


def _by_draw(columns: Columns) -> np.ndarray:
    draws = columns["draw"].astype(int)
    runs = len(draws)
    if runs % 2 or not np.array_equal(draws, np.arange(runs) // 2):
        raise RuntimeError("expected two runs to each draw of fish, in order")
    return np.arange(runs).reshape(-1, 2)


def _resample(columns: Columns, rows: np.ndarray) -> Columns:
    return {name: column[rows] for name, column in columns.items()}


def compare(default: Columns, other: Columns, statistics: Mapping[str, Statistic]) -> list[Pair]:
    """Return statistics of two sets of runs, with errors by resampling their draws together.

    Parameters
    ----------
    default, other
        Same number of runs of the same fish.
    statistics
        By name.

    Returns
    -------
    list of Pair
        In the order of the statistics.
    """
    rows = _by_draw(default)
    if len(_by_draw(other)) != len(rows):
        raise RuntimeError("expected as many runs in both sets")
    rng = np.random.Generator(np.random.Philox(key=20))
    a = np.empty((RESAMPLES, len(statistics)))
    b = np.empty_like(a)
    for k in range(RESAMPLES):
        chosen = rows[rng.integers(len(rows), size=len(rows))].ravel()
        one, two = _resample(default, chosen), _resample(other, chosen)
        for m, statistic in enumerate(statistics.values()):
            a[k, m] = statistic(one)
            b[k, m] = statistic(two)
    pairs = []
    for m, statistic in enumerate(statistics.values()):
        x, y = statistic(default), statistic(other)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratios = a[:, m] / b[:, m]
        ratios = ratios[np.isfinite(ratios)]
        ratio = x / y if y else float("nan")
        pairs.append(
            Pair(
                Value(x, float(np.nanstd(a[:, m]))),
                Value(y, float(np.nanstd(b[:, m]))),
                Value(x - y, float(np.nanstd(a[:, m] - b[:, m]))),
                Value(ratio, float(ratios.std()) if len(ratios) else float("nan")),
            )
        )
    return pairs
