"""What a sweep varies: the language of `--vary`, plans, and further caves that can be built."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from sim.check import check_file, check_scenario
from sim.errors import Refused
from sim.layout import Layout
from sim.more_caves import GLASS_M, SWIM_M, cave_named, caves_of, with_caves
from sim.varied import build_points, point_label, unwise_of
from sim.varying import plan_points, read_factors

TOP = Path(__file__).parents[2]
FOUR_FEET = TOP / "scenarios" / "convict-four-foot.toml"


def texts(factor) -> list[str]:
    return [value.text for value in factor.values]


@pytest.mark.parametrize(
    ("given", "values", "numbers", "unit"),
    [
        ("tank.length=4 ft,5 ft, 8 ft", ["4 ft", "5 ft", "8 ft"], [4, 5, 8], "ft"),
        ("hardscape.caves=0..3", ["0", "1", "2", "3"], [0, 1, 2, 3], ""),
        ("tank.length=4 ft..6 ft by 1 ft", ["4 ft", "5 ft", "6 ft"], [4, 5, 6], "ft"),
        ("tank.length=4..5 ft by 0.5 ft", ["4 ft", "4.5 ft", "5 ft"], [4, 4.5, 5], "ft"),
        ("fish.a.count=2,4..6", ["2", "4", "5", "6"], [2, 4, 5, 6], ""),
        ("tank.length=48 in,1.5 m", ["48 in", "1.5 m"], [1.2192, 1.5], "m"),
        ("breeding.mode=off,spontaneous", ["off", "spontaneous"], [math.nan] * 2, ""),
        ('without=[],["brood", "hiding"]', ["[]", '["brood", "hiding"]'], [math.nan] * 2, ""),
        ("fish.a.length=about 2 in,about 3 in", ["about 2 in", "about 3 in"], [2, 3], "in"),
    ],
)
def test_values_are_read_as_a_keeper_writes_them(given, values, numbers, unit):
    (factor,) = read_factors([given])
    assert texts(factor) == values
    np.testing.assert_array_equal([value.number for value in factor.values], numbers)
    assert factor.unit == unit
    assert factor.varies


def test_values_are_what_toml_would_give():
    growth, days, mode = read_factors(["growth=true,false", "days=5,7.5", "a.b='x, y',z"])
    assert [value.plain for value in growth.values] == [True, False]
    assert [value.plain for value in days.values] == [5, 7.5]
    assert [value.plain for value in mode.values] == ["x, y", "z"]


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        (["tank.length"], "expected KEY=VALUES"),
        (["tank.length=4 ft,5 ft", "TANK.length=6 ft"], "is given twice"),
        (["tank.length=4 ft"], "got no key with more than one value"),
        (["tank.length=4 ft,4 ft"], 'got "4 ft" twice'),
        (["hardscape.caves=6..0"], "expected a range that rises"),
        (["hardscape.caves=0..900"], "expected at most 100"),
        (["tank.length=4 ft..8 in"], "expected a range as 0..6"),
        (["tank.length=4 ft..8 ft,9 ft"], "among other values"),
        ([], "got no key with more than one value"),
    ],
)
def test_what_cannot_be_varied_is_refused(given, sentence):
    with pytest.raises(Refused, match="--vary") as refused:
        read_factors(given)
    assert sentence in str(refused.value)


def test_a_full_plan_is_every_combination_the_last_factor_fastest():
    factors = read_factors(["a=1,2", "b=x", "c=5,6,7"])
    points = plan_points(factors, plan="full")
    assert [tuple(v.text for v in p) for p in points] == [
        (a, "x", c) for a in "12" for c in "567"
    ]  # fmt: skip
    assert point_label(factors, points[1]) == "a = 1, c = 6"


def test_a_full_plan_refuses_a_range_without_steps_and_too_many_points():
    with pytest.raises(Refused, match=r"4 ft\.\.8 ft by 1 ft"):
        plan_points(read_factors(["tank.length=4 ft..8 ft"]), plan="full")
    with pytest.raises(Refused, match="got 900 combinations; expected at most 400"):
        plan_points(read_factors(["a=1..30", "b=1..30"]), plan="full")
    with pytest.raises(Refused, match="--points"):
        plan_points(read_factors(["a=1,2"]), plan="full", points=3)


def test_a_latin_plan_goes_evenly_through_every_factor():
    factors = read_factors(["tank.length=4 ft..8 ft", "caves=0..4", "mode=x"])
    points = plan_points(factors, plan="latin", points=20, seed=3)
    lengths = sorted(point[0].number for point in points)
    assert [math.floor((x - 4.0) / 0.2 + 1e-9) for x in lengths] == list(range(20))
    caves = [point[1].text for point in points]
    assert [caves.count(str(k)) for k in range(5)] == [4] * 5
    assert {point[2].text for point in points} == {"x"}
    assert points == plan_points(factors, plan="latin", points=20, seed=3)
    assert points != plan_points(factors, plan="latin", points=20, seed=4)


def test_a_point_is_a_variant_of_the_file():
    """Of the same bytes as the shipped variant that says the same."""
    factors = read_factors(["tank.length=72 in,6 ft 1 in", "fish.Swordtails.count=0,8"])
    tanks = build_points(FOUR_FEET, factors, plan_points(factors, plan="full"), days=9)
    six = check_file(TOP / "scenarios" / "convict-six-foot.toml").scenario
    assert tanks[0].scenario.pieces == six.pieces
    assert tanks[0].scenario.tank == six.tank
    assert [group.name for group in tanks[0].scenario.fish] == ["Basalt", "Pumice", "Lint"]
    assert tanks[1].scenario.fish[2].count == 8
    assert tanks[0].scenario.days == 9


def test_pieces_stay_where_they_are_if_that_is_asked():
    factors = read_factors(["tank.length=4 ft,6 ft", "pieces_when_resized=keep"])
    tanks = build_points(FOUR_FEET, factors, plan_points(factors, plan="full"))
    assert tanks[0].scenario.pieces == tanks[1].scenario.pieces


def test_pieces_can_be_taken_out_as_a_variant_does():
    factors = read_factors(['remove.pieces=[],["root"],["root","pipe"]', "fish.Lint.count=1,0"])
    tanks = build_points(FOUR_FEET, factors, plan_points(factors, plan="full"))
    assert [len(tank.scenario.pieces) for tank in tanks] == [6, 6, 5, 5, 4, 4]
    assert [len(tank.scenario.fish) for tank in tanks] == [4, 3] * 3
    again = build_points(FOUR_FEET, factors, plan_points(factors, plan="full"))
    assert [tank.scenario for tank in again] == [tank.scenario for tank in tanks]


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ("tank.lenght=4 ft,5 ft", 'Did you mean "length"'),
        ("fish.swordtail.count=2,3", 'Did you mean "swordtails"'),
        ("fish.count=2,3", "expected fish.NAME.KEY"),
        ("tank.length=4,5", "unit"),
        ("tank.length=20 in,4 ft", "with tank.length = 20 in"),
        ("hardscape.caves=1.5,2", "expected whole numbers from 0"),
        ("hardscape.caves=3,40", "expected at most"),
        ("fish.swordtails.count=2,500", "500"),
        ("days=10,20", "expected the same number of days at every point"),
        ("seed=1,2", "Say which with --seed"),
        ("hardscape.cave=pipe 2 in,pot 4 in", "is given without hardscape.caves"),
        ("hardscape.stones=1,2", "expected hardscape.caves or hardscape.cave"),
    ],
)
def test_a_point_that_cannot_be_is_refused_before_anything_is_played(given, sentence):
    factors = read_factors([given])
    with pytest.raises(Refused) as refused:
        build_points(FOUR_FEET, factors, plan_points(factors, plan="full"))
    assert sentence in str(refused.value)


def test_what_is_unwise_is_said_once_for_all_its_points():
    factors = read_factors(["tank.temperature=74 degF,82 degF", "fish.swordtails.count=2,4,6"])
    tanks = build_points(FOUR_FEET, factors, plan_points(factors, plan="full"))
    (one,) = unwise_of(FOUR_FEET, factors, tanks)
    assert one.where == f"{FOUR_FEET}, tank.temperature"
    assert one.sentence.endswith(
        "So at 3 of 6 points, first tank.temperature = 82 degF, fish.swordtails.count = 2."
    )


# --- caves ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def four_feet():
    return check_file(FOUR_FEET).scenario


def test_fewer_caves_are_the_first_of_the_file(four_feet):
    caves = with_caves(four_feet, count=1, where="x")
    assert (caves.kept, caves.taken_out) == (("large pot",), ("pipe", "small pot"))
    assert with_caves(four_feet, count=0, where="x").kept == ()


@pytest.mark.parametrize("length", ["48 in", "96 in"])
def test_further_caves_can_be_built(length):
    factors = read_factors([f"tank.length={length}", "hardscape.caves=3..6"])
    for tank in build_points(FOUR_FEET, factors, plan_points(factors, plan="full")):
        assert len(caves_of(tank.scenario)) == int(tank.values[1].plain)
        layout = Layout(tank.scenario)
        assert layout.problems() == []
        assert layout.warnings() == []
        outlines = {piece.name: piece.outline for piece in layout.solid(0)}
        room = layout.glass.buffer(1e-9 - GLASS_M)
        for piece in tank.caves.added:
            mine = outlines.pop(piece.name)
            assert room.contains(mine)
            assert min(mine.distance(other) for other in outlines.values()) > SWIM_M - 1e-9
            assert piece.x_m / 0.0254 == pytest.approx(round(piece.x_m / 0.0254))


def test_the_caves_of_a_point_with_fewer_are_among_those_with_more(four_feet):
    five = with_caves(four_feet, count=5, where="x").added
    six = with_caves(four_feet, count=6, where="x").added
    assert six[:2] == five


def test_the_kind_of_further_caves_can_be_chosen_and_the_usual_is_the_files_own(four_feet):
    cave = cave_named("upturned pot 4 in", where="x")
    added = with_caves(four_feet, count=5, cave=cave, where="x").added
    assert {(piece.kind, piece.size) for piece in added} == {("upturned-pot", "4 in")}
    own = with_caves(four_feet, count=5, where="x").added
    assert [piece.kind for piece in own] == ["pot", "pipe"]
    with pytest.raises(Refused, match="expected a kind of cave and its size"):
        cave_named("boulder 8 in", where="x")


def test_a_cave_that_nobody_fits_is_no_cave(four_feet):
    """The reason is that of the layout, not a guess."""
    large = four_feet.fish[0].model_copy(update={"length_m": 0.13})
    scenario = four_feet.model_copy(
        update={"fish": (large,), "pieces": (), "breeding": four_feet.breeding}
    )
    check_scenario(scenario)
    with pytest.raises(Refused, match="expected at most 0"):
        with_caves(scenario, count=1, cave=cave_named("pipe 2 in", where="x"), where="x")
