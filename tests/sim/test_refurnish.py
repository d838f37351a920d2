"""What becomes of fish, sites and memory when pieces are moved."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.refurnish import refurnish
from sim.rules.codes import CAVE, IN_TANK
from sim.rules.see import saw_each_other
from tests.sim.calling import call
from tests.sim.layouts import block, piece
from tests.sim.worlds import fish, history, nearest_site, put

POT = piece("pot", "6 in", 0.25, 0.25, name="pot", turn_rad=-1.2)
FAR = piece("pot", "6 in", 0.95, 0.25, name="far pot", turn_rad=-1.2)
NOON = 0.5


def tank(events, pieces=(POT, FAR), **more):
    return history(
        fish(name="Agate", sex="male", length_m=0.11),
        fish(name="Beryl", sex="male", length_m=0.10),
        fish("swordtail", name="dither", count=2),
        pieces=list(pieces),
        events=events,
        days=3,
        **more,
    )


def moving(**to):
    return [{"on_day": 0, "at_h": 12, "do": "re-arrange", "moves": [{"piece": "pot", **to}]}]


def cave_of(of, name):
    """The site that is the cave of a piece, in the tank as it is furnished now."""
    layout = of.layout.stages[int(of.state.tank.furniture[0])]
    return next(
        k
        for k, site in enumerate(layout.sites)
        if site.kind == CAVE and layout.pieces[site.piece].name == name
    )


def just_before(of):
    of.advance(until_day=NOON - 0.002)
    return of.state


def test_an_owner_loses_a_place_that_has_moved_and_one_elsewhere_keeps_its_own_as_if_new():
    of = tank(moving(x_m=0.45, y_m=0.2))
    state = just_before(of)
    state.fish.site[:2] = cave_of(of, "pot"), cave_of(of, "far pot")
    state.fish.site_since[:2] = 0.0
    of.advance(until_day=NOON + 0.0005)
    assert state.tank.furniture[0] == 1
    assert state.fish.site[0] == -1
    assert state.fish.site[1] == cave_of(of, "far pot")
    assert state.fish.site_since[1] == pytest.approx(NOON * 86400.0, abs=200.0)


def test_what_they_know_of_each_other_stays_and_what_was_pooled_goes():
    of = tank(moving(x_m=0.45, y_m=0.2))
    state = just_before(of)
    state.pair.familiar[0, 1], state.pair.avoid[1, 0], state.pair.met[0, 1] = 0.5, 0.5, 40000.0
    state.pair.exposure[:] = 7.0
    changes = int(state.tank.changes[0])
    of.advance(until_day=NOON + 0.0005)
    assert state.pair.familiar[0, 1] > 0.4
    assert state.pair.avoid[1, 0] > 0.4
    assert state.pair.met[0, 1] >= 40000.0
    assert np.all(state.pair.exposure == 0.0)
    assert state.tank.changes[0] > changes


def test_what_was_seen_among_the_pieces_of_before_is_no_longer_told():
    of = tank(moving(x_m=0.45, y_m=0.2))
    state = just_before(of)
    assert (state.fish.glance == 1).all()
    refurnish(state, of.layout.stages[0], of.layout.stages[1], rearranged=False)
    assert not call(saw_each_other, state, of.layout.stages[1].floor(), 0, 1)


def test_a_fish_in_the_way_is_put_to_the_nearest_free_place():
    stone = block(0.2, 0.2, 0.6, 0.23, name="stone")
    events = [{"on_day": 0, "at_h": 12, "do": "bring back", "pieces": ["stone"]}]
    of = tank(events, pieces=(POT, FAR, stone))
    assert of.layout.furniture.stages[0][-1].name == "far pot"
    state = just_before(of)
    put(of, 0, 0.6, 0.2)
    put(of, 1, 0.6, 0.2, layer=2)
    state.tank.stop_at[0] = state.tank.clock[0]
    state.fish.presence[2:] = IN_TANK
    of.occasions.fixed[0]  # there is one
    of.state.tank.clock[0] = of.occasions.fixed[0].time_s
    of.occasions.serve(of.state)
    outline = of.layout.stages[1].pieces[-1].outline
    from shapely import Point

    assert not outline.contains(Point(state.fish.x[0], state.fish.y[0]))
    assert outline.distance(Point(state.fish.x[0], state.fish.y[0])) < 0.05
    assert (state.fish.x[1], state.fish.y[1]) == (0.6, 0.2), "it swims above"


def test_a_fish_in_a_room_stays_in_it_or_is_put_out_when_it_is_taken():
    of = tank([{"on_day": 0, "at_h": 12, "do": "take out", "pieces": ["pot"]}])
    state = just_before(of)
    for i, name in enumerate(("pot", "far pot")):
        room = next(k for k, room in enumerate(of.layout.rooms) if room.name == name)
        put(of, i, *of.layout.rooms[room].point)
        state.fish.room[i], state.fish.hiding[i] = room, 1
    of.state.tank.clock[0] = of.occasions.fixed[0].time_s
    of.occasions.serve(state)
    assert state.fish.room[:2].tolist() == [-1, 0]
    assert of.layout.stages[1].rooms[0].name == "far pot"
    assert state.fits.shape[1] >= len(of.floor.door_room)


def test_a_divider_takes_a_site_on_its_other_side():
    sheet = piece("divider", "18 in", 0.602, 0.2285, name="sheet", turn_rad=math.pi / 2)
    events = [{"on_day": 0, "at_h": 12, "do": "divider in", "divider": "sheet"}]
    of = tank(events, pieces=(POT, FAR, sheet))
    state = just_before(of)
    put(of, 0, 1.0, 0.1)
    put(of, 1, 0.3, 0.1)
    state.fish.site[:2] = nearest_site(of, 0.15, 0.1), nearest_site(of, 0.15, 0.3)
    of.state.tank.clock[0] = of.occasions.fixed[0].time_s
    of.occasions.serve(state)
    assert state.fish.compartment[:2].tolist() == [1, 0]
    assert state.fish.site[0] == -1
    assert state.fish.site[1] >= 0


def test_fish_can_be_moved_behind_a_divider():
    sheet = piece("divider", "18 in", 0.602, 0.2285, name="sheet", turn_rad=math.pi / 2)
    events = [
        {
            "on_day": 0,
            "at_h": 12,
            "do": "divider in",
            "divider": "sheet",
            "fish": ["dither"],
            "place": (1.0, 0.3),
        }
    ]
    of = tank(events, pieces=(POT, FAR, sheet))
    of.advance(until_day=NOON + 0.01)
    assert of.state.fish.compartment[2:].tolist() == [1, 1]


def test_young_in_a_nest_that_is_taken_are_lost():
    events = [{"on_day": 1, "at_h": 12, "do": "take out", "pieces": ["pot"]}]
    of = history(
        fish(name="Agate", sex="male", length_m=0.11),
        fish(name="Beryl", sex="female", length_m=0.09),
        pieces=[POT, FAR],
        events=events,
        breeding={"mode": "on", "spawn_day": 0.5, "pair": ("Agate", "Beryl"), "site": "pot"},
        days=3,
    )
    of.advance(until_day=1.49)
    assert of.state.tank.stage[0] in (3, 4)
    of.advance(until_day=1.51)
    assert of.state.tank.stage[0] == 6
    assert 0 <= of.state.broods.nest[0] < len(of.floor.site_kind)
