"""Familiarity: built in sight, lost apart, and what it does to attacks."""

from __future__ import annotations

import math

import pytest

from sim.rules.codes import AWAY
from sim.rules.familiar import grow_familiar
from tests.sim.calling import call
from tests.sim.layouts import piece
from tests.sim.worlds import fish, history

DAY = 86400.0


def beside(kind: str, *, days: float = 9.0, lifted: float = 7.0, without=()):
    sheet = piece(kind, "18 in", 0.602, 0.2285, name="sheet", turn_rad=math.pi / 2)
    return history(
        fish(name="Agate", sex="male", length_m=0.11, joins_place=(0.3, 0.2)),
        fish(name="Beryl", sex="male", length_m=0.105, joins_place=(0.9, 0.2)),
        pieces=[sheet],
        days=days,
        events=[{"on_day": lifted, "do": "divider out", "divider": "sheet"}],
        without=without,
    )


@pytest.mark.parametrize("kind", ["clear-divider", "mesh-divider"])
def test_it_builds_through_a_sheet_that_hides_nothing(kind):
    of = beside(kind)
    call(grow_familiar, of.state, of.floor, 3.0 * DAY)
    assert of.state.pair.familiar[0, 1] == pytest.approx(1.0 - math.exp(-1.0))
    call(grow_familiar, of.state, of.floor, 3.0 * DAY)
    assert of.state.pair.familiar[1, 0] == pytest.approx(1.0 - math.exp(-2.0))
    assert of.state.pair.familiar[0, 0] == 0.0


def test_it_fades_behind_an_opaque_sheet_and_while_a_fish_is_out():
    of = beside("divider")
    of.state.pair.familiar[:] = 0.8
    call(grow_familiar, of.state, of.floor, 14.0 * DAY)
    assert of.state.pair.familiar[0, 1] == pytest.approx(0.8 * math.exp(-1.0))
    clear = beside("clear-divider")
    clear.state.pair.familiar[:] = 0.8
    clear.state.fish.presence[1] = AWAY
    call(grow_familiar, clear.state, clear.floor, 14.0 * DAY)
    assert clear.state.pair.familiar[0, 1] == pytest.approx(0.8 * math.exp(-1.0))


def first_hazard(kind: str, without=()) -> float:
    """The slow part of the resident's attacks on its neighbour when the sheet is lifted."""
    of = beside(kind, without=without)
    of.advance(until_day=7.38)
    assert of.state.tank.furniture[0] == 1
    return float(of.state.pair.slow[0, 1])


def test_a_week_in_sight_lowers_the_first_attacks_and_learning_is_why():
    seen, unseen = first_hazard("clear-divider"), first_hazard("divider")
    assert seen < 0.75 * unseen, "dear enemy of 0.4, nine tenths familiar"
    blank = [first_hazard(kind, ("learning",)) for kind in ("clear-divider", "divider")]
    assert blank[0] == pytest.approx(blank[1], rel=1e-9)
