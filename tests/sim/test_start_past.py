"""Residents: what a fish brings from its life in the tank before the first day."""

from __future__ import annotations

import math

import pytest

from sim.check import check_file
from sim.engine import History
from sim.errors import Refused
from sim.layout import Layout
from sim.rules.codes import IN_TANK
from sim.scenario import Scenario
from sim.scenario_rules import faults
from tests.sim.worlds import SCENARIOS

DAY = 86400.0


@pytest.fixture(scope="module")
def settled() -> History:
    checked = check_file(SCENARIOS / "settled-newcomer.toml")
    return History(checked.scenario, checked.layout, run=3)


def test_an_owner_holds_its_place_from_the_start_and_stands_there(settled):
    state = settled.state
    bram = state.fish[0]
    pot = settled.layout.find_site("pot")
    assert bram.site == pot
    assert bram.site_since == pytest.approx(state.tank.clock[0] - 300 * DAY)
    assert bram.reach > 0.0
    x, y = settled.layout.sites[pot].point
    assert math.dist((bram.x, bram.y), (x, y)) < 0.15  # within a hand's breadth
    assert [f.site for f in state.fish[1:]] == [-1] * 8


def test_an_old_injury_is_of_scales(settled):
    moss = settled.state.fish[2]
    assert (moss.scales, moss.skin) == (0.1, 0.0)


def test_residents_know_each_other_and_their_rank(settled):
    pair = settled.state.pair
    days = float(settled.state.par.familiar_time[0])
    assert pair[0, 2].familiar == pytest.approx(1.0 - math.exp(-120.0 / days))
    assert pair[0, 8].familiar == 0.0  # Fern is new
    assert (pair[0, 2].beaten, pair[2, 0].beaten) == (1, 0)
    assert pair[2, 0].avoid > 0.5
    assert pair[0, 2].avoid == 0.0
    assert pair[0, 2].estimate == -pair[2, 0].estimate > 0.0
    assert pair[3, 0].beaten == 0  # swordtails have no rank


def test_without_learning_residents_remember_nothing():
    checked = check_file(SCENARIOS / "settled-newcomer.toml")
    scenario = checked.scenario.model_copy(update={"without": ("learning",)})
    pair = History(scenario, checked.layout, run=3).state.pair
    assert not pair.familiar.any()
    assert not pair.avoid.any()
    assert not pair.estimate.any()
    assert pair[0, 2].beaten == 1  # who ranks above whom is no memory


def test_a_newcomer_is_not_there_yet(settled):
    assert settled.state.fish[8].presence != IN_TANK
    settled.advance(until_day=4.0)
    assert settled.state.fish[8].presence == IN_TANK


def test_of_alike_fish_the_one_said_to_be_higher_chases_the_lower():
    # 40 runs of half a day, seed 1, three males of one length; without a rank told, the first and
    # the third chase each other alike.
    def chases(told: bool) -> tuple[int, int]:
        past = [{"since_day": -200.0, "rank": rank} if told else None for rank in (1, 2, 3)]
        people = [
            {"name": name, "species": "convict", "sex": "male", "length_m": 0.09}
            | ({"established": one} if one else {})
            for name, one in zip("ABC", past, strict=True)
        ]
        scenario = Scenario.model_validate(
            {"days": 0.9, "tank": {"size": "75 gallon"}, "fish": people}
        )
        layout = Layout(scenario)
        down, up = 0, 0
        for run in range(40):
            history = History(scenario, layout, run=run)
            history.advance()
            down += int(history.state.pair.chases[0, 2])
            up += int(history.state.pair.chases[2, 0])
        return down, up

    down, up = chases(told=True)
    assert down > 3 * up
    first, third = chases(told=False)
    assert 0.5 < first / third < 2.0


def parts(**more):
    fish = {"name": "A", "species": "convict", **more}
    return {"tank": {"size": "75 gallon"}, "fish": [fish, {"name": "B", "species": "convict"}]}


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"joins_day": 3, "established": {"since_day": -9}}, "a life here before the start"),
        ({"count": 2, "established": {"owns": [0.3, 0.2]}}, "a place for a whole group"),
    ],
)
def test_what_cannot_be_is_said(more, says):
    found = [sentence for _, sentence in faults(Scenario.model_validate(parts(**more)))]
    assert any(says in sentence for sentence in found)


def test_two_owners_of_one_place_are_refused():
    told = {"owns": [0.3, 0.2]}
    both = parts(established=told)
    both["fish"][1]["established"] = told
    found = [sentence for _, sentence in faults(Scenario.model_validate(both))]
    assert any("which A owns already" in sentence for sentence in found)


def test_a_place_that_cannot_be_held_is_refused():
    scenario = Scenario.model_validate(
        parts(established={"owns": "heater"})
        | {
            "pieces": [
                {"name": "heater", "kind": "heater", "size": "short", "x": "3 in", "y": "3 in"}
            ]
        }
    )
    with pytest.raises(Refused, match="nothing to hold"):
        History(scenario, Layout(scenario))
