"""The reasons of an answer as plain values: what the words, the page, the report and JSON read."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from viz.gathered import difference_result, number_of
from viz.phrases import LETTERS
from viz.results import DifferenceResult, Number, Results

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sim.batch import Batch
    from sim.by_day import Course
    from sim.reasons import Part
    from sim.summary import Summary
    from sim.taken_away import NotPlayed

OF_INJURY = "share of injury"


@dataclass(frozen=True, slots=True)
class CourseResult:
    """A number day by day.

    Parameters
    ----------
    days
        Whole days: the end of each, or counted from 0, or from the spawning.
    numbers
        One for each.
    """

    days: tuple[int, ...]
    numbers: tuple[Number, ...]


@dataclass(frozen=True, slots=True)
class TakenResult:
    """What taking one thing away changes, for the same fish.

    Parameters
    ----------
    key
        "brood", "occlusion", "individuality" or another mechanism that was switched off;
        "fish of A": the fish of that tank in this one.
    differences
        The tank without it less the tank as it is; `first` and `second` are both this tank.
    """

    key: str
    differences: tuple[DifferenceResult, ...]


@dataclass(frozen=True, slots=True)
class NotPlayedResult:
    """What was not taken away, and why.

    Parameters
    ----------
    key
        As `TakenResult`.
    why
        In words.
    """

    key: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reasons:
    """Why the fish of one tank are hurt.

    Parameters
    ----------
    ways, grounds, stages, covers
        Share of the injury by how it was taken, whose territory it was taken in as the bitten
        fish sees it, the brood stage, and the way to a hiding place that the bitten fish fits;
        empty where nobody was hurt.
    grounds_by_stage
        For each brood stage in which anybody was hurt, the share of its injury by whose ground.
    holders
        Share of the injury by the fish in whose territory it was taken, the greatest first; ""
        is open ground.
    floor_by_cover
        Share of the open floor that lies so far from a hiding place, for the fish that are hurt.
    ends
        Share of the chases that ended in each way.
    ends_by_stage
        How many chases ended in each way at each brood stage.
    open_by_day, open_by_stage
        Share of the floor that nobody holds, by day and by brood stage.
    fish_share
        Share of the spread in injury between runs that comes from which fish one gets, the
        unmeasured numbers held.
    tempers
        Share of that spread that their tempers alone explain; None where it was not played. Both
        are None with fewer than 80 runs.
    taken, not_played
        Counterfactuals that were played, and those that were not.
    """

    ways: dict[str, Number]
    grounds: dict[str, Number]
    stages: dict[str, Number]
    covers: dict[str, Number]
    grounds_by_stage: dict[str, dict[str, Number]]
    holders: dict[str, Number]
    floor_by_cover: dict[str, float]
    ends: dict[str, Number]
    ends_by_stage: dict[str, dict[str, int]]
    open_by_day: CourseResult
    open_by_stage: dict[str, Number]
    fish_share: Number | None
    tempers: Number | None
    taken: tuple[TakenResult, ...]
    not_played: tuple[NotPlayedResult, ...]


@dataclass(frozen=True, slots=True)
class WhyResults:
    """An answer with its reasons.

    Parameters
    ----------
    results
        The answer.
    reasons
        Of each tank, in the order of `results.designs`.
    """

    results: Results
    reasons: tuple[Reasons, ...]


def reasons_of(
    summary: Summary,
    *,
    number: int = 0,
    tempers: Number | None = None,
    taken: Sequence[TakenResult] = (),
    not_played: Sequence[NotPlayed] = (),
) -> Reasons:
    """Return why the fish of one tank are hurt as plain values.

    Parameters
    ----------
    summary
        Of a batch that kept its days.
    number
        Of the tank.
    tempers, taken, not_played
        What was played besides.
    """
    from sim.by_day import open_by_stage, open_ground
    from sim.reasons import (
        ends_by_stage,
        floor_by_cover,
        ground_by_stage,
        holder_parts,
        injury_parts,
    )
    from sim.taken_away import fish_share

    fish = fish_share(summary)
    return Reasons(
        **{f"{by}s": shares_of(injury_parts(summary, by)) for by in _BY},
        grounds_by_stage={
            stage: shares_of(parts) for stage, parts in ground_by_stage(summary).items()
        },
        holders=shares_of(holder_parts(summary)),
        floor_by_cover=floor_by_cover(summary),
        ends={
            words: number_of(share, unit="share of chases") for words, share in summary.ends.items()
        },
        ends_by_stage=ends_by_stage(summary.batch),
        open_by_day=course_of(open_ground(summary), unit="share of floor"),
        open_by_stage={
            stage: number_of(share, unit="share of floor")
            for stage, share in open_by_stage(summary).items()
        },
        fish_share=None if fish is None else number_of(fish, unit="share of variance"),
        tempers=tempers,
        taken=tuple(taken),
        not_played=not_played_results(not_played),
    )


def taken_result(
    key: str, batch: Batch, *, summaries: Sequence[Summary], number: int
) -> TakenResult:
    """Return what taking one thing away changes for the same fish.

    Parameters
    ----------
    key
        As in `TakenResult`.
    batch
        Its runs.
    summaries
        Of all tanks as they are.
    number
        Of the tank it was taken away from.
    """
    from sim.summary import Summary
    from sim.taken_away import change_of

    base = summaries[number]
    whose = summaries[LETTERS.index(key[-1])] if key.startswith("fish of ") else base
    change = change_of(key, whose, Summary(batch, level=base.level))
    return TakenResult(
        key, tuple(_of_tank(difference_result(row), number) for row in change.differences)
    )


def temper_result(partner: Batch, *, base: Summary) -> Number | None:
    """Return the share of the spread that tempers explain; None where too few runs tell it.

    Parameters
    ----------
    partner
        Runs with the same tempers and all else anew.
    base
        Of the tank as it is.
    """
    from sim.taken_away import temper_share

    share = temper_share(base, partner.runs.column("dose"))
    return None if share is None else number_of(share, unit="share of variance")


def not_played_results(not_played: Sequence[NotPlayed]) -> tuple[NotPlayedResult, ...]:
    """Return what was not taken away, and why, as plain values."""
    return tuple(NotPlayedResult(one.key, one.why) for one in not_played)


_BY = ("way", "ground", "stage", "cover")


def _of_tank(row: DifferenceResult, number: int) -> DifferenceResult:
    return replace(row, first=number, second=number)


def shares_of(parts: Sequence[Part]) -> dict[str, Number]:
    """Return parts of the injury by name."""
    return {part.name: number_of(part.share, unit=OF_INJURY) for part in parts}


def course_of(course: Course, *, unit: str) -> CourseResult:
    """Return a number day by day as plain values.

    Parameters
    ----------
    course
        Of `sim.by_day`.
    unit
        Of the numbers.
    """
    return CourseResult(
        course.days, tuple(number_of(estimate, unit=unit) for estimate in course.numbers)
    )

