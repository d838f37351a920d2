"""Standard tank sizes by name."""

from __future__ import annotations

import pytest

from sim.tanks import find_tank, load_tanks


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("75 gallon", "75 gallon"),
        ("75 gal", "75 gallon"),
        ("75-gallon tank", "75 gallon"),
        ("40B", "40 gallon breeder"),
        ("20 gallon tall", "20 gallon high"),
        ("125", "125 gallon"),
    ],
)
def test_names_of_the_trade(name: str, found: str) -> None:
    assert find_tank(name).name == found


def test_sizes_are_in_metres_and_say_how_they_are_known() -> None:
    tank = find_tank("75 gallon")
    assert (tank.length_m, tank.width_m, tank.height_m) == (1.2192, 0.4572, 0.5334)
    assert {tank.known for tank in load_tanks().values()} == {"trade", "from memory"}
    assert all(t.length_m >= t.width_m for t in load_tanks().values())


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("20 gallon", 'expected one of "20 gallon high", "20 gallon long"'),
        ("76 gallon", '"75 gallon"'),
        ("shoebox", 'got "shoebox", which is no standard size; expected one of "10 gallon"'),
        ("", 'got "", which is no standard size'),
    ],
)
def test_other_names_are_refused_with_the_nearest(name: str, message: str) -> None:
    with pytest.raises(ValueError, match="Or give length, width and height") as refusal:
        find_tank(name)
    assert message in str(refusal.value)
