"""The stages of a tank's furniture through its events."""

from __future__ import annotations

import pytest

from sim.check import check_scenario
from sim.errors import Refused
from sim.furniture import event_time_s, furniture_of
from sim.scenario import Scenario

PIECES = [
    {
        "name": "sheet",
        "kind": "divider",
        "size": "18 in",
        "x_m": 0.6,
        "y_m": 0.2285,
        "turn_rad": 1.5708,
    },
    {"name": "pot", "kind": "pot", "size": "4 in", "x_m": 0.2, "y_m": 0.25},
    {"name": "root", "kind": "cobble", "size": "6 in", "x_m": 0.9, "y_m": 0.25},
]


def scenario(*events, days=10.0):
    return Scenario.model_validate(
        {
            "tank": {"length_m": 1.22, "width_m": 0.457, "height_m": 0.5},
            "pieces": PIECES,
            "fish": [{"species": "convict", "length_m": 0.08}],
            "days": days,
            "events": list(events),
        }
    )


def names(stage):
    return [piece.name for piece in stage]


def test_a_piece_that_is_first_brought_is_not_there_at_the_start():
    found = furniture_of(
        scenario(
            {"on_day": 2, "do": "divider in", "divider": "sheet"},
            {"on_day": 1, "do": "bring back", "pieces": ["root"]},
            {"on_day": 5, "do": "divider out", "divider": "Sheet"},
        )
    )
    assert names(found.stages[0]) == ["pot"]
    assert [names(stage) for stage in found.stages] == [
        ["pot"],
        ["pot", "root"],
        ["sheet", "pot", "root"],
    ]
    assert found.order == (1, 0, 2)
    assert found.after == (2, 1, 1), "the tank after the sheet is the tank before it"
    assert found.event_of(2) == 0


def test_moves_change_places_and_turns():
    move = {"piece": "pot", "x_m": 0.4, "y_m": 0.2}
    found = furniture_of(scenario({"on_day": 3, "do": "re-arrange", "moves": [move]}))
    assert (found.stages[1][1].x_m, found.stages[1][1].turn_rad) == (0.4, 0.0)
    turned = furniture_of(
        scenario({"on_day": 3, "do": "re-arrange", "moves": [{**move, "turn_rad": 1.0}]})
    )
    assert turned.stages[1][1].turn_rad == 1.0


def test_an_event_without_a_time_is_at_the_light_of_its_day():
    tank = scenario(
        {"on_day": 2, "do": "lights", "lights_on_h": 6.0},
        {"on_day": 2, "do": "water change", "share": 0.2},
        {"on_day": 3, "do": "water change", "share": 0.2},
    )
    times = [event_time_s(tank, event) / 3600.0 for event in tank.events]
    assert times == [57.0, 57.0, 78.0]


def test_a_piece_that_is_moved_onto_another_is_refused_by_the_event_that_does_it():
    move = {"piece": "pot", "x_m": 0.9, "y_m": 0.25}
    with pytest.raises(Refused) as refusal:
        check_scenario(scenario({"name": "tidy", "on_day": 3, "do": "re-arrange", "moves": [move]}))
    problem = refusal.value.problems[0]
    assert 'events "tidy"' in problem.where
    assert "after it, pieces" in problem.sentence
    assert "stands where" in problem.sentence


def test_layouts_are_built_once_and_kept():
    checked = check_scenario(scenario({"on_day": 2, "do": "divider out", "divider": "sheet"}))
    assert checked.layout.floors()[1] is checked.layout.floors()[1]
    assert checked.layout.stages[0] is checked.layout
    assert len(checked.layout.floors()) == 2
