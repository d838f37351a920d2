"""Settling: days that are lived before day 0, and what begins to count when it comes."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from sim.batch import run_batch
from sim.check import check_file
from sim.crew import Job, play
from sim.day_zero import COUNTS, FIRST_DAYS
from sim.engine import History
from sim.layout import Layout
from sim.model import TankModel
from sim.parameters import load_parameters
from sim.rules.codes import DEAD, IN_TANK, NOT_YET
from sim.scenario import Scenario
from sim.scenario_rules import faults
from sim.settling import lived
from sim.state import NEVER
from tests.sim.worlds import SCENARIOS

DAY = 86400.0
SETTLED = 5
BUSY = {"attack_rate": 0.5}
STORMY = {"attack_rate": 0.5, "harm_per_bite": 0.005}


def parts(**more: Any) -> dict[str, Any]:
    """A pair and company in a short tank."""
    people = [
        {"name": "Agate", "species": "convict", "sex": "male", "length_m": 0.10},
        {"name": "Beryl", "species": "convict", "sex": "female", "length_m": 0.085},
        {"name": "Flint", "species": "convict", "sex": "male", "length_m": 0.095},
        {"name": "dither", "species": "swordtail", "count": 2},
    ]
    whole = {
        "days": 3,
        "settling_days": SETTLED,
        "tank": {"size": "29 gallon"},
        "pieces": [{"name": "pot", "kind": "pot", "size": "6 in", "x": "8 in", "y": "6 in"}],
        "fish": people,
    }
    return {**whole, **more}


def run_of(number: int = 3, *, changes: dict[str, float] | None = None, **more: Any) -> History:
    scenario = Scenario.model_validate(parts(**more))
    return History(scenario, Layout(scenario), run=number, changes=BUSY | (changes or {}))


def eventful(number: int = 3, *, settling: float = 2) -> History:
    """A settled tank to which much is done afterwards, with a death now and then before."""
    people = [
        *parts()["fish"],
        {"name": "Marl", "species": "convict", "length_m": 0.09, "joins_day": 1, "joins_at_h": 22},
        {"name": "Opal", "species": "convict", "length_m": 0.08, "joins_at_h": 8},
    ]
    return run_of(
        number,
        changes=STORMY,
        settling_days=settling,
        fish=people,
        events=[
            {"on_day": 0, "do": "water change", "share": 0.3},
            {"on_day": 1, "at_h": 12, "do": "take out", "fish": ["Flint"]},
            {"on_day": 2, "at_h": 12, "do": "bring back", "fish": ["Flint"]},
        ],
        keeper_plan={"checks_at": [8, 19], "moves": "victim", "spare_places": 2},
        observe=[{"name": "pad", "from_day": 0, "to_day": 1, "at_h": 10, "minutes": 5}],
    )


# What the tank is, and not what was counted in it.
COUNTED = {"tally", "log", "ends", "days", "defence", "stage_time", "harm", "harm_spots"}


def lives(history: History) -> dict[str, bytes]:
    """All of a state that the fish live by."""
    state = history.state
    skip = {"stop_at", "next_event", "seed", "key", "start_length", "hidden_before"}
    skip |= {"awake_before", "awake", "last_change", "next_area", "wins", "chases", "bites"}
    skip |= {"ordinal", "bouts", "harm", "harm_on"}
    found = {}
    for name, array in zip(state._fields, state, strict=True):
        if name in COUNTED:
            continue
        for field in array.dtype.names or ("",):
            if field not in skip:
                found[f"{name}.{field}"] = (array[field] if field else array).tobytes()
    return found


def test_until_day_0_a_tank_lives_as_one_that_does_not_settle_but_lasts_longer():
    settled, plain = run_of(), run_of(settling_days=0, days=3 + SETTLED)
    assert settled.day == pytest.approx(plain.day - SETTLED)
    for day in (0.6, 2.5, 4.7):
        settled.advance(until_day=day - SETTLED)
        plain.advance(until_day=day)
        theirs, mine = (
            {
                f"{name}.{field}": (array[field] if field else array).tobytes()
                for name, array in zip(of.state._fields, of.state, strict=True)
                for field in array.dtype.names or ("",)
                if field != "stop_at"
            }
            for of in (plain, settled)
        )
        assert mine == theirs
        assert settled.day == pytest.approx(plain.day - SETTLED)


def test_day_0_begins_with_the_light_and_changes_nothing_but_counts():
    settled, plain = run_of(), run_of(settling_days=0, days=3 + SETTLED)
    at = (9.0 + 1e-9) / 24.0
    settled.advance(until_day=at - 1e-6)
    plain.advance(until_day=SETTLED + at - 1e-6)
    assert settled.state.tank.next_event[0] == 1
    assert settled.state.tank.clock[0] == SETTLED * DAY + 9 * 3600.0
    mine, theirs = lives(settled), lives(plain)
    counted = {f"tank.{name}" for name in (*COUNTS, *FIRST_DAYS)} | {"pair.bites_noted"}
    assert {name for name in mine if mine[name] != theirs[name]} <= counted
    state = settled.state
    assert state.pair.chases.sum() == state.tank.chases[0] == state.tally.chases_given.sum() == 0
    assert plain.state.tank.chases[0] > 20
    assert state.tank.awake[0] == 0.0
    waited = plain.state.tank.awake[0] - plain.state.tank.last_change[0]
    assert -state.tank.last_change[0] == pytest.approx(waited)
    assert not set(state.fish.key.tolist()) & set(plain.state.fish.key.tolist())


def test_everything_that_is_left_behind_is_of_the_days_that_count():
    history = run_of()
    history.advance()
    outcome, state = history.outcome(), history.state
    row, days = outcome.row[0], outcome.days
    assert days["day"].tolist() == [0, 1, 2]
    assert history.day >= 3.0
    assert row["awake_h"] == pytest.approx(3 * 11.0, rel=0.02)
    chases = days["chases"].sum()
    assert chases == outcome.chases.sum() == outcome.ends.sum()
    assert chases == outcome.fish["chases_given"].sum()
    assert chases == pytest.approx(row["chases_per_h"] * row["awake_h"])
    assert chases > 10
    assert state.days.chases[:SETTLED].sum() == 0
    assert days["bites"].sum() == outcome.fish["bites_taken"].sum()
    assert days["dose"].sum() == pytest.approx(row["dose"])
    assert row["watched_share"] <= 1.0
    assert len(outcome.log) > 0
    assert outcome.log["time"].min() >= 9 * 3600.0
    assert outcome.log["time"].max() < 3 * DAY
    for table in (outcome.fish, outcome.row):
        for name in table.dtype.names:
            if name.endswith("_day") and not name.endswith("per_day"):
                assert np.all(table[name] >= 0.0), name


def test_before_day_0_nothing_counts_yet():
    history = run_of()
    history.advance(until_day=-1.5)
    kept = history.state.to_bytes()
    assert history.state.tank.chases[0] > 0
    outcome = history.outcome()
    assert history.state.to_bytes() == kept
    assert outcome.row["attacks_per_h"] == outcome.row["dose"] == 0.0
    assert len(outcome.log) == outcome.chases.sum() == outcome.days["chases"].sum() == 0


def test_a_fish_lost_while_settling_is_told_apart_from_those_that_count():
    # 12 stormy runs, seed 1; in some of them a fish dies before day 0, in some after.
    before = after = 0
    scenario = Scenario.model_validate(parts())
    layout = Layout(scenario)
    for run in range(12):
        history = History(scenario, layout, run=run, changes=STORMY)
        history.advance(until_day=0.3)
        dead = history.state.fish.presence == DEAD
        lost = dead & np.isinf(history.state.tally.death_day)
        history.advance()
        outcome = history.outcome()
        assert outcome.fish["lost_settling"].astype(bool).tolist() == lost.tolist()
        assert outcome.row["lost_settling"] == lost.sum()
        assert outcome.row["any_lost_settling"] == lost.any()
        now_dead = history.state.fish.presence == DEAD
        assert outcome.row["deaths"] == (now_dead & ~lost).sum()
        gone = outcome.fish[lost]
        assert np.all(np.isinf(gone["death_day"]) & np.isinf(gone["serious_day"]))
        assert np.all(gone["chases_taken"] == 0)
        before += int(lost.sum())
        after += int(outcome.row["deaths"][0])
    assert before > 3
    assert after > 0


def test_injuries_are_carried_into_day_0_unless_the_file_says_how_hurt_a_fish_is():
    def at_day_0(injury: float | None) -> History:
        people = parts()["fish"]
        if injury is not None:
            people[0] = {**people[0], "established": {"since_day": -60, "injury": injury}}
        history = run_of(fish=people, changes={"harm_per_bite": 0.002})
        history.advance(until_day=(9.0 - 0.01) / 24.0)
        return history

    carried, told = at_day_0(None), at_day_0(0.25)
    fish = carried.state.fish
    assert (fish.skin + fish.scales).max() > 0.005
    assert np.all(carried.state.tally.dose == 0.0)
    assert (told.state.fish.skin[0], told.state.fish.scales[0]) == (0.0, 0.25)
    start = History(told.scenario, told.layout, run=3).state.fish[0]
    assert (start.scales, start.resident_s) == (0.0, (60 - SETTLED) * DAY)


def test_what_is_done_to_the_tank_keeps_its_days():
    history = eventful(settling=SETTLED)
    state = history.state
    history.advance(until_day=-0.3)
    assert state.fish.presence[[5, 6]].tolist() == [NOT_YET, NOT_YET]  # Marl, Opal
    assert state.tank.next_check[0] == SETTLED * DAY + 19 * 3600.0  # in the light of day 0
    assert (state.tank.needed_day[0], state.tank.stir[0]) == (NEVER, 0.0)
    history.advance(until_day=0.4)
    assert state.fish.presence[6] in (IN_TANK, DEAD)  # Opal, at the beginning of day 0
    assert state.tank.stir[0] > 0.0
    history.advance(until_day=1.95)
    assert state.fish.presence[5] == IN_TANK
    history.advance()
    outcome = history.outcome()
    assert outcome.stretches["start"].tolist() == [10 * 3600.0, DAY + 10 * 3600.0]
    assert outcome.stretches["ended"] == pytest.approx(outcome.stretches["end"], abs=60.0)
    assert outcome.fish["lost_settling"][5] == outcome.fish["lost_settling"][6] == 0


@pytest.mark.parametrize("spawn_day", [0.0, 1.0])
def test_a_pair_that_is_to_spawn_does_so_on_its_day(spawn_day):
    on = {"mode": "on", "spawn_day": spawn_day, "pair": ["Agate", "Beryl"]}
    history = run_of(breeding=on)
    history.advance(until_day=-0.6)
    assert history.state.tank.spawnings[0] == 0
    history.advance()
    row = history.outcome().row[0]
    assert row["spawnings"] == 1
    assert row["spawn_day"] == pytest.approx(spawn_day, abs=0.6)
    assert row["pair_day"] == 0.0


def test_a_pair_that_formed_while_settling_is_there_on_day_0():
    # 16 runs, seed 1, of a grown pair alone for twenty days before, as they attack by default.
    pair = [
        {**one, "length_m": size} for one, size in zip(parts()["fish"], (0.11, 0.08), strict=False)
    ]
    found = 0
    for run in range(16):
        history = run_of(
            run, fish=pair, settling_days=20, breeding={"mode": "spontaneous"},
            changes={"attack_rate": load_parameters()["attack_rate"].value},
        )  # fmt: skip
        history.advance(until_day=-0.5)
        there = int((history.state.broods.there == 1).sum())
        history.advance(until_day=0.4)
        row = history.outcome().row[0]
        assert row["spawnings"] == 0
        if there and row["pairs_broken"] == 0:
            assert row["pairs"] >= there
            assert row["pair_day"] == 0.0
            found += 1
    assert found > 3


def test_the_same_bytes_however_it_is_stepped_and_from_any_copy():
    whole = eventful()
    whole.advance()
    expected = whole.state.to_bytes()
    stepped = eventful()
    stepped.advance(until_day=-0.3)
    while stepped.day < 0.5:  # where counting begins, stride by stride
        stepped.strides(1)
    while not stepped.finished:
        stepped.strides(1000)
    assert stepped.state.to_bytes() == expected
    by_hour = eventful()
    for hour in range(-24 * 2, 73, 3):
        by_hour.advance(until_day=hour / 24)
    assert by_hour.state.to_bytes() == expected
    for day in (-1.4, -0.5, 9.0 / 24.0, 1.7):
        history, other = eventful(), eventful(8)
        history.advance(until_day=day)
        kept = history.snapshot()
        other.advance(until_day=2.0)
        other.restore(kept)
        other.advance()
        assert other.state.to_bytes() == expected, day


def test_the_mesa_model_and_the_crew_settle_too():
    whole = eventful()
    whole.advance()
    model = TankModel(whole.scenario, whole.layout, run=3, changes=STORMY, strides_per_step=500)
    assert model.day < 0.0
    while model.running:
        model.step()
    assert model.state.to_bytes() == whole.state.to_bytes()
    model.close()
    job = Job(scenario=whole.scenario, layout=whole.layout, run=3, changes=STORMY)
    (played,) = play([job], workers=1)
    for name in ("row", "fish", "days", "log", "seen"):
        assert getattr(played, name).tobytes() == getattr(whole.outcome(), name).tobytes(), name


def test_days_that_count_are_like_the_same_days_of_a_run_that_counts_from_the_start():
    # 48 runs each, seed 1: chases a day on days 0 to 2 after five of settling, and on days 5 to 7.
    # The runs share their fish, so 4 standard errors of independent means bound the difference.
    def chases(days: int, settling: int) -> np.ndarray:
        scenario = Scenario.model_validate(parts(days=days, settling_days=settling))
        outcomes = run_batch(scenario, Layout(scenario), runs=48, seed=1, workers=1, changes=BUSY)
        return np.array([one.days["chases"][-3:].mean() for one in outcomes])

    settled, plain = chases(3, SETTLED), chases(3 + SETTLED, 0)
    error = math.sqrt((settled.var(ddof=1) + plain.var(ddof=1)) / 48)
    assert abs(settled.mean() - plain.mean()) < 4.0 * error
    assert error < 0.15 * plain.mean()


def test_a_tank_that_does_not_settle_is_lived_as_it_stands():
    scenario = Scenario.model_validate(parts(settling_days=0))
    assert lived(scenario) is scenario
    shipped = check_file(SCENARIOS / "convict-four-foot-settled.toml").scenario
    assert (shipped.settling_days, lived(shipped).days) == (42.0, 72.0)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"settling_days": 2.5}, "got 2.5; expected whole days"),
        ({"past": {"since_day": -3}}, "got -3, when the tank has begun to settle already"),
        (
            {"past": {"mate": "Beryl", "brood": {"stage": "fry"}}},
            "got a brood at a stage with settling_days = 5",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_is_said(more, says):
    more = dict(more)
    people = parts()["fish"]
    if "past" in more:
        people[0] = {**people[0], "established": more.pop("past")}
    whole = parts(fish=people, breeding={"mode": "spontaneous"}, **more)
    found = [sentence for _, sentence in faults(Scenario.model_validate(whole))]
    assert len(found) == 1
    assert says in found[0]


def test_a_resident_since_before_the_settling_is_fine():
    people = parts()["fish"]
    people[0] = {**people[0], "established": {"since_day": -SETTLED, "owns": "pot", "rank": 1}}
    assert faults(Scenario.model_validate(parts(fish=people))) == []
