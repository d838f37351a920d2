"""Events, keepers and lights that cannot be are refused in a sentence."""

from __future__ import annotations

import pytest

from sim.scenario import Scenario
from sim.scenario_rules import faults

SHEET = {"name": "sheet", "kind": "Clear Divider", "size": "18 in", "x": "24 in", "y": "9 in"}
POT = {"name": "pot", "kind": "pot", "size": "4 in", "x": "9 in", "y": "9 in"}


def texts(*events, **more):
    found = Scenario.model_validate(
        {
            "tank": {"size": "75 gallon"},
            "days": 20,
            "pieces": [SHEET, POT],
            "fish": [
                {"name": "A", "species": "convict"},
                {"name": "neons", "species": "neon", "count": 3, "joins_day": 4},
            ],
            "events": list(events),
            **more,
        }
    )
    return [f"{place}: {text}" for place, text in faults(found)]


def days(*events):
    return [{"on_day": day, "at_h": 12, **event} for day, event in enumerate(events, start=5)]


IN, OUT = {"do": "divider in", "divider": "sheet"}, {"do": "divider out", "divider": "sheet"}
TAKE, BACK = {"do": "take out", "fish": ["A"]}, {"do": "bring back", "fish": ["A"]}


@pytest.mark.parametrize(
    "events",
    [(), (IN, OUT, IN), (OUT, IN), (TAKE, BACK, TAKE), ({"do": "take out", "fish": ["neons"]},)],
)
def test_what_can_be(events):
    assert texts(*days(*events)) == []


@pytest.mark.parametrize(
    ("events", "message"),
    [
        ((IN, IN), "is in the tank by then"),
        ((OUT, OUT), "is not in the tank then"),
        ((BACK,), "has not been taken out by then"),
        ((TAKE, TAKE), "is not in the tank then"),
        (({"do": "divider out", "divider": "pot"},), "is no divider but a pot"),
        (({"do": "take the fry"},), "with breeding off"),
        (({"do": "lights", "lights_on_h": 20, "light_hours": 6},), "past midnight"),
        (
            (OUT, {"do": "re-arrange", "moves": [{"piece": "sheet", "x": "9 in", "y": "9 in"}]}),
            "is not in the tank then",
        ),
    ],
)
def test_what_cannot_be(events, message):
    found = texts(*days(*events))
    assert message in "\n".join(found)


def test_too_early_and_too_late():
    early = {"on_day": 1, "do": "take out", "fish": ["neons 2"]}
    assert "is not in the tank then" in texts(early)[0]
    assert "when the run is over" in texts({"on_day": 20, "do": "water change", "share": 0.2})[0]


@pytest.mark.parametrize(
    ("plan", "message"),
    [
        ({"moves": "victim"}, "checks_at"),
        ({"checks_at": [8], "back_after_days": 3}, "nobody has to come back"),
        ({"checks_at": [8], "away_days": [[9, 3]]}, "Swap them"),
    ],
)
def test_a_keeper_that_cannot_be(plan, message):
    assert message in texts(keeper_plan=plan)[0]
    assert texts(keeper_plan={"checks_at": [8], "moves": "bully", "back_after_days": 4}) == []


def test_a_fish_the_keeper_moved_may_be_brought_back():
    plan = {"checks_at": [8], "moves": "victim", "spare_places": 1}
    assert texts(*days(BACK), keeper_plan=plan) == []


@pytest.mark.parametrize(
    ("event", "message"),
    [
        ({"do": "divider in", "divider": "sheet", "fish": ["A"]}, "without a `place`"),
        ({"do": "bring back", "pieces": ["pot"], "place": ("1 in", "2 in")}, "without `fish`"),
        ({"do": "water change", "share": 0.2, "fish": ["A"]}, "which it does not use"),
    ],
)
def test_an_event_that_makes_no_sense(event, message):
    with pytest.raises(ValueError, match=message):
        texts({"on_day": 5, **event})


def test_where_along_is_for_the_doors_of_dividers():
    pot = {**POT, "doors": [{"width": "2 in", "height": "2 in", "along": "1 in"}]}
    assert "a divider only" in texts(pieces=[pot])[0]
    assert "at most half" in texts(tank={"size": "75 gallon", "dusk_hours": 6})[0]
