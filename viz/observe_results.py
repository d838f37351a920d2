"""What watching tells as plain values: what the words, the page and the files all read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from viz.results import Results

if TYPE_CHECKING:
    from sim.known import Known, Narrowed
    from sim.sittings import Sitting
    from sim.watching import Watching

NOTHING = 0.97  # of the width before: a range that is left wider than this tells next to nothing
TELL_APART = 0.9  # chance above which of two fish one is called the fiercer


@dataclass(frozen=True, slots=True)
class RangeResult:
    """A range that holds nine in ten, and its middle.

    Parameters
    ----------
    low, middle, high
        In the unit of what it is of.
    """

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class NarrowedResult:
    """One unknown before and after watching.

    Parameters
    ----------
    before, now
        Nine in ten of what was likely before, and of what is likely now.
    width_before, width_now, width_hour
        How wide: high over low where `by` is "factor", else high less low. After a further hour it
        is the mean over hours that the model plays; None where none can be watched.
    by
        "factor" or "difference".
    told
        Share of its variance that counts like these tell, 0 to 1.
    """

    before: RangeResult
    now: RangeResult
    width_before: float
    width_now: float
    width_hour: float | None
    by: Literal["factor", "difference"]
    told: float


@dataclass(frozen=True, slots=True)
class CountedResult:
    """What was counted for one fish, or a group together.

    Parameters
    ----------
    who
        Its name.
    kind
        "chases_given", "chases_taken" or "minutes_hidden".
    count
        In all sittings in which it was counted.
    minutes
        Of those sittings, times the fish.
    usual
        Middle and nine in ten of what the model counts for fish of which nothing is known.
    """

    who: str
    kind: str
    count: float
    minutes: float
    usual: RangeResult


@dataclass(frozen=True, slots=True)
class KnownFishResult:
    """What is known of one fish.

    Parameters
    ----------
    name, group, species
        Its own name, that of its group, and the scientific one of its species.
    aggression
        As a multiple of its species' average; None where the scenario states it.
    boldness
        0 to 1.
    temper
        The word of the scenario file for it, if one is likely enough; else None.
    """

    name: str
    group: str
    species: str
    aggression: NarrowedResult | None
    boldness: NarrowedResult
    temper: str | None


@dataclass(frozen=True, slots=True)
class FiercerResult:
    """Of two fish of one species, how likely the first is the fiercer.

    Parameters
    ----------
    first, second
        Names.
    chance
        0 to 1.
    """

    first: str
    second: str
    chance: float


@dataclass(frozen=True, slots=True)
class AnswerResult:
    """The answer for these fish, as far as their tempers decide it.

    Parameters
    ----------
    what
        "dose", "serious" or "ratio".
    design
        Index of the tank.
    narrowed
        Before and now.
    lower_before, lower_now
        For a ratio, the chance that it is below 1; None else.
    """

    what: str
    design: int
    narrowed: NarrowedResult
    lower_before: float | None
    lower_now: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchedResults:
    """Everything `observe` has to say.

    Parameters
    ----------
    results
        The tanks with these fish.
    minutes
        For how long anybody watched.
    sittings
        When, in words.
    hour
        The further hour, in words; None where none can be watched.
    counted, fish, fiercer, answers
        See there.
    learned_from
        Runs of each tank from which it was learnt.
    """

    results: Results
    minutes: float
    sittings: tuple[str, ...]
    hour: str | None
    counted: tuple[CountedResult, ...]
    fish: tuple[KnownFishResult, ...]
    fiercer: tuple[FiercerResult, ...]
    answers: tuple[AnswerResult, ...]
    learned_from: int


def watched_results(results: Results, *, watching: Watching, known: Known) -> WatchedResults:
    """Return everything that watching tells as plain values.

    Parameters
    ----------
    results
        The tanks with these fish.
    watching, known
        What was counted, and what was learnt.
    """
    import numpy as np

    from sim.sittings import stretches_watched, when_words

    words = known.words()
    usual = np.quantile(watching.counted(), [0.05, 0.5, 0.95], axis=0)
    return WatchedResults(
        results=results,
        minutes=minutes_of(watching.sittings),
        sittings=tuple(when_words(one) for one in stretches_watched(watching.sittings)),
        hour=None if watching.hour is None else when_words(watching.hour),
        counted=tuple(
            CountedResult(
                one.who, one.kind, one.count, one.minutes,
                RangeResult(*(float(value) for value in usual[:, k])),
            )
            for k, one in enumerate(watching.columns)
        ),
        fish=tuple(
            KnownFishResult(
                name=one.member.name,
                group=one.member.group,
                species=one.member.species.key,
                aggression=None if one.aggression is None else narrowed_result(one.aggression),
                boldness=narrowed_result(one.boldness),
                temper=words.get(i),
            )
            for i, one in enumerate(known.fish)
        ),
        fiercer=tuple(
            FiercerResult(a.member.name, b.member.name, known.fiercer(i, j))
            for i, a in enumerate(known.fish)
            for j, b in enumerate(known.fish)
            if i < j
            and a.member.species.key == b.member.species.key
            and a.aggression is not None
            and b.aggression is not None
        ),
        answers=tuple(
            AnswerResult(
                one.what, one.design, narrowed_result(one.narrowed),
                *((None, None) if one.lower is None else one.lower),
            )
            for one in known.answers
        ),
        learned_from=known.learned_from,
    )  # fmt: skip


def minutes_of(sittings: tuple[Sitting, ...]) -> float:
    """Return for how long anybody watched, minutes."""
    from sim.sittings import stretches_watched

    return sum(one.minutes for one in stretches_watched(sittings))


def narrowed_result(one: Narrowed) -> NarrowedResult:
    """Return an unknown as plain values."""
    return NarrowedResult(
        before=RangeResult(one.before.low, one.before.middle, one.before.high),
        now=RangeResult(one.now.low, one.now.middle, one.now.high),
        width_before=one.width(one.before),
        width_now=one.width(one.now),
        width_hour=one.hour,
        by="factor" if one.factor else "difference",
        told=one.told,
    )
