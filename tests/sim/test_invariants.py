"""What holds in every run: sums agree, nothing leaves its bounds, the dead stay out."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from sim.day_zero import lost_while_settling
from sim.engine import History
from sim.records import LOG_ROWS, POOL_ROWS
from sim.rules.codes import AWAY, DEAD, IN_TANK, MOVED_OUT, NOT_YET, SWIM
from sim.settings import Settings
from tests.sim.worlds import SCENARIOS, fixed_bytes, shipped_history

NAMES = sorted(path.stem for path in SCENARIOS.glob("*.toml"))
DAYS = 4.0
CASES = [(name, run, watch) for name in NAMES for run, watch in ((0, False), (1, False))]
CASES += [("juveniles-crowd", 2, True)]


@cache
def played(name: str, run: int, watch: bool) -> tuple[History, bytes]:
    """A run to its end, stormy enough for deaths, and what was fixed when it began."""
    days = 17.0 if name.startswith("three") else 1.0 if watch else DAYS
    history = shipped_history(
        name,
        days=days,
        run=run,
        settings=Settings(watch_all=watch),
        changes={"attack_rate": 0.5, "harm_per_bite": 0.005} if run else None,
    )
    before = fixed_bytes(history)
    history.advance()
    return history, before


@pytest.fixture(params=CASES, ids=lambda case: "-".join(map(str, case)))
def case(request):
    return played(*request.param)


def test_no_rule_writes_what_is_fixed(case):
    history, before = case
    if history.scenario.growth:
        return  # tests/sim/test_grow.py says what grows
    assert fixed_bytes(history) == before


def test_every_number_is_a_number_in_its_bounds(case):
    state = case[0].state
    for name, array in zip(state._fields, state, strict=True):
        for field in array.dtype.names or ():
            values = array[field]
            if values.dtype.kind == "f":
                assert not np.any(np.isnan(values)), (name, field)
                if name != "tally":
                    assert np.all(np.isfinite(values)), (name, field)
    fish, tally = state.fish, state.tally
    for field in ("skin", "scales", "fear", "stamina", "cover"):
        assert np.all(fish[field] >= 0.0), field
    for field in ("fear", "stamina", "cover", "boldness"):
        assert np.all(fish[field] <= 1.0), field
    alive = fish["presence"] == IN_TANK
    assert np.all((fish["skin"] + fish["scales"])[alive] < 1.0)
    assert np.all(tally["worst"] >= 0.0)
    assert np.all(tally["worst"] <= 1.0)
    assert np.hypot(fish["head_x"], fish["head_y"]) == pytest.approx(1.0)
    for field in ("avoid", "familiar"):
        assert np.all((state.pair[field] >= 0.0) & (state.pair[field] <= 1.0)), field
    assert np.all(state.pair["slow"] >= 0.0)


def test_fish_pair_day_and_tank_count_the_same_chases_bites_and_contests(case):
    state = case[0].state
    tank, tally, pair, days = state.tank[0], state.tally, state.pair, state.days
    for what in ("chases", "bites"):
        total = tank[what]
        assert tally[f"{what}_given"].sum() == tally[f"{what}_taken"].sum() == total
        assert pair[what].sum() == days[what].sum() == total
        assert np.array_equal(pair[what].sum(axis=1), tally[f"{what}_given"])
        assert np.array_equal(pair[what].sum(axis=0), tally[f"{what}_taken"])
        assert np.all(np.diag(pair[what]) == 0)
    assert tally.contests_won.sum() == tally.contests_lost.sum() == pair.wins.sum()
    assert tank.contests >= tally.contests_won.sum()
    assert days.contests.sum() == tank.contests
    assert pair.bouts.sum() >= tank.contests
    assert pair.bouts.sum() - tank.contests <= len(state.fish)  # one may be under way
    assert tally.displays.sum() == tank.displays
    assert days.attacks.sum() == tank.log_rows
    assert pair.ordinal.sum() == tank.attacks >= tank.log_rows
    assert days.harm.sum() == pytest.approx(tally.dose.sum())
    assert tank.chases - len(state.fish) <= state.ends.sum() <= tank.chases


def test_times_lie_in_the_run_and_in_order(case):
    history = case[0]
    state, tally = history.state, history.state.tally
    tank, end = state.tank[0], float(state.tank.clock[0])
    assert history.finished
    for field in ("minor_day", "serious_day", "death_day"):
        when = tally[field][np.isfinite(tally[field])]
        assert np.all(when >= tank.light_on / 86400.0)
        assert np.all(when <= end / 86400.0)
    # An injury brought along from the days of settling was minor before the days that count.
    early = np.isfinite(tally.minor_day) | (history.scenario.settling_days == 0)
    assert np.all(tally.minor_day[early] <= tally.serious_day[early])
    light = tank.light_off - tank.light_on
    days = math.ceil(history.scenario.days)
    assert tank.awake == pytest.approx(days * light, rel=0.02)
    assert 0.0 < tank.watched_s <= tank.awake * 1.001
    assert np.all(tally.awake_s <= tank.awake * 1.001)
    rows = state.log[: min(tank.log_rows, LOG_ROWS)]
    hour = rows["time"] % 86400.0
    assert np.all(hour >= tank.light_on)
    assert np.all(hour <= tank.light_off + 1.0)
    pool = state.pool[: min(tank.pool_rows, POOL_ROWS)]
    assert np.all(pool["risk"] >= 0.0)
    assert np.all((pool["entries"] > 0) == (pool["stay"] > 0.0))
    assert np.all(pool["seconds"] > 0.0)


def test_nobody_is_in_cover_longer_than_awake(case):
    tally = case[0].state.tally
    assert np.all(tally.hidden_s >= 0.0)
    assert np.all(tally.corner_s >= 0.0)
    assert np.all(tally.hidden_s + tally.corner_s <= tally.awake_s * 1.0001 + 4.0)
    share = case[0].state.tank.held_s[0] / case[0].state.tank.area_time[0]
    assert 0.0 <= share <= 1.0


def test_the_dead_and_those_not_yet_in_take_no_part(case):
    state = case[0].state
    fish, tally = state.fish, state.tally
    dead = fish["presence"] == DEAD
    counted = dead & ~lost_while_settling(state)
    assert counted.sum() == state.tank.deaths[0] == np.isfinite(tally.death_day).sum()
    assert np.array_equal(tally.eaten[~dead], np.zeros((~dead).sum()))
    out = dead | np.isin(fish["presence"], (NOT_YET, AWAY, MOVED_OUT))
    assert np.all(fish["site"][out] == -1)
    assert np.all(fish["act"][out] == SWIM)
    assert np.all(state.pair["slow"][out] == 0.0)
    assert np.all(state.pair["slow"][:, out] == 0.0)
    assert not np.any(np.isin(fish["target"], np.flatnonzero(out)))
    rows = state.log[: min(state.tank.log_rows[0], LOG_ROWS)]
    for who in ("attacker", "victim"):
        late = rows["time"] > 86400.0 * tally["death_day"][rows[who]] + 1e-6
        assert not np.any(late)
        assert not np.any(rows["time"] < fish["join_time"][rows[who]])
    assert np.all(tally["awake_s"][fish["presence"] == NOT_YET] == 0.0)


def test_the_stormy_runs_did_see_deaths_and_the_late_one_a_newcomer():
    deaths = sum(int(played(*case)[0].state.tank.deaths[0]) for case in CASES)
    assert deaths > 0
    late, _ = played("three-large-six-foot", 0, False)
    assert np.any(late.state.fish["join_time"] > 13 * 86400.0)
    newcomer = int(np.argmax(late.state.fish["join_time"]))
    assert 0.0 < late.state.tally["awake_s"][newcomer] < 0.3 * late.state.tank.awake[0]
