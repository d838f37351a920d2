"""What somebody who watches counts: the same in the rows, in the figures and in the state."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.batch import play_batch
from sim.check import check_scenario
from sim.engine import History
from sim.observed import ACTS, act_rows, sitting_rows
from sim.scenario import Scenario
from sim.summary import summarise

RUNS = 8


def male(name, length_m=0.1):
    return {"species": "convict", "name": name, "sex": "male", "length_m": length_m}


def watched() -> Scenario:
    meeting = {"at_h": 15, "minutes": 40, "fish": ["Chert"], "until_decided": True}
    return Scenario.model_validate(
        {
            "tank": {"length_m": 0.5, "width_m": 0.3, "height_m": 0.3},
            "fish": [male("Agate", 0.11), male("Beryl"), male("Chert", 0.105)],
            "observe": [
                {"name": "pad", "from_day": 0, "to_day": 1, "at_h": 11, "minutes": 30},
                {"name": "match", **meeting},
            ],
            "days": 2,
        }
    )


@pytest.fixture(scope="module")
def batch():
    checked = check_scenario(watched())
    return play_batch(checked.scenario, checked.layout, runs=RUNS, seed=3, workers=1)


def test_the_rows_of_a_run_hold_what_was_counted_in_it():
    checked = check_scenario(watched())
    history = History(checked.scenario, checked.layout, run=5, seed=3)
    history.advance()
    outcome = history.outcome()
    sittings, acts = sitting_rows(outcome), act_rows(outcome)
    seen = history.state.seen
    assert len(sittings) == 3
    assert sittings["sitting"].tolist() == [0, 1, 2]  # pad, match, pad: in the order of time
    for name in (*ACTS, "contests"):
        assert sittings[name].tolist() == seen[name].sum(axis=(1, 2)).tolist()
        total = np.zeros(seen.shape)
        total[acts["sitting"], acts["actor"], acts["other"]] = acts[name]
        assert np.array_equal(total, seen[name])
    assert sum(sittings[name].sum() for name in ACTS) > 0
    assert np.all(sittings["lasted_s"] <= 42 * 60.0)
    there = np.isfinite(sittings["decided_s"])
    assert np.array_equal(there, sittings["winner"] >= 0)
    assert np.all(sittings["first_act_s"][there] <= sittings["lasted_s"][there])


def test_figures_are_means_over_runs_of_the_sittings_of_a_name(batch):
    pad, match = summarise(batch).observed
    assert (pad.name, pad.days, pad.meeting) == ("pad", (0, 1), False)
    assert (match.name, match.days, match.meeting) == ("match", (0,), True)
    rows = batch.sittings.rows().reshape(RUNS, 3)
    acts = sum(rows[name] for name in ACTS)
    assert pad.figures["acts"].estimate.value == pytest.approx(acts[:, [0, 2]].mean())
    assert match.figures["acts"].estimate.value == pytest.approx(acts[:, 1].mean())
    decided = rows["winner"][:, 1] >= 0
    assert match.figures["decided"].estimate.value == pytest.approx(decided.mean())
    assert "decided" not in pad.figures
    won = {fish.row: fish.figures["won"].estimate.value for fish in match.fish}
    assert sum(won.values()) == pytest.approx(decided.mean())


def test_what_the_fish_do_sums_to_all_that_is_seen(batch):
    for one in summarise(batch).observed:
        total = one.figures["acts"].estimate.value
        for name in ("given", "taken"):
            each = sum(fish.figures[name].estimate.value for fish in one.fish)
            assert each == pytest.approx(total), (one.name, name)


def test_a_summary_of_the_first_runs_uses_those_alone(batch):
    (pad, _) = summarise(batch, runs=4).observed
    rows = batch.sittings.rows().reshape(RUNS, 3)[:4]
    acts = sum(rows[name] for name in ACTS)[:, [0, 2]].mean()
    assert pad.figures["acts"].estimate.value == pytest.approx(acts)
    each = sum(fish.figures["given"].estimate.value for fish in pad.fish)
    assert each == pytest.approx(acts)


def test_a_meeting_that_fell_out_is_told_apart_from_one_in_which_nothing_was_done():
    checked = check_scenario(watched())
    batch = play_batch(checked.scenario, checked.layout, runs=4, seed=3, workers=1)
    table = batch.sittings.rows().copy()
    match = table["sitting"] == 1
    table["missed"][match & (table["run"] < 2)] = 1
    for name in ACTS:
        table[name][match] = 0
    batch.sittings = type(batch.sittings)(table.dtype)
    batch.sittings.extend(table)
    found = summarise(batch).observed[1].figures
    assert found["missed"].estimate.value == 0.5
    assert found["acts"].estimate.value == 0.0
    table["missed"][match] = 1
    batch.sittings = type(batch.sittings)(table.dtype)
    batch.sittings.extend(table)
    found = summarise(batch).observed[1].figures
    assert "acts" not in found
    assert found["missed"].estimate.value == 1.0
    assert not math.isnan(found["missed"].estimate.high)


def test_nobody_watches_a_plain_tank():
    scenario = watched().model_copy(update={"observe": ()})
    checked = check_scenario(scenario)
    batch = play_batch(checked.scenario, checked.layout, runs=2, seed=3, workers=1)
    assert summarise(batch).observed == ()
    assert len(batch.sittings) == len(batch.acts) == 0
