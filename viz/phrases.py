"""Phrases: how a number, a share and its interval are said, and a sentence with its sources."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from viz.checked import counted
from viz.results import Number

LETTERS = "ABCD"


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence and where its numbers stand.

    Parameters
    ----------
    words
        The sentence.
    sources
        JSON pointers into the results file.
    """

    words: str
    sources: tuple[str, ...]


def listed(parts: Sequence[str], *, last: str = "and") -> str:
    """Return parts in a row as one says them: "A, B and C".

    Parameters
    ----------
    parts
        Words; nothing comes of none.
    last
        The word before the last of several.
    """
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {last} {parts[-1]}"


def say(start: str, words: str, *sources: str) -> Said:
    """Return a sentence on one design.

    Parameters
    ----------
    start
        The letter of the design; empty where it stands alone, and the sentence takes a capital.
    words
        The rest.
    sources
        JSON pointers to its numbers.
    """
    return Said(start + words if start else words[:1].upper() + words[1:], sources)


def more_or_less(value: float) -> str:
    """Return a difference as one says it: "1.2 less", "0.4 more".

    Parameters
    ----------
    value
        Any number.
    """
    if value == 0.0:
        return "no more"
    return f"{rounded(abs(value))} {'more' if value > 0.0 else 'less'}"


def share_words(share: Number, *, runs: int) -> str:
    """Return a share of runs as one says it: "12 of 100 runs (7 to 20)".

    Parameters
    ----------
    share
        0 to 1.
    runs
        Runs it was counted in.
    """
    if share.estimate is None:
        return "an unknown number of runs"
    if share.estimate == 0.0 and share.high is not None:
        still = hundredths(share.high)
        return f"none of {counted(runs, 'run')} (up to {still} in 100 would not surprise)"
    link = "of" if runs == 100 else "in"
    return f"{hundredths(share.estimate)} {link} 100 runs{limits(share, share=True)}"


def amount_words(number: Number, *, noun: str) -> str:
    """Return an amount with its interval: "6.3 hours a day (5.4 to 7.3)".

    Parameters
    ----------
    number
        In any unit.
    noun
        The unit as one says it.
    """
    if number.estimate is None:
        return f"an unknown number of {noun}"
    return f"{rounded(number.estimate)} {noun}{limits(number)}"


def hundredths(share: float) -> str:
    """Return a share in whole hundredths, and what is seen but rare as "under 1".

    Parameters
    ----------
    share
        0 to 1.
    """
    return "under 1" if 0.0 < share < 0.005 else f"{100.0 * share:.0f}"


def rounded(value: float) -> str:
    """Return a number with two figures that count, and no more decimals than that.

    Parameters
    ----------
    value
        At or above zero.
    """
    if value >= 9.95 or value == 0.0:
        return f"{value:.0f}"
    if value >= 0.995:
        return f"{value:.1f}".removesuffix(".0")
    return f"{value:.2g}" if value >= 0.01 else "under 0.01"


def limits(number: Number, *, share: bool = False) -> str:
    """Return an interval in brackets, with a space before it; nothing where there is none.

    Parameters
    ----------
    number
        In any unit.
    share
        Whether it is a share, 0 to 1, and said in whole hundredths.
    """
    if number.low is None or number.high is None:
        return ""
    if share:
        return f" ({100.0 * number.low:.0f} to {100.0 * number.high:.0f})"
    return f" ({rounded(number.low)} to {rounded(number.high)})"
