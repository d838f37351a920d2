"""The search for better layouts: races, the search on made-up costs, what can be built."""

from __future__ import annotations

import itertools
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, box

from sim.batch import play_batch
from sim.better.buildable import PIT_M, FloorPlan, Plan, clearance_m, on_grid, turned
from sim.better.improve import improve, is_better
from sim.better.moving import Moving, moving_of
from sim.better.race import Ledger, OutOfRuns, halving
from sim.better.search import search
from sim.check import check_file, check_scenario
from sim.comparison import Design
from sim.errors import Refused
from sim.figures import MEASURES
from sim.more_caves import GLASS_M, SWIM_M
from sim.pairing import difference_of
from sim.pieces import PlacedPiece, place_piece
from sim.scenario_file import scenario_hash, write_scenario
from tests.sim.worlds import shipped

SHIPPED = ("convict-four-foot", "three-large-six-foot", "feeding-five-spots", "divider-clear")


# --- races -------------------------------------------------------------------------------------


class Played:
    """Plays made-up candidates: each has a mean, and all share what a run brings."""

    def __init__(self, means: dict[Any, float], *, own: float, shared: float, seed: int) -> None:
        self.means, self.own, self.shared, self.seed = means, own, shared, seed
        self.jobs: list[tuple[Any, int, int]] = []

    def __call__(self, jobs: Any) -> list[np.ndarray]:
        self.jobs += jobs
        return [
            np.array([self.one(candidate, run) for run in range(first, first + count)])
            for candidate, first, count in jobs
        ]

    def one(self, candidate: Any, run: int) -> float:
        together = np.random.default_rng([self.seed, run]).standard_normal()
        alone = np.random.default_rng([self.seed, run, abs(hash(candidate))]).standard_normal()
        return self.mean(candidate) + self.shared * together + self.own * alone

    def mean(self, candidate: Any) -> float:
        return self.means[candidate]


def test_each_run_of_a_candidate_is_played_once_and_counted() -> None:
    played = Played({"a": 1.0, "b": 2.0}, own=0.0, shared=1.0, seed=1)
    ledger = Ledger(played, budget=20)
    ledger.need(["a", "b", "a"], runs=4)
    ledger.need(["a"], runs=6)
    ledger.need(["a", "b"], runs=4)
    assert played.jobs == [("a", 0, 4), ("b", 0, 4), ("a", 4, 2)]
    assert (ledger.spent, ledger.left) == (10, 10)
    # the same runs bring both the same
    assert ledger.costs("b") - ledger.costs("a")[:4] == pytest.approx(np.ones(4))


def test_what_there_are_no_runs_for_is_not_begun() -> None:
    played = Played({"a": 1.0, "b": 2.0}, own=0.0, shared=1.0, seed=1)
    ledger = Ledger(played, budget=7)
    with pytest.raises(OutOfRuns):
        ledger.need(["a", "b"], runs=4)
    assert played.jobs == []
    late = Ledger(played, budget=100, over=lambda: True)
    with pytest.raises(OutOfRuns):
        late.need(["a"], runs=1)


def test_a_race_keeps_the_better_half_and_doubles_their_runs() -> None:
    means = {k: float(k) for k in range(8)}
    ledger = Ledger(Played(means, own=0.0, shared=3.0, seed=2), budget=1000)
    order = halving(ledger, list(means)[::-1], first=2, most=16)
    assert order == list(range(8))
    assert [len(ledger.costs(k)) for k in order] == [16, 8, 4, 4, 2, 2, 2, 2]


def test_a_race_finds_a_good_one_among_many_in_noise() -> None:
    """32 arms a tenth apart, noise of 0.3 in each run, the luck of a run shared.

    Over 40 races (seeds 0 to 39) the winner is on average among the best three; chance gives 15.5.
    """
    means = {k: 0.1 * k for k in range(32)}
    ranks = []
    for seed in range(40):
        ledger = Ledger(Played(means, own=0.3, shared=2.0, seed=seed), budget=400)
        ranks.append(halving(ledger, list(means), first=4, most=64)[0])
        assert ledger.spent <= 400
    assert np.mean(ranks) < 2.0


# --- the search on made-up costs ----------------------------------------------------------------


class Square:
    """Candidates are places of a grid in a cube; those with a first number above 0.9 are barred."""

    dims = 4

    def __init__(self, start: tuple[float, ...]) -> None:
        self.given = start

    def numbers(self, candidate: tuple[float, ...]) -> np.ndarray:
        return np.array(candidate)

    def anywhere(self, rng: np.random.Generator) -> tuple[float, ...] | None:
        return self.near(rng.random(4))

    def near(self, numbers: np.ndarray) -> tuple[float, ...] | None:
        found = tuple(float(round(one, 2)) for one in numbers)
        return found if found[0] <= 0.9 else None


