"""At hand: what a command that plays runs has ready while it plays, and lets go of when it ends."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sim.errors import Problem

if TYPE_CHECKING:
    from sim.crew import Workers
    from sim.kept_store import Store
    from viz.played import Asked


@dataclass(frozen=True, slots=True, kw_only=True)
class AtHand:
    """What a command plays with.

    Parameters
    ----------
    workers
        For `workers` of whatever plays runs.
    store
        Of kept runs; None where nothing is kept.
    show
        To be told how many runs are done, of how many.
    """

    workers: Workers
    store: Store | None
    show: Callable[[int, int], None]


@contextmanager
def at_hand(asked: Asked, *, stopped: Callable[[], str]) -> Iterator[AtHand]:
    """Have ready what plays runs, keeps them and shows how far they are, and end soon after Ctrl-C.

    Parameters
    ----------
    asked
        The options.
    stopped
        Returns what is said if Ctrl-C ends it before the block ends itself.

    Yields
    ------
    AtHand
        For the length of the block, which writes no files.

    Raises
    ------
    Refused
        If those who are to play, or the store, cannot be had.
    """
    from viz.cluster_asked import players
    from viz.complaints import complain
    from viz.kept_words import opened
    from viz.progress import say_if_compiling, shown_progress
    from viz.stopping import ends_soon

    def say() -> None:
        complain([Problem("", stopped())])

    say_if_compiling()
    with (
        players(asked) as workers,
        opened(asked.keep) as store,
        shown_progress() as show,
        ends_soon(say),
    ):
        yield AtHand(workers=workers, store=store, show=show)
