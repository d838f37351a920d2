"""Ctrl-C ends the program within a second, also where Python cannot be interrupted.

While the rules are compiled the interruption may wait for seconds, or be swallowed by code that
ignores errors. So a thread of its own is told of the key, too, and ends the process when nothing
else has.
"""

from __future__ import annotations

import os
import signal
import socket
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

STOPPED = 130
GRACE_S = 0.8


class Stopped(Exception):  # noqa: N818  (read as a sentence: "raise Stopped")
    """It was stopped from the keyboard; the text says what was finished."""


def was_interrupted(error: BaseException) -> bool:
    """Return whether Ctrl-C stands behind an error: libraries wrap it in their own.

    Parameters
    ----------
    error
        Any error.
    """
    seen: BaseException | None = error
    while seen is not None:
        if isinstance(seen, KeyboardInterrupt):
            return True
        seen = seen.__cause__ or seen.__context__
    return False


@contextmanager
def ends_soon(say: Callable[[], None]) -> Iterator[None]:
    """End the process soon after Ctrl-C while the block runs, if the block does not end itself.

    Only for a block that writes no files.

    Parameters
    ----------
    say
        Called before the process is ended, to say what was finished.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    ours, pythons = socket.socketpair()
    pythons.setblocking(False)
    before = signal.set_wakeup_fd(pythons.fileno(), warn_on_full_buffer=False)
    left = threading.Event()

    def wait() -> None:
        while (received := ours.recv(1)) and received[0] != signal.SIGINT:
            pass
        if received and not left.wait(GRACE_S):
            say()
            leave_now()

    usual = sys.unraisablehook

    def quiet(report: sys.UnraisableHookArgs) -> None:
        if not (isinstance(report.exc_value, BaseException) and was_interrupted(report.exc_value)):
            usual(report)

    sys.unraisablehook = quiet  # swallowed in a callback of the compiler, where nobody caught it
    watcher = threading.Thread(target=wait, name="ctrl-c", daemon=True)
    watcher.start()
    try:
        yield
    finally:
        left.set()
        sys.unraisablehook = usual
        signal.set_wakeup_fd(before)
        pythons.close()  # the watcher then reads an end
        watcher.join()
        ours.close()


def leave_now() -> None:
    """End the process with the exit code of an interruption, whatever its threads do."""
    for stream in (sys.stdout, sys.stderr):
        stream.flush()
    os._exit(STOPPED)