BEST = (0.2, 0.7, 0.5, 0.3)


class Bowl(Played):
    def mean(self, candidate: tuple[float, ...]) -> float:
        return float(sum((a - b) ** 2 for a, b in zip(candidate, BEST, strict=True)))


class Flat(Played):
    def mean(self, candidate: tuple[float, ...]) -> float:
        return 1.0


def bowl(budget: int, *, seed: int) -> tuple[Any, Bowl]:
    played = Bowl({}, own=0.05, shared=1.0, seed=seed)
    found = search(Square((0.8, 0.1, 0.9, 0.9)), Ledger(played, budget=budget), seed=seed)
    return found, played


def test_the_search_comes_near_the_optimum() -> None:
    """A bowl in four dimensions; a run's own noise is 0.05, its shared luck 1. Seeds 1 to 5.

    At random the mean of the best of 400 places would be some 0.03, the given one costs 1.24.
    """
    for seed in range(1, 6):
        found, played = bowl(2500, seed=seed)
        assert found.ledger.spent <= 2500
        assert found.generations >= 3
        assert played.mean(found.best) < 0.02
        assert played.mean(found.best) < 0.1 * played.mean((0.8, 0.1, 0.9, 0.9))


def test_the_search_repeats_and_leaves_the_generator_of_numpy_alone() -> None:
    np.random.seed(5)
    before = np.random.get_state()[1].copy()  # type: ignore[index]
    one, other = bowl(800, seed=3)[0], bowl(800, seed=3)[0]
    assert one.best == other.best
    assert one.ledger.candidates == other.ledger.candidates
    assert (np.random.get_state()[1] == before).all()  # type: ignore[index]
    assert bowl(800, seed=4)[0].ledger.candidates != one.ledger.candidates


def test_the_given_one_is_hardly_left_where_it_is_the_best() -> None:
    played = Bowl({}, own=0.01, shared=1.0, seed=1)
    found = search(Square(BEST), Ledger(played, budget=900), seed=1)
    assert played.mean(found.best) < 0.002
    assert search(Square(BEST), Ledger(Bowl({}, own=0.0, shared=1.0, seed=1), budget=900),
                  seed=1).best == BEST  # fmt: skip


def test_too_few_runs_are_said() -> None:
    with pytest.raises(OutOfRuns):
        bowl(6, seed=1)


def test_where_no_layout_is_better_none_is_called_better() -> None:
    """No candidate differs. A layout is called better where the 95 % interval says so.

    That is by chance in 1 of 40, and with skewed amounts over 50 draws of fish somewhat oftener (15
    of 361 were counted). Over 100 searches (seeds 0 to 99), 1 of 25 would be more than 11 in 1 of
    1000; an interval that promised nothing would give 50.
    """
    calls = looked = 0
    for seed in range(100):
        played = Flat({}, own=0.5, shared=0.5, seed=seed)
        start = (0.5, 0.5, 0.5, 0.5)
        found = search(Square(start), Ledger(played, budget=80), seed=seed)
        if found.best == start:
            continue
        looked += 1
        fresh = Flat({}, own=0.5, shared=0.5, seed=10_000 + seed)
        x, y = (fresh([(one, 0, 100)])[0] ** 2 for one in (start, found.best))
        gain = difference_of(MEASURES["dose"], x, y, draw=np.arange(100) // 2)
        calls += is_better(gain)
    assert looked > 75  # the search itself believes that it has found something
    assert calls <= 11


# --- what may move -------------------------------------------------------------------------------


def test_everything_loose_moves_unless_something_is_named() -> None:
    tank = shipped("feeding-five-spots")
    scenario, layout = tank.scenario, tank.layout
    names = [piece.name for piece in scenario.pieces]
    whole = moving_of(scenario, layout)
    assert (len(whole.pieces), whole.spots, whole.fixed) == (len(names), True, ())
    caves = moving_of(scenario, layout, ["caves"])
    assert [names[k] for k in caves.pieces] == ["left pot", "right pot"]
    assert not caves.spots
    one = moving_of(scenario, layout, ["Stone Row", "feeding"])
    assert [names[k] for k in one.pieces] == ["stone row"]
    assert one.spots
    assert dict(one.fixed)["left pot"] == "not asked to move"


def test_dividers_and_pieces_of_events_stay() -> None:
    tank = shipped("divider-clear")
    moving = moving_of(tank.scenario, tank.layout)
    assert "divider" in dict(moving.fixed)["sheet"]
    moved = shipped("newcomer-rocks-moved")
    with pytest.raises(Refused, match=r"nothing in the tank may move \(left pot stays: an event"):
        moving_of(moved.scenario, moved.layout)


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("castle", r'got "castle"; expected one of: pieces, caves, feeding, sheet'),
        ("sheet", "which stays: a divider parts the tank"),
        ("feeding", "the file gives no spots"),
    ],
)
def test_what_cannot_move_is_said(word: str, says: str) -> None:
    tank = shipped("divider-clear")
    with pytest.raises(Refused, match=says):
        moving_of(tank.scenario, tank.layout, [word])


