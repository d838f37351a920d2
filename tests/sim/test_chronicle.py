"""A run told from beginning to end is the run of the batch, and nothing of it is left out."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from sim import chronicle
from sim.batch import run_one
from sim.chronicle import chronicle_of, last_biter
from sim.records import LOG, LOG_ROWS
from sim.rules.codes import CHASED, DISPLAY_ONLY, FOUGHT
from tests.sim.test_repeat import BUSY, eventful
from tests.sim.worlds import shipped, shipped_history

PARTS = ("row", "fish", "days", "outgrown", "chases", "wins", "ends", "log", "stretches", "seen")


def same(told: chronicle.Chronicle, played: Any) -> None:
    for name in PARTS:
        assert getattr(told.outcome, name).tobytes() == getattr(played, name).tobytes(), name


@pytest.fixture(scope="module")
def spawning():
    checked = shipped("convict-spawning")
    how = {"run": 4, "seed": 2, "changes": {"harm_per_bite": 0.005}}
    scenario = checked.scenario.model_copy(update={"days": 15.0})
    told = chronicle_of(scenario, checked.layout, **how)
    return told, run_one(scenario, checked.layout, **how)


def test_it_is_the_run_of_the_batch(spawning):
    same(*spawning)


def test_every_attack_is_told_once_and_the_last_as_the_run_keeps_them(spawning):
    told, played = spawning
    attacks = told.attacks
    assert len(attacks) == played.days["attacks"].sum() > 2 * LOG_ROWS
    assert np.all(np.diff(attacks["time"]) >= 0.0)
    chased = attacks[attacks["outcome"] == CHASED]
    assert len(chased) <= played.chases.sum()  # a lost contest ends in a chase, too
    last = np.sort(played.log, order=["time", "attacker", "victim"])
    mine = np.sort(attacks, order=["time", "attacker", "victim"])
    ends = {row.tobytes() for row in last}
    assert sum(row.tobytes() in ends for row in mine[-LOG_ROWS - 20 :]) == LOG_ROWS


def test_however_seldom_it_is_looked_at_no_attack_is_lost(spawning, monkeypatch):
    told, _ = spawning
    monkeypatch.setattr(chronicle, "EVERY", 2.0)  # days: far more attacks than the ring holds
    checked = shipped("convict-spawning")
    scenario = checked.scenario.model_copy(update={"days": 15.0})
    seldom = chronicle_of(scenario, checked.layout, run=4, seed=2, changes={"harm_per_bite": 0.005})
    assert seldom.attacks.tobytes() == told.attacks.tobytes()


def test_the_brood_is_told_stage_by_stage_at_its_time(spawning):
    told, played = spawning
    stages = [one for one in told.happenings if one.what == chronicle.YOUNG]
    assert [one.detail for one in stages] == ["courting", "digging", "eggs", "wrigglers"]
    eggs = stages[2].time_s / 86400.0
    assert eggs == pytest.approx(played.row["spawn_day"][0], abs=0.01)
    assert [one.time_s for one in told.happenings] == sorted(o.time_s for o in told.happenings)


def test_the_hurt_are_told_with_their_day_and_who_bit_last(spawning):
    told, played = spawning
    hurt = {one.fish: one for one in told.happenings if one.what == chronicle.HURT}
    days = played.fish["minor_day"]
    assert set(hurt) == set(np.flatnonzero(np.isfinite(days)))
    assert len(hurt) > 1
    for i, one in hurt.items():
        assert one.time_s == pytest.approx(86400.0 * days[i])
        assert one.other >= 0
        assert told.outcome.chases[one.other, i] > 0 or told.outcome.wins[one.other, i] > 0


def test_what_is_done_to_the_tank_is_told():
    whole = eventful()
    how = {"run": 3, "changes": {**BUSY, "harm_per_bite": 0.005}}
    told = chronicle_of(whole.scenario, whole.layout, **how)
    same(told, run_one(whole.scenario, whole.layout, **how))
    names = [group.name for group in whole.scenario.fish]
    joined = [one for one in told.happenings if one.what == chronicle.JOINS]
    assert [names[one.fish] for one in joined] == ["Marl"]
    assert joined[0].time_s == pytest.approx(86400.0 + 22 * 3600.0, abs=1.0)
    assert any(one.what == chronicle.TAKEN and one.fish == 1 for one in told.happenings)
    assert any(one.what == chronicle.BACK and one.fish == 1 for one in told.happenings)
    moved = {one.fish for one in told.happenings if one.what == chronicle.MOVED}
    assert moved == set(np.flatnonzero(told.outcome.fish["moved_out"]))
    assert moved


def test_of_a_tank_that_settles_only_what_counts_is_told():
    checked = shipped("convict-four-foot-settled")
    scenario = checked.scenario.model_copy(update={"days": 3.0, "settling_days": 4.0})
    told = chronicle_of(scenario, checked.layout, run=2)
    played = run_one(scenario, checked.layout, run=2)
    same(told, played)
    assert len(told.attacks) == played.days["attacks"].sum()
    assert told.attacks["time"].min() >= 9 * 3600.0
    assert all(one.time_s >= 0.0 for one in told.happenings)


def test_who_bit_last():
    log = np.zeros(4, LOG)
    log["time"] = [10.0, 20.0, 30.0, 40.0]
    log["attacker"], log["victim"] = [0, 1, 2, 0], [3, 3, 0, 3]
    log["outcome"] = [CHASED, CHASED, FOUGHT, DISPLAY_ONLY]
    log["bites"] = [2, 0, 0, 0]
    assert last_biter(log, 3, 5.0) == -1
    assert last_biter(log, 3, 25.0) == 0  # the second chase did not bite
    assert last_biter(log, 0, 35.0) == 2
    assert last_biter(log, 2, 35.0) == 0  # who begins a fight may be the one hurt
    assert last_biter(log, 3, 45.0) == 0


def test_places_are_called_by_what_stands_there():
    history = shipped_history("convict-four-foot", days=1.0)
    layout = history.layout
    names = {chronicle.place_name(layout, site) for site in range(len(layout.sites))}
    assert {"large pot", "flat slate", "open floor"} <= names
    assert chronicle.place_name(layout, -1) == ""
