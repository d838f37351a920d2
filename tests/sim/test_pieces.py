"""The catalogue, and a piece turned into a shape."""

from __future__ import annotations

import math

import pytest
import shapely

from sim.errors import Refused
from sim.pieces import (
    GROUPS,
    SHAPES,
    find_kind,
    find_size,
    load_pieces,
    place_piece,
    sight_height_m,
)
from tests.sim.layouts import one

EVERY = [(kind.key, size.name) for kind in load_pieces().values() for size in kind.sizes]


@pytest.mark.parametrize("key", list(load_pieces()))
def test_every_number_of_the_catalogue_says_where_it_is_from(key: str) -> None:
    kind = load_pieces()[key]
    owed = {"sizes", "height", "shape"}
    if any(size.doors for size in kind.sizes):
        owed |= {"wall", "doors"}
    assert set(kind.sources) == owed
    for source in kind.sources.values():
        assert source.startswith(("assumed", "common practice, no source"))
    assert kind.group in GROUPS
    assert kind.shape in SHAPES
    assert len({size.name for size in kind.sizes}) == len(kind.sizes)
    assert (kind.group == "cave") == any(size.doors for size in kind.sizes)


def test_the_catalogue_holds_what_keepers_ask_for() -> None:
    sizes = {key: [size.name for size in kind.sizes] for key, kind in load_pieces().items()}
    assert sizes["pot"] == ["4 in", "6 in", "8 in"]
    assert sizes["pipe"] == ["2 in", "3 in", "4 in"]
    assert {"slate", "cobble", "driftwood", "plant", "divider", "heater"} <= set(sizes)


@pytest.mark.parametrize(("key", "name"), EVERY)
def test_every_size_fills_its_box_and_holds_its_room(key: str, name: str) -> None:
    size = find_size(name, kind=find_kind(key))
    placed = place_piece(one(kind=key, size=name), tank_height_m=0.6)
    x0, y0, x1, y1 = placed.outline.bounds
    # a round outline's corners stand out by up to 1.3 % so that its area is the ellipse's
    assert x1 - x0 == pytest.approx(size.length_m, rel=0.014)
    assert y1 - y0 == pytest.approx(size.width_m, rel=0.014)
    assert placed.outline.is_valid
    assert placed.height_m == (0.6 if size.height_m is None else size.height_m)
    assert bool(placed.doors) == (placed.room is not None)
    if placed.room is not None:
        gap_m = placed.outline.exterior.distance(placed.room)
        assert gap_m == pytest.approx(size.wall_m, rel=1e-6)
        for door in placed.doors:
            assert 0 < door.height_m < placed.height_m
            assert 0 < door.width_m < max(size.length_m, size.width_m)


def test_areas_in_closed_form() -> None:
    def area(**values: object) -> float:
        return float(place_piece(one(kind="cobble", **values), tank_height_m=0.5).outline.area)

    side = {"length_m": 0.3, "width_m": 0.2}
    assert area(**side) == pytest.approx(math.pi * 0.15 * 0.10, rel=1e-12)
    assert area(length_m=0.2, width_m=0.2) == pytest.approx(math.pi * 0.1**2, rel=1e-12)
    assert area(**side, shape="rectangle") == pytest.approx(0.06, rel=1e-12)
    assert area(outline=[(0, 0), (0.3, 0), (0, 0.2)]) == pytest.approx(0.03, rel=1e-12)
    pot = place_piece(one(kind="pot", length_m=0.2, width_m=0.1), tank_height_m=0.5)
    assert pot.outline.area == pytest.approx(0.2 * 0.1 * (1 + 0.65) / 2, rel=1e-12)


def test_a_piece_is_turned_and_then_moved() -> None:
    turned = place_piece(
        one(kind="rock-wall", size="8 in", x_m=0.5, y_m=0.3, turn_rad=math.pi / 2),
        tank_height_m=0.5,
    )
    assert turned.outline.bounds == pytest.approx((0.46, 0.20, 0.54, 0.40))
    # the wide end of a pot looks along +x, so a quarter turn counter-clockwise points it at +y
    pot = place_piece(one(kind="pot", size="6 in", turn_rad=math.pi / 2), tank_height_m=0.5)
    x, y = shapely.get_coordinates(pot.outline).T
    assert x[y > 0].max() > 1.4 * x[y < 0].max()