# --- what can be built ---------------------------------------------------------------------------


@cache
def floor_plan(name: str) -> FloorPlan:
    tank = shipped(name)
    return FloorPlan(tank, moving_of(tank.scenario, tank.layout))


# How far apart what is swum round must stand: a quarter more than the breadth of the broadest fish
# when it is full-grown, its length (m) times its breadth as a share of that, and 4 cm at least.
APART_M = {
    # the bristlenose, of unknown sex, so as a male: 1.25 * 0.26 * 0.12 = 0.039, less than 4 cm
    "convict-four-foot": 0.04,
    # the common pleco, of unknown sex, so as a male: 1.25 * 0.21 * 0.35 = 0.091875; a Jack Dempsey
    # or green terror would need 1.25 * 0.17 * 0.22 = 0.0468
    "three-large-six-foot": 0.091875,
    # young convicts, of unknown sex, so as males: 1.25 * 0.15 * 0.12 = 0.0225
    "feeding-five-spots": 0.04,
    # male convicts: 1.25 * 0.15 * 0.12 = 0.0225
    "divider-clear": 0.04,
}


def before(piece: PlacedPiece, facing_rad: float, *, long_m: float) -> LineString:
    """The line from the middle of a door outward."""
    assert piece.room is not None
    turn = facing_rad + piece.turn_rad
    way = np.array([np.cos(turn), np.sin(turn)])
    middle = np.array(piece.room.centroid.coords[0])
    wall = middle + way * LineString([middle, middle + way]).intersection(piece.outline).length
    return LineString([wall, wall + long_m * way])


def must_be_buildable(space: FloorPlan, plan: Plan, *, apart_m: float) -> None:
    """Hold a plan to what a layout must keep to, worked out anew from the outlines."""
    scenario = space.scenario_of(plan)
    checked = check_scenario(scenario)
    known = {one.sentence for one in space.checked.warnings}
    assert {one.sentence for one in checked.warnings} <= known
    tank = scenario.tank
    placed = [place_piece(one, tank_height_m=tank.height_m) for one in scenario.pieces]
    loose = {space.scenario.pieces[k].name for k in space.moving.pieces}
    for one, other in itertools.combinations(placed, 2):
        if loose & {one.name, other.name}:
            gap = one.outline.distance(other.outline)
            both = one.blocks_swimming and other.blocks_swimming
            assert gap >= (apart_m if both else 0.0) - 1e-9
            assert one.outline.intersection(other.outline).area == 0.0
    clear = box(GLASS_M, GLASS_M, tank.length_m - GLASS_M, tank.width_m - GLASS_M).buffer(1e-9)
    assert all(clear.covers(one.outline) for one in placed if one.name in loose)
    glass = box(0.0, 0.0, tank.length_m, tank.width_m)
    for one in placed:
        others = [other.outline for other in placed if other is not one and other.blocks_swimming]
        for door in one.doors if one.name in loose else ():
            step = before(one, door.facing_rad, long_m=apart_m)
            assert glass.covers(step)
            assert not any(outline.intersects(step) for outline in others)
    doors = [door for room in checked.layout.rooms for door in room.doors]
    assert len(doors) == len(space.checked.layout.doors)
    assert len(checked.layout.blocked_doors) == len(space.checked.layout.blocked_doors)
    if scenario.feeding:
        solid = [one.outline for one in placed if one.swim_top >= 0]
        for spot in scenario.feeding.spots:
            assert all(outline.distance(Point(spot)) >= SWIM_M for outline in solid)


@pytest.mark.parametrize("name", SHIPPED)
def test_pieces_stand_so_far_apart_that_the_broadest_fish_passes(name: str) -> None:
    assert clearance_m(shipped(name)) == pytest.approx(APART_M[name])


