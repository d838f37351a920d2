"""Counting what is alive in the program changes nothing in it."""

from __future__ import annotations

import sys
import threading
import time

from tests.viz.app.browser.counted import kinds_of_all

SECONDS = 2.0


def test_counting_objects_does_not_break_what_other_threads_make() -> None:
    """A tuple that is being filled must not be held; with `gc.get_objects` in a loop it was."""
    faults: list[SystemError] = []
    over = threading.Event()

    def fill() -> None:
        while not over.is_set():
            try:
                tuple(sum(range(50)) for _ in range(2000))
            except SystemError as error:
                faults.append(error)

    before = sys.getswitchinterval()
    sys.setswitchinterval(0.0005)
    threads = [threading.Thread(target=fill) for _ in range(3)]
    try:
        for thread in threads:
            thread.start()
        ends = time.monotonic() + SECONDS
        while time.monotonic() < ends:
            assert dict in kinds_of_all()
    finally:
        over.set()
        for thread in threads:
            thread.join()
        sys.setswitchinterval(before)
    assert faults == []
