"""A sweep as files: what `holdwater sweep` writes, and how to ask for it there."""

from __future__ import annotations

import io
import shlex
import zipfile
from collections.abc import Iterable
from typing import TYPE_CHECKING

from sim.errors import Refused
from viz.app.elements import Layer, tag
from viz.app.given import Given, GivenPictures, file_stem
from viz.app.repeating.keeping import MADE
from viz.app.sweeping.asking import FULL

if TYPE_CHECKING:
    from viz.app.sweeping.job import SweepJob
    from viz.sweep_results import SweepResults

NO_PARQUET = (
    "There are no tables as Parquet: the library that writes them, pyarrow, is not installed where "
    'the app runs. pip install "holdwater[tables]" brings it.'
)


def tables_of(results: SweepResults) -> bytes:
    """Return what `--csv` writes, as a zip archive.

    Parameters
    ----------
    results
        What was found.
    """
    from viz.sweep_tables import csv_text, tidy_tables

    return _zipped((f"{one.name}.csv", "".join(csv_text(one))) for one in tidy_tables(results))


def parquet_of(results: SweepResults) -> bytes:
    """Return what `--parquet` writes, as a zip archive.

    Parameters
    ----------
    results
        What was found.

    Raises
    ------
    Refused
        If pyarrow is not installed.
    """
    from viz.sweep_tables import parquet_bytes, tidy_tables

    return _zipped((f"{one.name}.parquet", parquet_bytes(one)) for one in tidy_tables(results))


def _zipped(files: Iterable[tuple[str, str | bytes]]) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files:
            entry = zipfile.ZipInfo(f"tables/{name}", MADE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, content)
    return made.getvalue()


def parquet_there() -> bool:
    """Return whether the library that writes Parquet is installed."""
    from viz.sweep_tables import needs_pyarrow

    try:
        needs_pyarrow()
    except Refused:
        return False
    return True


def command_words(job: SweepJob) -> str:
    """Return how to get the same from the command line, or what hinders it.

    Parameters
    ----------
    job
        A sweep that is done.
    """
    if job.file is None:
        return (
            "Save this tank under Build and play again: then the command line plays the very same "
            "runs."
        )
    typed = job.typed
    options = [("--vary", one) for one in typed.vary]
    if typed.plan != FULL:
        options.append(("--plan", typed.plan))
        if typed.points is not None:
            options.append(("--points", typed.points))
    if typed.runs is not None:
        options.append(("--runs", str(typed.runs)))
    else:
        options.append(("--precision", typed.precision))
        if typed.most_runs is not None:
            options.append(("--most-runs", typed.most_runs))
    options += [("--outcome", name) for name in job.wanted.outcomes]
    parts = [shlex.quote(str(job.file)), *(f"{one} {shlex.quote(text)}" for one, text in options)]
    return f"The same from the command line: holdwater sweep {' '.join(parts)}"


def KeepSweep(job: SweepJob) -> None:
    """Hand a sweep over as files.

    Parameters
    ----------
    job
        A sweep that is done.
    """
    results = job.now.results
    assert results is not None
    stem = f"{file_stem(job.tank.name)}-sweep"

    def json() -> str:
        from viz.sweep_tables import sweep_json

        return sweep_json(results)

    def figure(kind: str) -> bytes:
        from viz.sweep_figure import figure_bytes

        return figure_bytes(results, kind=kind)

    parquet = parquet_there()
    tag("h4", "Keep it")
    with Layer("div", classes="hw-row"):
        Given(
            "Tables, CSV",
            f"{stem}.zip",
            lambda: tables_of(results),
            kind="application/zip",
            hint="As --csv writes them: a row for each point and outcome, and for each change",
        )
        if parquet:
            Given(
                "Tables, Parquet", f"{stem}-parquet.zip", lambda: parquet_of(results),
                kind="application/zip", hint="As --parquet writes them",
            )  # fmt: skip
        Given(
            "Results, JSON", f"{stem}.json", json, kind="application/json",
            hint="As --json writes them",
        )  # fmt: skip
        GivenPictures("Figure", stem, figure, hint="As --figure draws it")
    if not parquet:
        tag("p", NO_PARQUET, classes="hw-soft")
    tag("p", command_words(job), classes="hw-soft hw-command")
