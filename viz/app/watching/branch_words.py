"""Branch words: what the futures of a moment say, with one thing changed and without."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from viz.checked import counted
from viz.gathered import number_of
from viz.phrases import hundredths, limits, more_or_less, rounded
from viz.words import SERIOUS

if TYPE_CHECKING:
    from sim.futures import BranchComparison
    from sim.pairing import Difference
    from sim.statistics import Estimate
    from viz.results import Number

LEAST_SAID = 10  # futures of each below which nothing is said of them
HURT = ("nothing", "torn fins", "a serious injury", "a death")
GENTLE_HURT = ("nothing", "a nip", "one to be moved out", "one to be moved out")
GENTLE_SERIOUS = "a fish that one would take out"
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
    worst = tuple(
        tuple(int((comparison.worst(side) == level).sum()) for level in range(len(HURT)))
        for side in (0, 1)
    )
    done = comparison.done
    if done < LEAST_SAID:
        return Branched(done, "", (), (worst[0], worst[1]))
    rows = {row.outcome: row for row in comparison.differences}
    said = (
        _serious(rows["serious"], change=change, gentle=gentle),
        _amounts(rows),
        _counts(comparison),
        _each_fish(comparison),
        _who(comparison),
    )
    return Branched(
        done,
        _answer(comparison, rows["dose"], change=change),
        tuple(words for words in said if words),
        (worst[0], worst[1]),
    )


def _answer(comparison: BranchComparison, dose: Difference, *, change: str) -> str:
    verdict = comparison.verdicts[0]
    if verdict.word == "no difference":
        start = f"No difference is shown if {change}"
    else:
        start = f"It goes {verdict.word} for the fish if {change}"
    by = verdict.decided_by or "dose"
    if by == "dose" and dose.ratio is not None:
        ratio = number_of(dose.ratio, unit="ratio")
        if ratio.estimate is not None:
            return f"{start}: they take {rounded(ratio.estimate)} times the injury{limits(ratio)}."
    if by == "dose" and dose.a.value == dose.b.value == 0.0:
        return f"{start}: nobody is hurt in any future."
    rows = {row.outcome: row for row in comparison.differences}
    row, factor, what = {
        "serious": (rows["serious"], 100.0, "futures in 100 with a serious injury"),
        "hidden_h_per_day": (rows["hidden_h_per_day"], 1.0, "hours a day in hiding"),
    }.get(by, (dose, 1.0, "injury"))
    interval = number_of(
        _scaled(row, factor), unit=row.unit if factor == 1.0 else "futures in 100"
    )
    words = more_or_less(factor * row.estimate)
    if interval.low is not None and interval.high is not None:
        words += f" (from {more_or_less(interval.low)} to {more_or_less(interval.high)})"
    return f"{start}: {words}, {what}."


def _scaled(row: Difference, factor: float) -> Estimate:
    from sim.statistics import Estimate

    return Estimate(
        factor * row.estimate, factor * row.low, factor * row.high, row.a.n, row.method
    )


def _serious(row: Difference, *, change: str, gentle: bool) -> str:
    what = GENTLE_SERIOUS if gentle else SERIOUS
    a, b = (number_of(side, unit="share of futures") for side in (row.a, row.b))
    return (
        f"As it is, {_share(a, row.a.n)} {_bring(a)} {what}, or a death; if {change}, "
        f"{_share(b, row.b.n)}."
        if not gentle
        else f"As it is, {_share(a, row.a.n)} {_bring(a)} {what}; if {change}, "
        f"{_share(b, row.b.n)}."
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


def _amounts(rows: dict[str, Difference]) -> str:
    parts = []
    for name, noun in (("chases_per_h", "chases an hour"), ("hidden_h_per_day", "hours hidden")):
        row = rows[name]
        a, b = (number_of(side, unit=row.unit) for side in (row.a, row.b))
        if a.estimate is not None and b.estimate is not None:
            parts.append(
                f"{rounded(a.estimate)}{limits(a)} {noun}, then {rounded(b.estimate)}{limits(b)}"
            )
    if not parts:
        return ""
    return f"{'; '.join(parts)}, a day and a fish."


def _counts(comparison: BranchComparison) -> str:
    found = comparison.verdicts[0]
    return (
        f"Of {counted(comparison.done, 'pair')} of futures with the same luck to begin with, "
        f"{found.better} went better with it, {found.same} about alike, {found.worse} worse."
    )


def _each_fish(comparison: BranchComparison) -> str:
    less, more = [], []
    for row in comparison.fish_differences:
        if row.outcome != "dose" or row.member is None:
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
