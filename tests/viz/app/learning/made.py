"""Desks for tests, and waiting for what is played behind them."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from tests.viz.commands import SMALL
from viz.app.learning.desk import Desk, desk_of
from viz.app.session import Session

LONG_S = 400.0  # where nothing is compiled yet, or others use the machine


def desk_in(folder: Path) -> Desk:
    """The desk of a page with a small tank."""
    file = folder / "small.toml"
    file.write_text(SMALL, encoding="utf-8")
    return desk_of(Session(file))


def waited(condition: Callable[[], object]) -> bool:
    """Wait for something another thread does; return whether it came."""
    until = time.monotonic() + LONG_S
    while time.monotonic() < until:
        if condition():
            return True
        time.sleep(0.01)
    return False
