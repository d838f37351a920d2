"""A draft goes back and forth through its states, and knows what is not saved."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.viz.app.editing.made import piece, shipped
from viz.app.editing.draft import MOST_STEPS, Draft
from viz.app.editing.furnish import move_piece


def moved(draft: Draft, x_m: float, *, joins: str = "") -> Draft:
    scenario = move_piece(draft.scenario, "stone row", x_m=x_m, y_m=0.25)
    return draft.done(scenario, did=f"stone row to {x_m:g}", joins=joins)


def at(draft: Draft) -> float:
    return piece(draft.scenario, "stone row").x_m


def test_every_state_is_gone_back_to_and_forth_again():
    draft = Draft.of(shipped())
    first = at(draft)
    there = moved(moved(draft, 0.5), 0.6)
    assert there.undoes == "stone row to 0.6"
    assert at(there.undone()) == 0.5
    assert at(there.undone().undone()) == first
    assert at(there.undone().undone().undone()) == first
    assert there.undone().redoes == "stone row to 0.6"
    assert at(there.undone().undone().redone().redone().redone()) == 0.6


def test_a_new_edit_forgets_what_was_undone():
    draft = moved(moved(moved(Draft.of(shipped()), 0.5), 0.6).undone(), 0.7)
    assert draft.redoes is None
    assert at(draft.undone()) == 0.5


def test_an_edit_that_changes_nothing_is_no_step():
    draft = moved(Draft.of(shipped()), 0.5)
    assert draft.done(draft.scenario, did="nothing") is draft


def test_steps_of_one_name_are_gone_back_at_once():
    draft = Draft.of(shipped())
    first = at(draft)
    for x_m in (0.5, 0.51, 0.52):
        draft = moved(draft, x_m, joins="stone row by keys")
    assert at(draft) == 0.52
    assert at(draft.undone()) == first
    other = moved(draft, 0.6, joins="pot by keys")
    assert at(other.undone()) == 0.52


def test_it_knows_whether_it_is_as_on_disk():
    draft = Draft.of(shipped(), file=Path("a.toml"))
    assert not draft.changed
    there = moved(draft, 0.5)
    assert there.changed
    assert not there.undone().changed
    kept = there.saved(Path("b.toml"))
    assert not kept.changed
    assert kept.file == Path("b.toml")
    assert kept.undone().changed, "what was saved is the state after it"
    assert Draft.of(shipped(), saved=False).changed


def test_the_steps_are_bounded():
    draft = Draft.of(shipped())
    for number in range(MOST_STEPS + 50):
        draft = moved(draft, 0.3 + 0.001 * number)
    assert len(draft.steps) == MOST_STEPS
    assert at(draft) == pytest.approx(0.3 + 0.001 * (MOST_STEPS + 49))
