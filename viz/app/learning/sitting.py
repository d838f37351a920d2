"""Sitting down with a pad: a tank that is watched for some minutes, and then the reveal."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING, Any

from sim.settings import Settings
from viz.app.lessons.counting import AT_H, Pad, Reveal, other_days, reveal, sitting_tank
from viz.app.open_tank import ShownRun

if TYPE_CHECKING:
    from viz.app.learning.desk import Desk

TITLE = "Twelve youngsters to count"
SEED = 1
MOST_RUN = 10_000


class SittingDown:
    """Some minutes in front of one tank.

    Parameters
    ----------
    desk
        Where it lies.
    minutes
        How long.
    run
        Which run is watched; any where None.

    Attributes
    ----------
    pad
        What was marked.
    over
        Whether the time is up.
    guess
        Row of the fish that is thought to have chased most, or None.
    shown
        What there was; None before it is asked for.
    days
        Chases at the same hour on five days, once they were asked for.
    """

    def __init__(self, desk: Desk, *, minutes: int, run: int | None = None) -> None:
        self.desk = desk
        self.minutes = minutes
        self.run = secrets.randbelow(MOST_RUN) if run is None else run
        self.pad = Pad()
        self.over = False
        self.guess: int | None = None
        self.shown: Reveal | None = None
        self.days: tuple[int, ...] = ()
        self.counting = False
        self._seen: Any = None

    @property
    def end_day(self) -> float:
        """When it is over, in days since midnight of day 0."""
        return (AT_H + self.minutes / 60.0) / 24.0

    def left_s(self, day: float) -> float:
        """Return the seconds that are left of it.

        Parameters
        ----------
        day
            That it has come to.
        """
        return max(86400.0 * (self.end_day - day), 0.0)

    def sit_down(self) -> bool:
        """Open the tank and let it begin; return whether there was room for it."""
        tank = sitting_tank(self.minutes)
        index = self.desk.place_tank(tank.scenario, title=TITLE)
        if index is None:
            return False
        opened = self.desk.session.tanks[index].scenario
        if opened.model_copy(update={"title": tank.scenario.title}) != tank.scenario:
            self.desk.session.replace_tank(
                index, tank.scenario.model_copy(update={"title": opened.title})
            )
        self.desk.show_here(
            ShownRun(
                tank=index,
                run=self.run,
                at_day=AT_H / 24.0,
                seed=SEED,
                settings=Settings(watch_all=True),
            )
        )
        return True

    def mark(self, kind: str) -> None:
        """Mark one more; nothing after the time is up.

        Parameters
        ----------
        kind
            One of `viz.app.lessons.counting.KINDS`.
        """
        if not self.over:
            self.pad = self.pad.mark(kind)
            self.desk.tell()

    def undo(self) -> None:
        """Take the last mark back."""
        self.pad = self.pad.undo()
        self.desk.tell()

    def finish(self) -> None:
        """Let the time be up: the tank stands still, and what it has counted is taken."""
        live = self.desk.session.live
        if self.over or live is None:
            return
        self.over = True
        live.pause()

        def take(_played: object, state: Any, _day: float) -> None:
            self._seen = state.seen[0].copy()
            self.desk.tell()

        live.branch(take)
        self.desk.tell()

    @property
    def taken(self) -> bool:
        """Whether what the tank has counted is at hand."""
        return self._seen is not None

    def suppose(self, fish: int) -> None:
        """Say which fish is thought to have chased most.

        Parameters
        ----------
        fish
            Its row.
        """
        self.guess = fish
        self.desk.tell()

    def show(self) -> None:
        """Show what there was."""
        if self.taken:
            self.shown = reveal(self.pad, self._seen)
            self.desk.tell()

    def count_other_days(self) -> None:
        """Play the same run at the same hour of five days, on a thread of its own."""
        if self.counting or self.days:
            return
        self.counting = True

        def work() -> None:
            self.days = other_days(self.minutes, run=self.run, seed=SEED)
            self.counting = False

        self.desk.behind(work)
        self.desk.tell()
