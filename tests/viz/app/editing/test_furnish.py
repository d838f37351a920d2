"""Pieces are moved, turned, made larger, put in and taken out, and what speaks of them follows."""

from __future__ import annotations

import math

import pytest

from sim.check import check_scenario
from sim.errors import Refused
from sim.units import parse_length
from tests.viz.app.editing.made import piece, shipped
from viz.app.editing import furnish
from viz.app.editing.verdict import judge, new_problems


def test_a_piece_is_moved_and_nothing_else_is_touched():
    before = shipped()
    after = furnish.move_piece(before, "stone row", x_m=0.6, y_m=0.2)
    assert (piece(after, "stone row").x_m, piece(after, "stone row").y_m) == (0.6, 0.2)
    others = [p for p in after.pieces if p.name != "stone row"]
    assert others == [p for p in before.pieces if p.name != "stone row"]
    assert after.fish == before.fish
    assert piece(before, "stone row").x_m == parse_length("21 in"), "the tank before is as it was"


def test_its_middle_stays_inside_the_glass():
    after = furnish.move_piece(shipped(), "stone row", x_m=-3.0, y_m=9.0)
    assert (piece(after, "stone row").x_m, piece(after, "stone row").y_m) == (0.0, 0.4572)


def test_a_drop_on_another_piece_is_refused_with_the_sentence_of_check():
    before = shipped()
    pot = piece(before, "large pot")
    after = furnish.move_piece(before, "stone row", x_m=pot.x_m, y_m=pot.y_m)
    problem = new_problems(judge(before), judge(after))[0]
    assert problem.sentence.startswith('it stands where "large pot" stands, got an overlap')
    with pytest.raises(Refused) as refusal:
        check_scenario(after)
    assert problem in refusal.value.problems


def test_a_drop_through_the_glass_says_how_far_to_move_it():
    before = shipped()
    after = furnish.move_piece(before, "stone row", x_m=0.0, y_m=0.2)
    (problem,) = new_problems(judge(before), judge(after))
    assert problem.sentence.startswith("it goes through the left glass")
    assert "toward the right" in problem.sentence


def test_what_was_wrong_before_does_not_bind_the_hands():
    bad = furnish.move_piece(shipped(), "stone row", x_m=0.0, y_m=0.2)
    nearer = furnish.move_piece(bad, "stone row", x_m=0.02, y_m=0.2)
    assert new_problems(judge(bad), judge(nearer)) == ()


def test_turning_goes_round_and_stays_readable():
    scenario = shipped()
    start = piece(scenario, "stone row").turn_rad
    turned = scenario
    for _ in range(24):
        turned = furnish.turn_piece(turned, "stone row", by_rad=furnish.TURN_STEP_RAD)
        assert -math.pi < piece(turned, "stone row").turn_rad <= math.pi + 1e-9
    assert piece(turned, "stone row").turn_rad == pytest.approx(start)


def test_a_piece_takes_another_size_of_its_kind_only():
    after = furnish.size_piece(shipped(), "stone row", size="12 in")
    assert piece(after, "stone row").size == "12 in"
    with pytest.raises(Refused, match='no such size of rock-wall, got "7 in"; expected one of'):
        furnish.size_piece(shipped(), "stone row", size="7 in")


def test_own_measures_give_way_to_a_size():
    from viz.app.editing.changing import rebuilt, remade

    scenario = shipped()
    cut = remade(piece(scenario, "stone row"), size=None, length_m="9 in", width_m="3 in")
    scenario = rebuilt(scenario, pieces=(cut,))
    after = piece(furnish.size_piece(scenario, "stone row", size="8 in"), "stone row")
    assert (after.size, after.length_m, after.width_m) == ("8 in", None, None)


@pytest.mark.parametrize(
    ("kind", "size"), [("cobble", "6 in"), ("pot", "4 in"), ("pipe", "2 in"), ("heater", "long")]
)
def test_a_new_piece_finds_a_free_place_by_itself(kind, size):
    before = shipped()
    after, name = furnish.add_piece(before, kind=kind, size=size)
    assert len(after.pieces) == len(before.pieces) + 1
    assert after.pieces[-1].name == name == f"{size} {kind}"
    found = judge(after)
    assert found.problems == ()
    assert not [m for m in found.messages if m.name == name]


def test_a_second_one_has_a_name_of_its_own():
    after, first = furnish.add_piece(shipped(), kind="cobble", size="4 in")
    after, second = furnish.add_piece(after, kind="cobble", size="4 in")
    assert (first, second) == ("4 in cobble", "4 in cobble 2")
    assert judge(after).problems == ()


def test_a_divider_is_cut_to_the_tank():
    after, name = furnish.add_piece(shipped("juveniles-crowd"), kind="divider", size="18 in")
    found = judge(after)
    assert found.problems == ()
    assert piece(after, name).length_m == after.tank.width_m
    assert len(found.checked.layout.compartments) == 2


def test_a_full_tank_takes_nothing_more():
    scenario, said = shipped(), ""
    while not said:
        try:
            scenario, _ = furnish.add_piece(scenario, kind="boulder", size="12 in")
        except Refused as refusal:
            said = str(refusal)
    assert said.startswith('there is no free floor for "12 in boulder')
    assert len(scenario.pieces) < 20
    assert judge(scenario).problems == ()


def test_what_speaks_of_a_piece_goes_with_it():
    scenario = shipped("settled-newcomer")
    owner = next(g for g in scenario.fish if g.established and g.established.owns)
    after = furnish.remove_piece(scenario, owner.established.owns)
    kept = next(g for g in after.fish if g.name == owner.name)
    assert kept.established.owns is None
    assert kept.established.since_day == owner.established.since_day
    assert judge(after).problems == ()


def test_an_event_without_its_divider_goes_too():
    scenario = shipped("divider-opaque")
    divider = next(p for p in scenario.pieces if furnish.is_divider(p))
    after = furnish.remove_piece(scenario, divider.name)
    assert after.events == ()
    assert judge(after).problems == ()


def test_a_new_name_is_followed():
    scenario = shipped("divider-opaque")
    divider = next(p for p in scenario.pieces if furnish.is_divider(p))
    after = furnish.rename_piece(scenario, divider.name, new="black sheet")
    assert {event.divider for event in after.events} == {"black sheet"}
    assert judge(after).problems == ()
    with pytest.raises(Refused, match="which another piece is called"):
        furnish.rename_piece(shipped(), "stone row", new="Large pot")


def test_a_piece_that_is_not_here_is_a_sentence():
    for edit in (
        lambda s: furnish.move_piece(s, "castle", x_m=0.1, y_m=0.1),
        lambda s: furnish.turn_piece(s, "castle", by_rad=1.0),
        lambda s: furnish.remove_piece(s, "castle"),
        lambda s: furnish.rename_piece(s, "castle", new="keep"),
    ):
        with pytest.raises(Refused, match='got "castle", a piece that is not here'):
            edit(shipped())
