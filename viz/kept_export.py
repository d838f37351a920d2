"""Kept runs as Parquet: a table for each part of a run, a row group for each slice of runs."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sim.errors import Problem, Refused
from sim.kept_question import Question
from sim.kept_run import Damaged, parts_of
from sim.kept_store import Store
from viz.asked import quoted
from viz.csv_tables import column_name
from viz.record import mask, not_written
from viz.sweep_tables import needs_pyarrow

if TYPE_CHECKING:
    from collections.abc import Callable

SLICE_RUNS = 200


def export(
    store: Store, questions: Sequence[Question], folder: Path, *, told: Callable[[int], None]
) -> list[str]:
    """Write the runs of questions as Parquet into a new folder, which is there whole or not at all.

    Parameters
    ----------
    store
        That keeps them.
    questions
        Which.
    folder
        To be made; empty where it is there.
    told
        Told how many runs were written, after each slice.

    Returns
    -------
    list of str
        Names of the files.

    Raises
    ------
    Refused
        If a run is damaged, the folder holds something, or it cannot be written.
    """
    needs_pyarrow(option="kept export")
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise Refused(
            Problem("-o", f"got {quoted(folder)}, which holds something; expected a new folder.")
        )
    made = Path()
    try:
        made = Path(tempfile.mkdtemp(prefix=".holdwater-", dir=folder.absolute().parent))
        os.chmod(made, 0o777 & ~mask())
        _write(store, questions, made, told=told)
        names = sorted(path.name for path in made.iterdir())
        os.replace(made, folder)
    except OSError as error:
        raise not_written(folder, error) from None
    finally:
        if made != Path() and made.exists():
            shutil.rmtree(made, ignore_errors=True)
    return names


def _write(
    store: Store, questions: Sequence[Question], folder: Path, *, told: Callable[[int], None]
) -> None:
    arrow, parquet = needs_pyarrow()
    writers: dict[str, list[Any]] = {}
    done = 0
    try:
        for question in questions:
            names = _names(question)
            for runs in _slices(store, question):
                for part, value in runs[0].items():
                    if not isinstance(value, np.ndarray):
                        continue
                    columns = _columns(part, runs, names=names)
                    keys = [question.key[:12]] * len(columns["run"])
                    made = {"question": arrow.array(keys, arrow.string())}
                    made |= {
                        name: arrow.array(column, arrow.string() if name == "name" else None)
                        for name, column in columns.items()
                    }
                    table = arrow.table(made)
                    _writer(writers, part, table, folder, parquet).write_table(table)
                done += len(runs)
                told(done)
    finally:
        for writer in (one for several in writers.values() for one in several):
            writer.close()
    (folder / "questions.json").write_text(
        json.dumps([question_facts(one) for one in questions], indent=1) + "\n", encoding="utf-8"
    )
    for question in questions:
        (folder / f"{question.key[:12]}.toml").write_text(question.scenario, encoding="utf-8")


def _writer(
    writers: dict[str, list[Any]], part: str, table: Any, folder: Path, parquet: Any
) -> Any:
    """Return what writes a part; runs of another version may have other columns, and a file."""
    several = writers.setdefault(part, [])
    for writer in several:
        if writer.schema.equals(table.schema):
            return writer
    name = TABLES.get(part, part) + (f"-{len(several) + 1}" if several else "")
    several.append(parquet.ParquetWriter(folder / f"{name}.parquet", table.schema))
    return several[-1]


# what the tables of a run are called in results, where that is not the name of the field
TABLES = {"row": "runs", "log": "attacks"}


def question_facts(question: Question) -> dict[str, Any]:
    """Return what a question is, as plain values.

    Parameters
    ----------
    question
        Of a store.
    """
    return {
        "question": question.key[:12],
        "key": question.key,
        "title": question.title,
        "scenario": question.hash,
        "seed": question.seed,
        "settings": dict(question.settings),
        "parameters_changed": dict(question.changes),
        "version": dict(question.version),
    }


def _slices(store: Store, question: Question) -> Iterator[list[dict[str, Any]]]:
    part: list[dict[str, Any]] = []
    for run, digest, data in store.runs(question):
        try:
            part.append(parts_of(digest, data, run=run))
        except Damaged as damage:
            raise Refused(
                Problem(
                    f"question {question.key[:12]}, run {run}",
                    f"it is damaged ({damage}); expected the bytes that were kept. `holdwater kept "
                    "verify --mend` takes it out, and the next batch plays it again.",
                )
            ) from None
        if len(part) == SLICE_RUNS:
            yield part
            part = []
    if part:
        yield part


def _names(question: Question) -> tuple[str, ...]:
    """Return the names of the fish, in the order of the tables."""
    import tomllib

    from sim.fields import FROM_FILE
    from sim.outcome import fish_names
    from sim.scenario import Scenario

    try:
        table = tomllib.loads(question.scenario)
        return fish_names(
            Scenario.model_validate(table, context=FROM_FILE, by_alias=True, by_name=False)
        )
    except ValueError:
        return ()  # of a version whose language this one no longer reads


def _columns(
    part: str, runs: Sequence[dict[str, Any]], *, names: tuple[str, ...]
) -> dict[str, Any]:
    """Return one part of some runs as columns of a table."""
    arrays = [run[part] for run in runs]
    # Of a matrix of numbers, which may be large and nearly empty, the cells that are not 0.
    matrix = arrays[0].ndim > 1 and arrays[0].dtype.names is None
    kept = [(a != 0).ravel() if matrix else np.ones(a.size, dtype=bool) for a in arrays]
    numbers = [
        np.full(int(k.sum()), run["run"], np.int64) for k, run in zip(kept, runs, strict=True)
    ]
    columns: dict[str, Any] = {"run": np.concatenate(numbers)}
    if arrays[0].ndim > 1:  # rows and columns of a matrix, told by their numbers
        for axis in range(arrays[0].ndim):
            at = [np.indices(a.shape)[axis].ravel()[k] for a, k in zip(arrays, kept, strict=True)]
            columns[f"at_{axis}"] = np.concatenate(at).astype(np.int64)
    flat = np.concatenate([a.ravel()[k] for a, k in zip(arrays, kept, strict=True)])
    if flat.dtype.names is None:
        columns["value"] = flat
        return columns
    for field in flat.dtype.names:
        if field != "run":
            column = np.ascontiguousarray(flat[field])
            columns[column_name(field)] = list(column) if column.ndim > 1 else column
    if "fish" in flat.dtype.names:
        columns["name"] = [names[k] if k < len(names) else None for k in flat["fish"]]
    return columns
