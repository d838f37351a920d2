"""Results as files: JSON with a documented schema, tidy tables as CSV, nothing half-written.

`docs/results.md` says what stands where, `docs/results.schema.json` says it to a program. The
files hold no time of day and no number of workers: the same question gives the same bytes.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused
from viz.asked import quoted

if TYPE_CHECKING:
    from sim.settings import Settings
    from viz.results import Results

FORMAT = "holdwater results 1"


def provenance(
    *, seed: int, settings: Settings, watch: str, changes: Mapping[str, float]
) -> dict[str, Any]:
    """Return what is needed to get the same results again.

    Parameters
    ----------
    seed
        Of the study.
    settings, watch
        Time steps and watching, and the word they were asked for with.
    changes
        Parameters that differ from the defaults.

    Returns
    -------
    dict
        The `provenance` of `docs/results.schema.json`.
    """
    from sim.model_version import model_version
    from sim.start import RUNS_PER_DRAW

    return {
        **model_version(),
        "seed": seed,
        "runs_per_draw": RUNS_PER_DRAW,
        "watch": watch,
        "settings": asdict(settings),
        "parameters_changed": dict(changes),
    }


def results_json(results: Results) -> str:
    """Return the results as JSON text.

    Parameters
    ----------
    results
        What was found.

    Returns
    -------
    str
        Valid by `docs/results.schema.json`, with a newline at its end.
    """
    from viz.cautions import ABSOLUTE, ABSOLUTE_ALONE, CAUTIONS
    from viz.pad_page import observed_words
    from viz.sure_words import spread_words
    from viz.words import in_words

    plain = asdict(results)
    said = [*in_words(results), *observed_words(results), *spread_words(results)]
    whole = {
        "format": FORMAT,
        **plain,
        "sentences": [{"words": one.words, "sources": list(one.sources)} for one in said],
        "cautions": [ABSOLUTE if len(results.designs) > 1 else ABSOLUTE_ALONE, *CAUTIONS],
    }
    return json.dumps(whole, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def write_whole(
    files: Mapping[Path, str | bytes | Iterable[str]], *, folder: Path | None = None
) -> None:
    """Write files so that each is there whole or not at all.

    All are written under passing names first; only when every one is complete do they take their
    own names.

    Parameters
    ----------
    files
        Text, parts of text, or bytes, by path.
    folder
        A folder to make first if it is missing, and to take away again if the writing fails.

    Raises
    ------
    Refused
        If something cannot be written.
    """
    made: Path | None = None
    passing: list[tuple[str, Path]] = []
    path = folder or Path()
    try:
        if folder is not None and not folder.exists():
            folder.mkdir()
            made = folder
        for path, text in files.items():
            path = Path(os.path.realpath(path))  # write what a link points at, not over the link
            handle, name = tempfile.mkstemp(prefix=".holdwater-", dir=path.parent)
            passing.append((name, path))
            with open(handle, "wb") as stream:
                for part in (text,) if isinstance(text, str | bytes) else text:
                    stream.write(part if isinstance(part, bytes) else part.encode("utf-8"))
            os.chmod(name, 0o666 & ~mask())
        while passing:
            name, path = passing[0]
            os.replace(name, path)
            passing.pop(0)
    except OSError as error:
        raise not_written(path, error) from None
    finally:
        for name, _ in passing:
            if os.path.exists(name):
                os.unlink(name)
        if made is not None and sys.exc_info()[0] is not None and not any(made.iterdir()):
            made.rmdir()


def not_written(path: Path, error: OSError) -> Refused:
    """Return what is said of a file or folder that could not be written.

    Parameters
    ----------
    path
        It.
    error
        What the system said.
    """
    return Refused(
        Problem(
            quoted(path),
            f"it could not be written ({error.strerror or error}); expected a place one may "
            "write to, with room left. Name another place.",
        )
    )


def mask() -> int:
    """Return the file mode mask, which can only be read by setting it."""
    usual = os.umask(0o077)
    os.umask(usual)
    return usual
