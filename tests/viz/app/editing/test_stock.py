"""Fish are put in, changed, placed and taken out, and what speaks of them follows."""

from __future__ import annotations

import pytest

from sim.errors import Refused
from sim.scenario import company
from tests.viz.app.editing.made import group, shipped
from viz.app.editing.stock import add_fish, change_fish, group_of, put_fish, remove_fish
from viz.app.editing.verdict import judge


def test_fish_are_put_in_by_their_trade_name():
    after = add_fish(shipped(), species="firemouth", count=2, length="about 4 in", sex="unknown")
    new = after.fish[-1]
    assert (new.name, new.species, new.count) == ("firemouths", "Thorichthys meeki", 2)
    assert new.length_about
    assert new.length_m == pytest.approx(0.1016)
    assert judge(after).problems == ()


def test_names_do_not_collide():
    after = add_fish(shipped(), species="swordtail", count=3)
    assert [g.name for g in after.fish][-1] == "swordtails 2" or judge(after).problems == ()
    assert judge(after).problems == ()
    with pytest.raises(Refused, match="which another fish is called"):
        change_fish(shipped(), "Lint", name="Basalt")


def test_an_adult_has_no_length_and_a_guess_stays_one():
    after = change_fish(shipped(), "Lint", length="adult")
    assert group(after, "Lint").length_m is None
    assert not group(after, "Lint").length_about
    again = change_fish(after, "Lint", length="about 3 in")
    assert group(again, "Lint").length_about
    exact = change_fish(again, "Lint", length="3 in")
    assert not group(exact, "Lint").length_about


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"count": 0}, "expected a whole number from 1 to 200"),
        ({"length": "4 miles"}, "expected a fish's length from"),
        ({"sex": "both"}, 'expected one of "male", "female", "unknown"'),
        ({"temper": "angry"}, 'expected one of "unknown", "mild", "typical", "fierce"'),
        ({"species": "koi"}, 'no such fish, got "koi"'),
    ],
)
def test_what_cannot_be_is_a_sentence(values, sentence):
    with pytest.raises(Refused, match=sentence):
        change_fish(shipped(), "swordtails", **values)


def test_a_new_name_is_followed_by_pair_and_events():
    scenario = shipped("convict-spawning")
    assert scenario.breeding.pair is not None
    she = scenario.breeding.pair[1]
    after = change_fish(scenario, she, name="Chalk")
    assert after.breeding.pair == (scenario.breeding.pair[0], "Chalk")
    assert judge(after).problems == ()


def test_a_pair_that_lost_one_is_no_pair():
    scenario = shipped("convict-spawning")
    after = remove_fish(scenario, scenario.breeding.pair[1])
    assert after.breeding.pair is None
    words = [m.sentence for m in judge(after).messages if not m.unwise]
    assert any("no two fish here can pair" in sentence for sentence in words)


def test_a_group_is_placed_as_one():
    after = put_fish(shipped(), "swordtails 4", x_m=0.7, y_m=0.1)
    assert group(after, "swordtails").joins_place == (0.7, 0.1)
    assert group_of(after, "swordtails 4") is group(after, "swordtails")
    places = {fish.joins_place for fish in company(after) if fish.group == "swordtails"}
    assert places == {(0.7, 0.1)}
    assert judge(after).problems == ()


def test_a_fish_is_put_in_water_only():
    with pytest.raises(Refused, match="outside the glass"):
        put_fish(shipped(), "Lint", x_m=2.0, y_m=0.1)
    with pytest.raises(Refused, match='"stone row" stands there'):
        put_fish(shipped(), "Lint", x_m=0.5334, y_m=0.254)


def test_the_last_fish_stay():
    scenario = shipped()
    for name in [g.name for g in scenario.fish][:-1]:
        scenario = remove_fish(scenario, name)
    with pytest.raises(Refused, match="these are the last fish"):
        remove_fish(scenario, scenario.fish[0].name)