def test_a_fish_that_is_longer_than_its_kind_grows_passes_too() -> None:
    """A bristlenose of 6 in, 0.1524 m: 1.25 * 0.26 * 0.1524 = 0.04953 m."""
    tank = shipped("convict-four-foot")
    fish = [
        one.model_copy(update={"length_m": 0.1524}) if one.name == "Lint" else one
        for one in tank.scenario.fish
    ]
    long = check_scenario(tank.scenario.model_copy(update={"fish": tuple(fish)}))
    assert clearance_m(long) == pytest.approx(0.04953)


@settings(max_examples=60, deadline=None)
@given(name=st.sampled_from(SHIPPED), seed=st.integers(0, 2**32), spread=st.floats(0.01, 0.4))
def test_what_is_near_can_be_built(name: str, seed: int, spread: float) -> None:
    space, rng = floor_plan(name), np.random.default_rng(seed)
    numbers = space.numbers(space.given) + rng.normal(0.0, spread, space.dims)
    plan = space.near(np.clip(numbers, 0.0, 1.0))
    if plan is not None:
        must_be_buildable(space, plan, apart_m=APART_M[name])


@pytest.mark.parametrize("name", SHIPPED)
def test_what_is_anywhere_can_be_built_and_is_often_found(name: str) -> None:
    space, rng = floor_plan(name), np.random.default_rng(7)
    plans = [space.anywhere(rng) for _ in range(8)]
    found = [plan for plan in plans if plan is not None]
    assert len(set(found)) >= 7
    for plan in found:
        must_be_buildable(space, plan, apart_m=APART_M[name])
    near = [space.near(np.clip(space.numbers(found[0]) + rng.normal(0, 0.1, space.dims), 0, 1))
            for _ in range(40)]  # fmt: skip
    pushed = [plan for plan in near if plan is not None]
    assert len(pushed) >= 2
    for plan in pushed:
        must_be_buildable(space, plan, apart_m=APART_M[name])


@pytest.mark.parametrize("name", SHIPPED)
def test_a_plan_is_the_same_as_numbers_and_as_a_file(name: str, tmp_path: Path) -> None:
    space = floor_plan(name)
    plan = space.anywhere(np.random.default_rng(3))
    assert plan is not None
    assert space.plan_of(space.numbers(plan)) == plan
    file = tmp_path / "better.toml"
    file.write_text(write_scenario(space.scenario_of(plan)), "utf-8")
    assert check_file(file).scenario == space.scenario_of(plan)
    assert "turn = " in file.read_text()


@pytest.mark.parametrize(
    ("name", "piece", "reason"),
    [
        ("convict-spawning", "large pot", "the pair spawns there"),
        ("settled-newcomer", "pot", "Bram holds it from the start"),
    ],
)
def test_what_fish_hold_already_stays_unless_it_is_named(
    name: str, piece: str, reason: str
) -> None:
    tank = shipped(name)
    names = [one.name for one in tank.scenario.pieces]
    for words in ((), ("pieces",)):
        moving = moving_of(tank.scenario, tank.layout, words)
        assert moving.pieces
        assert piece not in {names[k] for k in moving.pieces}
        assert dict(moving.fixed)[piece] == f"{reason}; name it if it may move too"
    named = moving_of(tank.scenario, tank.layout, ("pieces", piece.upper()))
    assert {names[k] for k in named.pieces} == set(names)


def test_where_nobody_spawns_the_site_of_the_file_holds_nothing() -> None:
    tank = shipped("convict-spawning")
    off = tank.scenario.breeding.model_copy(update={"mode": "off"})
    moving = moving_of(tank.scenario.model_copy(update={"breeding": off}), tank.layout)
    assert len(moving.pieces) == len(tank.scenario.pieces)


def test_the_pit_and_the_places_of_newcomers_are_kept_free() -> None:
    tank = shipped("convict-spawning")
    pit = (0.6, 0.1)
    breeding = tank.scenario.breeding.model_copy(update={"site": pit})
    checked = check_scenario(tank.scenario.model_copy(update={"breeding": breeding}))
    space = FloorPlan(checked, moving_of(checked.scenario, checked.layout))
    rng = np.random.default_rng(2)
    plans = [plan for _ in range(12) if (plan := space.anywhere(rng)) is not None]
    assert len(plans) >= 8
    for plan in plans:
        shapes = [shape for shape in space.shapes(plan) if shape.solid]
        assert min(shape.outline.distance(Point(pit)) for shape in shapes) >= PIT_M