def test_own_measures_win_over_the_size() -> None:
    pot = place_piece(one(kind="pot", size="6 in", height_m=0.11), tank_height_m=0.5)
    assert pot.height_m == 0.11
    assert pot.doors[0].width_m == 0.135
    own = {"width_m": 0.03, "height_m": 0.02, "facing_rad": 1.0}
    pot = place_piece(one(kind="pot", size="6 in", doors=[own]), tank_height_m=0.5)
    assert [(d.width_m, d.height_m, d.facing_rad) for d in pot.doors] == [(0.03, 0.02, 1.0)]


def test_a_pot_of_no_catalogue_size_has_the_nearest_ones_door_to_scale() -> None:
    pot = place_piece(
        one(kind="pot", length_m=0.145, width_m=0.31, height_m=0.075), tank_height_m=0.5
    )
    assert pot.doors[0].width_m == pytest.approx(2 * 0.135)
    assert pot.doors[0].height_m == pytest.approx(0.115 / 2)


def test_a_solid_stone_given_a_door_has_a_room_behind_a_wall() -> None:
    door = {"width_m": 0.05, "height_m": 0.05}
    stone = place_piece(
        one(kind="rock-wall", length_m=0.3, width_m=0.2, doors=[door]), tank_height_m=0.5
    )
    assert stone.room is not None
    assert stone.room.area == pytest.approx(0.26 * 0.16)


@pytest.mark.parametrize(
    ("height_m", "swim_top", "sight_top"),
    # tank of 60 cm: swimming is stopped above 3, 30 and 50 cm; sight is between two fish near
    # the floor above 6 cm, and by the sum of their layers above 20, 30, 40 and 50 cm
    [
        (0.02, -1, -1),
        (0.03, -1, -1),
        (0.05, 0, -1),
        (0.07, 0, 0),
        (0.21, 0, 1),
        (0.31, 1, 2),
        (0.41, 1, 3),
        (0.51, 2, 4),
    ],
)
def test_a_piece_blocks_up_to_its_height(height_m: float, swim_top: int, sight_top: int) -> None:
    stone = one(kind="rock-wall", length_m=0.2, width_m=0.1, height_m=height_m)
    placed = place_piece(stone, tank_height_m=0.6)
    assert (placed.swim_top, placed.sight_top) == (swim_top, sight_top)
    plant = one(kind="plant", length_m=0.2, width_m=0.1, height_m=height_m)
    placed = place_piece(plant, tank_height_m=0.6)
    assert (placed.swim_top, placed.sight_top) == (-1, sight_top)


def test_in_a_shallow_tank_sight_near_the_floor_is_low() -> None:
    assert sight_height_m(0, tank_height_m=0.24) == pytest.approx(0.04)
    assert sight_height_m(0, tank_height_m=0.90) == 0.06
    assert sight_height_m(3, tank_height_m=0.30) == pytest.approx(0.20)


def test_a_divider_is_as_high_as_the_tank_and_a_clear_one_hides_nothing() -> None:
    opaque = place_piece(one(kind="divider", size="18 in"), tank_height_m=0.6)
    assert (opaque.height_m, opaque.swim_top, opaque.sight_top) == (0.6, 2, 4)
    clear = place_piece(one(kind="clear-divider", size="18 in"), tank_height_m=0.6)
    assert (clear.swim_top, clear.sight_top) == (2, -1)


def test_names_are_found_however_they_are_written() -> None:
    assert find_kind("Rock Wall").key == find_kind("rock_wall").key == "rock-wall"
    assert find_kind("flower pot on its side").key == "pot"
    assert find_size("6IN", kind=find_kind("pot")).length_m == 0.145


def refusal(**values: object) -> str:
    with pytest.raises(Refused) as caught:
        place_piece(one(**values), tank_height_m=0.5)
    return "\n".join(str(problem) for problem in caught.value.problems)


def test_what_is_not_in_the_catalogue_is_refused_with_what_is() -> None:
    assert refusal(kind="slade", size="6 in").startswith(
        'pieces "thing".kind: no such kind of piece, got "slade"; expected one of: slate'
    )
    assert refusal(kind="pot", size="7 in") == (
        'pieces "thing".size: no such size of pot, got "7 in"; expected one of: 4 in, 6 in, 8 in. '
        "For another, leave out size and give length, width and height."
    )


def test_an_outline_that_crosses_itself_is_refused() -> None:
    bow = [(0, 0), (0.1, 0.1), (0.1, 0), (0, 0.1)]
    sentence = refusal(kind="driftwood", outline=bow)
    assert sentence.startswith('pieces "thing".outline: got corners that make no shape')
    assert "Mend the order of the corners." in sentence
