"""A class: a teacher's page and a group's, which share nothing but the board."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from sim.batch import run_one
from tests.viz.app.learning.made import desk_in, waited
from tests.viz.app.rendering import button, page_context, rendered, shown
from viz.app.learning.class_view import ClassView
from viz.app.learning.desk import Desk
from viz.app.learning.working_class import begin_class, join_class, leave_class
from viz.app.lessons.experiment import MEASURE, run_of, tanks_of

KEY = "spread food"


@pytest.fixture
def desks(tmp_path: Path) -> Iterator[tuple[Desk, Desk]]:
    """The teacher's and a group's."""
    made = desk_in(tmp_path), desk_in(tmp_path)
    yield made
    for desk in made:
        desk.session.close()


def test_a_page_is_told_of_the_board_on_threads_of_its_own(desks: tuple[Desk, Desk]) -> None:
    """The thread of another page cannot draw this one; it must not even try."""
    teacher, group = desks
    told: dict[str, set[int]] = {"teacher": set(), "group": set()}
    for name, desk in (("teacher", teacher), ("group", group)):
        desk.session.listen(lambda name=name: told[name].add(threading.get_ident()))
    begin_class(teacher, KEY)
    assert teacher.seat is not None
    join_class(group, teacher.seat.board.code)
    assert group.seat is not None
    assert waited(lambda: group.seat.own and teacher.seat.board.dots)
    here = threading.get_ident()
    assert waited(lambda: told["teacher"] - {here} and told["group"] - {here})
    assert not (told["teacher"] & told["group"]) - {here}


def test_what_a_group_reads_is_what_its_two_runs_gave(desks: tuple[Desk, Desk]) -> None:
    teacher, group = desks
    begin_class(teacher, KEY)
    assert teacher.seat is not None
    board = teacher.seat.board
    join_class(group, board.code)
    assert group.seat is not None
    assert waited(lambda: group.seat.own)
    first, second = (
        float(run_one(t.scenario, t.layout, run=run_of(1), seed=board.seed).row[MEASURE][0])
        for t in tanks_of(KEY)
    )
    with page_context():
        page = rendered(ClassView(group, group.now))
        assert f"Your fish took {first:.1f} bites an hour with one place" in shown(page)
        assert f"and {second:.1f} with five places" in shown(page)
        assert "The board is shown when your teacher opens it." in shown(page)
        assert "One pair of tanks." not in shown(page)
    with page_context():
        page = rendered(ClassView(teacher, teacher.now))
        assert "1 group joined, 1 done." in shown(page)
        assert "One pair of tanks. The next pair may say the opposite" in shown(page)
        button(page, "Show the board to everybody").click()
    with page_context():
        page = rendered(ClassView(group, group.now))
        assert "One pair of tanks." in shown(page)
        button(page, "Watch five places").click()
    session = group.session
    assert session.tank.name == "Group 1, five places"
    assert session.shown is not None
    assert (session.shown.run, session.shown.seed) == (run_of(1), board.seed)


def test_a_wrong_code_is_told_and_a_class_can_be_left(desks: tuple[Desk, Desk]) -> None:
    teacher, group = desks
    join_class(group, "aeio")
    assert group.seat is None
    assert "no class here has the code AEIO" in str(group.refused[0])
    begin_class(teacher, KEY)
    leave_class(teacher)
    assert teacher.seat is None
    with page_context():
        assert "Open a board" in shown(rendered(ClassView(teacher, teacher.now)))


def test_a_fault_of_what_is_played_is_told(desks: tuple[Desk, Desk]) -> None:
    def fails() -> None:
        raise RuntimeError("on purpose")

    desk = desks[0]
    desk.behind(fails)
    assert waited(lambda: desk.refused)
    assert "a fault of the program ended what was played for it" in str(desk.refused[0])
