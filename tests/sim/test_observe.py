"""Acts are counted one by one while somebody watches, and meetings end when they are decided."""

from __future__ import annotations

import numpy as np
import pytest

from sim.check import check_scenario
from sim.engine import History
from sim.errors import Refused
from sim.rules.codes import AWAY, IN_TANK, NOT_YET
from sim.scenario import Scenario
from sim.state import NEVER

HOUR = 3600.0
TANK = {"length_m": 0.5, "width_m": 0.3, "height_m": 0.3}


def male(name, length_m=0.1):
    return {"species": "convict", "name": name, "sex": "male", "length_m": length_m}


def laboratory(*observe, fish=None, days=1, **more):
    return Scenario.model_validate(
        {
            "tank": TANK,
            "fish": fish or [male("Agate"), male("Beryl"), male("Chert")],
            "observe": list(observe),
            "days": days,
            **more,
        }
    )


def run(scenario, number=0):
    return History(scenario, check_scenario(scenario).layout, run=number, seed=3)


def meeting(name="first", at_h=10.0, fish=("Agate", "Beryl"), **more):
    return {"name": name, "at_h": at_h, "minutes": 60, "fish": fish, "until_decided": True, **more}


def test_a_meeting_puts_in_its_fish_ends_when_decided_and_takes_them_out():
    for number in range(4):
        of = run(laboratory(meeting()), number)
        assert of.state.fish.presence.tolist() == [NOT_YET, NOT_YET, IN_TANK]
        of = run(
            laboratory(meeting(fish=("Agate", "Beryl", "Chert"))), number
        )  # all three, so that the tank is empty before
        assert np.all(of.state.fish.presence == NOT_YET)
        of.advance(until_day=10.001 / 24)
        assert np.all(of.state.fish.presence == IN_TANK)
        of.advance()
        (row,) = of.state.stretches
        assert np.all(of.state.fish.presence == AWAY)
        assert row.winner >= 0
        assert row.winner != row.loser
        assert 10 * HOUR < row.decided_at <= row.ended < 12 * HOUR
        assert row.ended - row.decided_at < 60.0, "only the last chase is waited for"
        assert of.state.seen["contests"].sum() <= 1
        assert of.state.pair.chases[row.winner, row.loser] >= 1


def test_the_winner_of_a_meeting_meets_another_and_brings_what_it_has_learned():
    seen = []
    for number in range(6):
        later = meeting("test", 12.0, ("winner of first", "Chert"))
        of = run(laboratory(meeting(), later), number)
        of.advance(until_day=12.0001 / 24)
        first = of.state.stretches[0]
        there = np.flatnonzero(of.state.fish.presence == IN_TANK)
        assert sorted(there) == sorted([first.winner, 2])
        since = 12.0 * HOUR - first.decided_at
        bare = float(of.state.par.winner_gain[0])
        assert of.state.fish.winning[first.winner] > 0.8 * bare * 0.5 ** (since / (2 * HOUR))
        of.advance()
        seen.append(int(of.state.stretches[1].winner) == int(first.winner))
        assert of.state.stretches[1].winner in (first.winner, 2)
    assert any(seen)


def test_nobody_comes_in_place_of_a_winner_that_was_not_found():
    first = {"name": "first", "at_h": 10.0, "minutes": 0.1, "fish": ("Agate", "Beryl")}
    later = meeting("test", 12.0, ("winner of first", "Chert"))
    of = run(laboratory(first, later))
    of.advance()
    assert of.state.stretches[0].winner == -1
    assert of.state.stretches[1].missed == 1
    assert of.state.seen["displays"][1].sum() == 0
    assert of.state.fish.presence[2] == NOT_YET


