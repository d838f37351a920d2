"""The models of a scenario, its company of fish, and what must hold between its parts."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from sim.fields import FROM_FILE
from sim.scenario import FishGroup, Piece, Scenario, Tank, company
from sim.scenario_rules import faults

TANK = {"length": "48 in", "width": "18 in", "height": "21 in"}


def scenario(**parts: Any) -> Scenario:
    parts = {"tank": TANK, "fish": [{"species": "swordtail", "count": 2}]} | parts
    return Scenario.model_validate(parts, context=FROM_FILE)


def fault_texts(**parts: Any) -> list[str]:
    return [f"{place}: {text}" for place, text in faults(scenario(**parts))]


def test_a_scenario_is_in_si_and_frozen() -> None:
    made = scenario(tank=TANK | {"temperature": "78 degF", "lights_on": "08:30"})
    assert made.tank.length_m == 1.2192
    assert made.tank.temperature_c == pytest.approx(25.5556, abs=1e-4)
    assert made.tank.lights_on_h == 8.5
    with pytest.raises(ValidationError, match="frozen"):
        made.days = 3  # type: ignore[misc]


def test_code_may_use_field_names_and_si() -> None:
    made = Scenario(
        tank=Tank(length_m=1.2, width_m=0.45, height_m=0.5),
        pieces=(Piece(kind="pot", size="6 in", x_m=0.3, y_m=0.2),),
        fish=(FishGroup(species="convict", length_m=0.1),),
    )
    assert made.pieces[0].name == "pot 1"
    assert made.fish[0].species == "Amatitlania nigrofasciata"
    assert company(made)[0].length_m == 0.1


def test_a_standard_size_becomes_its_sides() -> None:
    tank = scenario(tank={"size": "75 gal"}).tank
    assert (tank.length_m, tank.width_m, tank.height_m) == (1.2192, 0.4572, 0.5334)


def test_a_width_beyond_the_length_is_refused() -> None:
    with pytest.raises(ValidationError, match="expected the length to be the long side"):
        scenario(tank={"length": "18 in", "width": "48 in", "height": "21 in"})


def test_lengths_of_fish() -> None:
    made = scenario(
        fish=[
            {"name": "a", "species": "swordtail", "length": "adult"},
            {"name": "b", "species": "swordtail", "length": "about 2 in"},
            {"name": "c", "species": "swordtail", "length": "2 in", "length_about": True},
        ]
    )
    assert [(fish.length_m, fish.about) for fish in company(made)] == [
        (None, False),
        (0.0508, True),
        (0.0508, True),
    ]


def test_the_company_in_the_order_of_the_file() -> None:
    made = scenario(
        fish=[
            {"name": "Basalt", "species": "convict", "sex": "male", "joins_day": 2},
            {"name": "tails", "species": "swordtail", "count": 3, "temper": "mild"},
        ]
    )
    members = company(made)
    assert [fish.name for fish in members] == ["Basalt", "tails 1", "tails 2", "tails 3"]
    assert [(fish.group, fish.index) for fish in members] == [
        ("Basalt", 0),
        ("tails", 0),
        ("tails", 1),
        ("tails", 2),
    ]
    assert members[0].species.key == "Amatitlania nigrofasciata"
    assert (members[0].sex, members[0].joins_day, members[1].temper) == ("male", 2, "mild")


def test_the_nameless_get_names_that_nobody_has() -> None:
    pot = {"kind": "pot", "size": "4 in", "x": "5 in", "y": "5 in"}
    made = scenario(
        pieces=[pot, {**pot, "name": "pot 2"}, pot],
        fish=[
            {"species": "swordtail", "count": 2},
            {"species": "swordtail"},
            {"species": "convict", "name": "swordtail 4"},
        ],
    )
    assert [piece.name for piece in made.pieces] == ["pot 1", "pot 2", "pot 3"]
    names = [fish.name for fish in company(made)]
    assert len(set(names)) == 4
    assert faults(made) == []


@pytest.mark.parametrize(
    ("parts", "message"),
    [
        ({"tank": TANK | {"length": "-48 in"}}, 'got "-48 in"; expected a length from 20 cm'),
        ({"tank": TANK | {"length": "5 in"}}, 'got "5 in"; expected a length from 20 cm'),
        ({"tank": TANK | {"length": "300 ft"}}, 'got "300 ft"; expected a length from 20 cm'),
        ({"tank": TANK | {"length": 48}}, 'got "48", which has no unit'),
        ({"tank": TANK | {"length": float("inf")}}, 'got "inf", which is not a number with'),
        ({"tank": TANK | {"length": {}}}, "got a table; expected a text"),
        ({"tank": TANK | {"temperature": "780 degF"}}, "expected water from 5 degC"),
        ({"tank": TANK | {"light_hours": 25}}, "got 25; expected hours of light a day"),
        ({"tank": TANK | {"light_hours": float("nan")}}, "got nan; expected hours of light"),
        ({"tank": {"size": "shoebox"}}, 'got "shoebox", which is no standard size'),
        ({"days": 0}, "got 0; expected a number of days from 0.01 to 3650"),
        ({"days": float("inf")}, "got inf; expected a number of days"),
        ({"days": True}, "got true; expected a number of days"),
        ({"days": "30"}, 'got "30"; expected a number of days'),
        ({"seed": -1}, "got -1; expected a whole number"),
        ({"title": "a\x1bb"}, 'got "a?b"; expected up to 400 printable characters'),
        ({"fish": [{"species": "swordtail", "count": 201}]}, "got 201; expected a whole number"),
        ({"fish": [{"species": "swordtail", "count": 1.5}]}, "got 1.5; expected a whole number"),
        ({"fish": [{"species": "swordtial"}]}, 'Did you mean "swordtail"'),
        ({"fish": [{"species": "swordtail", "length_about": True}]}, "without a length"),
        ({"fish": [{"species": "swordtail", "name": "x" * 61}]}, "a name of 1 to 60"),
        ({"pieces": [{"kind": "pot", "x": "1 in", "y": "1 in"}]}, "how large it is, is missing"),
        (
            {"pieces": [{"kind": "pot", "size": "4 in", "x": "-1 in", "y": "1 in"}]},
            'got "-1 in"; expected a distance from 0 to 20 m',
        ),
        (
            {"pieces": [{"kind": "pot", "size": "4 in", "x": "1 in", "y": "1 in", "turn": "9"}]},
            'got "9", which has no unit; expected an angle',
        ),
        ({"breeding": {"site": ["1 in"]}}, "got a list of 1; expected two lengths"),
        ({"events": [{"on_day": 3, "do": "water change"}]}, "without `share`"),
        (
            {"events": [{"on_day": 3, "do": "water change", "share": 0.3, "fish": ["a"]}]},
            "with `fish`, which it does not use",
        ),
    ],
)
def test_impossible_values_are_said(parts: dict[str, Any], message: str) -> None:
    with pytest.raises(ValidationError) as refusal:
        scenario(**parts)
    assert message in "\n".join(error["msg"] for error in refusal.value.errors())


def test_too_many_fish_in_all() -> None:
    groups = [{"species": "neon", "count": 150, "name": name} for name in "ab"]
    assert fault_texts(fish=groups) == [
        "('fish',): too many fish, got 300; expected at most 200. Lower a `count`."
    ]


def test_doubled_names() -> None:
    pot = {"kind": "pot", "size": "4 in", "x": "5 in", "y": "5 in"}
    texts = fault_texts(pieces=[pot | {"name": "Left"}, pot | {"name": "left"}])
    assert texts == [
        "('pieces', 1, 'name'): got \"left\" a second time; expected every name once. "
        "Give one of them another name."
    ]
    fish = [{"species": "neon", "count": 3, "name": "n"}, {"species": "neon", "name": "N 2"}]
    assert 'got "N 2" a second time' in fault_texts(fish=fish)[0]


def test_who_joins_too_late() -> None:
    texts = fault_texts(days=10, fish=[{"species": "neon", "joins_day": 10}])
    assert texts == [
        "('fish', 0, 'joins_day'): got 10, when the run is over; expected a day before 10. "
        "Lower it, or raise `days`."
    ]


PAIR = [
    {"name": "Basalt", "species": "convict", "sex": "male"},
    {"name": "Pumice", "species": "convict", "sex": "female"},
    {"name": "Ochre", "species": "firemouth", "sex": "female", "joins_day": 5},
]


@pytest.mark.parametrize(
    ("breeding", "message"),
    [
        ({"mode": "on"}, 'is missing with mode = "on"'),
        ({"mode": "off", "spawn_day": 3}, 'with mode = "off", when nothing spawns'),
        ({"mode": "on", "spawn_day": 40}, "got 40, when the run is over"),
        ({"mode": "on", "spawn_day": 3, "site": "cave"}, 'got "cave", which nothing here is'),
        ({"mode": "on", "spawn_day": 3, "pair": ["Basalt", "Pumise"]}, 'Did you mean "Pumice"?'),
        ({"mode": "on", "spawn_day": 3, "pair": ["Basalt", "basalt"]}, "one fish twice"),
        ({"mode": "on", "spawn_day": 3, "pair": ["Basalt", "Ochre"]}, "expected two of one"),
        ({"mode": "on", "spawn_day": 3, "pair": ["Basalt", "Ochre"]}, "the pair is together on"),
    ],
)
def test_breeding_that_cannot_be(breeding: dict[str, Any], message: str) -> None:
    assert message in "\n".join(fault_texts(fish=PAIR, breeding=breeding))


def test_two_males_do_not_pair() -> None:
    fish = [PAIR[0], PAIR[1] | {"sex": "male"}]
    on = {"mode": "on", "spawn_day": 3}
    assert "no two fish here can pair" in fault_texts(fish=fish, breeding=on)[0]
    named = on | {"pair": ["Basalt", "Pumice"]}
    assert "two males; expected a male and a female" in fault_texts(fish=fish, breeding=named)[0]
    assert fault_texts(fish=PAIR, breeding=on) == []
    assert fault_texts(fish=[PAIR[0], {"species": "convict"}], breeding=on) == []


def test_fish_whose_breeding_is_not_played_do_not_pair() -> None:
    on = {"mode": "on", "spawn_day": 3}
    assert "no two fish here can pair" in fault_texts(breeding=on)[0]


def test_asking_for_what_is_done_anyway_is_fine() -> None:
    parts = {"settling_days": 0, "growth": True, "feeding": {}, "breeding": {"mode": "off"}}
    assert fault_texts(**parts) == []


def test_names_in_the_past_and_in_events_are_checked() -> None:
    texts = fault_texts(
        fish=[{"name": "A", "species": "convict", "established": {"mate": "B", "owns": "pit"}}],
        events=[{"on_day": 2, "do": "take out", "fish": ["Aa"]}],
    )
    assert [text.split(";")[0] for text in texts] == [
        "('fish', 0, 'established', 'mate'): got \"B\", which nothing here is called",
        "('fish', 0, 'established', 'owns'): got \"pit\", which nothing here is called",
        "('events', 0, 'fish'): got \"Aa\", which nothing here is called",
    ]


def test_feeding_is_in_the_light_inside_the_glass_and_each_time_once() -> None:
    texts = fault_texts(
        feeding={
            "times": ["03:00", "12:00", "12:00"],
            "spots": [["9 m", "0.1 m"], ["0.2 m", "0.1 m"]],
        }
    )
    assert [text.split(";")[0] for text in texts] == [
        "('feeding', 'times', 0): got 03:00, in the dark or just before it",
        "('feeding', 'times', 2): got 12:00 a second time",
        "('feeding', 'spots', 0): got 9 m along and 0.1 m back, outside the glass",
    ]
