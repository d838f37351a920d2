"""A variant differs in one thing, and exactly what is told."""

from __future__ import annotations

import pytest

from sim.check import check_file
from tests.viz.app.editing.made import SCENARIOS, shipped
from viz.app.editing import furnish, glass, life, stock
from viz.app.editing.differences import differences, told
from viz.app.editing.variants import one_things
from viz.app.editing.verdict import judge

ORDER = ("First", "Second", "Third")


def words(first, second):
    return [found.words for found in differences(first, second)]


def test_a_tank_does_not_differ_from_itself_nor_by_its_title():
    assert words(shipped(), shipped()) == []
    assert words(shipped(), life.set_days(shipped(), title="Other", question="Why?")) == []
    assert told(shipped(), shipped()) == "B is the same as A so far. Change one thing in it."


def test_each_offer_changes_one_thing_and_can_be_played():
    offers = one_things(shipped())
    assert [one.key for one in offers] == ["longer", "hiding", "stone", "spawning", "dither"]
    for one in offers:
        assert len(words(shipped(), one.scenario)) == 1, one.key
        assert judge(one.scenario).problems == ()
        assert told(shipped(), one.scenario) == "B differs from A in one thing."
        assert one.scenario.title == f"{shipped().title}, {one.words}"


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.toml")), ids=lambda path: path.stem)
def test_offers_suit_every_shipped_tank(path):
    scenario = check_file(path).scenario
    for one in one_things(scenario):
        assert len(words(scenario, one.scenario)) == 1, one.key


def test_a_stretched_tank_is_one_thing_and_a_moved_stone_another():
    longer = glass.resize_tank(shipped(), length="72 in", pieces="stretch")
    assert words(shipped(), longer) == [
        "The tank is 72 x 18 x 21 in (125 gallon) instead of 48 x 18 x 21 in (75 gallon), its "
        "pieces spread in proportion."
    ]
    kept = glass.resize_tank(shipped(), length="72 in", pieces="keep")
    assert len(words(shipped(), kept)) == 1
    both = furnish.move_piece(longer, "stone row", x_m=0.9, y_m=0.2)
    assert words(shipped(), both)[1] == "Stone row is moved."
    assert told(shipped(), both) == (
        "B differs from A in 2 things: which of them makes a difference cannot be told from these "
        "two tanks."
    )


def test_every_kind_of_change_is_told():
    scenario = shipped()
    changed, name = furnish.add_piece(scenario, kind="cobble", size="4 in")
    changed = furnish.remove_piece(changed, "pipe")
    changed = furnish.turn_piece(changed, "large pot", by_rad=furnish.TURN_STEP_RAD)
    changed = furnish.size_piece(changed, "stone row", size="12 in")
    changed = stock.change_fish(changed, "swordtails", count=8)
    changed = stock.change_fish(changed, "Lint", temper="mild", length="adult")
    changed = stock.add_fish(changed, species="firemouth")
    changed = glass.set_water(changed, substrate="gravel", temperature_c="80 degF")
    changed = life.set_days(changed, days=20, growth=True)
    changed = life.set_keeper(changed, checks_at=("08:00",), moves="victim")
    changed = life.add_event(changed, do="water change", on_day=3, share=0.3)
    assert words(scenario, changed) == [
        'Tank: substrate "gravel" instead of "sand".',
        "Tank: temperature 80 °F instead of 78 °F.",
        f"There is one piece more: {name} (cobble, 4 in).",
        "Large pot is turned.",
        "Stone row is stone row (rock wall, 12 in) instead of stone row (rock wall, 8 in).",
        "There is one piece less: pipe (pipe, 2 in).",
        "There are more fish: firemouth.",
        "Swordtails: count 8 instead of 6.",
        "Lint: length adult instead of about 3.5 in.",
        'Lint: temper "mild" instead of "unknown".',
        "Keeper plan is played.",
        "There is one event more: water change.",
        "Days 20 instead of 30.",
        "Growth yes instead of no.",
    ]


def test_a_difference_of_files_is_the_difference_they_state():
    rocks = words(shipped("newcomer"), shipped("newcomer-rocks-moved"))
    assert rocks == [
        "Sienna: joins at 10:00 instead of none.",
        "There is one event more: rocks moved.",
    ]
    assert len(words(shipped("divider-opaque"), shipped("divider-clear"))) == 1
    water = words(shipped("water-change"), shipped("water-change-quarter"))
    assert len(water) == 6
    assert water[3:] == [f"{name} week: share 25 % instead of 50 %." for name in ORDER]