def test_acts_are_those_of_contests_chases_and_displays():
    displays = chases = 0
    for number in range(8):
        of = run(laboratory(meeting()), number)
        of.advance()
        seen, each = of.state.seen[0], float(of.state.par.act_time[0])
        fought = float(seen["contest_s"].sum())
        parts = seen["display_s"] + seen["biting_s"] + seen["wrestling_s"]
        assert parts.sum() == pytest.approx(fought)
        in_contest = seen["displays"].sum() + seen["bites"].sum() + seen["wrestles"].sum()
        assert in_contest >= int(fought / each) - 1
        bites_in_chase = int(of.state.tally.bites_given.sum())
        assert in_contest <= fought / each + bites_in_chase + of.state.tally.displays.sum() + 1
        assert seen["chases"].sum() == of.state.pair.chases.sum()
        assert seen["wrestles"].sum() <= seen["wrestling_s"].sum() / each + 1
        displays += seen["displays"].sum()
        chases += seen["chases"].sum()
    assert displays > 20
    assert chases >= 8


def test_a_stretch_is_watched_whole_and_only_it_is_counted():
    watch = {"name": "pad", "from_day": 1, "to_day": 3, "at_h": 14.0, "minutes": 10}
    of = run(laboratory(watch, days=4))
    before = np.zeros(1)
    for day in (1, 2, 3):
        of.advance(until_day=day + 14.0 / 24)
        before = of.state.tank.watched_s.copy()
        chased = of.state.pair.chases.sum()
        of.advance(until_day=day + 14.0 / 24 + 10 / 1440)
        assert of.state.tank.watched_s - before == pytest.approx(600.0, abs=1.0)
        counted = of.state.seen["chases"][day - 1].sum()
        assert counted == of.state.pair.chases.sum() - chased
    of.advance()
    assert of.state.stretches.over.tolist() == [1, 1, 1]
    assert len(of.outcome().stretches) == 3
    assert of.outcome().seen.shape == (3, 3, 3)


def test_a_tank_that_nobody_watches_has_no_stretch():
    of = run(laboratory())
    of.advance()
    assert len(of.state.stretches) == 0
    assert of.state.tank.stop_at[0] == NEVER


def test_the_same_bytes_however_a_watched_run_is_stepped():
    scenario = laboratory(meeting(), meeting("test", 12.0, ("winner of first", "Chert")))
    whole, stepped = run(scenario), run(scenario)
    whole.advance()
    copy = None
    while not stepped.finished:
        stepped.strides(7)
        if copy is None and stepped.state.tank.next_stretch[0] == 1:
            copy = stepped.snapshot()
    assert whole.state.to_bytes() == stepped.state.to_bytes()
    assert copy is not None
    stepped.restore(copy)
    stepped.advance()
    assert whole.state.to_bytes() == stepped.state.to_bytes()


@pytest.mark.parametrize(
    ("observe", "says"),
    [
        ([{"at_h": 3.0, "minutes": 10}], "not all of them in the light"),
        ([{"at_h": 19.9, "minutes": 30}], "not all of them in the light"),
        ([{"from_day": 3, "at_h": 10.0, "minutes": 10}], "when the run is over"),
        ([{"from_day": 0, "to_day": -0.0, "at_h": 10.0, "minutes": 900}], "minutes from"),
        ([meeting(), meeting("second", 10.5)], "is not over"),
        ([meeting(fish=("Agate", "Nobody"))], "nothing here is called"),
        ([meeting(fish=("winner of last", "Agate"))], "no earlier observation"),
        ([meeting(), meeting()], "a second time"),
    ],
)
def test_what_cannot_be_watched_is_refused_in_a_sentence(observe, says):
    with pytest.raises((Refused, ValueError), match=says):
        check_scenario(laboratory(*observe))


def test_a_fish_that_comes_for_a_meeting_cannot_join_or_be_taken_out_besides():
    late = [{**male("Agate"), "joins_day": 0.5}, male("Beryl"), male("Chert")]
    with pytest.raises(Refused, match="put in for a meeting"):
        check_scenario(laboratory(meeting(), fish=late))
    out = {"on_day": 0, "at_h": 15.0, "do": "take out", "fish": ("Agate",)}
    with pytest.raises(Refused, match="for meetings only"):
        check_scenario(laboratory(meeting(), events=(out,)))
