"""Where the app keeps its runs, and how a job opens that place while it plays.

Each job has a connection of its own for as long as it plays, so that pages and their threads never
wait for each other longer than one slice takes to be written. That runs cannot be kept hinders
nobody: the job is told why, and plays.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import platformdirs

from sim.errors import Problem, Refused

if TYPE_CHECKING:
    from sim.kept_store import Store

FOLDER_VARIABLE = "HOLDWATER_APP_KEEP"  # set by `holdwater app`, which never takes it from outside
NOWHERE = "none"

_opening = threading.Lock()


def usual_folder() -> Path:
    """Return where runs are kept unless somebody says otherwise: the user's data folder."""
    return Path(platformdirs.user_data_dir("holdwater")) / "runs"


def folder_for(asked: str | None) -> Path | None:
    """Return where runs are kept.

    Parameters
    ----------
    asked
        As typed after ``--keep``: a folder, or ``none``; None for the usual one.

    Returns
    -------
    Path or None
        None for nowhere.

    Raises
    ------
    Refused
        If a folder that was named is no place for them.
    """
    if asked is None:
        return usual_folder()
    if asked.strip().lower() == NOWHERE:
        return None
    folder = Path(asked).absolute()
    _made(folder).close()
    return folder


def spoken_size(folder: Path) -> str:
    """Return how much room the kept runs of a folder take, in words.

    Parameters
    ----------
    folder
        Where they are, or will be.
    """
    from sim.kept_store import FILE

    try:
        size = (folder / FILE).stat().st_size
    except OSError:
        size = 0
    return f"{size / 1e6:,.0f} MB so far" if size >= 1e6 else "next to nothing so far"


def folder_of_pages() -> Path | None:
    """Return where the pages of this process keep their runs; None for nowhere."""
    named = os.environ.get(FOLDER_VARIABLE)
    return Path(named) if named else None


@contextmanager
def opened(folder: Path | None, *, trouble: Callable[[Refused], None]) -> Iterator[Store | None]:
    """Open the kept runs for the length of a block.

    Parameters
    ----------
    folder
        Where they are; None for nowhere.
    trouble
        Told why they cannot be opened.

    Yields
    ------
    Store or None
        None where nothing is kept.
    """
    store = None
    if folder is not None:
        try:
            store = _made(folder)
        except Refused as refusal:
            trouble(refusal)
    try:
        yield store
    finally:
        if store is not None:
            store.close()


def unkept_words(problem: Problem) -> str:
    """Return that runs are not kept, and why.

    Parameters
    ----------
    problem
        What hinders it.
    """
    return f"They are played, but not kept: {problem.sentence}"


def _made(folder: Path) -> Store:
    from sim.kept_store import Store

    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = error.strerror or str(error)
        raise Refused(
            Problem(
                "--keep",
                f'the folder "{folder}" cannot be made ({reason}); expected one that can be '
                "written. Name another folder, or none.",
            )
        ) from None
    with _opening:  # two threads that make the same file at once could take it for a locked one
        return Store(folder)
