"""Plan: what a file does on which day, and taken to another."""

from __future__ import annotations

from pathlib import Path

import pytest

from viz.app.building.bench import Bench, bench_of
from viz.app.building.plan import flags_of, take
from viz.app.session import Session


def bench_with(name: str) -> Bench:
    return bench_of(Session(Path("scenarios") / name))


def test_every_day_of_a_file_has_its_flag_and_goes_where_it_is_taken() -> None:
    bench = bench_with("convict-spawning.toml")
    (flag,) = flags_of(bench.scenario)
    assert (flag.key, flag.words) == ("spawn", "a pair spawns")
    assert flag.day == bench.scenario.breeding.spawn_day
    take(bench, {"key": "spawn", "day": 9})
    assert bench.scenario.breeding.spawn_day == 9.0
    bench.undo()
    assert bench.scenario.breeding.spawn_day == flag.day


@pytest.mark.parametrize("name", sorted(path.name for path in Path("scenarios").glob("*.toml")))
def test_each_flag_of_a_shipped_tank_moves_that_thing_alone(name: str) -> None:
    bench = bench_with(name)
    before = {flag.key: flag.day for flag in flags_of(bench.scenario)}
    for flag in flags_of(bench.scenario):
        assert flag.words
        moved = flag.to(bench.scenario, flag.day + 1.0)
        after = {one.key: one.day for one in flags_of(moved)}
        assert after == {**before, flag.key: flag.day + 1.0}


def test_moves_by_key_are_one_step_back() -> None:
    bench = bench_with("convict-spawning.toml")
    first = bench.scenario.breeding.spawn_day
    for day in (7, 8, 9):
        take(bench, {"key": "spawn", "day": day})
    bench.undo()
    assert bench.scenario.breeding.spawn_day == first


@pytest.mark.parametrize(
    "told",
    [None, [], {}, {"key": "spawn"}, {"key": "spawn", "day": "9"}, {"key": "spawn", "day": True},
     {"key": "spawn", "day": float("nan")}, {"key": "no such", "day": 3}],
)  # fmt: skip
def test_what_makes_no_sense_changes_nothing(told: object) -> None:
    bench = bench_with("convict-spawning.toml")
    before = bench.scenario
    take(bench, told)
    assert bench.scenario == before


def test_a_flag_stays_within_the_days() -> None:
    bench = bench_with("convict-spawning.toml")
    take(bench, {"key": "spawn", "day": -4})
    assert bench.scenario.breeding.spawn_day == 0.0
