"""The common board: codes, groups, limits, and what it forgets."""

from __future__ import annotations

import threading

import pytest

from sim.errors import Refused
from viz.app.lessons import board
from viz.app.lessons.board import Boards, Dots


def test_a_class_joins_and_each_group_puts_one_pair_of_dots() -> None:
    kept = Boards()
    code = kept.begin("longer").code
    first, one = kept.join(f" {code[:2].lower()} {code[2:]} ")
    _, two = kept.join(code)
    assert (one, two, first.question) == (1, 2, "longer")
    kept.put(code, Dots(2, 5.0, 4.0))
    kept.put(code, Dots(1, 3.0, 6.0))
    kept.put(code, Dots(1, 0.0, 0.0))  # a second pair of the same group changes nothing
    assert kept.look(code).dots == (Dots(1, 3.0, 6.0), Dots(2, 5.0, 4.0))
    assert not kept.look(code).open
    assert kept.show(code).open


def test_codes_are_no_words_and_boards_do_not_mix() -> None:
    kept = Boards()
    codes = {kept.begin("longer").code for _ in range(board.MOST_CLASSES)}
    assert len(codes) == board.MOST_CLASSES
    assert not set("".join(codes)) & set("AEIOUY")
    one, other = sorted(codes)[:2]
    kept.join(one)
    kept.put(one, Dots(1, 1.0, 2.0))
    assert kept.look(other).dots == ()
    with pytest.raises(Refused, match="at most 20 at once"):
        kept.begin("longer")


@pytest.mark.parametrize("code", ["", "AAAA", "<b>", "BCDFGHJKLMNP"])
def test_a_code_that_is_none_is_told(code: str) -> None:
    with pytest.raises(Refused, match="expected the 4 letters that your teacher reads out"):
        Boards().join(code)


def test_a_full_class_and_a_group_that_never_joined_are_refused() -> None:
    kept = Boards()
    code = kept.begin("longer").code
    with pytest.raises(Refused, match="got group 1; expected one that has joined"):
        kept.put(code, Dots(1, 1.0, 1.0))
    for _ in range(board.MOST_GROUPS):
        kept.join(code)
    with pytest.raises(Refused, match="got a group more than 40"):
        kept.join(code)


def test_a_board_that_nobody_touches_is_forgotten() -> None:
    now = [0.0]
    kept = Boards(clock=lambda: now[0])
    old, used = kept.begin("longer").code, kept.begin("longer").code
    now[0] = 0.9 * board.FORGOTTEN_AFTER_S
    kept.join(used)
    now[0] = 1.1 * board.FORGOTTEN_AFTER_S
    assert kept.look(used).groups == 1
    with pytest.raises(Refused):
        kept.look(old)


def test_pages_are_told_of_every_change_until_they_leave() -> None:
    kept = Boards()
    code = kept.begin("longer").code
    told: list[int] = []
    stop = kept.listen(code, lambda: told.append(kept.look(code).groups))
    kept.join(code)
    kept.put(code, Dots(1, 1.0, 2.0))
    kept.show(code)
    stop()
    stop()
    kept.join(code)
    assert told == [1, 1, 1]


def test_many_groups_at_once_get_numbers_of_their_own() -> None:
    kept = Boards()
    code = kept.begin("longer").code
    numbers: list[int] = []

    def join() -> None:
        numbers.append(kept.join(code)[1])

    threads = [threading.Thread(target=join) for _ in range(board.MOST_GROUPS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(numbers) == list(range(1, board.MOST_GROUPS + 1))
