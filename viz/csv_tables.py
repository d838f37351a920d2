"""The tidy tables: a row per run, fish, day, pair of fish and end of a chase, as CSV text."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.furniture import DAY_S
from sim.observed import ACTS, COUNTED
from sim.observing import stretches_of
from sim.outcome import DAY_ROW, FISH_ROW, RUN_ROW, fish_names
from sim.rules.codes import CHASE_ENDS, COVER_BANDS, GROUNDS, HARM_WAYS, STAGES

if TYPE_CHECKING:
    import numpy as np

    from sim.batch import Batch
    from sim.slices import SlicedTable

# columns whose name in `sim.outcome` lacks its unit, and what they are called in the files
RENAMED = {
    "harm_per_bite": "harm_per_bite_injury",
    "serious": "serious_0_or_1",
    "death": "death_0_or_1",
    "mate_hurt": "mate_hurt_0_or_1",
    "paired": "paired_0_or_1",
    "mate_by_mate": "mate_by_mate_0_or_1",
    "pairs": "pairs_count",
    "pairs_broken": "pairs_broken_count",
    "spawnings": "spawnings_count",
    "raised_broods": "raised_broods_count",
    "eaten_broods": "eaten_broods_count",
    "lost_broods": "lost_broods_count",
    "taken_broods": "taken_broods_count",
    "fry_raised": "fry_raised_count",
    "fry_taken": "fry_taken_count",
    "uprooted": "uprooted_count",
    "young_eaten": "young_eaten_count",
    "separated": "separated_0_or_1",
    "moved_out": "moved_out_count",
    "places_needed": "places_needed_count",
    "places_short": "places_short_0_or_1",
    "night_visits": "night_visits_count",
    "eaten": "eaten_count",
    "any_eaten": "any_eaten_0_or_1",
    "lost_settling": "lost_settling_count",
    "any_lost_settling": "any_lost_settling_0_or_1",
    "food_spread": "food_spread_sd_over_mean",
    "food_attacks_per_meal": "food_attacks_per_meal_count",
    "condition": "condition_share",
    "swallowed": "swallowed_count",
    "deaths": "deaths_count",
    "hurt_fish": "hurt_fish_count",
    "contests": "contests_count",
    "dose": "dose_injury",
    "harm": "harm_injury",
    "worst_injury": "worst_injury_0_to_1",
    "last_injury": "last_injury_0_to_1",
    "mean_injury": "mean_injury_0_to_1",
    "male": "male_0_or_1",
    "aggression": "aggression_times_convict",
    "boldness": "boldness_0_to_1",
    "alive": "alive_count",
    "attacks": "attacks_count",
    "chases": "chases_count",
    "bites": "bites_count",
    "chases_given": "chases_given_count",
    "chases_taken": "chases_taken_count",
    "bites_given": "bites_given_count",
    "bites_taken": "bites_taken_count",
    "contests_won": "contests_won_count",
    "contests_lost": "contests_lost_count",
    **{f"ended_{words.split()[0]}": f"ended_{words.split()[0]}_count" for words in CHASE_ENDS},
}
FORMULAS = ("=", "+", "-", "@", "\t", "\r")
TABLES = (
    "runs", "fish", "days", "chases", "ends", "harms", "holders", "outgrown", "sittings", "acts",
)  # fmt: skip


def csv_files(
    folder: Path, *, names: Sequence[str], batches: Sequence[Batch]
) -> dict[Path, Iterable[str]]:
    """Return the text of every table, made as it is read, by path.

    Parameters
    ----------
    folder
        Where they are to stand.
    names
        Of the designs.
    batches
        Of the designs.
    """
    makers: dict[str, Callable[[], Iterator[Sequence[Any]]]] = {
        "runs": lambda: _rows(RUN_ROW, [b.runs for b in batches], names=names),
        "fish": lambda: _fish_rows(names, batches),
        "days": lambda: _rows(DAY_ROW, [b.days for b in batches], names=names),
        "chases": lambda: _chase_rows(names, batches),
        "ends": lambda: _end_rows(names, batches),
        "harms": lambda: _harm_rows(names, batches),
        "holders": lambda: _holder_rows(names, batches),
        "outgrown": lambda: _outgrown_rows(names, batches),
        "sittings": lambda: _sitting_rows(names, batches),
        "acts": lambda: _act_rows(names, batches),
    }
    return {folder / f"{table}.csv": text_of(makers[table]) for table in TABLES}


def column_name(field: str) -> str:
    """Return what a column is called in the files: with its unit.

    Parameters
    ----------
    field
        Its name in `sim.outcome`.
    """
    return RENAMED.get(field, field)


def text_of(rows: Callable[[], Iterator[Sequence[Any]]]) -> Iterator[str]:
    """Return the text of a table, row by row as it is read.

    Parameters
    ----------
    rows
        Makes the rows, the heading first.
    """
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    for row in rows():
        writer.writerow(map(guarded, row))
        yield buffer.getvalue()
        buffer.seek(0)
        buffer.truncate()


def guarded(cell: Any) -> Any:
    """Return a cell that no spreadsheet takes for a formula.

    Parameters
    ----------
    cell
        A number is left alone; a text that begins as a formula does, as a name in a scenario may,
        gets an apostrophe before it.
    """
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULAS) else cell


def _rows(
    dtype: np.dtype[Any], tables: Sequence[SlicedTable], *, names: Sequence[str]
) -> Iterator[Sequence[Any]]:
    fields = list(dtype.names or ())
    yield ["design", *map(column_name, fields)]
    for name, table in zip(names, tables, strict=True):
        for part in table.slices():
            for row in part:
                yield [name, *map(_value, row.item())]


def _fish_rows(names: Sequence[str], batches: Sequence[Batch]) -> Iterator[Sequence[Any]]:
    fields = list(FISH_ROW.names or ())
    at = fields.index("fish")
    yield ["design", "name", *map(column_name, fields)]
    for name, batch in zip(names, batches, strict=True):
        fish = fish_names(batch.scenario)
        for part in batch.fish.slices():
            for row in part:
                values = row.item()
                yield [name, fish[values[at]], *map(_value, values)]


def _chase_rows(names: Sequence[str], batches: Sequence[Batch]) -> Iterator[Sequence[Any]]:
    yield ["design", "actor", "other", "chases_count", "contests_won_count", "runs_count"]
    for name, batch in zip(names, batches, strict=True):
        fish = fish_names(batch.scenario)
        for i, actor in enumerate(fish):
            for j, other in enumerate(fish):
                if i != j:
                    chases, wins = int(batch.chases[i, j]), int(batch.wins[i, j])
                    yield [name, actor, other, chases, wins, batch.done]


def _end_rows(names: Sequence[str], batches: Sequence[Batch]) -> Iterator[Sequence[Any]]:
    yield ["design", "brood_stage", "ended", "chases_count", "runs_count"]
    for name, batch in zip(names, batches, strict=True):
        for stage, counts in zip(STAGES, batch.ends, strict=True):
            for words, count in zip(CHASE_ENDS, counts, strict=True):
                yield [name, stage, words, int(count), batch.done]


def _harm_rows(names: Sequence[str], batches: Sequence[Batch]) -> Iterator[Sequence[Any]]:
    yield [
        "design", "run", "name", "way", "ground", "brood_stage", "to_hiding_place", "dose_injury"
    ]  # fmt: skip
    for name, batch in zip(names, batches, strict=True):
        fish = fish_names(batch.scenario)
        for part in batch.harms.slices():
            for run, i, way, ground, stage, cover, dose in part.tolist():
                yield [
                    name, run, fish[i], HARM_WAYS[way], GROUNDS[ground], STAGES[stage],
                    COVER_BANDS[cover], dose,
                ]  # fmt: skip


def _holder_rows(names: Sequence[str], batches: Sequence[Batch]) -> Iterator[Sequence[Any]]:
    yield ["design", "run", "name", "holder", "dose_injury"]
    for name, batch in zip(names, batches, strict=True):
        fish = (*fish_names(batch.scenario), "")  # the last for open ground
        for part in batch.holders.slices():
            for run, i, holder, dose in part.tolist():
                yield [name, run, fish[i], fish[holder], dose]


def _outgrown_rows(names: Sequence[str], batches: Sequence[Batch]) -> Iterator[Sequence[Any]]:
    yield ["design", "run", "name", "place", "from_day"]
    for name, batch in zip(names, batches, strict=True):
        fish = fish_names(batch.scenario)
        for part in batch.outgrown.slices():
            for run, i, room, day in part.tolist():
                yield [name, run, fish[i], batch.layout.rooms[room].name, day]


def _sitting_rows(names: Sequence[str], batches: Sequence[Batch]) -> Iterator[Sequence[Any]]:
    counts = [*ACTS, "contests"]
    yield [
        "design", "run", "observation", "day", "start_h", "missed_0_or_1", "lasted_min",
        "first_act_min", "decided_min", "winner", "loser",
        *(f"{name}_count" for name in counts), "contest_s",
    ]  # fmt: skip
    for name, batch in zip(names, batches, strict=True):
        fish = (*fish_names(batch.scenario), "")  # the last for nobody
        stretches = stretches_of(batch.scenario)
        for part in batch.sittings.slices():
            for row in part:
                one = stretches[row["sitting"]]
                lasted, first, decided = (
                    _value(float(row[key]) / 60.0)
                    for key in ("lasted_s", "first_act_s", "decided_s")
                )
                yield [
                    name, int(row["run"]), one.name, one.day,
                    (one.start_s - DAY_S * one.day) / 3600.0, int(row["missed"]), lasted, first,
                    decided, fish[row["winner"]], fish[row["loser"]],
                    *(int(row[key]) for key in counts), float(row["contest_s"]),
                ]  # fmt: skip


def _act_rows(names: Sequence[str], batches: Sequence[Batch]) -> Iterator[Sequence[Any]]:
    yield [
        "design", "run", "observation", "day", "actor", "other",
        *(key if key.endswith("_s") else f"{key}_count" for key in COUNTED),
    ]  # fmt: skip
    for name, batch in zip(names, batches, strict=True):
        fish = fish_names(batch.scenario)
        stretches = stretches_of(batch.scenario)
        for part in batch.acts.slices():
            for run, sitting, actor, other, *counts in part.tolist():
                one = stretches[sitting]
                yield [name, run, one.name, one.day, fish[actor], fish[other], *counts]


def _value(value: Any) -> Any:
    """A cell: empty where there is no value (a day that never came)."""
    return "" if isinstance(value, float) and not math.isfinite(value) else value
