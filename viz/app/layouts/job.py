"""LayoutJob: what `holdwater improve` searches and judges, behind a page."""

from __future__ import annotations

import shlex
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from viz.app.behind import Behind, Standing
from viz.app.kept_runs import opened
from viz.app.repeating.pool import Pool, shared_pool

if TYPE_CHECKING:
    from pathlib import Path

    from sim.better.improve import Improved
    from sim.better.search import Stage
    from sim.scenario import Scenario
    from viz.app.open_tank import OpenTank

BUDGETS = (200, 1000, 4000)
FRESH = (100, 400)
MAY_MOVE = "what may move"


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutAsked:
    """What may move, and how long to search.

    Parameters
    ----------
    move
        As `--move` takes it; empty for all that is loose.
    budget
        Runs of the search.
    fresh
        Runs of each of the two layouts, by which the best is judged.
    """

    move: tuple[str, ...]
    budget: int
    fresh: int


@dataclass(frozen=True, eq=False, kw_only=True)
class LayoutNow(Standing):
    """How a search stands.

    Parameters
    ----------
    part, number
        Of the search, as `sim.better.search.Stage`; empty before it begins.
    layouts
        That have been played.
    done, most
        Runs finished, and how many there will be at most.
    found
        What came of it, once it is judged.
    cut_short
        Whether the search was ended before its runs were played.
    unkept
        Why runs are not kept.
    """

    part: str = ""
    number: int = 0
    layouts: int = 0
    done: int = 0
    most: int = 0
    found: Improved | None = None
    cut_short: bool = False
    unkept: tuple[Problem, ...] = ()


class LayoutJob(Behind[LayoutNow]):
    """A search for a better layout of one tank.

    Parameters
    ----------
    tank
        Open, and can be played.
    asked
        What may move, and how long to search.
    told, keep, pool
        As `viz.app.batches.BatchJob`.

    Raises
    ------
    Refused
        If nothing may move, or what is named cannot.
    """

    def __init__(
        self,
        tank: OpenTank,
        asked: LayoutAsked,
        *,
        told: Callable[[], None] = lambda: None,
        keep: Path | None = None,
        pool: Pool | None = None,
    ) -> None:
        from sim.better.moving import moving_of
        from viz.app.batches import asked_for, designs_of_tanks

        super().__init__(LayoutNow(most=asked.budget + 2 * asked.fresh), called="search", told=told)
        self.tank, self.wanted = tank, asked
        (self.design,) = designs_of_tanks([tank])
        try:
            self.moving = moving_of(self.design.scenario, self.design.layout, asked.move)
        except Refused as refusal:
            raise Refused([in_page(one) for one in refusal.problems]) from None
        self.asked = asked_for(asked.fresh)
        self.keep, self._pool = keep, pool or shared_pool()
        self._enough = threading.Event()

    def enough(self) -> None:
        """Search no further, and judge the best that was found so far."""
        self._enough.set()

    def work(self, stop: threading.Event) -> None:
        """Search, and judge what was found."""
        from sim.batch import seed_of
        from sim.better.improve import improve
        from sim.better.race import OutOfRuns

        def told(stage: Stage) -> None:
            self.check(stop)
            same = (stage.part, stage.number) == (self.now.part, self.now.number)
            self.say(soon=not same, part=stage.part, number=stage.number, layouts=stage.candidates)

        def progress(done: int, most: int) -> None:
            self.check(stop)
            self.say(soon=False, done=done, most=most)

        def over() -> bool:
            self.check(stop)
            if self._enough.is_set():
                self.say(cut_short=True)
            return self._enough.is_set()

        try:
            with opened(self.keep, trouble=self._trouble) as store:
                found = improve(
                    self.design, self.moving, budget=self.wanted.budget, runs=self.wanted.fresh,
                    seed=seed_of(self.design.scenario, seed=None), settings=self.asked.settings,
                    changes=self.asked.changes, over=over, progress=progress, told=told,
                    workers=lambda jobs: self._pool.play(jobs, stop=stop), keep=store,
                    trouble=self._trouble,
                )  # fmt: skip
        except OutOfRuns:
            raise Refused(
                Problem("the search", "it was ended before its first race was run. Begin again.")
            ) from None
        self.say(found=found)

    def _trouble(self, refusal: Refused) -> None:
        new = tuple(problem for problem in refusal.problems if problem not in self.now.unkept)
        self.say(unkept=self.now.unkept + new)

    def layout_of(self) -> Scenario:
        """Return the tank in the layout that was found, called so."""
        from viz.improve_command import in_layout

        assert self.now.found is not None
        own = self.design.scenario
        return in_layout(own, self.now.found, name=own.title or self.tank.name)

    def into(self, scenario: Scenario) -> Scenario:
        """Return a tank with its pieces and feeding spots moved as was found.

        Parameters
        ----------
        scenario
            The tank as it is now.

        Raises
        ------
        Refused
            If its pieces, feeding or footprint are not those of the search any more.
        """
        assert self.now.found is not None
        own = self.design.scenario
        if (scenario.pieces, scenario.feeding, scenario.tank) != (
            own.pieces, own.feeding, own.tank,
        ):  # fmt: skip
            raise Refused(
                Problem(
                    "the tank",
                    "its pieces, its meals or its glass were changed since the search; expected "
                    "those of the search. Open the layout beside it.",
                )
            )
        moved = self.now.found.tank.scenario
        return scenario.model_copy(update={"pieces": moved.pieces, "feeding": moved.feeding})


def in_page(problem: Problem) -> Problem:
    """Return a sentence of the command line as a page says it.

    Parameters
    ----------
    problem
        Of the command line.
    """
    return Problem(problem.where.replace("--move", MAY_MOVE), problem.sentence)


def doing_words(now: LayoutNow) -> str:
    """Return how a search stands, in words: which part, how many layouts.

    Parameters
    ----------
    now
        How it stands.
    """
    from sim.better.search import EVERYWHERE, JUDGED, LAST, ROUND
    from viz.checked import counted

    runs = f"{now.done} of at most {now.most} runs."
    so_far = f"{counted(now.layouts, 'layout')} so far."
    words = {
        "": "The floor is measured for what can be built.",
        EVERYWHERE: "First race: layouts from anywhere on the floor, a few runs each, the better "
        "ones more.",
        ROUND: f"Round {now.number} about the best of them. {so_far}",
        LAST: f"Last race: the best of all run against the layout there is. {so_far}",
        JUDGED: f"The best of {counted(now.layouts, 'layout')} is judged: fresh runs of it and of "
        "the layout there is.",
    }[now.part]
    if now.cancelled:
        return f"Given up after {now.done} runs; no layout was judged."
    return f"{words} {runs}" if now.part else words


def command_words(job: LayoutJob) -> str:
    """Return how to get the same from the command line, or what hinders it.

    Parameters
    ----------
    job
        A search that is done.
    """
    if job.design.path is None:
        return (
            "Save this tank and search again: then the command line comes to the very same layout."
        )
    if job.now.cut_short:
        return "The search was cut short, which the command line cannot repeat."
    parts = [shlex.quote(str(job.design.path))]
    parts += [f"--move {shlex.quote(word)}" for word in job.wanted.move]
    parts.append(f"--budget {job.wanted.budget} --runs {job.wanted.fresh}")
    return f"The same from the command line: holdwater improve {' '.join(parts)}"
