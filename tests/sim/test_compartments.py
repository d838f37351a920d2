"""What dividers part the water into."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.sim.layouts import block, layout, piece

UPRIGHT = {"turn_rad": math.pi / 2}


def sheet(x_m: float, kind: str = "divider", **more):
    return piece(kind, "18 in", x_m, 0.2285, **UPRIGHT, **more)


def test_a_sheet_from_glass_to_glass_parts_the_water_and_a_short_one_does_not():
    assert len(layout([sheet(0.6)]).compartments) == 2
    assert len(layout([sheet(0.4), sheet(0.8)]).compartments) == 3
    short = layout([piece("divider", "12 in", 0.6, 0.2, **UPRIGHT)])
    assert len(short.compartments) == 1
    assert "parts nothing" in str(short.warnings()[0])
    assert layout([sheet(0.6)]).warnings() == []


def test_a_wall_that_can_be_swum_over_parts_nothing():
    wall = block(0.457, 0.02, 0.6, 0.2285, height_m=0.25, **UPRIGHT)
    assert len(layout([wall]).compartments) == 1


def test_points_are_numbered_from_the_left():
    parted = layout([sheet(0.4), sheet(0.8)])
    xy = np.array([(0.1, 0.1), (0.39, 0.4), (0.41, 0.4), (0.79, 0.01), (0.81, 0.01), (1.2, 0.4)])
    assert parted.compartments.of(xy).tolist() == [0, 0, 1, 1, 2, 2]


@pytest.mark.parametrize(
    ("kind", "seen"), [("divider", 0), ("clear-divider", 1), ("mesh-divider", 1)]
)
def test_who_is_seen_through_a_sheet(kind, seen):
    floor = layout([sheet(0.602, kind)]).floor()
    assert floor.compartment_sight.tolist() == [[1, seen], [seen, 1]]


def test_no_way_leads_through_a_sheet_and_sites_know_their_side():
    parted = layout([sheet(0.602)])
    floor = parted.floor()
    left = np.flatnonzero(floor.site_compartment == 0)
    right = np.flatnonzero(floor.site_compartment == 1)
    assert len(left) > 3
    assert len(right) > 3
    assert np.all(floor.site_xy[left, 0] < 0.6)
    assert np.all(floor.site_dist[left][:, floor.site_cell[right]] > 90.0)


def test_a_doorway_is_a_room_with_a_door_on_either_side():
    parted = layout([sheet(0.602, doors=[{"width_m": 0.05, "height_m": 0.04, "along_m": 0.1}])])
    floor = parted.floor()
    assert floor.room_through.tolist() == [1]
    assert sorted(floor.door_compartment.tolist()) == [0, 1]
    assert np.allclose(floor.door_out[:, 1], 0.2285 + 0.1, atol=1e-3)
    assert floor.site_room.max(initial=-1) == -1, "nobody holds a doorway as a cave"


def test_a_doorway_with_a_stone_before_it_is_refused():
    doors = [{"width_m": 0.05, "height_m": 0.04}]
    stone = block(0.05, 0.05, 0.64, 0.2285)
    (problem,) = layout([sheet(0.602, doors=doors), stone]).problems()
    assert "nothing can get in" in problem.sentence
