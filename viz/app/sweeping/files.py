"""A sweep as files: what `holdwater sweep` writes, and how to ask for it there."""

from __future__ import annotations

import io
import shlex
import zipfile
from typing import TYPE_CHECKING

from viz.app.elements import Layer, tag
from viz.app.given import Given, GivenPictures, file_stem
from viz.app.repeating.keeping import MADE

if TYPE_CHECKING:
    from viz.app.sweeping.job import SweepJob
    from viz.sweep_results import SweepResults


def tables_of(results: SweepResults) -> bytes:
    """Return what `--csv` writes, as a zip archive.

    Parameters
    ----------
    results
        What was found.
    """
    from viz.sweep_tables import csv_text, tidy_tables

    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for table in tidy_tables(results):
            entry = zipfile.ZipInfo(f"tables/{table.name}.csv", MADE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, "".join(csv_text(table)))
    return made.getvalue()


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
    from viz.app.sweeping.job import NARROW

    parts = [shlex.quote(str(job.file)), *(f"--vary {shlex.quote(one)}" for one in job.vary)]
    parts.append(f"--precision {NARROW}" if job.runs is None else f"--runs {job.runs}")
    parts += [f"--outcome {name}" for name in job.wanted.outcomes]
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

    tag("h4", "Keep it")
    with Layer("div", classes="hw-row"):
        Given(
            "Tables, CSV",
            f"{stem}.zip",
            lambda: tables_of(results),
            kind="application/zip",
            hint="As --csv writes them: a row for each point and outcome, and for each change",
        )
        Given(
            "Results, JSON", f"{stem}.json", json, kind="application/json",
            hint="As --json writes them",
        )  # fmt: skip
        GivenPictures("Figure", stem, figure, hint="As --figure draws it")
    tag("p", command_words(job), classes="hw-soft hw-command")
