"""A batch as files: the JSON and the tables of the command line, and how to ask for them there."""

from __future__ import annotations

import io
import shlex
import zipfile
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from viz.app.elements import Layer, tag
from viz.app.given import Given, file_stem
from viz.phrases import LETTERS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from sim.comparison import Design
    from viz.app.batches import BatchJob

MADE = (1980, 1, 1, 0, 0, 0)  # no time of day in a file: the same question gives the same bytes


def json_of(job: BatchJob) -> str:
    """Return what `--json` writes.

    Parameters
    ----------
    job
        A batch that is done.
    """
    from viz.record import results_json

    assert job.now.results is not None
    return results_json(job.now.results)


def tables_of(job: BatchJob) -> bytes:
    """Return what `--csv` writes, as a zip archive.

    Parameters
    ----------
    job
        A batch that is done.
    """
    from pathlib import Path

    from viz.csv_tables import csv_files

    names = [design.name for design in job.designs]
    return pack(csv_files(Path("tables"), names=names, batches=job.batches))


def pack(files: Mapping[Path, Iterable[str]]) -> bytes:
    """Return texts as a zip archive, the same bytes for the same texts.

    Parameters
    ----------
    files
        By their path in it, each in parts.
    """
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, parts in files.items():
            entry = zipfile.ZipInfo(str(PurePosixPath(*path.parts)), MADE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            with archive.open(entry, "w") as file:
                for part in parts:
                    file.write(part.encode("utf-8"))
    return made.getvalue()


def report_of_job(job: BatchJob) -> str:
    """Return what `--report` writes.

    Parameters
    ----------
    job
        A batch that is done.
    """
    from viz.report.written import report_of
    from viz.report_command import command_of

    assert job.now.results is not None
    command = command_of(
        verb_of(job),
        files_of(job.designs),
        asked=job.asked,
        more=["--report", f"{stem_of(job)}.html"],
    )
    return report_of(job.played(), results=job.now.results, command=command)


def verb_of(job: BatchJob) -> str:
    """Return the command that plays what a batch plays."""
    return "run" if len(job.designs) == 1 else "compare"


def files_of(designs: Sequence[Design]) -> list[Path]:
    """Return the files of tanks; one that is not saved gets a name that no other has.

    Parameters
    ----------
    designs
        The tanks.
    """
    from pathlib import Path

    names = [design.path and str(design.path) for design in designs]
    for place, design in enumerate(designs):
        if names[place] is None:
            stem, number = file_stem(design.name), 1
            while (name := f"{stem}{f'-{number}' if number > 1 else ''}.toml") in names:
                number += 1
            names[place] = name
    return [Path(str(name)) for name in names]


def stem_of(job: BatchJob) -> str:
    """Return how the files of a batch begin: the name of its first tank, in plain letters.

    Parameters
    ----------
    job
        The batch.
    """
    more = "" if len(job.designs) == 1 else f"-and-{len(job.designs) - 1}-more"
    return f"{file_stem(job.designs[0].name)}{more}-{job.runs}-runs"


def command_words(job: BatchJob) -> str:
    """Return how to get the same from the command line, or what hinders it.

    Parameters
    ----------
    job
        The batch.
    """
    unsaved = [LETTERS[number] for number, design in enumerate(job.designs) if design.path is None]
    if unsaved:
        what = "this tank" if len(job.designs) == 1 else f"tank {' and '.join(unsaved)}"
        return (
            f"Save {what} under Build and play again: then the command line plays the very same "
            "runs from the file. The report holds the tanks as they are."
        )
    files = " ".join(shlex.quote(str(design.path)) for design in job.designs)
    return f"The same from the command line: holdwater {verb_of(job)} {files} --runs {job.runs}"


def KeepFiles(job: BatchJob) -> None:
    """Hand the results over as files.

    Parameters
    ----------
    job
        A batch that is done.
    """
    stem = stem_of(job)
    tag("h3", "Keep them")
    with Layer("div", classes="hw-row"):
        Given(
            "Results, JSON",
            f"{stem}.json",
            lambda: json_of(job),
            kind="application/json",
            hint="As --json writes them",
        )
        Given(
            "Tables, CSV",
            f"{stem}.zip",
            lambda: tables_of(job),
            kind="application/zip",
            hint="As --csv writes them: a row for each run, fish, day and more",
        )
        Given(
            "Report, HTML",
            f"{stem}.html",
            lambda: report_of_job(job),
            kind="text/html",
            hint="As --report writes it: to print, or to hand on",
        )
    tag("p", command_words(job), classes="hw-soft hw-command")
