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


def test_a_newcomer_is_not_there_yet(settled):
    assert settled.state.fish[8].presence != IN_TANK
    settled.advance(until_day=4.0)
    assert settled.state.fish[8].presence == IN_TANK


def test_ranks_keep_the_peace_for_a_while():
    # 40 runs of half a day, seed 1: strangers with the same places open more contests than
    # residents with ranks do. Without the past the mean is several a run; chance alone would
    # bring residents below half of it in under 1 in 1,000.
    def contests(past: bool) -> int:
        told = {"since_day": -200.0}
        people = [
            {
                "name": name,
                "species": "convict",
                "sex": "male",
                "length": f"{size} in",
                **({"established": {**told, "rank": rank}} if past else {}),
            }
            for name, size, rank in (("A", 3.6, 1), ("B", 3.4, 2), ("C", 3.2, 3))
        ]
        scenario = Scenario.model_validate({"days": 0.9, "tank": {"size": "75 gallon"},
                                            "fish": people})  # fmt: skip
        layout = Layout(scenario)
        total = 0
        for run in range(40):
            history = History(scenario, layout, run=run)
            history.advance()
            total += int(history.state.tank.contests[0])
        return total

    assert contests(past=True) < 0.5 * contests(past=False)


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