def test_places_are_those_of_a_ruler() -> None:
    assert on_grid(0.3) == pytest.approx(0.29845)  # 11.75 in
    assert turned(0.127) == pytest.approx(np.radians(45))
    assert turned(0.999) == 0.0
    assert turned(0.75) == pytest.approx(np.radians(-90))


# --- a real one ----------------------------------------------------------------------------------


def small_design() -> Design:
    tank = shipped("convict-four-foot")
    scenario = tank.scenario.model_copy(update={"days": 0.5, "fish": tank.scenario.fish[:3]})
    checked = check_scenario(scenario)
    return Design(name="small", path=None, scenario=checked.scenario, layout=checked.layout,
                  hash=scenario_hash(checked.scenario))  # fmt: skip


@pytest.mark.parametrize("moving", [Moving((0, 1, 2), False, ())])
def test_a_real_search_is_short_repeats_and_is_judged_on_runs_it_has_not_seen(
    moving: Moving,
) -> None:
    design = small_design()
    told: list[tuple[int, int]] = []
    found = [
        improve(design, moving, budget=60, runs=20, seed=9, workers=workers,
                progress=lambda now, total: told.append((now, total)))
        for workers in (1, 2)
    ]  # fmt: skip
    one, other = found
    assert one.plan == other.plan
    first, second = one.found.ledger, other.found.ledger
    assert first.candidates == second.candidates
    assert all((first.costs(c) == second.costs(c)).all() for c in first.candidates)
    assert 40 <= first.spent <= 60
    assert max(now for now, _ in told) <= 100
    if one.fresh is not None:
        assert [batch.seed for batch in one.fresh.batches] == [10, 10]
        assert one.fresh.done == 20
        assert one.better == is_better(one.gain)
    else:
        assert not one.better
    for plan in first.candidates[1:]:
        space = FloorPlan(check_scenario(design.scenario), moving)
        must_be_buildable(space, plan, apart_m=0.04)  # the broadest is a male convict


# A pot in the middle, open to both sides of the tank, and far from it, in a corner, the pipe that
# only the small ones fit.
BAD = """\
title = "A pot in the middle"
days = 1

[tank]
length = "48 in"
width = "18 in"
height = "18 in"

[[pieces]]
name = "pot"
kind = "pot"
size = "6 in"
x = "24 in"
y = "9 in"
turn = "180 deg"

[[pieces]]
name = "pipe"
kind = "pipe"
size = "2 in"
x = "6 in"
y = "4 in"

[[fish]]
name = "Flint"
species = "convict cichlid"
sex = "male"
length = "4.75 in"

[[fish]]
name = "young"
species = "convict cichlid"
count = 2
length = "2 in"
"""


def test_a_bad_layout_is_bettered_and_the_gain_holds_on_runs_of_yet_another_seed(
    tmp_path: Path,
) -> None:
    """Seed 1; with seeds 1 to 8 the upper end of the gain was -0.03 or less every time."""
    (tmp_path / "bad.toml").write_text(BAD, "utf-8")
    tank = check_file(tmp_path / "bad.toml")
    design = Design.of(tank.scenario, tank.layout, name="bad", path=None)
    moving = moving_of(tank.scenario, tank.layout)
    found = improve(design, moving, budget=200, runs=80, seed=1)
    gain = found.gain
    assert found.fresh is not None
    assert gain is not None
    assert [batch.seed for batch in found.fresh.batches] == [2, 2]
    assert [batch.done for batch in found.fresh.batches] == [80, 80]
    assert found.better
    assert gain.low < gain.estimate < gain.high < 0.0
    assert gain.b.value < 0.7 * gain.a.value
    space = FloorPlan(tank, moving)
    must_be_buildable(space, found.plan, apart_m=0.04)  # 1.25 * 0.15 * 0.12065 is less
    # over the same runs of the search it cost less
    ledger = found.found.ledger
    own, best = ledger.costs(space.given), ledger.costs(found.plan)
    runs = min(len(own), len(best))
    assert runs >= 16
    assert best[:runs].mean() < own[:runs].mean()
    # four standard errors of 60 draws of fish, two runs each, in runs that nothing has seen
    bad, better = (
        play_batch(one.scenario, one.layout, runs=120, seed=777, keep_days=False).runs.rows()[
            "dose"
        ]
        for one in (tank, found.tank)
    )
    change = (better - bad).reshape(60, 2).mean(axis=1)
    assert change.mean() + 4.0 * change.std(ddof=1) / np.sqrt(60) < 0.0
