"""Living tanks for tests, stepped by hand."""

from __future__ import annotations

from functools import cache

from sim.check import Checked, check_file
from sim.hands import Played
from sim.settings import Settings
from viz.app.live import LiveTank

FOUR_FOOT = "scenarios/convict-four-foot.toml"


@cache
def checked_of(path: str = FOUR_FOOT) -> Checked:
    """A shipped tank, checked once."""
    return check_file(path)


def played_of(path: str = FOUR_FOOT, *, watch_all: bool = True, run: int = 3) -> Played:
    """A history that is always the same."""
    checked = checked_of(path)
    return Played(
        scenario=checked.scenario, layout=checked.layout, run=run, seed=5,
        settings=Settings(watch_all=watch_all),
    )  # fmt: skip


def still(
    path: str = FOUR_FOOT, *, watch_all: bool = True, at_day: float | None = None
) -> LiveTank:
    """A tank whose thread is not started."""
    return LiveTank(played_of(path, watch_all=watch_all), start=False, at_day=at_day)


def obey(live: LiveTank) -> None:
    """Do what was posted to a tank whose thread is not started."""
    while not live._commands.empty():
        command = live._commands.get()
        if command is not None:
            command()
    live._tell()
