"""What a fish sees and how far it swims, held against the layout's own answers."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Point

from sim.check import check_scenario
from sim.errors import Refused
from tests.viz.app.editing.made import shipped
from viz.app.editing.overlays import BAND_M, nests, sight_region, swim_bands
from viz.app.editing.stock import remove_fish
from viz.app.editing.verdict import judge


@pytest.fixture(scope="module")
def layout():
    return judge(shipped()).checked.layout


def lattice(layout, step_m: float = 0.05):
    for x in np.arange(step_m / 2, layout.length_m, step_m):
        for y in np.arange(step_m / 2, layout.width_m, step_m):
            yield float(x), float(y)


@pytest.mark.parametrize("at", [(0.11, 0.06), (0.7, 0.1), (0.9, 0.42), (1.2, 0.05)])
def test_what_is_seen_is_what_the_layout_sees(layout, at):
    region = sight_region(layout, at)
    assert 0.0 < region.area <= layout.area_m2
    unlike = [
        point
        for point in lattice(layout)
        if region.boundary.distance(Point(point)) > 0.002
        and region.contains(Point(point)) != layout.sees(at, point)
    ]
    assert unlike == []


def test_from_inside_a_room_nothing_outside_is_seen(layout):
    room = next(room for room in layout.rooms if room.name == "large pot")
    region = sight_region(layout, room.point)
    pot = next(piece for piece in layout.pieces if piece.name == "large pot")
    assert pot.outline.buffer(0.001).contains(region)


@pytest.mark.parametrize("at", [(0.1, 0.06), (1.1, 0.4)])
def test_the_lines_lie_where_it_is_so_far_to_swim(layout, at):
    bands = swim_bands(layout, at)
    assert [band.words for band in bands] == [f"{k} ft" for k in range(1, len(bands) + 1)]
    assert len(bands) >= 3
    for band in bands:
        points = np.concatenate(band.lines)[::4]
        for point in points:
            far = layout.swim_distance(at, (float(point[0]), float(point[1])))
            # a lattice of 4 cm, straight between its points
            assert far == pytest.approx(band.far_m, abs=0.03)
        assert band.far_m == pytest.approx(BAND_M * int(band.words[0]))


def test_a_pair_spawns_where_the_runs_have_it_spawn():
    checked = check_scenario(shipped())
    found = nests(checked, draws=6)
    assert found.draws == 6
    assert sum(nest.draws for nest in found.places) + found.none == 6
    assert found.places, "a convict pair finds a cave here"
    for nest in found.places:
        assert nest.words in ("in the large pot", "in the pipe", "in the small pot") or (
            nest.words.startswith(("on ", "beside "))
        )
        assert checked.layout.sites[checked.layout.find_site(nest.at)].point == nest.at
    assert found.words.startswith("Where they spawn in 6 draws of fish: ")
    assert nests(checked, draws=6) == found
    assert nests(checked, draws=6, stop=lambda: True).draws == 0


def test_no_pair_no_nest():
    alone = remove_fish(shipped(), "Pumice")
    with pytest.raises(Refused, match="no two fish here can pair"):
        nests(check_scenario(alone), draws=2)
