"""Pairs that form of themselves: who chooses whom, when they spawn, and what parts them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.draws import named_key
from sim.errors import Refused
from sim.rules.attack import weigh_pairs
from sim.rules.breed import brood_clock, ripen, time_to_brood_event
from sim.rules.codes import (
    COURTING,
    DEAD,
    DIGGING,
    EGGS,
    FEMALE,
    FRY,
    RESTING,
    WRIGGLERS,
)
from sim.rules.look import gather, weigh_mate
from sim.rules.mate import mate_as_rival
from sim.rules.pair import bond, breaking_rate, choose, liking, pair_clocks, time_to_pairing
from sim.rules.settle import hold, is_parent
from sim.scenario import Scenario
from sim.scenario_rules import faults
from sim.start import draw_fish
from tests.sim.calling import call
from tests.sim.layouts import piece
from tests.sim.worlds import chance_range, fish, history, put, tank

DAY = 86400.0
POT = piece("pot", "6 in", 0.3, 0.2, name="pot")
SPONTANEOUS = {"mode": "spontaneous"}


def company(*more, pieces=(POT,), **keys):
    """A male and a female convict, and whoever else, where pairs form of themselves."""
    of = history(
        fish(name="Sorrel", sex="male", length_m=0.1),
        fish(name="Tansy", sex="female", length_m=0.082),
        *more,
        pieces=list(pieces),
        breeding=SPONTANEOUS,
        days=60.0,
        **keys,
    )
    for i in range(len(of.state.fish)):
        put(of, i, 0.3 + 0.1 * i, 0.3)
    return of


def paired(*more, ripe: float = 0.0, **keys):
    of = company(*more, **keys)
    of.state.fish.ripe[1] = ripe
    assert call(bond, of.state, 1, 0) == 0
    return of


def test_six_unsexed_youngsters_hold_both_sexes_in_969_of_1000_draws():
    """Closed form 1 - 2 / 2^6; 20,000 draws of the start, within 4 standard errors."""
    of, _ = tank(fish(name="youngsters", count=6))
    both = 0
    n = 20_000
    for draw in range(n):
        sexes = {one.sex for one in draw_fish(of, seed=5, draw=draw, quality_sd=0, daring_sd=0)}
        both += len(sexes) == 2
    assert both / n == pytest.approx(1 - 2 / 2**6, abs=chance_range(0.96875, n))


def test_a_female_likes_a_male_larger_than_her_with_a_site_that_never_chased_her():
    of = company()
    state, floor, p = of.state, of.floor, of.state.par[0]

    def value(**changes):
        state.fish.length[0] = changes.get("length", 0.082 * math.exp(p.mate_size))
        state.pair.avoid[1, 0] = changes.get("avoid", 0.0)
        state.pair.familiar[1, 0] = changes.get("familiar", 0.0)
        state.fish.site[0] = changes.get("site", -1)
        return call(liking, state, floor, 1, 0)

    assert value() == pytest.approx(1.0)
    assert value(length=0.07) < 0.0 < value()
    assert value(site=0) == pytest.approx(2.0)
    assert value(avoid=0.6) == pytest.approx(-0.2)
    assert value(familiar=1.0) == pytest.approx(1.5)


def test_bonds_are_dearer_where_there_is_no_site_of_their_kind():
    with_cave, without = company(), company(pieces=())
    cost = with_cave.state.par[0].no_site_cost
    a, b = (call(liking, of.state, of.floor, 1, 0) for of in (with_cave, without))
    assert a - b == pytest.approx(cost)


def test_two_of_one_sex_the_unripe_the_taken_and_the_dead_are_not_chosen():
    of = company()
    call(hold, of.state, 0, 0)
    chosen = [call(choose, of.state, of.floor, 1)]
    assert chosen == [0]
    rows = of.state.fish
    for name, value in (("sex", FEMALE), ("length", 0.02), ("brood", 3), ("presence", DEAD)):
        before = rows[name][0]
        rows[name][0] = value
        assert call(choose, of.state, of.floor, 1) == -1, name
        rows[name][0] = before
    assert call(choose, of.state, of.floor, 1) == 0


@pytest.mark.parametrize("sex", ["male", "female"])
def test_fish_of_one_sex_never_pair_nor_spawn(sex):
    of = history(
        *(fish(name=f"F{k}", sex=sex, length_m=0.08 + 0.01 * k) for k in range(3)),
        pieces=[POT],
        breeding={"mode": "off"},
        days=20.0,
    )
    of.state.tank.breeding = 2
    for _ in range(200):
        of.state.tank.clock += 8640.0
        call(pair_clocks, of.state, of.floor, 8640.0)
    assert of.state.tank.pairs_formed[0] == 0


def test_a_ready_female_finds_a_mate_in_the_time_that_is_said():
    """300 females alike but for their key; mean of exponentials within 4 standard errors."""
    of = company()
    state, p = of.state, of.state.par[0]
    call(hold, state, 0, 0)
    snapshot = state.copy()
    waits = []
    for k in range(300):
        state.restore(snapshot)
        state.fish.ripe[1] = 1.0
        state.fish.key[1] = named_key("female", k)
        state.fish.pair_left[1] = -math.log((k + 0.5) / 300)
        wait = call(time_to_pairing, state)
        call(pair_clocks, state, of.floor, wait + 1.0)
        if state.fish.brood[1] >= 0:
            waits.append(wait / DAY)
    assert len(waits) > 250
    assert np.mean(waits) == pytest.approx(p.pair_time, rel=4 / math.sqrt(len(waits)))


def test_a_pair_courts_only_when_she_is_ready():
    of = paired(ripe=0.5)
    call(brood_clock, of.state, of.floor, 10.0)
    assert of.state.broods.stage[0] == RESTING
    assert of.state.fish.site[1] == -1
    of.state.fish.ripe[1] = 1.0
    call(brood_clock, of.state, of.floor, 10.0)
    assert of.state.broods.stage[0] == COURTING
    assert of.state.fish.site[0] == of.state.fish.site[1] == of.state.broods.nest[0] >= 0


def test_ripening_takes_its_time_and_longer_over_young():
    of = paired()
    state, p = of.state, of.state.par[0]
    days = state.fish.ripening[1] / DAY
    assert days == pytest.approx(p.ripening_share * state.kinds.interval_s[0] / DAY)
    call(ripen, state, DAY)
    assert state.fish.ripe[1] == pytest.approx(1.0 / days)
    state.broods.stage[0] = EGGS
    call(ripen, state, DAY)
    assert state.fish.ripe[1] == pytest.approx((1.0 + p.guard_ripening) / days)
    assert state.fish.ripe[0] == 0.0


def run_of_stages(of, days: float, step: float = 3600.0):
    """Stages of the first row as the clock passes, with the day each began; nobody eats."""
    found = []
    for k in range(int(days * DAY / step)):
        of.state.tank.clock += step
        call(brood_clock, of.state, of.floor, step)
        if not found or found[-1][0] != of.state.broods.stage[0]:
            found.append((int(of.state.broods.stage[0]), k * step / DAY))
    return found


@pytest.mark.parametrize(("failure", "low", "high"), [(0.0, 28.0, 56.0), (1.0, 14.0, 30.0)])
def test_a_pair_left_alone_spawns_about_monthly_common_practice(failure, low, high):
    """From memory: 5 to 8 weeks after a full brood, 2 to 3 after a lost one; 14 to 56 days."""
    of = paired(ripe=1.0)
    of.state.par.brood_failure = failure
    eggs = [day for stage, day in run_of_stages(of, 400.0) if stage == EGGS]
    assert len(eggs) > 6
    assert low < np.mean(np.diff(eggs)) < high
    tank = of.state.tank[0]
    assert tank.spawnings == len(eggs)
    ended = tank.raised + tank.lost + tank.eaten
    assert ended in (len(eggs), len(eggs) - 1)
    assert (tank.raised > 0) == (failure < 1.0)
    assert (tank.fry_raised > 0) == (failure < 1.0)
    assert (tank.lost > 0) == (failure > 0.0)


def test_stages_come_in_order():
    of = paired(ripe=1.0)
    of.state.par.brood_failure = 0.0
    order = [stage for stage, _ in run_of_stages(of, 50.0)]
    assert order[:7] == [COURTING, DIGGING, EGGS, WRIGGLERS, FRY, RESTING, COURTING]


def test_an_unready_mate_is_driven_and_a_ready_one_hardly():
    of = paired()
    state, p = of.state, of.state.par[0]
    shares = []
    for ripe in (0.0, 0.5, 1.0):
        state.fish.ripe[1] = ripe
        shares.append(call(mate_as_rival, state, 0, 1))
    assert shares == pytest.approx([p.mate_drive, 0.5 * p.mate_drive, p.mate_spite])
    assert call(mate_as_rival, state, 1, 0) == pytest.approx(p.mate_spite)
    state.fish.ripe[1], state.broods.stage[0] = 0.0, EGGS
    assert call(mate_as_rival, state, 0, 1) == pytest.approx(p.mate_spite)
    state.tank.breeding = 1
    assert call(mate_as_rival, state, 0, 1) == 0.0


def test_the_mate_is_the_target_when_no_neighbour_is_in_view():
    of = paired(fish("swordtail", name="dither"))
    state, p = of.state, of.state.par[0]
    call(hold, state, 0, 0)
    call(weigh_pairs, state)
    assert state.pair.slow[0, 1] > 0.0
    call(gather, state, of.floor, 0.4, False)
    seen_in = int(state.fish.glance[2])
    hazards = []
    for glance in (0, seen_in):
        state.fish.glance[2] = glance
        state.fish.hazard[0] = 0.0
        call(weigh_mate, state, of.floor, 0, 0.4, False)
        hazards.append(state.fish.hazard[0])
    assert hazards[1] == pytest.approx(p.mate_company * hazards[0])
    assert hazards[0] > 0.0


def test_a_bond_breaks_by_what_she_has_learned_of_him():
    of = paired()
    state, p = of.state, of.state.par[0]
    assert call(breaking_rate, state, 0) == 0.0
    state.pair.avoid[1, 0] = 0.8
    assert call(breaking_rate, state, 0) == pytest.approx(0.8 / (DAY * p.bond_time))
    state.broods.bond_left[0] = 0.01
    wait = call(time_to_pairing, state)
    assert wait == pytest.approx(0.01 * DAY * p.bond_time / 0.8 + 0.5)
    call(pair_clocks, state, of.floor, wait)
    assert state.tank.pairs_broken[0] == 1
    assert state.fish.brood[:2].tolist() == state.fish.mate[:2].tolist() == [-1, -1]
    state.broods.there[0], state.broods.stage[0] = 1, EGGS
    assert call(breaking_rate, state, 0) == 0.0


def test_up_to_eight_pairs_hold_broods_side_by_side():
    of = history(
        *(fish(name=f"M{k}", sex="male", length_m=0.1) for k in range(9)),
        *(fish(name=f"F{k}", sex="female", length_m=0.08) for k in range(9)),
        pieces=[POT],
        breeding=SPONTANEOUS,
        length_m=1.8,
    )
    rows = [call(bond, of.state, 9 + k, k) for k in range(9)]
    assert rows == [0, 1, 2, 3, 4, 5, 6, 7, -1]
    assert of.state.fish.brood[[8, 17]].tolist() == [-1, -1]


def test_a_resting_male_is_an_owner_like_others():
    of = paired()
    assert not call(is_parent, of.state, 0)
    assert call(is_parent, of.state, 1)
    of.state.broods.stage[0] = EGGS
    assert call(is_parent, of.state, 0)


def test_a_widow_gives_the_row_free_when_her_young_are_raised():
    of = paired(ripe=1.0)
    state = of.state
    state.par.brood_failure = 0.0
    run_of_stages(of, 12.0)
    state.fish.presence[0] = DEAD
    run_of_stages(of, 40.0)
    assert state.broods.there[0] == 0
    assert state.tank.raised[0] == 1
    assert state.fish.mate[1] == -1


# --- an established pair -------------------------------------------------------------------


def established(stage: str = "fry", days: float = 10.0, **breeding):
    past = {"mate": "Sorrel", "brood": {"stage": stage, "days_in_stage": days}}
    return {
        "tank": {"length_m": 1.22, "width_m": 0.457, "height_m": 0.533, "temperature_c": 27.0},
        "pieces": [POT],
        "fish": [
            fish(name="Sorrel", sex="male", length_m=0.1),
            fish(name="Tansy", sex="female", length_m=0.082, established=past),
        ],
        "breeding": {"mode": "spontaneous", **breeding},
    }


@pytest.mark.parametrize(
    ("stage", "number"), [("eggs", EGGS), ("fry", FRY), ("courting", COURTING)]
)
def test_a_brood_is_there_at_the_start(stage, number):
    from sim.engine import History
    from sim.layout import Layout

    scenario = Scenario.model_validate(established(stage, 2.0))
    assert faults(scenario) == []
    of = History(scenario, Layout(scenario))
    row = of.state.broods[0]
    assert (row.there, row.stage) == (1, number)
    assert of.state.fish.mate.tolist() == [1, 0]
    before = float(row.stage_until)
    call(brood_clock, of.state, of.floor, 10.0)
    assert of.state.broods.place[0] >= 0
    assert np.all(of.state.fish.site == of.state.broods.place[0])
    if stage == "fry":
        assert (before - of.state.tank.clock[0]) / DAY == pytest.approx(35.0 - 2.0)
        assert 1.0 < row.young < row.laid


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"breeding": {"mode": "off"}}, 'expected "spontaneous", where pairs last'),
        ({"mate": "Tansy"}, "the fish itself"),
        ({"sex": "male"}, "which it cannot pair with"),
        ({"sex": "unknown"}, "where a sex is unknown"),
        ({"mate": None}, "got a brood without a mate"),
        ({"spawn_day": 3}, "when they spawn of themselves"),
        ({"pair": ("Sorrel", "Tansy")}, "when they choose for themselves"),
    ],
)
def test_what_cannot_be_is_refused_with_its_mend(change, sentence):
    text = established()
    tansy = text["fish"][1]
    for key, value in change.items():
        if key == "breeding":
            text["breeding"] = value
        elif key == "mate":
            tansy["established"] = {**tansy["established"], "mate": value}
        elif key == "sex":
            tansy["sex"] = value
        else:
            text["breeding"][key] = value
    found = [words for _, words in faults(Scenario.model_validate(text))]
    assert any(sentence in words for words in found), found


def test_a_leap_ends_where_she_is_ready():
    of = paired(ripe=0.9)
    state = of.state
    wait = call(time_to_brood_event, state)
    assert wait == pytest.approx(0.1 * state.fish.ripening[1] + 0.5)
    with pytest.raises(Refused):
        history(
            fish(name="Sorrel", sex="male", length_m=0.02),
            fish(name="Tansy", sex="female", length_m=0.08, established={"mate": "Sorrel"}),
            breeding=SPONTANEOUS,
        )
