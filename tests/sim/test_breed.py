"""Breeding: stages last what the species says, and each sets reach, heat and place of the pair."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.errors import Refused
from sim.rules.breed import brood_clock, take_fry
from sim.rules.claim import body_reach
from sim.rules.codes import (
    CAVE,
    COURTING,
    DEAD,
    DIGGING,
    EGGS,
    FEMALE,
    FRY,
    MALE,
    NO_BROOD,
    RESTING,
    WRIGGLERS,
)
from sim.rules.nest import nest_for
from sim.rules.parent import apply_stage, effort, effort_for_first_swimmers, parents_left
from sim.rules.settle import hold
from sim.rules.young import value_of_young
from sim.species import find_species
from sim.temperature import development_rate
from tests.sim.calling import call
from tests.sim.layouts import piece
from tests.sim.worlds import fish, fixed_bytes, history

DAY = 86400.0


def pair(*, mode: str = "on", spawn_day: float = 10.0, site="auto", without=(), **more):
    breeding = {"mode": mode, "spawn_day": spawn_day, "pair": ("Sorrel", "Tansy"), "site": site}
    return history(
        fish(name="Sorrel", sex="male", length_m=0.1),
        fish(name="Tansy", sex="female", length_m=0.085),
        fish("swordtail", name="school", count=2),
        pieces=[piece("pot", "6 in", 0.3, 0.2, name="pot")],
        breeding=breeding if mode == "on" else {"mode": "off"},
        without=without,
        days=60.0,
        **more,
    )


def brood_of(of):
    return of.state.broods[0]


def stages_of(of, days: float, step_s: float = 600.0) -> list[tuple[int, float]]:
    """Stages as the clock passes, each with the time it began, in days after lights on."""
    state, start = of.state, float(of.state.tank.clock[0])
    found: list[tuple[int, float]] = []
    for k in range(int(days * DAY / step_s)):
        state.tank.clock = start + k * step_s
        call(brood_clock, state, of.floor, step_s)
        if not found or found[-1][0] != state.tank.stage[0]:
            found.append((int(state.tank.stage[0]), k * step_s / DAY))
    return found


def test_stages_follow_each_other_and_last_what_the_species_says():
    """Begun within one step of 10 min."""
    of = pair()
    before = fixed_bytes(of)
    kind, p, row = find_species("convict"), of.state.par[0], brood_of(of)
    pace = development_rate(26.0)
    for name in ("eggs", "wrigglers", "fry"):
        assert row[f"{name}_s"] == pytest.approx(DAY * getattr(kind, f"{name}_days") / pace)
    lengths = (2.5, 6.0, 11.0)  # none like another, so that none can stand for another
    row.eggs_s, row.wrigglers_s, row.fry_s = (DAY * days for days in lengths)
    found = stages_of(of, 75.0)
    assert fixed_bytes(of) == before
    expected = [(NO_BROOD, 0.0)]
    expected += [(COURTING, 10.0 - p.courting_days), (DIGGING, 10.0 - p.digging_days)]
    day = 10.0
    while day < 75.0:
        for stage, length in (
            (EGGS, lengths[0]),
            (WRIGGLERS, lengths[1]),
            (FRY, lengths[2]),
            (RESTING, p.brood_rest_days),
            (COURTING, p.courting_days - p.digging_days),
            (DIGGING, p.digging_days),
        ):
            expected.append((stage, day))
            day += length
    expected = [row for row in expected if row[1] < 75.0]
    assert len(expected) > 7
    assert [row[0] for row in found] == [row[0] for row in expected]
    for (_, got), (_, want) in zip(found, expected, strict=True):
        assert want - 1e-6 <= got <= want + 600 / DAY + 1e-6


def test_a_spawning_before_the_first_day_passes_the_early_stages_at_once():
    of = pair(spawn_day=0.0)
    call(brood_clock, of.state, of.floor, 10.0)
    assert of.state.tank.stage[0] == EGGS


def at_stage(of, stage: int):
    row = brood_of(of)
    row.stage, row.stage_since = stage, of.state.tank.clock[0]
    call(apply_stage, of.state, 0)
    return of.state.fish[0], of.state.fish[1]


@pytest.fixture
def courting():
    of = pair(spawn_day=0.0)
    call(brood_clock, of.state, of.floor, 10.0)
    return of


def test_effort_and_ground_rise_with_the_brood_and_fall_with_its_end(courting):
    p = courting.state.par[0]
    stages = (COURTING, DIGGING, EGGS, WRIGGLERS, FRY, RESTING)
    rows = [[(r.heat, r.reach) for r in at_stage(courting, s)] for s in stages]
    for parent in (0, 1):
        heat = [row[parent][0] for row in rows]
        assert heat[0] == heat[1] < heat[2] < heat[3] < heat[4]
        assert heat[5] == 1.0
        reach = [row[parent][1] for row in rows]
        assert reach[0] == reach[1] < reach[2] < reach[3] < reach[4]
    father, mother = at_stage(courting, FRY)
    measured = (p.reach_breeding, p.breeding_length)
    of_both = call(body_reach, courting.state, 0.5 * (0.1 + 0.085), *measured)
    assert father.reach == mother.reach == pytest.approx(of_both), "the published ground"
    first = call(effort_for_first_swimmers, courting.state, 0)
    assert father.heat == pytest.approx(first)
    brood_of(courting).stage_since -= brood_of(courting).fry_s
    call(apply_stage, courting.state, 0)
    assert father.heat == pytest.approx(p.brood_heat)
    assert father.reach == pytest.approx(of_both * math.sqrt(p.brood_heat / first))
    courting.state.fish.presence[0] = DEAD
    at_stage(courting, FRY)
    assert mother.reach == pytest.approx(call(body_reach, courting.state, 0.085, *measured))


def test_the_worth_of_young_is_their_chance_to_live_in_closed_form(courting):
    row, p = brood_of(courting), courting.state.par[0]
    at_stage(courting, EGGS)
    assert call(value_of_young, courting.state, 0) == pytest.approx(p.brood_survival)
    nest = row.eggs_s + row.wrigglers_s
    whole = nest + row.fry_s
    unfailed = p.brood_survival / (1.0 - p.brood_failure)
    at_stage(courting, WRIGGLERS)
    still_to_fail = 1.0 - (1.0 - p.brood_failure) / (1.0 - p.brood_failure * row.eggs_s / nest)
    hatched = (1.0 - still_to_fail) * unfailed ** (1.0 - row.eggs_s / whole)
    assert call(value_of_young, courting.state, 0) == pytest.approx(hatched)
    at_stage(courting, FRY)
    row.stage_since -= 0.5 * row.fry_s
    left = 0.5 * row.fry_s / whole
    assert call(value_of_young, courting.state, 0) == pytest.approx(unfailed**left)


def test_young_that_swim_are_sure_where_failing_whole_is_all_that_is_lost(courting):
    courting.state.par.brood_failure[0] = 0.9
    at_stage(courting, FRY)
    assert call(value_of_young, courting.state, 0) == 1.0


def test_a_mother_at_work_attacks_less_and_alone_as_much_as_she_can(courting):
    p = courting.state.par[0]
    for stage, work in ((COURTING, p.nest_work), (EGGS, p.brood_care), (FRY, 0.0)):
        father, mother = at_stage(courting, stage)
        assert mother.heat == pytest.approx((1.0 - work) * father.heat)
    courting.state.fish.presence[0] = DEAD
    at_stage(courting, EGGS)
    assert mother.heat == pytest.approx(call(effort, courting.state, 0))


def test_the_mother_stays_nearer_until_they_swim(courting):
    for stage in (COURTING, EGGS, WRIGGLERS):
        father, mother = at_stage(courting, stage)
        assert mother.tether / mother.reach < father.tether / father.reach
    father, mother = at_stage(courting, FRY)
    assert father.tether / father.reach == pytest.approx(mother.tether / mother.reach)


def test_the_pair_are_mates_at_the_place_that_was_asked(courting):
    row, rows = brood_of(courting), courting.state.fish
    assert (rows.sex[row.mother], rows.sex[row.father]) == (FEMALE, MALE)
    assert rows.mate[:2].tolist() == [1, 0]
    asked = pair(spawn_day=0.0, site="pot")
    call(brood_clock, asked.state, asked.floor, 10.0)
    site = brood_of(asked).place
    assert asked.floor.site_kind[site] == CAVE
    assert asked.state.fish.site[:2].tolist() == [site, site]


def test_a_pair_spawns_in_a_site_of_its_kind_near_what_it_holds():
    of = pair()
    wanted = of.state.fish.spawns_in[1]
    kinds, away = [], []
    far = int(np.argmax(of.floor.site_xy[:, 0]))
    for k in range(200):
        brood_of(of).spawnings = k
        of.state.fish["site"] = -1
        kinds.append(of.floor.site_kind[call(nest_for, of.state, of.floor, 0)])
        call(hold, of.state, 0, far)
        chosen = call(nest_for, of.state, of.floor, 0)
        away.append(math.dist(of.floor.site_xy[chosen], of.floor.site_xy[far]))
    assert all(kind == wanted for kind in kinds)
    assert np.mean(away) < 0.95


def test_fry_wander_within_their_roam_and_take_the_pair_along(courting):
    of = courting
    state, floor = of.state, of.floor
    row = brood_of(of)
    row.stage, row.stage_until = FRY, 1e12
    row.fry_left = 1.0
    nest = row.nest
    seen = set()
    for _ in range(3000):
        call(brood_clock, state, floor, 60.0)
        site = int(row.place)
        seen.add(site)
        assert state.fish.site[:2].tolist() == [site, site] or len(seen) == 1
        assert site == nest or floor.site_dist[nest, floor.site_cell[site]] < state.par.fry_roam[0]
    assert len(seen) > 3
    # 50 h at 10 min a move: a Poisson count of mean 300, within 4 sd.
    assert row.fry_moves == pytest.approx(300, abs=4 * math.sqrt(300))


@pytest.mark.parametrize(
    ("stage", "goes_on"), [(COURTING, False), (EGGS, True), (FRY, True), (RESTING, False)]
)
def test_a_widow_keeps_the_young_but_courts_nobody(courting, stage, goes_on):
    state = courting.state
    at_stage(courting, stage)
    brood_of(courting).stage_until = 1e12
    state.fish.presence[0] = DEAD
    assert call(parents_left, state, 0) == 1
    call(brood_clock, state, courting.floor, 10.0)
    assert (brood_of(courting).there == 1) == goes_on
    assert (state.tank.stage[0] == stage) == goes_on
    if not goes_on:
        assert state.fish.heat[1] == 1.0


def test_a_widows_brood_ends_with_its_fry(courting):
    state = courting.state
    at_stage(courting, FRY)
    state.fish.presence[0] = DEAD
    brood_of(courting).stage_until = state.tank.clock[0] - 1.0
    call(brood_clock, state, courting.floor, 10.0)
    assert state.tank.stage[0] == NO_BROOD
    assert brood_of(courting).there == 0


def test_no_brood_where_breeding_is_off_or_taken_away():
    for of in (pair(mode="off"), pair(without=("brood",), spawn_day=0.0)):
        assert {stage for stage, _ in stages_of(of, 20.0, 7200.0)} == {NO_BROOD}
        assert np.all(of.state.fish["heat"] == 1.0)


def test_a_pair_that_cannot_be_one_is_refused():
    with pytest.raises(Refused, match="can be a pair"):
        history(fish(name="A", sex="male"), fish(name="B", sex="male"), breeding={"mode": "on"})


def test_two_to_three_days_to_hatch_at_27_degrees_common_practice():
    """A rule of thumb without a source; cooler water takes longer, warmer less."""
    at_27 = find_species("convict").eggs_days / development_rate(27.0)
    assert 2.0 <= at_27 <= 3.0
    assert development_rate(24.0) < 1.0 < development_rate(30.0)


def test_the_keeper_takes_the_fry_and_the_pair_rests(courting):
    at_stage(courting, EGGS)
    call(take_fry, courting.state)
    assert brood_of(courting).stage == EGGS  # eggs are no fry
    at_stage(courting, FRY)
    call(take_fry, courting.state)
    assert brood_of(courting).stage == RESTING
    assert courting.state.tank.taken[0] == 1
    assert courting.state.tank.stage[0] == RESTING
