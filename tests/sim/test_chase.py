"""Chases: every way one can end, where bites can land, and that a wall ends nothing."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import Point

from sim.rules.chase import pursue, share_in_reach, start_chase, turn
from sim.rules.codes import (
    CHASED,
    DEAD,
    FLEE,
    HIDDEN,
    KILLED,
    LEFT,
    LOST,
    PURSUE,
    SUBMITTED,
    SWIM,
    TIRED,
)
from sim.rules.settle import hold
from tests.sim.calling import call
from tests.sim.layouts import block, piece
from tests.sim.worlds import fish, fixed_bytes, history, nearest_site, put


def chase(
    *,
    at=((0.5, 0.3), (0.56, 0.3)),
    pieces=None,
    size=(1.8, 0.6),
    run: int = 0,
    lengths=(0.12, 0.08),
    victim: str = "convict",
    changes=None,
    home=None,
    stamina=(1.0, 1.0),
    scales: float = 0.0,
    ticks: int = 200,
):
    """Set fish 0 after fish 1 and follow them to the end; returns the history and the end."""
    of = history(
        fish(name="Bully", length_m=lengths[0], sex="male"),
        fish(victim, name="Prey", length_m=lengths[1], sex="male"),
        pieces=pieces,
        length_m=size[0],
        width_m=size[1],
        run=run,
        changes=changes,
    )
    state = of.state
    state.fish["site"] = -1
    if home is not None:
        call(hold, state, 0, nearest_site(of, *home))
    for i in range(2):
        put(of, i, *at[i])
        state.fish.stamina[i] = stamina[i]
    state.fish.scales[1] = scales
    state.log[0].outcome = CHASED
    before = fixed_bytes(of)
    call(start_chase, state, of.floor, 0, 1, 0)
    assert (state.fish.act[0], state.fish.act[1]) == (PURSUE, FLEE)
    for _ in range(ticks):
        state.tank.tick += 1
        state.tank.clock += state.settings.tick[0]
        call(pursue, state, of.floor, 0)
        if state.fish.act[0] != PURSUE:
            break
    assert fixed_bytes(of) == before
    ended = np.flatnonzero(state.ends.sum(axis=0))
    return of, int(ended[0]) if len(ended) else -1


def ends_of(runs: int = 12, **more) -> set[int]:
    return {chase(run=run, **more)[1] for run in range(runs)}


def test_left_a_victim_that_gets_off_the_ground_of_an_owner_is_let_go():
    of, end = chase(home=(0.5, 0.3), at=((0.5, 0.3), (0.75, 0.3)))
    assert end == LEFT
    row = of.state.fish[1]
    p = of.state.par[0]
    reach = of.state.fish.reach[0] * of.state.pair.kind_reach[0, 1]
    assert math.dist((row.x, row.y), of.floor.site_xy[of.state.fish.site[0]]) > reach - 0.1
    assert of.state.fish.rest_until[0] > of.state.tank.clock[0]
    assert of.state.pair.avoid[1, 0] == pytest.approx(p.avoid_gain)
    assert row.fear > 0.0
    assert row.act == SWIM


def test_left_also_the_water_round_a_fish_that_holds_no_ground():
    of, end = chase(at=((0.5, 1.0), (0.6, 1.0)), size=(3.0, 2.0), lengths=(0.08, 0.12))
    assert end == LEFT
    rows = of.state.fish
    d = math.hypot(rows.x[0] - rows.x[1], rows.y[0] - rows.y[1])
    assert d > of.state.par.own_space[0] * rows.length[0]


def test_lost_a_victim_behind_a_stone_for_a_second():
    wall = [block(0.02, 0.5, 0.6, 0.26)]
    of, end = chase(at=((0.5, 0.2), (0.66, 0.2)), pieces=wall, lengths=(0.2, 0.08))
    assert end == LOST
    assert of.state.log.seconds[0] == pytest.approx(of.state.par.lost_after[0], abs=0.45)


def test_hidden_a_small_fish_behind_a_door_its_pursuer_does_not_pass():
    pot = [piece("upturned-pot", "4 in", 0.3, 0.3)]
    of = history(fish(length_m=0.12), fish(length_m=0.05), pieces=pot)
    door = tuple(map(float, of.floor.door_out[0]))
    way = of.floor.door_out[0] - of.floor.door_in[0]
    way /= np.linalg.norm(way)
    start = tuple(map(float, of.floor.door_out[0] + 0.12 * way))
    found, end = chase(at=(start, door), pieces=pot, lengths=(0.12, 0.05))
    assert found.state.fits[1, 0] == 1
    assert found.state.fits[0, 0] == 0
    assert end == HIDDEN
    assert found.state.fish.room[1] == 0
    assert found.state.fish.hiding[1] == 1


@pytest.mark.parametrize("along", np.linspace(0.0, 1.0, 16, endpoint=False))
def test_a_pursuer_above_a_pot_does_not_sink_into_it_after_its_victim(along):
    """From over the rim, sixteen places; down only where it is clear of the outline."""
    of = history(
        fish(length_m=0.1, sex="male"),
        fish(length_m=0.05),
        pieces=[piece("pot", "6 in", 0.6, 0.3, turn_rad=0.7)],
        length_m=1.2,
        width_m=0.6,
        changes={"lost_after": 3.0},
    )
    state, floor = of.state, of.floor
    outline = of.layout.pieces[0].outline
    rim = outline.buffer(-0.004).exterior.interpolate(along, normalized=True)
    x, y = rim.x, rim.y
    put(of, 0, x, y, layer=1)
    put(of, 1, 0.9, 0.3)
    call(start_chase, state, floor, 0, 1, 0)
    state.fish.room[1], state.fish.hiding[1] = 0, 1
    state.fish.x[1], state.fish.y[1] = floor.room_xy[0]
    assert np.all(state.fits[:, 0] == 1)
    went_in = False
    for _ in range(60):
        state.tank.tick += 1
        state.tank.clock += 0.2
        call(pursue, state, floor, 0)
        row = state.fish[0]
        went_in = went_in or row.room == 0
        if row.room < 0 and row.layer == 0:
            assert not outline.intersects(Point(row.x, row.y))
        if row.act != PURSUE:
            break
    assert went_in or state.ends[0, HIDDEN] == 1


def test_tired_a_pursuer_without_stamina_gives_up():
    # The victim is cornered by a long chase; only the pursuer is spent.
    of, end = chase(
        at=((0.5, 0.3), (0.55, 0.3)),
        stamina=(0.12, 1.0),
        home=(0.9, 0.3),
        lengths=(0.2, 0.15),
        changes={"stamina_time": 1.0},
    )
    assert end == TIRED
    assert of.state.fish.stamina[0] < 0.1


CORNER = {"at": ((0.12, 0.1), (0.02, 0.02)), "home": (0.1, 0.1), "stamina": (1.0, 0.1)}


def test_submitted_a_worn_out_victim_in_a_corner():
    assert SUBMITTED in ends_of(**CORNER, changes={"submit_rate": 5.0})


def test_killed_a_victim_at_the_edge_of_death():
    ended = {}
    for run in range(12):
        of, end = chase(
            run=run, **CORNER, scales=0.99999, changes={"bite_rate": 5.0, "submit_rate": 0.3}
        )
        ended[end] = of
    assert KILLED in ended
    state = ended[KILLED].state
    assert state.fish.presence[1] == DEAD
    assert state.fish.act[0] == SWIM
    assert state.ends.sum() == 1


def test_a_wall_takes_away_a_way_out_and_so_adds_bites():
    """60 chases each: cornered or with open water behind; cornered fish take more bites."""

    def bites(**more) -> float:
        return float(np.mean([chase(run=r, **more)[0].state.tank.bites[0] for r in range(60)]))

    common = {"lengths": (0.12, 0.1)}
    free = bites(at=((0.55, 0.3), (0.62, 0.3)), home=(0.45, 0.3), **common)
    cornered = bites(at=((0.1, 0.09), (0.03, 0.03)), home=(0.1, 0.1), **common)
    assert cornered > free + 0.1


def test_what_a_chase_books_agrees_between_fish_pair_log_and_pool():
    for run in range(6):
        of, end = chase(run=run, **CORNER, changes={"bite_rate": 5.0})
        state = of.state
        bites = state.log.bites[0]
        assert state.tally.bites_taken[1] == state.tally.bites_given[0] == bites
        assert state.pair.bites[0, 1] == state.tank.bites[0] == bites
        assert bites == 0 or state.pool.risk[0] > 0.0 or state.pool.entries[0] > 0
        assert state.log.wall_bites[0] <= bites
        assert state.pool.end[0] == state.log.end[0] == end
        assert state.tally.dose[1] == pytest.approx(state.log.harm[0])
        assert state.tally.chases_given[0] == state.tally.chases_taken[1] == 1
        assert state.log.seconds[0] == state.pool.seconds[0] > 0


def test_nobody_outswims_its_speeds():
    of = history(fish(length_m=0.12), fish(length_m=0.08), length_m=3.0, width_m=2.0)
    state = of.state
    for i, at in enumerate(((1.0, 1.0), (1.2, 1.0))):
        put(of, i, *at)
    call(start_chase, state, of.floor, 0, 1, 0)
    for _ in range(10):
        was = state.fish[["x", "y"]].copy()
        state.tank.clock += 0.2
        call(pursue, state, of.floor, 0)
        for i, fastest in enumerate((state.fish.chase[0], state.fish.burst[1])):
            went = math.hypot(state.fish.x[i] - was["x"][i], state.fish.y[i] - was["y"][i])
            assert went <= 0.2 * fastest + 1e-9
    assert state.fish.stamina[1] < 1.0


def test_a_fleeing_fish_tires_by_what_it_swims():
    of = history(fish(length_m=0.1), fish(length_m=0.1), length_m=5.0, width_m=2.0)
    state = of.state
    put(of, 0, 0.5, 1.0)
    put(of, 1, 0.6, 1.0)
    call(start_chase, state, of.floor, 0, 1, 0)
    spent = 0.0
    for _ in range(5):
        prey = state.fish[1]
        if state.tank.clock[0] - prey.act_start >= state.par.reaction_time[0]:
            v = prey.cruise + (prey.burst - prey.cruise) * prey.stamina
            spent += 0.2 / state.par.stamina_time[0] * v / prey.burst
        call(pursue, state, of.floor, 0)
        state.tank.clock += 0.2
    # Stamina falls by the share of burst speed swum; steps of 0.2 s against sub-steps: 15 %.
    assert 1.0 - state.fish.stamina[1] == pytest.approx(spent, rel=0.3)


@pytest.mark.parametrize("seed", range(20))
def test_the_share_within_reach_is_that_of_a_fine_sum(seed):
    """Seed per case; 20,000 points on the step, within 2e-4."""
    rng = np.random.default_rng(seed)
    rx, ry, dx, dy = rng.normal(0.0, 0.05, 4)
    reach = rng.uniform(0.02, 0.08)
    s = (np.arange(20_000) + 0.5) / 20_000
    fine = np.mean(np.hypot(rx + s * dx, ry + s * dy) < reach)
    assert call(share_in_reach, rx, ry, dx, dy, reach) == pytest.approx(fine, abs=2e-4)


@pytest.mark.parametrize(
    ("step", "share"), [((0.0, 0.0), 1.0), ((-0.1, 0.0), 1.0), ((0.1, 0.0), 0.4)]
)
def test_the_share_within_reach_in_simple_cases(step, share):
    assert call(share_in_reach, 0.01, 0.0, *step, 0.05 if step[0] >= 0 else 0.1) == pytest.approx(
        share
    )


def test_a_turn_keeps_the_heading_one_long_and_goes_by_the_side():
    rng = np.random.default_rng(3)
    for _ in range(200):
        a, b, share = rng.uniform(0, 2 * math.pi), rng.uniform(0, 2 * math.pi), rng.random()
        x, y = call(turn, math.cos(a), math.sin(a), math.cos(b), math.sin(b), share)
        assert math.hypot(x, y) == pytest.approx(1.0)
        assert x * math.cos(b) + y * math.sin(b) >= math.cos(a - b) - 1e-9
    x, y = call(turn, 1.0, 0.0, -1.0, 0.0, 0.5)
    assert (x, y) == pytest.approx((0.0, 1.0))
