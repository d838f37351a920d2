"""What the model claims, each shown by runs, and gone where its mechanism is taken away.

Runs of one comparison share their numbers, so their fish and keys; standard errors are over runs.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sim.engine import History
from sim.rules.claim import exposure
from sim.rules.look import look
from sim.rules.see import saw_each_other
from sim.start import draw_fish
from tests.sim.calling import call
from tests.sim.layouts import block, piece
from tests.sim.worlds import chance_range, fish, history, put, shipped, tank

SIM = Path(__file__).parents[2] / "sim"


def play(scenario, layout, *, runs: int, **more: Any) -> list[History]:
    found = []
    for run in range(runs):
        one = History(scenario, layout, run=run, seed=1, **more)
        one.advance()
        found.append(one)
    return found


def error(values) -> float:
    return float(np.std(values) / np.sqrt(len(values)))


# --- a brood -------------------------------------------------------------------------------


@cache
def brood(mode: str) -> list[History]:
    """24 runs of ten days of the convict pair: breeding from day 0, off, or taken away."""
    base = shipped("convict-spawning")
    breeding = base.scenario.breeding.model_copy(
        update={"mode": "off", "spawn_day": None, "pair": None, "site": "auto"}
        if mode == "off"
        else {"spawn_day": 0.0}
    )
    without = ["brood"] if mode == "null" else []
    scenario = base.scenario.model_copy(
        update={"days": 10.0, "breeding": breeding, "without": without}
    )
    return play(scenario, base.layout, runs=24)


def pair_chases(runs: list[History]) -> np.ndarray:
    return np.array([one.state.pair.chases[:2].sum() for one in runs])


def test_a_brood_raises_the_chases_of_the_pair_and_only_the_brood_does():
    """Paired over 24 runs: the rise exceeds 5 standard errors; without the brood, nothing."""
    rise = pair_chases(brood("on")) - pair_chases(brood("off"))
    assert rise.mean() > 5 * error(rise)
    assert np.array_equal(pair_chases(brood("null")), pair_chases(brood("off")))


def test_most_chases_of_the_pair_begin_within_half_of_its_reach_of_the_brood():
    near = sum(int(one.state.tank.pair_chases_near[0]) for one in brood("on"))
    of_all = sum(int(one.state.tank.pair_chases_seen[0]) for one in brood("on"))
    assert of_all > 1000
    assert near > 0.5 * of_all
    assert all(one.state.tank.pair_chases[0] == 0 for one in brood("null"))


def test_tankmates_take_more_where_there_is_a_brood():
    dose = [
        np.array([one.state.tally.dose[2:].sum() for one in brood(mode)]) for mode in ("on", "off")
    ]
    rise = dose[0] - dose[1]
    assert rise.mean() > 3 * error(rise)


# --- hiding places -------------------------------------------------------------------------


@cache
def hiding(places: bool, without: tuple[str, ...] = ()) -> tuple[np.ndarray, np.ndarray, np.uint8]:
    """40 runs of five days of a bully and four small fish; dose and share of time hidden."""
    spots = [(0.2, 0.12), (0.5, 0.33), (0.8, 0.12), (1.05, 0.33)]
    pieces = [piece("upturned-pot", "4 in", x, y, name=f"pot at {x}") for x, y in spots]
    scenario, layout = tank(
        fish(name="Bully", length_m=0.13, sex="male"),
        fish(name="small", length_m=0.06, count=4, sex="female"),
        pieces=pieces if places else [],
        days=5.0,
        without=without,
    )
    runs = play(scenario, layout, runs=40)
    dose = np.array([one.state.tally.dose[1:].sum() for one in runs])
    hidden = np.array(
        [one.state.tally.hidden_s[1:].sum() / one.state.tally.awake_s[1:].sum() for one in runs]
    )
    return dose, hidden, runs[0].state.fits


def test_hiding_places_whose_doors_the_bully_does_not_pass_lower_the_harm():
    """Dose under half, and by more than 5 standard errors; most of it is gone without hiding.

    What is left without hiding is that the pieces still stand in the way: less than half.
    """
    dose, hidden, fits = hiding(True)
    assert np.all(fits[0] == 0)
    assert np.all(fits[1:] == 1)
    bare = hiding(False)[0]
    assert dose.mean() < 0.5 * bare.mean()
    assert bare.mean() - dose.mean() > 5 * np.hypot(error(dose), error(bare))
    assert hidden.mean() > 0.1
    without, nowhere, _ = hiding(True, ("hiding",))
    assert np.all(nowhere == 0.0)
    assert without.mean() - dose.mean() > 5 * np.hypot(error(without), error(dose))
    assert without.mean() > 0.5 * bare.mean()


# --- the footprint -------------------------------------------------------------------------


def test_a_longer_footprint_leaves_more_open_ground():
    """20 paired runs of three days of the two convict tanks, difference over 4 standard errors."""
    shares = []
    for name in ("convict-four-foot", "convict-six-foot"):
        base = shipped(name)
        scenario = base.scenario.model_copy(update={"days": 3.0})
        runs = play(scenario, base.layout, runs=20)
        shares.append(np.array([one.outcome().row["open_share"][0] for one in runs]))
    rise = shares[1] - shares[0]
    assert rise.mean() > 4 * error(rise)


def test_the_length_of_a_tank_reaches_the_rules_by_its_geometry_alone():
    """Two fish as far from each other and their panes: the same hazards in any length."""
    found = []
    for length_m in (1.4, 2.2, 3.0):
        of = history(
            fish(length_m=0.1, sex="male"),
            fish(length_m=0.08, sex="male"),
            length_m=length_m,
            width_m=0.8,
            without=("individuality",),
        )
        of.state.fish["site"] = -1
        put(of, 0, 0.5, 0.4)
        put(of, 1, 0.6, 0.4)
        found.append(
            (call(exposure, of.state, of.floor, 0, 1, 0.01), *of.state.pair.slow.ravel().tolist())
        )
    assert found[0] == found[1] == found[2]
    assert found[0][0] > 0.0


def test_no_rule_names_the_size_of_the_tank_but_to_keep_inside_it():
    """`dims[0]` and `dims[1]` bound positions; only these files need them."""
    bounds = {"move.py", "sweep.py", "place.py", "fear.py", "risk.py"}
    for path in [*(SIM / "rules").glob("*.py"), SIM / "start.py", SIM / "draws.py"]:
        text = path.read_text(encoding="utf-8")
        reads = bool(re.search(r"dims\[[012]\]", text))
        assert not reads or path.name in bounds, path.name
        assert not re.search(r"(tank|layout|scenario)\.(length|width|height|area)_m", text), path
        assert "open_area" not in text, path.name


# --- null switches -------------------------------------------------------------------------


def rivals(ratio: float, *without: str, days: float = 2.0) -> np.ndarray:
    """60 runs of two males, the first so many times as long: contests each has won."""
    scenario, layout = tank(
        fish(name="first", length_m=0.09 * ratio, sex="male"),
        fish(name="second", length_m=0.09, sex="male"),
        days=days,
        without=("individuality", *without),
    )
    runs = play(scenario, layout, runs=60, changes={"attack_rate": 0.3})
    return np.array([[one.state.pair.wins[0, 1], one.state.pair.wins[1, 0]] for one in runs])


def top_share(wins: np.ndarray) -> tuple[float, int]:
    """Share of runs, of those with a winner, in which the first fish won more contests."""
    decided = wins[:, 0] != wins[:, 1]
    return float(np.mean(wins[decided, 0] > wins[decided, 1])), int(decided.sum())


def test_without_assessment_the_heavier_is_on_top_in_half_of_the_runs():
    usual, n = top_share(rivals(1.15))
    assert n > 40
    assert usual > 0.85
    share, n = top_share(rivals(1.15, "assessment"))
    assert n > 40
    assert share == pytest.approx(0.5, abs=chance_range(0.5, n))


def test_without_learning_equals_take_turns_and_with_it_one_stays_on_top():
    """The larger share of wins in a run, runs of three contests or more; 60 runs."""

    def lopsided(wins: np.ndarray) -> np.ndarray:
        many = wins.sum(axis=1) >= 3
        assert many.sum() > 30
        return wins[many].max(axis=1) / wins[many].sum(axis=1)

    usual, null = lopsided(rivals(1.0)), lopsided(rivals(1.0, "learning"))
    assert usual.mean() - null.mean() > 5 * np.hypot(error(usual), error(null))
    assert null.mean() < 0.7


def test_without_occlusion_everything_is_seen():
    """Seed 4, 200 arrangements of four fish round two walls."""
    seen = {}
    for without in ((), ("occlusion",)):
        of = history(
            fish(count=4, name="any", length_m=0.07),
            pieces=[block(0.04, 0.25, 0.4, 0.22), block(0.04, 0.25, 0.8, 0.24)],
            without=without,
        )
        rng = np.random.default_rng(4)
        seen[without] = 0
        start = of.snapshot()
        for _ in range(200):
            of.restore(start)
            for i in range(4):
                put(of, i, rng.uniform(0.02, 1.2), rng.uniform(0.02, 0.43))
            call(look, of.state, of.floor)
            seen[without] += sum(
                call(saw_each_other, of.state, of.floor, i, j)
                for i in range(4)
                for j in range(4)
                if i != j
            )
    assert seen[("occlusion",)] == 200 * 12
    assert 0.2 * 200 * 12 < seen[()] < 0.8 * 200 * 12


def test_without_individuality_fish_of_a_kind_are_alike():
    scenario = shipped("juveniles-crowd").scenario
    for without, alike in (([], False), (["individuality"], True)):
        these = draw_fish(
            scenario.model_copy(update={"without": without}),
            seed=1,
            draw=0,
            quality_sd=0.1,
            daring_sd=0.1,
        )
        for trait in ("length_m", "aggression", "boldness", "quality", "daring"):
            assert (len({getattr(one, trait) for one in these}) == 1) == alike, trait
