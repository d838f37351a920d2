"""Volume and load in closed form, and all sums of a tank together."""

from __future__ import annotations

import math

import pytest

from sim.errors import Refused
from sim.pieces import load_pieces
from sim.sums.ammonia import ammonia_from_feed
from sim.sums.assumed import load_assumed, load_matter, numbers_of
from sim.sums.density import water_density
from sim.sums.load import floor_load, glass_mass
from sim.sums.oxygen import oxygen_saturation, pressure_at
from sim.sums.tank import tank_sums
from sim.sums.unionised import unionised_share
from sim.sums.volume import grain_volume, matter_volume, water_volume
from tests.sim.worlds import fish, shipped, tank


def sums_of(*groups, given=None, substrate="bare", **more):
    scenario, layout = tank(*(groups or (fish(),)), **more)
    bed = scenario.tank.model_copy(update={"substrate": substrate})
    return tank_sums(scenario.model_copy(update={"tank": bed}), layout.pieces, given=given)


def piece(kind: str, size: str):
    _, layout = tank(
        fish(length_m=0.05), pieces=[{"kind": kind, "size": size, "x_m": 0.6, "y_m": 0.25}]
    )
    return layout.pieces[0]


class TestVolume:
    def test_a_bare_empty_tank_holds_its_box(self):
        found = sums_of(length_m=1.0, width_m=0.5, height_m=0.4)
        assert found.water_l == pytest.approx(200.0)
        assert found.grains_l == found.pieces_l == found.substrate_kg == 0.0

    def test_a_boulder_is_an_ellipsoid(self):
        """4/3 pi a b c; two thirds of its box is 0.67 of it."""
        one = piece("boulder", "8 in")
        found = matter_volume(one, fills=load_matter()["boulder"].fills, water_height_m=0.533)
        assert found == pytest.approx(4 / 3 * math.pi * 0.10 * 0.08 * 0.08, rel=0.01)

    def test_a_pipe_is_a_hollow_cylinder(self):
        """Within a tenth: the room of a piece is short of its ends by the wall."""
        one = piece("pipe", "4 in")
        found = matter_volume(one, fills=load_matter()["pipe"].fills, water_height_m=0.533)
        hollow = math.pi / 4 * (0.114**2 - (0.114 - 0.012) ** 2) * 0.25
        assert found == pytest.approx(hollow, rel=0.1)

    def test_what_stands_above_the_water_takes_none_of_its_place(self):
        one = piece("boulder", "8 in")  # 16 cm high
        whole, half = (matter_volume(one, fills=1.0, water_height_m=h) for h in (0.5, 0.08))
        assert half == pytest.approx(0.5 * whole)

    def test_grains(self):
        assert grain_volume(0.5, depth_m=0.05, pores=0.4) == pytest.approx(0.015)
        with pytest.raises(ValueError, match="expected room for water"):
            water_volume(0.1, grains_m3=0.06, pieces_m3=0.05)

    def test_every_kind_of_piece_is_made_of_something(self):
        assert set(load_matter()) == set(load_pieces())
        for one in load_matter().values():
            assert 0.0 < one.fills <= 1.0
            assert 900.0 <= one.density_kg_m3 <= 3000.0
            assert one.source


class TestLoad:
    def test_a_ton_on_a_square_metre(self):
        assert floor_load(1000.0, footprint_m2=1.0) == pytest.approx(9.80665)
        assert floor_load(1000.0, footprint_m2=2.0) == pytest.approx(4.903325)

    def test_five_panes(self):
        """A cube of a metre, 2 cm thick: five square metres of glass."""
        found = glass_mass(
            1.0, width_m=1.0, height_m=1.0, of_height=0.02, least_m=0.006, density_kg_m3=2500.0
        )
        assert found == pytest.approx(5 * 0.02 * 2500.0)
        thin = glass_mass(
            1.0, width_m=1.0, height_m=0.2, of_height=0.02, least_m=0.006, density_kg_m3=2500.0
        )
        assert thin == pytest.approx(1.8 * 0.006 * 2500.0)

    def test_all_of_a_tank_by_hand(self):
        """1 x 0.5 x 0.4 m at 20 degrees, 5 cm of sand of 40 % pores, no pieces."""
        found = sums_of(
            length_m=1.0, width_m=0.5, height_m=0.4, temperature_c=20.0, substrate="sand"
        )
        assert found.substrate_kg == pytest.approx(0.015 * 2650.0)
        assert found.water_kg == pytest.approx(0.185 * 998.204, abs=1e-3)
        assert found.glass_kg == pytest.approx((0.5 + 0.8 * 1.5) * 0.008 * 2500.0)
        assert found.stand_kg == pytest.approx(40.0)
        total = found.water_kg + found.substrate_kg + found.glass_kg + found.stand_kg
        assert found.total_kg == pytest.approx(total)
        assert found.load_kpa == pytest.approx(total * 9.80665 / 0.5 / 1000.0)
        assert found.foot_kg == pytest.approx(total / 4)
        assert found.room_times == pytest.approx(found.load_kpa / 1.9152)

    def test_the_load_of_rooms_is_40_pounds_on_a_square_foot(self):
        kpa = 40 * 0.45359237 * 9.80665 / 0.3048**2 / 1000.0
        assert numbers_of()["room_load"] == pytest.approx(kpa, abs=1e-4)


