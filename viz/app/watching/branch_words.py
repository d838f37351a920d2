"""Branch words: what the futures of a moment say, with one thing changed and without."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from viz.checked import counted
from viz.gathered import number_of
from viz.phrases import hundredths, limits, more_or_less, rounded
from viz.words import SERIOUS

if TYPE_CHECKING:
    from sim.futures import BranchComparison
    from sim.pairing import Difference
    from viz.results import Number

LEAST_SAID = 10  # futures of each below which nothing is said of them
HURT = ("nothing", "torn fins", "a serious injury", "a death")
GENTLE_HURT = ("nothing", "a nip", "one to be moved out", "one to be moved out")
GENTLE_SERIOUS = "a fish that one would take out"
WAITS = "What these futures say of it is told when all are played: read early, chance speaks."
HOW_SURE = (
    "Every future begins with these very fish at this very moment and differs by luck alone. With "
    "other fish, or with what nobody has measured put otherwise, it may go otherwise: that doubt "
    "is not in these intervals. Repeat plays it."
)


@dataclass(frozen=True)
class Branched:
    """What is known of the futures so far.

    Parameters
    ----------
    done
        Futures of each.
    answer
        Better, no difference or worse, in a sentence; empty below `LEAST_SAID` futures.
    said
        The sentences after it.
    worst
        Of the moment as it is and of the changed one: in how many futures the worst that comes to
        a fish is nothing, torn fins, a serious injury, a death.
    """

    done: int
    answer: str
    said: tuple[str, ...]
    worst: tuple[tuple[int, ...], tuple[int, ...]]


def counted_so_far(comparison: BranchComparison) -> Branched:
    """Return the futures that have come in, each by its worst, and no sentences yet.

    Parameters
    ----------
    comparison
        With one future of each or more.
    """
    worst = tuple(
        tuple(int((comparison.worst(side) == level).sum()) for level in range(len(HURT)))
        for side in (0, 1)
    )
    return Branched(comparison.done, "", (), (worst[0], worst[1]))


def branched(comparison: BranchComparison, *, change: str, gentle: bool = False) -> Branched:
    """Return what the futures that have come in say.

    Parameters
    ----------
    comparison
        With one future of each or more.
    change
        What was done, as a clause: "Flint is moved out".
    gentle
        Describe no wound.
    """
    found = counted_so_far(comparison)
    if found.done < LEAST_SAID:
        return found
    said = (
        _serious(comparison, change=change, gentle=gentle),
        _hides(comparison),
        _chases(comparison),
        _counts(comparison),
        _each_fish(comparison),
        _who(comparison),
    )
    return replace(
        found,
        answer=_answer(comparison, change=change),
        said=tuple(words for words in said if words),
    )


def _answer(comparison: BranchComparison, *, change: str) -> str:
    verdict = comparison.verdicts[0]
    if verdict.word == "no difference":
        start = f"No difference is shown if {change}"
    else:
        start = f"It goes {verdict.word} for the fish if {change}"
    row = comparison.difference(verdict.decided_by or "dose")
    if row is None:
        return f"{start}."
    if row.outcome == "dose":
        return f"{start}: {_dose(row)}."
    if row.outcome == "serious":
        gap = _apart(row, "futures in 100", times=100.0, less="fewer")
        return f"{start}: a serious injury comes in {gap}."
    return f"{start}: a fish hides {_apart(row, 'hours a day')}."


def _dose(row: Difference) -> str:
    if row.ratio is not None:
        ratio = number_of(row.ratio, unit="ratio")
        if ratio.estimate is not None:
            return f"they take {rounded(ratio.estimate)} times the injury{limits(ratio)}"
    if row.a.value == row.b.value == 0.0:
        return "nobody is hurt in any future"
    return f"the injury they take is {more_or_less(row.estimate)} in all"


def _apart(row: Difference, noun: str, *, times: float = 1.0, less: str = "less") -> str:
    """A difference that is clear: "0.6 hours a day less (0.44 to 0.76)"."""
    low, high = sorted((abs(times * row.low), abs(times * row.high)))
    within = f" ({rounded(low)} to {rounded(high)})" if math.isfinite(low + high) else ""
    word = "more" if row.estimate > 0.0 else less
    return f"{rounded(abs(times * row.estimate))} {noun} {word}{within}"


def _serious(comparison: BranchComparison, *, change: str, gentle: bool) -> str:
    row = comparison.difference("serious")
    if row is None:
        return ""
    a, b = (number_of(side, unit="share of futures") for side in (row.a, row.b))
    what = GENTLE_SERIOUS if gentle else f"{SERIOUS}, or a death"
    return (
        f"As it is, {_share(a, row.a.n)} {_bring(a)} {what}; if {change}, {_share(b, row.b.n)}."
    )


def _bring(share: Number) -> str:
    return "brings" if share.estimate == 0.0 else "bring"


def _share(share: Number, futures: int) -> str:
    if share.estimate == 0.0 and share.high is not None:
        return (
            f"none of {counted(futures, 'future')} (up to {hundredths(share.high)} in 100 would "
            "not surprise)"
        )
    link = "of" if futures == 100 else "in"
    return f"{hundredths(share.estimate or 0.0)} {link} 100 futures{limits(share, share=True)}"


def _hides(comparison: BranchComparison) -> str:
    return _both(comparison, "hidden_h_per_day", "A fish hides {} hours a day as it is, {} then.")


def _chases(comparison: BranchComparison) -> str:
    return _both(comparison, "chases_per_h", "An hour brings {} chases as it is, {} then.")


def _both(comparison: BranchComparison, name: str, words: str) -> str:
    row = comparison.difference(name)
    if row is None:
        return ""
    a, b = (number_of(side, unit=row.unit) for side in (row.a, row.b))
    if a.estimate is None or b.estimate is None:
        return ""
    return words.format(*(f"{rounded(one.estimate or 0.0)}{limits(one)}" for one in (a, b)))


def _counts(comparison: BranchComparison) -> str:
    found = comparison.verdicts[0]
    return (
        f"Of {counted(comparison.done, 'pair')} of futures with the same luck to begin with, "
        f"{found.better} went better with it, {found.same} about alike, {found.worse} worse."
    )


def _each_fish(comparison: BranchComparison) -> str:
    less, more = [], []
    for row in comparison.doses():
        if row.member is None:
            continue
        if row.high < 0.0:
            less.append(row.member.name)
        elif row.low > 0.0:
            more.append(row.member.name)
    parts = [
        f"{word} injury then for {', '.join(names)}"
        for word, names in (("less", less), ("more", more))
        if names
    ]
    if not parts:
        return ""
    return f"Fish by fish, {'; '.join(parts)}. One fish in twenty would show that by chance alone."


def _who(comparison: BranchComparison) -> str:
    members = comparison.summaries[0].members
    out = [one.name for i, one in enumerate(members) if i not in comparison.staying]
    if not out:
        return ""
    return f"Counted for the fish that are in the tank either way, so without {', '.join(out)}."
