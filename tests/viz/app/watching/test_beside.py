"""Two tanks that live beside each other: the same run, from the same moment, to one scale."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from tests.viz.app.watching.made import FOUR_FOOT, checked_of, obey
from viz.app.floor.stacked import beside_of
from viz.app.live import LiveTank
from viz.app.living import begin_beside, played_in
from viz.app.session import Session

SIX_FOOT = "scenarios/convict-six-foot.toml"


@pytest.mark.parametrize(
    ("count", "picked", "expected"), [(1, 0, None), (2, 0, 1), (2, 1, 0), (4, 3, 0), (4, 0, 1)]
)
def test_the_reference_stands_beside_the_picked_one(
    count: int, picked: int, expected: int | None
) -> None:
    assert beside_of(count, picked) == expected


def test_the_second_begins_where_the_first_has_come_to_with_the_same_fish() -> None:
    session = Session(Path(FOUR_FOOT))
    session.add_variant(checked_of(SIX_FOOT).scenario, name="longer")
    try:
        session.live = LiveTank(played_in(session, session.tank), start=False)
        session.live.speed(10.0)
        obey(session.live)
        session.live.step(5.0)
        session.live._tell()
        beside = begin_beside(session, 0)
        assert (session.beside, session.beside_tank) == (beside, 0)
        until = time.monotonic() + 200.0
        while beside.moment is None or beside.moment.speed != 10.0:
            assert beside.fault is None
            assert time.monotonic() < until
            time.sleep(0.02)
        assert beside.moment.day >= session.live.moment.day > 0.0
        first, second = beside.history.state.fish, session.live.history.state.fish
        for field in ("length", "boldness"):
            assert first[field].tolist() == second[field].tolist()
    finally:
        session.close()
