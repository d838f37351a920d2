"""The story of the parents on one page: which step is read, and what was measured for it."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from viz.app.lessons.parents import (
    STEPS,
    Compared,
    Step,
    Story,
    both_tanks,
    compared,
    lesson_tank,
    play_story,
)
from viz.app.open_tank import ShownRun

if TYPE_CHECKING:
    from viz.app.batches import BatchJob
    from viz.app.learning.desk import Desk

TITLE = "Why parents turn on neighbours"
RUN, SEED = 0, 1
BEFORE_D = 2.0 / 1440.0  # the floor begins so long before an attack that is told


class StoryTold:
    """The lesson, read step by step.

    Parameters
    ----------
    desk
        Where it lies.

    Attributes
    ----------
    number
        Which step, from 0.
    story
        What was measured in the run; None before it is played.
    job
        The tanks with and without the brood, once they are played.
    """

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.number = 0
        self.story: Story | None = None
        self.job: BatchJob | None = None
        self._compared: Compared | None = None
        self._lock = threading.Lock()

        def play() -> None:
            self.story = play_story(run=RUN, seed=SEED)
            if desk.open == "parents":
                self.watch()

        desk.behind(play)

    @property
    def step(self) -> Step:
        """The step that is read."""
        return STEPS[self.number]

    def go(self, number: int) -> None:
        """Turn to a step; the floor shows its moment where it has one.

        Parameters
        ----------
        number
            From 0.
        """
        if 0 <= number < len(STEPS):
            self.number = number
            self.watch()
            self.desk.tell()

    @property
    def measured(self) -> tuple[str, ...]:
        """What was measured for the step, in sentences; empty where there is nothing yet."""
        if self.story is None:
            return ()
        if self.step.key in self.story.stages:
            return (self.story.stages[self.step.key].words,)
        if self.step.key == "why":
            return (f"{self.story.attack}.", f"{self.story.reasons}.") if self.story.attack else ()
        if self.step.key == "without" and self.compared is not None:
            return self.compared.words
        return ()

    @property
    def at_day(self) -> float | None:
        """The moment of the step, in days since midnight of day 0; None where it has none."""
        if self.story is None:
            return None
        if self.step.key in self.story.stages:
            return self.story.stages[self.step.key].day
        if self.step.key == "why" and self.story.attack_day is not None:
            return self.story.attack_day - BEFORE_D
        return None

    def watch(self) -> None:
        """Have the floor play the run from the moment of the step on."""
        day = self.at_day
        if day is None:
            return
        index = self.desk.place_tank(lesson_tank().scenario, title=TITLE)
        if index is not None:
            self.desk.show_here(ShownRun(tank=index, run=RUN, at_day=day, seed=SEED))

    @property
    def compared(self) -> Compared | None:
        """What the two tanks say; None before both are played."""
        with self._lock:
            job = self.job
            if self._compared is None and job is not None and job.now.over and job.now.done:
                self._compared = compared(*job.batches)
            return self._compared

    def play_both(self) -> None:
        """Play the tank with and without the brood, with the same fish."""
        if self.job is not None:
            return
        self.job = both_tanks(seed=SEED, told=self.desk.tell, keep=self.desk.session.keep)
        self.job.start()
        self.desk.tell()

    def close(self) -> None:
        """Stop what is played."""
        if self.job is not None:
            self.job.close()
