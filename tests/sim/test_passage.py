"""Nobody crosses a divider but by a door that it fits."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.rules.codes import FLEE, IN_TANK, LEAPT, PURSUE, SWIM
from sim.rules.leap import leap_piece
from sim.rules.passage import try_doorways
from sim.settings import Settings
from tests.sim.calling import call
from tests.sim.layouts import piece
from tests.sim.worlds import fish, history, put

BUSY = {"attack_rate": 0.5, "doorway_time": 0.1}
DOOR = [{"width_m": 0.025, "height_m": 0.032}]  # a swordtail passes, a grown convict does not


def parted(kind="divider", doors=(), *, run=0, days=2.0, **more):
    sheet = piece(kind, "18 in", 0.602, 0.2285, turn_rad=math.pi / 2, doors=list(doors))
    return history(
        fish(name="Agate", sex="male", length_m=0.11, joins_place=(0.3, 0.2)),
        fish(name="Beryl", sex="male", length_m=0.105, joins_place=(0.9, 0.2)),
        fish("swordtail", name="dither", count=3, joins_place=(0.3, 0.3)),
        pieces=[sheet, piece("pot", "6 in", 0.2, 0.25, turn_rad=-1.2)],
        run=run,
        days=days,
        changes=BUSY,
        **more,
    )


def sides(of):
    """Where each fish is by its place, and by what it is said to be in."""
    rows = of.state.fish
    xy = np.stack([rows.x, rows.y], axis=1)
    outside = (rows.presence == IN_TANK) & (rows.room < 0)
    return of.layout.compartments.of(xy), rows.compartment.copy(), outside


@pytest.mark.parametrize("kind", ["divider", "clear-divider", "mesh-divider"])
@pytest.mark.parametrize("run", [0, 1])
def test_nobody_crosses_a_whole_sheet(kind, run):
    of = parted(kind, run=run)
    for _ in range(400):
        of.strides(25)
        place, said, outside = sides(of)
        assert np.array_equal(place[outside], said[outside])
        assert said.tolist() == [0, 1, 0, 0, 0]
        pursued = np.flatnonzero(of.state.fish.act == PURSUE)
        for i in pursued:
            assert said[i] == said[of.state.fish.target[i]]
    assert of.state.tank.chases[0] > 0
    assert of.state.pair.chases[0, 1] == of.state.pair.chases[1, 0] == 0
    assert of.state.pair.bites[0, 1] == of.state.pair.bites[1, 0] == 0
    assert of.state.pair.chases.sum() > 0


def test_only_who_fits_comes_through_the_doorway():
    crossed = np.zeros(5, dtype=int)
    for run in range(4):
        of = parted(doors=DOOR, run=run, days=3.0)
        before = of.state.fish.compartment.copy()
        while not of.finished:
            of.strides(50)
            place, said, outside = sides(of)
            assert np.array_equal(place[outside], said[outside])
            crossed += said != before
            before = said
    assert crossed[:2].tolist() == [0, 0]
    assert crossed[2:].sum() > 10


def test_the_doorway_is_tried_after_its_waiting_time_by_a_calm_fish_that_holds_no_site():
    of = parted(doors=DOOR)
    put(of, 2, 0.3, 0.2)
    of.state.fish.compartment[2] = 0
    of.state.fish.doorway_left[2] = 1.0
    wait_s = 3600.0 * BUSY["doorway_time"]
    call(try_doorways, of.state, of.floor, 0.9 * wait_s)
    assert of.state.fish.hiding[2] == 0
    call(try_doorways, of.state, of.floor, 0.2 * wait_s)
    assert of.state.fish.hiding[2] == 1
    door = int(of.state.fish.goal_index[2])
    assert of.floor.door_compartment[door] == 0
    put(of, 3, 0.3, 0.2)
    of.state.fish.doorway_left[3] = 0.01
    of.state.fish.site[3] = 0
    call(try_doorways, of.state, of.floor, wait_s)
    assert of.state.fish.hiding[3] == 0, "an owner stays"


def test_a_whole_sheet_leaves_the_waiting_times_alone():
    of = parted()
    before = of.state.fish.doorway_left.copy()
    call(try_doorways, of.state, of.floor, 1e6)
    assert np.array_equal(of.state.fish.doorway_left, before)


def test_no_leap_lets_a_fish_attack_across_a_sheet():
    of = parted(doors=DOOR)
    of.advance(until_day=0.45)
    state = of.state
    state.fish.compartment[:] = 0
    state.fish.compartment[2] = 1
    state.pair.rate[:, 2] = state.pair.rate[2, :] = 1.0
    state.pair.slow[:, 2] = state.pair.slow[2, :] = 0.01
    state.tank.phase[0], state.tank.until[0] = LEAPT, state.tank.clock[0] + 600.0
    before = (state.pair.chases[:, 2].sum(), state.pair.chases.sum())
    state.pair.rate[0, 3], state.pair.slow[0, 3] = 1.0, 0.1
    state.fish.cover[:] = 0.0
    state.tally.bites_taken[:] = 0
    call(leap_piece, state, of.floor)
    assert state.pair.chases[:, 2].sum() == before[0]
    assert state.pair.chases.sum() > before[1]


def test_a_chase_ends_when_its_victim_comes_out_on_the_other_side():
    of = parted(doors=DOOR, settings=Settings(watch_all=True))
    put(of, 0, 0.3, 0.2)
    put(of, 2, 0.9, 0.2)
    state = of.state
    state.fish.compartment[[0, 2]] = 0, 1
    state.fish.act[0], state.fish.target[0] = PURSUE, 2
    state.fish.act[2], state.fish.target[2] = FLEE, 0
    state.fish.chase_cause[0] = 0
    bites = state.tally.bites_taken[2]
    of.strides(1)
    assert state.fish.act[[0, 2]].tolist() == [SWIM, SWIM]
    assert state.tally.bites_taken[2] == bites
