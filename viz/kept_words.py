"""Kept runs on the command line: the store of a batch, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from viz.checked import counted
from viz.ink import console

if TYPE_CHECKING:
    from sim.kept_store import Store


@contextmanager
def opened(folder: Path | None) -> Iterator[Store | None]:
    """Open the store of a folder for the length of a block.

    Parameters
    ----------
    folder
        Of kept runs; None for none.

    Yields
    ------
    Store or None
        None where nothing is kept.

    Raises
    ------
    Refused
        If it cannot be opened.
    """
    if folder is None:
        yield None
        return
    from sim.kept_store import Store

    store = Store(folder)
    try:
        yield store
    finally:
        store.close()


def say_what_was_kept(store: Store | None) -> None:
    """Say on the error stream how many runs were there and how many were added.

    Parameters
    ----------
    store
        None where nothing is kept.
    """
    if store is None:
        return
    words = f"{counted(store.found, 'run')} had been kept, {store.added} added"
    if store.damaged:
        words += f"; {store.damaged} of the kept were damaged and played again"
    console(stderr=True).print(f"{words}.", style="slate")
