"""What is asked of a sweep in the page, and the words that a page has for options of a command."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from viz.sweep_asked import PLANS

if TYPE_CHECKING:
    from viz.played import Asked
    from viz.sweep_asked import Wanted

FULL, LATIN = PLANS
PLAN_WORDS = {FULL: "every combination", LATIN: "spread evenly through the ranges"}
NARROW = "0.05"  # half the width of an interval, of the share of runs, to begin with
NARROW_RUNS = 40  # before the first look
WHAT = "what is varied"
IN_PAGE = (
    ("--vary", WHAT),
    ("--outcome", "what is told"),
    ("--points", "how many points"),
    ("--precision", "how narrow"),
    ("--most-runs", "runs of each point at most"),
)
INSTEAD = (
    ("ask for --plan latin", f'take "{PLAN_WORDS[LATIN]}"'),
    (" Say how many with --days.", ""),
    (" Say which with --seed.", ""),
    ("more --points", "more points"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepAsked:
    """What is to be varied, as it was chosen or typed.

    Parameters
    ----------
    vary
        As `--vary` takes them: ``KEY=VALUES``.
    runs
        Of each point; None to play each until its interval is narrow.
    outcomes
        To be told, names of `sim.figures.MEASURES`.
    plan, points
        As `--plan` and `--points` take them.
    precision, most_runs
        As `--precision` and `--most-runs` take them; only where `runs` is None.
    """

    vary: tuple[str, ...]
    runs: int | None
    outcomes: tuple[str, ...]
    plan: str = FULL
    points: str | None = None
    precision: str = NARROW
    most_runs: str | None = None


def read_asked(asked: SweepAsked) -> tuple[Wanted, Asked]:
    """Return what is to be varied and played, checked as the command line checks it.

    Parameters
    ----------
    asked
        As chosen or typed.

    Raises
    ------
    Refused
        With all that has no sense.
    """
    from viz.app.batches import asked_for
    from viz.sweep_asked import read_wanted

    narrow = asked.runs is None
    try:
        wanted = read_wanted(
            vary=asked.vary, plan=asked.plan, points=asked.points, outcomes=asked.outcomes,
            precision=asked.precision if narrow else None,
            most_runs=asked.most_runs if narrow else None,
            csv=None, parquet=None, figure=None, out=None,
        )  # fmt: skip
    except Refused as refusal:
        raise Refused([in_page(one) for one in refusal.problems]) from None
    played = asked_for(asked.runs or NARROW_RUNS)
    if narrow:  # as the command does: it will come to enough runs for them to be drawn
        played = replace(played, settings=replace(played.settings, vary=True))
    return wanted, played


def in_page(problem: Problem, *, hide: Sequence[str] = ()) -> Problem:
    """Return a sentence of the command line as a page says it.

    Parameters
    ----------
    problem
        Of the command line.
    hide
        Left out: the file, which is the tank that is worked on, or a folder that is made for it.
    """
    where, sentence = problem.where, problem.sentence
    for one in hide:
        where = where.replace(one, "") if one else where
        sentence = sentence.replace(one, "") if one else sentence
    for option, words in IN_PAGE:
        where = where.replace(option, words)
    return Problem(where, words_in_page(sentence))


def words_in_page(sentence: str) -> str:
    """Return a sentence of the command line with what a page has in place of its options.

    Parameters
    ----------
    sentence
        Of a problem, or of what a sweep says.
    """
    for option, words in INSTEAD:
        sentence = sentence.replace(option, words)
    return sentence
