"""`python -m tests.viz.app.browser.failing`: `holdwater`, with a living tank that fails.

It fails while the file that ``HOLDWATER_TEST_FAULT`` names is there.
"""

from __future__ import annotations

import os
from pathlib import Path

from viz.app.live import LiveTank
from viz.cli import main

whole = LiveTank.step


def step(self: LiveTank, seconds: float) -> None:
    """Let time pass, or fail."""
    if Path(os.environ["HOLDWATER_TEST_FAULT"]).exists():
        raise RuntimeError("on purpose")
    whole(self, seconds)


if __name__ == "__main__":
    LiveTank.step = step  # type: ignore[method-assign]
    main()
