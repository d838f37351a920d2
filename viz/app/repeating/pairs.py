"""Pairs: the same fish in two tanks, for the figure that joins them by lines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from sim.comparison import Comparison

Word = Literal["better", "alike", "worse"]
WORDS: dict[int, Word] = {-1: "better", 0: "alike", 1: "worse"}


@dataclass(frozen=True, slots=True)
class Pair:
    """One draw of fish in two tanks.

    Parameters
    ----------
    draw
        Its number.
    first, second
        Dose of injury a run in the reference and in the other tank, put to one scale of harm where
        the harm of a bite was drawn.
    word
        Whether these fish did better, alike or worse in the other tank, by the criteria of the
        verdict.
    """

    draw: int
    first: float
    second: float
    word: Word


def pairs_of(comparison: Comparison, other: int) -> tuple[Pair, ...]:
    """Return the pairs of a tank and the reference, in the order of their draws.

    Parameters
    ----------
    comparison
        With one run done or more.
    other
        Number of the tank, 1 or more. The words, counted, are the counts of its verdict.
    """
    judged = comparison.judged(other)
    return tuple(
        Pair(int(draw), float(x), float(y), WORDS[int(word)])
        for draw, x, y, word in zip(judged.draws, *judged.means, judged.words, strict=True)
    )
