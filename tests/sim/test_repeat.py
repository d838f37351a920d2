"""The same file and seed give the same bytes, however the run is stepped, kept or compiled."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from ast import literal_eval
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sim.crew import Job, play
from sim.engine import History
from sim.model import TankModel
from sim.rules.codes import CONTEST, FLEE, PURSUE
from sim.settings import Settings
from sim.start import draw_fish
from tests.sim.layouts import block, piece
from tests.sim.worlds import FIXED, fish, shipped, shipped_history
from tests.sim.worlds import history as small_history

ROOT = Path(__file__).parents[2]
BUSY = {"attack_rate": 0.5}


EVENTS = [
    {"on_day": 0, "at_h": 12, "do": "divider in", "divider": "sheet"},
    {"on_day": 0, "at_h": 16, "do": "water change", "share": 0.5},
    {
        "on_day": 1,
        "at_h": 10.5,
        "do": "re-arrange",
        "moves": [{"piece": "pot", "x_m": 0.95, "y_m": 0.3}],
    },
    {"on_day": 1, "at_h": 13, "do": "divider out", "divider": "sheet"},
    {"on_day": 1, "at_h": 15, "do": "take out", "fish": ["Beryl"]},
    {"on_day": 1, "at_h": 18, "do": "lights", "light_hours": 8},
    {"on_day": 2, "at_h": 11, "do": "lights", "light_hours": 11},
    {"on_day": 2, "at_h": 12, "do": "bring back", "fish": ["Beryl"], "place": (0.3, 0.3)},
]
SHEET = piece("clear-divider", "18 in", 0.602, 0.2285, name="sheet", turn_rad=1.5707963)


def eventful(number: int = 3, **more: Any) -> History:
    """A run in which much is done to the tank from outside."""
    return small_history(
        fish(name="Agate", sex="male", length_m=0.10),
        fish(name="Beryl", sex="female", length_m=0.085),
        fish(name="Flint", sex="male", length_m=0.098),
        fish(name="Marl", sex="male", length_m=0.09, joins_day=1, joins_at_h=22),
        fish("swordtail", name="dither", count=2),
        pieces=[
            piece("pot", "6 in", 0.3, 0.25, name="pot", turn_rad=-1.2),
            block(0.2, 0.08, 0.8, 0.1),
            SHEET,
        ],
        events=EVENTS,
        keeper_plan={
            "checks_at": [11, 19],
            "away_days": [[0, 0]],
            "moves": "victim",
            "spare_places": 1,
            "back_after_days": 0.5,
        },
        days=4,
        run=number,
        **{"changes": {**BUSY, "harm_per_bite": 0.005}, **more},
    )


def test_a_run_with_events_is_the_same_bytes_however_it_is_stepped():
    whole = eventful()
    whole.advance()
    tank, tally = whole.state.tank[0], whole.state.tally
    assert tank.next_event == len(EVENTS) + 1
    assert tank.furniture == 3
    assert tank.places_needed > 0
    assert np.isfinite(tally.moved_day).any()
    expected = whole.state.to_bytes()
    for at_once in (1, 7, 1000):
        stepped = eventful()
        while not stepped.finished:
            stepped.strides(at_once)
        assert stepped.state.to_bytes() == expected, at_once
    by_hour = eventful()
    for hour in range(97):
        by_hour.advance(until_day=hour / 24)
    assert by_hour.state.to_bytes() == expected


def test_a_copy_kept_between_events_goes_on_in_another_history():
    # Seed 13, 5 moments.
    rng = np.random.default_rng(13)
    whole = eventful()
    whole.advance()
    for day in rng.uniform(0.4, 3.5, 5):
        history, other = eventful(), eventful(8)
        history.advance(until_day=float(day))
        kept = history.snapshot()
        history.advance()
        other.advance(until_day=float(rng.uniform(0.4, 3.9)))
        other.restore(kept)
        other.advance()
        assert history.state.to_bytes() == whole.state.to_bytes()
        assert other.state.to_bytes() == whole.state.to_bytes()
        history.restore(kept)
        history.advance()
        assert history.state.to_bytes() == whole.state.to_bytes()


def test_the_mesa_model_and_the_crew_go_through_the_events_too():
    whole = eventful()
    whole.advance()
    changes = {**BUSY, "harm_per_bite": 0.005}
    model = TankModel(whole.scenario, whole.layout, run=3, changes=changes, strides_per_step=500)
    while model.running:
        model.step()
    assert model.state.to_bytes() == whole.state.to_bytes()
    model.close()
    job = Job(scenario=whole.scenario, layout=whole.layout, run=3, changes=changes)
    (played,) = play([job], workers=1)
    for name in ("row", "fish", "days", "log"):
        assert getattr(played, name).tobytes() == getattr(whole.outcome(), name).tobytes(), name


def test_runs_with_events_on_one_thread_and_on_two_share_one_layout():
    first = eventful()
    checked = (first.scenario, first.layout)

    def digest(number: int) -> str:
        run = History(*checked, run=number, changes={**BUSY, "harm_per_bite": 0.005})
        run.advance()
        return hashlib.sha256(run.state.to_bytes()).hexdigest()

    alone = [digest(number) for number in range(6)]
    with ThreadPoolExecutor(2) as pool:
        assert list(pool.map(digest, range(6))) == alone
    assert len(set(alone)) == 6


def run_of(number: int = 6, *, days: float = 2.0, name: str = "convict-four-foot") -> History:
    return shipped_history(name, days=days, run=number, changes=BUSY)


@pytest.fixture(scope="module")
def in_one_go() -> bytes:
    history = run_of()
    history.advance()
    assert history.finished
    assert history.state.tank.chases[0] > 0
    assert history.state.tank.contests[0] > 0
    assert history.state.tank.pieces[0] > 0
    return history.state.to_bytes()


def test_twice_the_same_run_is_the_same_bytes_and_another_run_is_not(in_one_go):
    again, other = run_of(), run_of(7)
    again.advance()
    other.advance()
    assert again.state.to_bytes() == in_one_go
    assert other.state.to_bytes() != in_one_go


@pytest.mark.parametrize("at_once", [1, 7, 1000])
def test_stepped_by_strides(in_one_go, at_once):
    history = run_of()
    while not history.finished:
        history.strides(at_once)
    assert history.state.to_bytes() == in_one_go


def test_stepped_by_day_and_by_hour(in_one_go):
    by_day, by_hour = run_of(), run_of()
    for day in (1, 2):
        by_day.advance(until_day=day)
    for hour in range(49):
        by_hour.advance(until_day=hour / 24)
    assert by_day.state.to_bytes() == in_one_go
    assert by_hour.state.to_bytes() == in_one_go


def test_after_snapshot_and_restore_at_random_moments(in_one_go):
    # Seed 11, 6 moments; each is left by another path and restored.
    rng = np.random.default_rng(11)
    whole = run_of()
    strides = 0
    while not whole.finished:
        whole.strides(1)
        strides += 1
    for moment in rng.integers(1, strides - 1, 6):
        history = run_of()
        history.strides(int(moment))
        kept = history.snapshot()
        history.strides(int(rng.integers(1, 3000)))
        assert history.state.to_bytes() != kept.to_bytes()
        history.restore(kept)
        assert history.state.to_bytes() == kept.to_bytes()
        history.advance()
        assert history.state.to_bytes() == in_one_go


def met(act: int) -> tuple[History, int]:
    """A history stopped while a fish does something, and the number of its run."""
    for number in range(30):
        history = run_of(number)
        while not history.finished:
            if np.any(history.state.fish["act"] == act):
                return history, number
            history.strides(1)
    raise AssertionError(f"nobody in 30 runs was seen in act {act}")


@pytest.mark.parametrize("act", [PURSUE, CONTEST])
def test_a_snapshot_in_the_middle_of_a_chase_or_contest_goes_on_in_another_history(act):
    history, number = met(act)
    whole, other = run_of(number), run_of(number + 1)
    whole.advance()
    other.advance(until_day=1)
    other.restore(history.snapshot())
    other.advance()
    assert other.state.to_bytes() == whole.state.to_bytes()


def test_one_thread_and_two_threads():
    def digest(number: int) -> str:
        history = run_of(number)
        history.advance()
        return hashlib.sha256(history.state.to_bytes()).hexdigest()

    alone = [digest(number) for number in range(8)]
    with ThreadPoolExecutor(2) as pool:
        together = list(pool.map(digest, range(8)))
    assert together == alone
    assert len(set(alone)) == 8


def test_what_the_fish_are_does_not_hang_on_who_else_is_there():
    scenario = shipped("juveniles-crowd").scenario
    more = scenario.fish[0].model_copy(
        update={"species": "Xiphophorus hellerii", "count": 1, "name": "late dither"}
    )
    larger = scenario.model_copy(update={"fish": [*scenario.fish, more]})
    for draw in range(5):
        few = draw_fish(scenario, seed=1, draw=draw, quality_sd=0.1, daring_sd=0.1)
        many = draw_fish(larger, seed=1, draw=draw, quality_sd=0.1, daring_sd=0.1)
        assert len(many) == len(few) + 1
        for one, same in zip(few, many, strict=False):
            assert (one.sex, one.length_m, one.aggression, one.boldness, one.quality) == (
                same.sex,
                same.length_m,
                same.aggression,
                same.boldness,
                same.quality,
            )
    layout = shipped("juveniles-crowd").layout
    few_fish = History(scenario, layout, run=2).state.fish
    many_fish = History(larger, layout, run=2).state.fish
    for name in FIXED:
        if name != "species":  # a number among the species of the run
            assert np.array_equal(few_fish[name], many_fish[name][:-1]), name


def test_two_runs_share_a_draw_of_fish_but_not_their_luck():
    even, odd, next_draw = (shipped_history("juveniles-crowd", days=1, run=r) for r in (4, 5, 6))
    for name in set(FIXED) - {"key"}:
        assert np.array_equal(even.state.fish[name], odd.state.fish[name]), name
    assert not np.any(even.state.fish["key"] == odd.state.fish["key"])
    assert not np.array_equal(even.state.fish["quality"], next_draw.state.fish["quality"])


# Short windows and long gaps, so that a few thousand strides see all three phases of time.
SHORT = Settings(
    window_s=40.0, burn_s=8.0, gap_least_s=6000.0, gap_most_s=12000.0, piece_events=4.0
)
UNCOMPILED_STRIDES = 3750


def digest_of_short_history() -> str:
    """Play a short busy history and return its digest with what has happened in it."""
    history = small_history(
        fish(name="Agate", sex="male", length_m=0.10),
        fish(name="Beryl", sex="female", length_m=0.085),
        fish(name="Flint", sex="male", length_m=0.098),
        fish("swordtail", name="dither", count=2),
        pieces=[
            piece("pot", "6 in", 0.3, 0.25, name="pot", turn_rad=-1.2),
            block(0.2, 0.08, 0.8, 0.2),
        ],
        breeding={"mode": "on", "spawn_day": 0.0, "pair": ("Agate", "Beryl")},
        events=[
            {"on_day": 0, "at_h": 9.2, "do": "water change", "share": 0.3},
            {
                "on_day": 0,
                "at_h": 10.5,
                "do": "re-arrange",
                "moves": [{"piece": "pot", "x_m": 0.35, "y_m": 0.2}],
            },
            {"on_day": 0, "at_h": 12, "do": "take out", "fish": ["Flint"]},
            {"on_day": 0, "at_h": 14, "do": "bring back", "fish": ["Flint"]},
        ],
        keeper_plan={"checks_at": [12, 19], "moves": "bully", "spare_places": 1},
        days=3,
        settings=SHORT,
        changes=BUSY,
    )
    fled = 0
    for _ in range(UNCOMPILED_STRIDES):
        history.strides(1)
        fled += int(np.any(history.state.fish["act"] == FLEE))
    tank = history.state.tank
    seen = (fled, int(tank.contests[0]), int(tank.pieces[0]), int(tank.clock[0] > 86400.0))
    assert tank.next_event[0] == 4
    return f"{hashlib.sha256(history.state.to_bytes()).hexdigest()} {seen}"


def test_compiled_and_uncompiled_give_the_same_bytes():
    code = "from tests.sim.test_repeat import digest_of_short_history as d; print(d())"
    plain = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert plain.returncode == 0, plain.stderr
    compiled = digest_of_short_history()
    assert plain.stdout.strip() == compiled
    fled, contests, pieces, night = literal_eval(compiled.split(" ", 1)[1])
    assert fled > 5
    assert contests > 0
    assert pieces > 5
    assert night
