"""Work behind a page: a fault is said in a sentence, it is stopped and gone on with, and closed."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import Any

import pytest

from sim.errors import Problem, Refused
from viz.app.behind import Behind, Standing


@dataclass(frozen=True, eq=False, kw_only=True)
class Count(Standing):
    """How far somebody has counted."""

    done: int = 0


class Counting(Behind[Count]):
    """Counts until it is told to stop, or to ten."""

    def __init__(self, **more: Any) -> None:
        super().__init__(Count(), called="count", **more)
        self.go_on = threading.Event()
        self.at_five: Any = None

    def work(self, stop: threading.Event) -> None:
        for number in range(self.now.done + 1, 11):
            self.check(stop)
            self.say(done=number)
            if number == 5 and self.at_five is not None:
                self.at_five()


def test_it_comes_to_its_end_and_tells_every_step() -> None:
    told: list[int] = []
    work = Counting()
    work._told = lambda: told.append(work.now.done)
    assert work.start().wait(10.0)
    assert work.now.whole
    assert told == [*range(1, 11), 10]
    assert work.start().now.whole  # what is whole is not begun again


def test_it_is_stopped_and_gone_on_with() -> None:
    work = Counting()
    work.at_five = work.cancel
    assert work.start().wait(10.0)
    assert (work.now.done, work.now.cancelled, work.now.over) == (5, True, True)
    before = work.now.took_s
    assert work.start().wait(10.0)
    assert work.now.whole
    assert work.now.done == 10
    assert work.now.took_s >= before


def test_what_is_refused_and_what_fails_is_said(caplog: pytest.LogCaptureFixture) -> None:
    def refuse() -> None:
        raise Refused(Problem("five", "is enough."))

    def fail() -> None:
        raise ValueError("five")

    refused, failed = Counting(), Counting()
    refused.at_five, failed.at_five = refuse, fail
    assert refused.start().wait(10.0)
    assert [str(one) for one in refused.now.refused] == ["five: is enough."]
    assert not caplog.records
    assert failed.start().wait(10.0)
    (problem,) = failed.now.refused
    assert problem.sentence == "it ended with a fault of the program (ValueError('five'))."
    assert "count failed" in caplog.text
    assert not failed.now.whole


def test_once_it_is_closed_nothing_is_told() -> None:
    told: list[int] = []
    work = Counting(told=lambda: told.append(1))
    work.at_five = work.close
    assert work.start().wait(10.0)
    assert len(told) == 5
    assert work.start().wait(10.0)
    assert work.now.done == 5


def test_what_may_wait_is_told_at_most_five_times_a_second() -> None:
    told: list[int] = []
    work = Counting(told=lambda: told.append(1))
    for number in range(50):
        work.say(soon=False, done=number)
    assert len(told) < 25
    assert work.now.done == 49
