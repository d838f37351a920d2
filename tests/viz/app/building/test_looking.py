"""Rough odds and overlays are of the tank as it stands, and are given up when it changes."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

import pytest

from viz.app.building.bench import Bench, Picked, bench_of
from viz.app.editing import furnish
from viz.app.editing.life import set_days
from viz.app.session import Session


@pytest.fixture
def bench() -> Iterator[Bench]:
    session = Session()
    made = bench_of(session)
    made.do(lambda s: set_days(s, days=1), did="one day")
    yield made
    session.close()


def until(true: Callable[[], bool], *, seconds: float = 120.0) -> None:
    ends = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < ends
        time.sleep(0.02)


def known(bench: Bench) -> bool:
    return bench.looking.odds is not None and bench.looking.odds.results is not None


def move(bench: Bench, x_m: float) -> None:
    bench.do(
        lambda s: furnish.move_piece(s, "stone row", x_m=x_m, y_m=0.2),
        did="stone row moved",
        about=Picked("piece", "stone row"),
        by_hand=True,
    )


def test_none_are_played_while_nobody_sees_them(bench: Bench) -> None:
    move(bench, 0.6)
    assert bench.looking.odds is None
    assert bench.looking._job is None


def test_a_change_gives_the_old_runs_up_and_plays_new_ones(bench: Bench) -> None:
    bench.looking.want_odds(True)
    first = bench.looking._job
    assert first is not None
    move(bench, 0.6)
    second = bench.looking._job
    assert first.cancelled
    assert second is not None
    assert not second.cancelled
    until(lambda: known(bench))
    assert bench.looking.odds.done == 20
    assert bench.looking.odds.results.designs[0].days == 1.0


def test_going_back_shows_at_once_what_was_known(bench: Bench) -> None:
    bench.looking.want_odds(True)
    until(lambda: known(bench))
    before = bench.looking.odds
    move(bench, 0.6)
    assert not known(bench)
    bench.undo()
    assert bench.looking.odds is before
    bench.looking.want_odds(False)
    bench.looking.want_odds(True)
    assert bench.looking.odds is before


def test_a_tank_that_cannot_be_played_has_no_odds(bench: Bench) -> None:
    bench.looking.want_odds(True)
    bench.do(lambda s: furnish.move_piece(s, "stone row", x_m=0.0, y_m=0.2), did="moved")
    assert bench.tank.checked is None
    assert bench.looking.odds is None
    assert bench.looking._job is None


def test_where_they_spawn_is_told_when_it_is_known(bench: Bench) -> None:
    bench.looking.show("spawn")
    assert bench.looking.shown.words.startswith("Trying it")
    until(lambda: bench.looking.shown.nests is not None)
    assert bench.looking.shown.words.startswith("Where they spawn in 20 draws of fish: ")
    from viz.app.building.scene import over_of

    rows = over_of(bench.looking.shown)["nests"]
    assert sum(row["draws"] for row in rows) <= 20
    assert rows[0]["share"] == rows[0]["draws"] / 20


def test_without_a_pair_it_is_a_sentence(bench: Bench) -> None:
    from viz.app.editing.stock import remove_fish

    bench.do(lambda s: remove_fish(s, "Pumice"), did="Pumice taken out")
    bench.looking.show("spawn")
    until(lambda: not bench.looking.shown.words.startswith("Trying"))
    assert "no two fish here can pair" in bench.looking.shown.words


def test_overlays_are_of_the_tank_as_it_stands(bench: Bench) -> None:
    bench.looking.show("sight", at=(0.6, 0.05))
    first = bench.looking.shown
    assert first is bench.looking.shown, "reckoned once"
    move(bench, 0.7)
    assert bench.looking.shown is not first
    bench.looking.show("swim")
    assert bench.looking.shown.bands
    assert bench.looking.shown.words.startswith("The farthest place is more than")
    bench.looking.show("none")
    assert bench.looking.shown.words == ""


def test_closing_ends_everything(bench: Bench) -> None:
    bench.looking.want_odds(True)
    job = bench.looking._job
    assert job is not None
    bench.session.close()
    assert job.cancelled


def test_a_column_made_anew_before_the_old_one_goes_still_sees_them(bench: Bench) -> None:
    bench.looking.want_odds(True)
    bench.looking.want_odds(True)
    bench.looking.want_odds(False)
    assert bench.looking._job is not None
    until(lambda: known(bench))
    bench.looking.want_odds(False)
    move(bench, 0.6)
    assert bench.looking._job is None
