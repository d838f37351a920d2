"""How far a batch has come, on the error stream, so that results can be piped."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.progress import Progress, ProgressColumn, Task, TextColumn
from rich.text import Text

from viz.ink import console

BAR_CELLS = 32
ENTRY = "advance.advance"  # numba names its files so; the folder is there before they are
_QUIET_S = 20.0  # where the stream is no terminal, a line at most this often
_FIRST_S = 2.0  # and the first one soon, as a sign of life


class Waterline(ProgressColumn):
    """A line of water that rises to the right."""

    def render(self, task: Task) -> Text:
        """Return the line for a task.

        Parameters
        ----------
        task
            Of rich.
        """
        filled = round(BAR_CELLS * min(task.completed / task.total, 1.0)) if task.total else 0
        return Text.assemble(("~" * filled, "water"), ("." * (BAR_CELLS - filled), "slate"))


class TimeLeft(ProgressColumn):
    """What is left at the pace so far, in words."""

    def render(self, task: Task) -> Text:
        """Return the words for a task.

        Parameters
        ----------
        task
            Of rich.
        """
        if not task.total or not task.completed:
            return Text("")
        if task.finished:
            return Text(f"in {spoken_seconds(task.elapsed or 0.0)}", "slate")
        left = (task.elapsed or 0.0) * (task.total / task.completed - 1.0)
        return Text(f"about {spoken_seconds(left)} left", "slate")


def spoken_seconds(seconds: float) -> str:
    """Return a time as one says it.

    Parameters
    ----------
    seconds
        s
    """
    if seconds < 90.0:
        return f"{max(seconds, 0.0):.0f} s"
    if seconds < 5400.0:
        return f"{seconds / 60.0:.0f} min"
    return f"{seconds / 3600.0:.1f} h"


@contextmanager
def shown_progress(
    *, what: str = "runs", doing: str = "playing"
) -> Iterator[Callable[[int, int], None]]:
    """Show progress while the block runs.

    Parameters
    ----------
    what
        Is counted.
    doing
        What goes on.

    Yields
    ------
    callable
        To be told how many are done, of how many.
    """
    screen = console(stderr=True)
    if not screen.is_terminal:
        done = "played" if doing == "playing" else "drawn"
        yield _plain_progress(lambda words: screen.print(words, style="slate"), f"{what} {done}")
        return
    bar = Progress(
        TextColumn(doing, markup=False),
        Waterline(),
        TextColumn("{task.completed:.0f} of {task.total:.0f} " + what, markup=False),
        TimeLeft(),
        console=screen,
    )
    with bar:
        row = bar.add_task(doing, total=None, visible=False)

        def tell(done: int, total: int) -> None:
            bar.update(row, completed=done, total=total, visible=True)

        yield tell


def _plain_progress(say: Callable[[str], None], what: str) -> Callable[[int, int], None]:
    last = time.monotonic() - _QUIET_S + _FIRST_S

    def tell(done: int, total: int) -> None:
        nonlocal last
        now = time.monotonic()
        if done == total or now - last > _QUIET_S:
            last = now
            say(f"{done} of {total} {what}")

    return tell


def compiled_before() -> bool:
    """Return whether the rules were compiled for this machine before."""
    from sim.compiler import cache_folder

    return any(cache_folder().rglob(f"{ENTRY}*.nbc"))


def say_if_compiling() -> None:
    """Say that the rules are about to be compiled, if nothing compiled is kept yet."""
    if compiler_is_off():
        words = "The compiler is off: this takes hundreds of times as long."
    elif compiled_before():
        return
    else:
        words = "Compiling the rules for this machine, once: about a minute."
    console(stderr=True).print(words, style="accent")


def compiler_is_off() -> bool:
    """Return whether the rules run uncompiled in this process."""
    from numba import config

    return bool(vars(config)["DISABLE_JIT"])
