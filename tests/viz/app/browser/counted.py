"""`holdwater app` that says what is alive in it when it is asked; no part of the program.

``python -m tests.viz.app.browser.counted ...`` takes the arguments of `holdwater app`. Sent SIGUSR1
it writes a line: what objects of a page there are, which threads, and how much memory it takes. It
also writes a line whenever it turns to another machine.
"""

from __future__ import annotations

import gc
import json
import os
import re
import signal
import sys
import threading
from collections import Counter
from itertools import chain, starmap
from pathlib import Path
from typing import Any

SIGN = "ALIVE "
OUTSIDE = "OUTSIDE "
OWN = (None, "", "127.0.0.1", "localhost", "::1", b"127.0.0.1")
# What a page makes, by module and name; nothing is imported for being counted.
KINDS = {
    "viz.app.session": ("Session",),
    "viz.app.live": ("LiveTank",),
    "viz.app.batches": ("BatchJob",),
    "viz.app.building.bench": ("Bench",),
    "viz.app.editing.odds": ("OddsJob",),
    "viz.app.floor.widget": ("FloorWidget", "Listener"),
    "viz.app.watching.branching": ("Branching",),
    "sim.engine": ("History",),
    "sim.kept_store": ("Store",),
    "solara.server.kernel_context": ("VirtualKernelContext",),
}


def alive() -> dict[str, Any]:
    """Return counts of objects and threads by name, and the memory taken (MB)."""
    gc.collect()
    kinds = {
        getattr(sys.modules[module], name): name
        for module, names in KINDS.items()
        if module in sys.modules
        for name in names
        if hasattr(sys.modules[module], name)
    }
    objects = Counter(dict.fromkeys(kinds.values(), 0))
    every = kinds_of_all()
    for one in every:
        # A widget is of a class that was made of its own; both are counted by their forebear.
        for kind in one.__mro__:
            if kind in kinds:
                objects[kinds[kind]] += 1
    threads = Counter(re.sub(r"[-_ ]?\d+.*$", "", one.name) for one in threading.enumerate())
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return {
        "objects": dict(objects),
        "threads": dict(threads),
        "all": len(every),
        "memory_mb": pages * os.sysconf("SC_PAGESIZE") / 1e6,
    }


def kinds_of_all() -> list[type]:
    """Return the class of every object there is, in one call in which no other thread gets a turn.

    `gc.get_objects` also gives tuples that another thread is still filling. Had that thread a turn
    while they are held here, its `tuple(...)` would end with a SystemError.
    """
    # What a collection takes away may run code of Python, and so give others a turn.
    was_on = gc.isenabled()
    gc.disable()
    try:
        return list(map(type, chain.from_iterable(starmap(gc.get_objects, [()]))))
    finally:
        if was_on:
            gc.enable()


def say(*_: object) -> None:
    """Write the line."""
    print(SIGN + json.dumps(alive()), file=sys.stderr, flush=True)


def watch_the_network(event: str, arguments: tuple[Any, ...]) -> None:
    """Write a line where a name is looked up, or another machine is called."""
    if event == "socket.getaddrinfo":
        where = arguments[0]
    elif event in ("socket.connect", "socket.sendto") and isinstance(arguments[1], tuple):
        where = arguments[1][0]
    else:
        return
    if where not in OWN:
        print(f"{OUTSIDE}{event} {where}", file=sys.stderr, flush=True)


if __name__ == "__main__":
    from viz.cli import outcome

    sys.addaudithook(watch_the_network)
    signal.signal(signal.SIGUSR1, say)
    raise SystemExit(outcome(["app", *sys.argv[1:]]))