class TestTank:
    def test_pieces_and_sand_take_room_and_add_weight(self):
        found = tank_sums(shipped("convict-four-foot").scenario, ())
        checked = shipped("convict-four-foot")
        full = tank_sums(checked.scenario, checked.layout.pieces)
        assert full.water_l < found.water_l < full.brim_l
        assert full.total_kg > found.total_kg
        assert full.water_l == pytest.approx(full.brim_l - full.grains_l - full.pieces_l)

    def test_numbers_that_are_given_count(self):
        usual = sums_of(substrate="sand")
        for name, value, field, more in (
            ("ph", 8.5, "harm_total", False),
            ("altitude", 1500.0, "oxygen_mg_l", False),
            ("salinity", 5.0, "oxygen_mg_l", False),
            ("substrate_depth", 0.1, "total_kg", True),
        ):
            other = sums_of(substrate="sand", given={name: value})
            assert (getattr(other, field) > getattr(usual, field)) is more, name
        for name, value, field, more in (
            ("protein", 0.5, "ammonia_g", True),
            ("change_share", 0.5, "nitrate_before", False),
            ("change_days", 14.0, "nitrate_before", True),
            ("nitrate_limit", 20.0, "change_needed", True),
            ("tap_nitrate", 0.0, "nitrate_before", False),
        ):
            other = sums_of(substrate="sand", given={name: value})
            pair = (getattr(other.moments[0], field), getattr(usual.moments[0], field))
            assert (pair[0] > pair[1]) is more, name

    def test_a_chain_of_sums_by_hand(self):
        """10 g of feed a day of 50 % protein in 200 L: 460 mg N, 2.3 mg/L a day of ammonia."""
        found = sums_of(
            fish("oscar", length_m=0.25), feeding={"share_of_mass": 0.02},
            length_m=1.0, width_m=0.5, height_m=0.4, temperature_c=25.0, given={"protein": 0.5},
        )  # fmt: skip
        now = found.moments[0]
        assert found.fed_by == "scenario"
        assert now.food_g == pytest.approx(0.02 * now.fish_g)
        assert now.ammonia_g == pytest.approx(now.food_g * 0.5 * 0.092)
        assert now.ammonia_rise == pytest.approx(1000.0 * now.ammonia_g / 200.0)
        harm = 0.05 / unionised_share(25.0, ph=7.5)
        assert now.hours_to_harm == pytest.approx(24.0 * harm / now.ammonia_rise)
        assert now.nitrate_rise == pytest.approx(now.ammonia_rise * 62.0049 / 14.0067)
        assert now.nitrate_before == pytest.approx(10.0 + now.nitrate_rise * 7.0 / 0.25)

    def test_moments(self):
        grown = sums_of(fish(length_m=0.04, count=3), growth=True, days=100.0)
        assert [m.name for m in grown.moments] == ["now", "at the end", "full-grown"]
        assert [m.day for m in grown.moments] == [0.0, 100.0, None]
        masses = [m.fish_g for m in grown.moments]
        assert masses == sorted(masses)
        assert masses[0] < masses[1] < masses[2]
        still = sums_of(fish(length_m=0.04, count=3))
        assert [m.name for m in still.moments] == ["now", "full-grown"]

    def test_refused(self):
        for given, words in (
            ({"ph": 15.0}, "--ph: got 15"),
            ({"colour": 1.0}, "got colour; expected one of ph"),
            ({"ph": math.nan}, "--ph: got nan"),
        ):
            with pytest.raises(Refused, match=words):
                sums_of(given=given)
        with pytest.raises(Refused, match="more than half the height"):
            sums_of(height_m=0.3, substrate="gravel", given={"substrate_depth": 0.2})
        with pytest.raises(Refused) as both:
            numbers_of({"ph": 1.0, "protein": 2.0})
        assert len(both.value.problems) == 2

    def test_every_number_lies_in_its_range_and_has_a_source(self):
        for one in load_assumed().values():
            assert one.low <= one.value <= one.high, one.name
            assert one.source
            assert one.words
            assert one.unit


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: oxygen_saturation(-1.0),
        lambda: oxygen_saturation(41.0),
        lambda: oxygen_saturation(math.nan),
        lambda: oxygen_saturation(20.0, salinity_g_kg=50.0),
        lambda: oxygen_saturation(20.0, pressure_atm=0.1),
        lambda: pressure_at(20000.0),
        lambda: unionised_share(60.0, ph=7.0),
        lambda: unionised_share(20.0, ph=15.0),
        lambda: water_density(60.0),
        lambda: ammonia_from_feed(-1.0, protein=0.4),
        lambda: ammonia_from_feed(1.0, protein=1.4),
        lambda: floor_load(1.0, footprint_m2=0.0),
    ],
)
def test_a_number_outside_its_range_is_refused_with_the_range(wrong):
    with pytest.raises(ValueError, match="expected"):
        wrong()
