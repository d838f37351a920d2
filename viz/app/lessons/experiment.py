"""Lesson: one tank is not an experiment. Every group has its own pair of tanks with one difference.

A group plays one run of each tank with fish of its own, as somebody would who has two tanks. Its
pair of dots may say either; the dots of a class say more, and a batch says how it really stands.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from viz.app.lessons.board import Dots

if TYPE_CHECKING:
    from pathlib import Path

    from sim.check import Checked
    from sim.statistics import Estimate
    from viz.app.batches import BatchJob

DAYS = 4.0
MEASURE = "bites_per_h"
RUNS = 40  # of the batch at the end


@dataclass(frozen=True, slots=True)
class Question:
    """What a class asks: two tanks with one difference.

    Parameters
    ----------
    key
        Its name in the program.
    words
        The question.
    first, second
        Names of the tanks.
    files
        Shipped scenarios.
    """

    key: str
    words: str
    first: str
    second: str
    files: tuple[str, str]


QUESTIONS = (
    Question(
        "longer",
        "Is the same company bitten less in six feet than in four?",
        "four feet",
        "six feet",
        ("convict-four-foot.toml", "convict-six-foot.toml"),
    ),
    Question(
        "structured",
        "Is it bitten less where more stones, plants and hiding places stand?",
        "as it is",
        "more structure",
        ("convict-four-foot.toml", "convict-structured.toml"),
    ),
    Question(
        "spread food",
        "Do ten youngsters bite each other less when they are fed in five places?",
        "one place",
        "five places",
        ("feeding-one-spot.toml", "feeding-five-spots.toml"),
    ),
)


def question_of(key: str) -> Question:
    """Return a question by its key.

    Parameters
    ----------
    key
        Its name.

    Raises
    ------
    KeyError
        If there is none.
    """
    return {one.key: one for one in QUESTIONS}[key]


@cache
def tanks_of(key: str) -> tuple[Checked, Checked]:
    """Return the two tanks of a question, over the days of the lesson.

    Parameters
    ----------
    key
        Its name.
    """
    from sim.check import check_scenario
    from viz.app.opening import open_path, shipped

    def short(name: str) -> Checked:
        scenario = open_path(shipped(name)).scenario
        return check_scenario(scenario.model_copy(update={"days": DAYS}))

    first, second = question_of(key).files
    return short(first), short(second)


def job_of(
    key: str, *, seed: int, told: Callable[[], None] = lambda: None, keep: Path | None = None
) -> BatchJob:
    """Return the batch of a question, not begun: `RUNS` runs of either tank with the same fish.

    Parameters
    ----------
    key
        Name of the question.
    seed
        Of the runs.
    told, keep
        As `BatchJob`.
    """
    from sim.comparison import Design
    from viz.app.batches import BatchJob, asked_for

    question = question_of(key)
    designs = [
        Design.of(tank.scenario, tank.layout, name=name, path=None)
        for name, tank in zip((question.first, question.second), tanks_of(key), strict=True)
    ]
    return BatchJob(designs, asked=asked_for(RUNS, seed=seed), told=told, keep=keep)


def run_of(group: int) -> int:
    """Return the number of a group's run: two runs share each draw of fish, and groups do not.

    Parameters
    ----------
    group
        From 1.
    """
    from sim.start import RUNS_PER_DRAW

    return RUNS_PER_DRAW * group


def play_group(key: str, *, group: int, seed: int) -> Dots:
    """Play a group's two tanks, once each, with the same fish.

    Parameters
    ----------
    key
        Of the question.
    group
        From 1.
    seed
        Of the class.
    """
    from sim.batch import run_one

    values = [
        float(run_one(t.scenario, t.layout, run=run_of(group), seed=seed).row[MEASURE][0])
        for t in tanks_of(key)
    ]
    return Dots(group, *values)


@dataclass(frozen=True, slots=True)
class Told:
    """What a number of pairs of dots says.

    Parameters
    ----------
    less, alike, more
        Groups whose second tank had fewer bites, about as many, and more.
    share
        Of the groups, with fewer, with its interval; None without a group.
    """

    less: int
    alike: int
    more: int
    share: Estimate | None

    @property
    def groups(self) -> int:
        """How many pairs."""
        return self.less + self.alike + self.more


def told_by(dots: Sequence[Dots]) -> Told:
    """Return what pairs of dots say together.

    Parameters
    ----------
    dots
        One pair for each group.
    """
    from sim.figures import MEASURES
    from sim.pairing import count_draws
    from sim.statistics import share_interval

    if not dots:
        return Told(0, 0, 0, None)
    first = np.array([one.first for one in dots])
    second = np.array([one.second for one in dots])
    tally = count_draws(MEASURES[MEASURE], first, second)
    share = share_interval(tally.better, n=len(dots))
    return Told(tally.better, tally.same, tally.worse, share)


def words_for(told: Told, question: Question) -> tuple[str, ...]:
    """Return what the board says, in sentences.

    Parameters
    ----------
    told
        What the dots say.
    question
        What was asked.
    """
    from viz.phrases import hundredths

    if told.share is None:
        return ("No group is done yet.",)
    n, second = told.groups, question.second
    if n == 1:
        return (
            "One pair of tanks. The next pair may say the opposite, and nothing here tells how "
            "often it would.",
        )
    said = [
        f"Of {n} groups, {told.less} had fewer bites with {second}, {told.alike} about as many, "
        f"{told.more} had more.",
        f"So of 100 pairs like these, {hundredths(told.share.low)} to "
        f"{hundredths(told.share.high)} may have fewer with {second}.",
    ]
    if told.less and told.more:
        said.append(
            "The groups do not agree, and none of them did anything wrong: their fish differ, and "
            "so does their luck."
        )
    return tuple(said)
