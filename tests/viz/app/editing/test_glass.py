"""Tanks by their trade name and by their sides, and what the pieces do."""

from __future__ import annotations

import pytest

from sim.check import check_file
from sim.errors import Refused
from sim.units import parse_length
from tests.viz.app.editing.made import SCENARIOS, piece, shipped
from viz.app.editing.glass import resize_tank, set_water, trade_name, trade_sizes
from viz.app.editing.verdict import judge


def test_a_size_is_known_by_its_trade_name_and_back():
    for size in trade_sizes():
        after = resize_tank(shipped(), size=size.name)
        sides = (after.tank.length_m, after.tank.width_m, after.tank.height_m)
        assert sides == (size.length_m, size.width_m, size.height_m)
        assert trade_name(after.tank) is not None
    odd = resize_tank(shipped(), length="47 in")
    assert trade_name(odd.tank) is None


def test_stretching_is_what_a_variant_of_a_file_does():
    by_hand = resize_tank(shipped("convict-four-foot"), length="72 in", pieces="stretch")
    by_file = check_file(SCENARIOS / "convict-six-foot.toml").scenario
    for mine, theirs in zip(by_hand.pieces, by_file.pieces, strict=True):
        assert mine.x_m == pytest.approx(theirs.x_m, abs=1e-8)
        assert mine.y_m == theirs.y_m


def test_keeping_leaves_places_alone_and_check_names_what_is_outside():
    after = resize_tank(shipped(), length="36 in", pieces="keep")
    assert piece(after, "pipe").x_m == parse_length("40 in")
    found = judge(after)
    assert found.checked is None
    outside = [m for m in found.messages if m.about == "piece" and m.name == "pipe"]
    assert outside[0].sentence.startswith("it goes through the right glass")


def test_a_divider_is_cut_anew():
    from viz.app.editing.furnish import add_piece

    scenario, name = add_piece(shipped("juveniles-crowd"), kind="mesh divider", size="18 in")
    for pieces in ("keep", "stretch"):
        after = resize_tank(scenario, length="72 in", width="24 in", pieces=pieces)
        assert piece(after, name).length_m == after.tank.width_m
        assert len(judge(after).checked.layout.compartments) == 2


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"length": "seven"}, 'got "seven", which is not a number with a unit; expected a length'),
        ({"length": "3 in"}, "expected a length from 20 cm"),
        ({"width": "60 in"}, "expected the length to be the long side. Swap them."),
        ({"size": "76 gallon"}, "which is no standard size; expected one of"),
    ],
)
def test_a_size_that_cannot_be_is_a_sentence(values, sentence):
    with pytest.raises(Refused, match=sentence):
        resize_tank(shipped(), **values)


def test_water_and_light():
    after = set_water(shipped(), substrate="gravel", temperature_c="82 degF", lights_on_h="08:30")
    assert after.tank.substrate == "gravel"
    assert after.tank.temperature_c == pytest.approx(27.78, abs=0.01)
    assert after.tank.lights_on_h == 8.5
    with pytest.raises(Refused, match="expected water from"):
        set_water(shipped(), temperature_c="200 degF")
