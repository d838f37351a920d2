"""Seeing and counting: the pad, and the reveal against what was counted in the run."""

from __future__ import annotations

import numpy as np
import pytest

from sim.engine import History
from sim.observed import ACTS, act_rows
from viz.app.lessons.counting import (
    KINDS,
    Counted,
    Pad,
    Reveal,
    days_words,
    other_days,
    reveal,
    sitting_tank,
)


def test_a_pad_counts_what_is_marked_and_takes_back() -> None:
    pad = Pad().mark("chases").mark("contests").mark("chases")
    assert pad.counts == {"chases": 2, "contests": 1}
    assert pad.undo().counts["chases"] == 1
    assert Pad().undo() == Pad()
    with pytest.raises(KeyError):
        pad.mark("barks")


def test_the_reveal_is_what_the_run_counted() -> None:
    tank = sitting_tank(5)
    history = History(tank.scenario, tank.layout, run=0, seed=1)
    history.advance(until_day=(10.0 + 6.0 / 60.0) / 24.0)
    outcome = history.outcome()
    rows = act_rows(outcome)
    rows = rows[rows["sitting"] == 0]
    shown = reveal(Pad(("chases",) * 3), outcome.seen[0])
    assert {row.kind: row.there for row in shown.rows} == {
        kind: int(rows[kind].sum()) for kind in KINDS
    }
    assert shown.acts == tuple(int(rows[kind].sum()) for kind in ACTS)
    assert shown.chases == sum(shown.chased) > 0
    names = [f"fish {number}" for number in range(12)]
    most, least = int(np.argmax(shown.chased)), int(np.argmin(shown.chased))
    said = " ".join(shown.sentences(names, guess=most))
    assert f"You marked 3, {abs(shown.chases - 3)} too few." in said
    assert "You thought so too" in said
    said = " ".join(shown.sentences(names, guess=least))
    assert f"You thought it was fish {least}, who chased {shown.chased[least]}." in said
    assert f"would have counted {sum(shown.acts)} acts" in said


def test_an_empty_sitting_has_nobody_who_chased_most() -> None:
    shown = Reveal(tuple(Counted(kind, 0, 0) for kind in KINDS), (0, 0), (0, 0, 0, 0))
    said = shown.sentences(("A", "B"), guess=0)
    assert said[0] == "Chases: 0, and you marked as many."
    assert len(said) == 3


@pytest.mark.parametrize(
    ("marked", "there", "words"),
    [
        (3, 3, "Chases: 3, and you marked as many."),
        (1, 4, "Chases: 4. You marked 1, 3 too few."),
        (5, 4, "Chases: 4. You marked 5, 1 too many."),
    ],
)
def test_a_kind_in_a_sentence(marked: int, there: int, words: str) -> None:
    assert Counted("chases", marked, there).words == words


def test_sittings_on_other_days_differ() -> None:
    chases = other_days(5, run=0, seed=1)
    assert len(chases) == 5
    assert len(set(chases)) > 1
    assert days_words((3, 4, 9), minutes=2).startswith(
        "The same fish, 2 minutes at the same hour on 3 days: 3, 4 and 9 chases."
    )


def test_only_the_offered_lengths() -> None:
    with pytest.raises(KeyError):
        sitting_tank(7)
