"""Sweeps: steps over the same fish, where gains end, widths that are asked for, hypercubes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from sim.batch import Batch, play_batch
from sim.figures import MEASURES, figure_of
from sim.outcome import RUN_ROW
from sim.response import response_of
from sim.settings import Settings
from sim.summary import Summary
from sim.sweep import FIRST_LOT, Precision, Sweep, next_look, play_sweep
from sim.varied import build_points
from sim.varying import plan_points, read_factors
from tests.viz.commands import SMALL


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("sweep") / "small.toml"
    file.write_text(SMALL, encoding="utf-8")
    return file


def made(small: Path, given: list[str], values, *, plan: str = "full", points: int | None = None):
    """A sweep whose table of runs is made up: `values(point, run)` gives the dose."""
    factors = read_factors(given)
    tanks = build_points(small, factors, plan_points(factors, plan=plan, points=points))
    batches = []
    for tank in tanks:
        batch = Batch(
            scenario=tank.scenario, layout=tank.checked.layout, seed=1, settings=Settings(),
            changes={},
        )  # fmt: skip
        dose = values(tank, np.arange(200))
        rows = np.zeros(len(dose), RUN_ROW)
        rows["run"] = np.arange(len(dose))
        rows["draw"] = rows["run"] // 2
        rows["dose"] = dose
        rows["serious"] = dose > 4.0
        batch.runs.extend(rows)
        batch.done = len(dose)
        batches.append(batch)
    return Sweep(factors, tanks, batches, plan=plan)


def of_fish(run: np.ndarray) -> np.ndarray:
    """What the fish of a run are like: a large spread that all points share (seed 5)."""
    return 0.5 * np.random.default_rng(5).gamma(4.0, size=1000)[run // 2]


def luck(seed: int, n: int) -> np.ndarray:
    return 0.05 * np.random.default_rng(seed).gamma(4.0, size=n)


def test_a_step_is_told_from_differences_of_the_same_runs(small):
    """The spread between fish is twenty times the change; the pairs show it all the same."""

    def values(tank, run):
        feet = tank.values[0].number
        return 1.0 - 0.1 * min(feet, 5.0) + of_fish(run) + luck(int(10 * feet), len(run))

    sweep = made(small, ["tank.length=3 ft,4 ft,5 ft,6 ft,8 ft"], values)
    steps = sweep.steps("dose")
    assert [step.gain for step in steps] == ["gain", "gain", "none", "none"]
    for step, true in zip(steps, (-0.1, -0.1, 0.0, 0.0), strict=True):
        # Luck of sd 0.1 at both ends over 200 runs: a standard error of 0.01, four of them.
        assert step.change.value == pytest.approx(true, abs=0.04)
        assert step.change.high - step.change.low < 0.06
    apart = [sweep.figure(k, "dose").estimate for k in (0, 1)]
    assert apart[0].low < apart[1].high, "the two intervals side by side show nothing"
    assert sweep.last_gain(0, "dose") == 2  # past 5 ft


def test_small_steps_that_add_up_are_a_gain(small):
    """No step by itself shows it, so the end of gains is looked for against every later value."""

    def values(tank, run):
        feet = tank.values[0].number
        own = np.random.default_rng(int(feet)).normal(size=100)[run // 2]
        return 10.0 - 0.12 * feet + 0.9 * own

    sweep = made(small, ["tank.length=3 ft,4 ft,5 ft,6 ft,7 ft,8 ft,9 ft"], values)
    says = [step.gain for step in sweep.steps("dose")]
    assert says.count("gain") <= 2
    assert sweep.last_gain(0, "dose") >= 4


def test_no_gain_at_all_is_past_the_first_value_and_a_loss_is_no_gain(small):
    def values(tank, run):
        return 1.0 + 0.2 * tank.values[0].number + of_fish(run) + luck(9, len(run))

    sweep = made(small, ["tank.length=3 ft,4 ft,5 ft"], values)
    assert sweep.last_gain(0, "dose") == 0
    assert [step.gain for step in sweep.steps("dose")] == ["loss", "loss"]


def test_where_nothing_happens_nothing_is_said(small):
    sweep = made(small, ["tank.length=3 ft,4 ft"], lambda tank, run: 0.0 * run)
    (step,) = sweep.steps("dose")
    assert step.gain in ("", "none")
    assert step.change.value == 0.0


def test_a_factor_of_two_is_the_mean_over_the_other(small):
    def values(tank, run):
        caves, feet = tank.values[1].number, tank.values[0].number
        return 2.0 - 0.1 * caves * (feet == 4.0) + of_fish(run) + luck(int(feet + caves), len(run))

    sweep = made(small, ["tank.length=4 ft,5 ft", "hardscape.caves=0..2"], values)
    steps = [step for step in sweep.steps("dose") if step.factor == 1]
    assert [(step.start, step.end) for step in steps] == [(0, 1), (1, 2)]
    for step in steps:
        assert step.change.value == pytest.approx(-0.05, abs=0.02)
    assert sweep.at(1, 2) == (2, 5)
    mean = sweep.mean_at(1, 2, "dose")
    both = [sweep.summaries[k].run_column("dose").mean() for k in (2, 5)]
    assert mean.value == pytest.approx(np.mean(both))
    assert mean.low >= 0.0
    share = sweep.mean_at(1, 2, "serious")
    both = [sweep.summaries[k].run_column("serious").mean() for k in (2, 5)]
    assert share.value == pytest.approx(np.mean(both))
    assert 0.0 <= share.low < share.value < share.high <= 1.0


def test_a_hypercube_says_lower_and_upper_half(small):
    def values(tank, run):
        feet, count = (value.number for value in tank.values)
        hinge = 0.3 * min(feet, 5.0)
        return 4.0 - hinge + 0.05 * count + of_fish(run) + luck(int(100 * feet), len(run))

    given = ["tank.length=3 ft..7 ft", "fish.tetras.count=1..6"]
    sweep = made(small, given, values, plan="latin", points=24)
    response = response_of(sweep, "chases_per_h")
    assert np.isnan(response.explained), "nothing varies"
    # The dose of a tank whose company varies is that of the fish that live at every point, which
    # this made-up table does not hold: a measure of the whole tank is looked at instead.
    for batch in sweep.batches:
        rows = batch.runs.rows().copy()
        rows["chases_per_h"] = rows["dose"]
        batch.runs = type(batch.runs)(RUN_ROW)
        batch.runs.extend(rows)
    lower, upper, *count = response_of(sweep, "chases_per_h").stretches
    assert (lower.part, lower.start, lower.end) == ("lower half", 3.0, 5.0)
    assert lower.change.low < -0.6 < lower.change.high
    assert upper.change.low < 0.0 < upper.change.high
    assert (lower.gain, upper.gain) == ("gain", "none")
    assert sum(part.change.value for part in count) == pytest.approx(0.25, abs=0.05)


def test_a_hypercube_of_too_few_points_says_so(small):
    given = ["tank.length=3 ft..7 ft", "fish.tetras.count=1..6"]
    sweep = made(small, given, lambda tank, run: 1.0 + 0.0 * run, plan="latin", points=5)
    response = response_of(sweep, "chases_per_h")
    assert response.stretches == ()
    assert response.least_points == 6


def test_stopping_at_a_width_keeps_the_coverage():
    """400 series with p = 0.2 and draws that differ: 95 % less three standard errors is 0.917.

    Stopping once the interval leaves out the truth is what would break it: the same series,
    stopped when their interval first leaves out 0.2, cover far less.
    """
    covered = peeked = 0
    series = 400
    rng = np.random.default_rng(11)
    for _ in range(series):
        own = np.repeat(rng.beta(2.0, 8.0, size=300), 2)  # mean 0.2, two runs a draw
        happened = rng.random(600) < own
        runs = FIRST_LOT
        left_out = False
        while True:
            figure = figure_of(
                MEASURES["serious"], happened[:runs].astype(float), draw=np.arange(runs) // 2
            )
            estimate = figure.estimate
            left_out |= not estimate.low <= 0.2 <= estimate.high
            if 0.5 * (estimate.high - estimate.low) <= 0.06 or runs >= 560:
                break
            runs = next_look(runs)
        covered += estimate.low <= 0.2 <= estimate.high
        peeked += not left_out
    assert covered / series > 0.917
    assert peeked / series < 0.90, "a stop at what is shown would have been caught"


def test_points_are_played_with_the_same_fish_and_as_a_batch_of_their_own(small):
    factors = read_factors(["tank.length=30 in,40 in"])
    tanks = build_points(small, factors, plan_points(factors, plan="full"), days=1)
    heard = []
    sweep = play_sweep(
        factors, tanks, plan="full", runs=6, workers=2, progress=lambda *both: heard.append(both)
    )
    assert heard[-1] == (12, 12)
    alone = play_batch(tanks[1].scenario, tanks[1].checked.layout, runs=6, keep_days=False)
    assert sweep.batches[1].runs.rows().tobytes() == alone.runs.rows().tobytes()
    for name in ("aggression", "boldness", "male", "start_length_m"):
        first, second = (batch.fish.column(name) for batch in sweep.batches)
        np.testing.assert_array_equal(first, second)


def test_a_width_that_is_asked_for_is_reached_or_the_cap_is(small):
    factors = read_factors(["tank.length=30 in,60 in"])
    tanks = build_points(small, factors, plan_points(factors, plan="full"), days=1)
    asked = Precision(outcome="serious", half_width=0.09, most=64)
    sweep = play_sweep(factors, tanks, plan="full", runs=1, precision=asked)
    for k, batch in enumerate(sweep.batches):
        estimate = sweep.figure(k, "serious").estimate
        narrow = 0.5 * (estimate.high - estimate.low) <= 0.09
        assert batch.done in (40, 52, 64)
        assert narrow or batch.done == 64
        assert batch.asked == batch.done


def test_a_point_stops_at_the_first_look_at_which_it_is_narrow_enough(small):
    """What its runs up to each look show is worked out anew from those very runs."""
    factors = read_factors(["tank.length=30 in,60 in"])
    tanks = build_points(small, factors, plan_points(factors, plan="full"), days=1)
    asked = Precision(outcome="dose", half_width=0.065, most=68)
    sweep = play_sweep(factors, tanks, plan="full", runs=1, precision=asked)
    for batch in sweep.batches:
        looks = [40]
        while looks[-1] < batch.done:
            looks.append(next_look(looks[-1]))
        assert looks[-1] == batch.done
        narrow = []
        for runs in looks:
            summary = Summary(batch, runs=runs)
            figure = figure_of(MEASURES["dose"], summary.run_column("dose"), draw=summary.cluster)
            narrow.append(0.5 * (figure.estimate.high - figure.estimate.low) <= 0.065)
        assert narrow == [False] * (len(looks) - 1) + [True]
    assert [batch.done for batch in sweep.batches] == [52, 40], "another width is needed"
