"""Words on a sweep: where the gains end, from steps that are made up, word for word."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from sim.figures import MEASURES
from sim.sweep import Sweep
from tests.sim.test_sweep import luck, made, of_fish
from tests.viz.commands import SMALL
from viz.phrases import Said
from viz.sweep_results import (
    FactorResult,
    PastResult,
    PointResult,
    StepResult,
    SweepResults,
    results_of_sweep,
)
from viz.sweep_words import change_words, sure_sentences, sweep_sentences

FEET = ("3 ft", "4 ft", "5 ft", "6 ft", "8 ft")
DOSE = "tank.length, injury received, summed over the fish: "

Change = tuple[float | None, float | None, float | None]  # with its interval


def step(
    start: str, end: str, change: Change, *, outcome: str = "dose", part: str = ""
) -> StepResult:
    """A change that says what its interval says."""
    value, low, high = change
    good = MEASURES[outcome].good
    if low is None or high is None:
        says = ""
    elif low <= 0.0 <= high:
        says = "none"
    else:
        says = "gain" if not good or (high < 0.0) == (good == "less") else "loss"
    return StepResult(
        factor="tank.length", start=start, end=end, part=part, outcome=outcome,
        unit=MEASURES[outcome].unit, estimate=value, low=low, high=high, n=50,
        method="made up", says=says,
    )  # fmt: skip


def swept(
    steps: Sequence[StepResult], past: Sequence[PastResult] = (), *, plan: str = "full",
    points: Sequence[PointResult] = (), precision: dict[str, object] | None = None,
) -> SweepResults:  # fmt: skip
    """A sweep of the length of a tank, of which only steps and what comes of them are there."""
    factor = FactorResult(
        key="tank.length", values=FEET, numbers=(3.0, 4.0, 5.0, 6.0, 8.0), unit="ft", varies=True,
        ordered=True, ranges=plan == "latin",
    )  # fmt: skip
    return SweepResults(
        provenance={"seed": 1}, file="tank.toml", title="Made up", days=10.0, plan=plan,
        shown=tuple(dict.fromkeys(one.outcome for one in steps)) or ("dose",),
        precision=precision, factors=(factor,), points=tuple(points), steps=tuple(steps),
        past=tuple(past), levels={}, explained={},
    )  # fmt: skip


def told(
    changes: Sequence[Change], *, value: str | None, onward: Change | None = None,
    outcome: str = "dose",
) -> Said:  # fmt: skip
    """The sentence on the steps from each length to the next, with gains up to a value."""
    steps = [
        step(a, b, change, outcome=outcome)
        for a, b, change in zip(FEET, FEET[1:], changes, strict=False)
    ]
    last = FEET[len(changes)]
    far = None if onward is None or value is None else step(value, last, onward, outcome=outcome)
    past = PastResult("tank.length", outcome, value, value == last, far)
    (said,) = sweep_sentences(swept(steps, [past]))
    return said


SMALL_4, SMALL_5 = (-0.04, -0.09, 0.011), (-0.05, -0.1, 0.002)  # no gain by themselves
GAIN_4, GAIN_5 = (-0.21, -0.3, -0.12), (-0.08, -0.16, -0.012)
NONE_6, NONE_8 = (0.014, -0.031, 0.052), (-0.02, -0.07, 0.033)
WORSE_8 = (0.17, 0.094, 0.26)
SAID_4 = "3 ft to 4 ft, 0.21 less injury received (0.12 to 0.3 less)"
SAID_5 = "4 ft to 5 ft, 0.08 less injury received (0.012 to 0.16 less)"


@pytest.mark.parametrize(
    ("changes", "value", "onward", "says"),
    [
        pytest.param(
            (GAIN_4, GAIN_5, NONE_6, NONE_8), "5 ft", (-0.016, -0.055, 0.004),
            "past 5 ft the interval includes no further gain: to 8 ft, 0.016 less injury received "
            f"(0.055 less to under 0.01 more). Before that: {SAID_4}; {SAID_5}.",
            id="gains up to 5 ft and none beyond",
        ),
        pytest.param(
            (GAIN_4, GAIN_5), "5 ft", None,
            f"the gains go on to the last value, 5 ft. From step to step: {SAID_4}; {SAID_5}.",
            id="gains up to the last value",
        ),
        pytest.param(
            (GAIN_4, NONE_6, NONE_8, GAIN_5), "8 ft", None,
            f"the gains go on to the last value, 8 ft. From step to step: {SAID_4}; 6 ft to 8 ft, "
            "0.08 less injury received (0.012 to 0.16 less).",
            id="gains that rest and go on to the last value",
        ),
        pytest.param(
            (SMALL_4, SMALL_5), "5 ft", None,
            "the gains go on to the last value, 5 ft. No single step shows one by itself.",
            id="no step shows a gain, the whole does, up to the last value",
        ),
        pytest.param(
            (SMALL_4, SMALL_5, NONE_6, NONE_8), "5 ft", (-0.016, -0.055, 0.004),
            "past 5 ft the interval includes no further gain: to 8 ft, 0.016 less injury received "
            "(0.055 less to under 0.01 more).",
            id="no step shows a gain, the whole up to 5 ft does",
        ),
        pytest.param(
            (NONE_6, NONE_8), "3 ft", (0.0, -0.04, 0.061),
            "from 3 ft on the interval includes no gain: to 5 ft, no change in injury received "
            "(0.04 less to 0.061 more).",
            id="no gain at all",
        ),
        pytest.param(
            (GAIN_4, NONE_6, NONE_8, WORSE_8), "4 ft", (0.16, 0.05, 0.28),
            "past 4 ft the interval includes no further gain: to 8 ft, 0.16 more injury received "
            f"(0.05 to 0.28 more). Before that: {SAID_4}. It even gets worse: 6 ft to 8 ft, 0.17 "
            "more injury received (0.094 to 0.26 more).",
            id="worse in the end",
        ),
        pytest.param(
            (WORSE_8, GAIN_5), "3 ft", (0.09, -0.02, 0.2),
            "from 3 ft on the interval includes no gain: to 5 ft, 0.09 more injury received (0.02 "
            "less to 0.2 more). It even gets worse: 3 ft to 4 ft, 0.17 more injury received "
            f"(0.094 to 0.26 more). Some of that comes back: {SAID_5}.",
            id="worse, and some of it comes back",
        ),
        pytest.param(
            (NONE_6, GAIN_5), "3 ft", (-0.05, -0.14, 0.03),
            "from 3 ft on the interval includes no gain: to 5 ft, 0.05 less injury received (0.14 "
            f"less to 0.03 more). A single step shows a gain: {SAID_5}.",
            id="a single step, the whole not",
        ),
        pytest.param(
            (GAIN_4, (0.01, None, None)), None, None,
            "where the gains end cannot be said, since it was too rare, or too few draws of fish "
            "were played, for every interval.",
            id="a step without an interval",
        ),
    ],
)  # fmt: skip
def test_where_gains_end_is_said_with_the_numbers_that_are_given(
    changes: tuple[Change, ...], value: str | None, onward: Change | None, says: str
) -> None:
    said = told(changes, value=value, onward=onward)
    assert said.words == DOSE + says
    assert said.sources == ("/past/0", *(f"/steps/{k}" for k in range(len(changes))))


@pytest.mark.parametrize(
    ("outcome", "change", "says"),
    [
        ("serious", (-0.12, -0.2, -0.035), "12 less in 100 runs with a serious injury (3.5 to 20 "
                                           "less)"),
        ("serious", (0.0, -0.02, 0.02), "0 more in 100 runs with a serious injury (2 less to 2 "
                                        "more)"),
        ("hidden_h_per_day", (-1.25, -2.0, -0.5), "1.2 less hours hidden a day (0.5 to 2 less)"),
        ("held_share", (0.08, 0.02, 0.13), "8 more hundredths of the floor defended (2 to 13 "
                                           "more)"),
        ("death", (0.01, None, None), "1 more in 100 runs with a death (too rare or too few for an "
                                      "interval)"),
        ("dose", (None, None, None), "no number of injury received"),
    ],
)  # fmt: skip
def test_an_amount_is_said_in_the_words_of_its_outcome(
    outcome: str, change: Change, says: str
) -> None:
    assert change_words(step("3 ft", "4 ft", change, outcome=outcome)) == says


def test_what_is_neither_good_nor_bad_changes_and_gains_nothing() -> None:
    said = told(((0.8, 0.2, 1.3), NONE_6), value="4 ft", onward=NONE_6, outcome="spawnings")
    assert said.words == (
        "tank.length, spawnings: past 4 ft the interval includes no further change: to 5 ft, 0.014 "
        "more spawnings (per run) (0.031 less to 0.052 more). Before that: 3 ft to 4 ft, 0.8 more "
        "spawnings (per run) (0.2 to 1.3 more)."
    )


def test_of_what_is_good_more_is_a_gain() -> None:
    up, down = (0.08, 0.02, 0.13), (-0.05, -0.09, -0.02)
    said = told((up, down), value="4 ft", onward=down, outcome="open_share")
    assert said.words == (
        "tank.length, floor that nobody holds: past 4 ft the interval includes no further gain: to "
        "5 ft, 5 less hundredths of the floor that nobody defends (2 to 9 less). Before that: 3 ft "
        "to 4 ft, 8 more hundredths of the floor that nobody defends (2 to 13 more). It even gets "
        "worse: 4 ft to 5 ft, 5 less hundredths of the floor that nobody defends (2 to 9 less)."
    )


def made_up(file: Path, values) -> tuple[Sweep, SweepResults]:
    """A sweep whose runs are made up, from 3 to 8 ft; `values(tank, run)` gives the dose."""
    file.write_text(SMALL, encoding="utf-8")
    sweep = made(file, [f"tank.length={','.join(FEET)}"], values)
    return sweep, results_of_sweep(
        sweep, file="tank.toml", shown=("dose",), precision=None, provenance={"seed": 1}
    )


def test_the_sentence_follows_from_the_runs(tmp_path: Path) -> None:
    """A tenth less with each foot up to five; luck as in the test of steps over the same fish."""

    def values(tank, run):
        feet = tank.values[0].number
        return 1.0 - 0.1 * min(feet, 5.0) + of_fish(run) + luck(int(10 * feet), len(run))

    sweep, found = made_up(tmp_path / "tank.toml", values)
    assert [one.says for one in found.steps] == ["gain", "gain", "none", "none"]
    (said,) = sweep_sentences(found)
    first, second, *_ = found.steps
    onward, whole = found.past[0].onward, sweep.step(0, 2, 4, "dose")
    assert onward is not None
    assert whole is not None
    assert (onward.estimate, onward.low, onward.high) == pytest.approx(
        (whole.change.value, whole.change.low, whole.change.high)
    )
    assert said.words == (
        "tank.length, injury received, summed over the fish: past 5 ft the interval includes no "
        f"further gain: to 8 ft, {change_words(onward)}. Before that: 3 ft to 4 ft, "
        f"{change_words(first)}; 4 ft to 5 ft, {change_words(second)}."
    )


def test_where_only_the_whole_shows_a_gain_its_end_is_found_all_the_same(tmp_path: Path) -> None:
    """0.15 less with each foot up to six, a spread of 0.9 in each of 100 draws (seed 3)."""

    def values(tank, run):
        feet = tank.values[0].number
        own = np.random.default_rng([3, int(feet)]).normal(size=100)[run // 2]
        return 10.0 - 0.15 * min(feet, 6.0) + 0.9 * own

    _, found = made_up(tmp_path / "tank.toml", values)
    assert {one.says for one in found.steps} == {"none"}
    (said,) = sweep_sentences(found)
    assert found.past[0].value not in (FEET[0], FEET[-1])
    assert said.words.startswith(
        f"{DOSE}past {found.past[0].value} the interval includes no further gain: to 8 ft, "
    )
    whole = found.past[0].before
    assert whole is not None
    assert whole.says == "gain"
    assert said.words.endswith(
        f" Before that no single step shows one, {whole.start} to {whole.end} does: "
        f"{change_words(whole)}."
    )


def test_each_outcome_is_told_from_its_own_steps() -> None:
    steps = [
        step("3 ft", "4 ft", GAIN_4), step("4 ft", "5 ft", NONE_6),
        step("3 ft", "4 ft", (-0.1, -0.2, 0.05), outcome="serious"),
        step("4 ft", "5 ft", (-0.11, -0.22, -0.01), outcome="serious"),
    ]  # fmt: skip
    past = [
        PastResult("tank.length", "dose", "4 ft", False, step("4 ft", "5 ft", NONE_6)),
        PastResult("tank.length", "serious", "5 ft", True, None),
    ]
    first, second = sweep_sentences(swept(steps, past))
    assert first.words == (
        DOSE + "past 4 ft the interval includes no further gain: to 5 ft, 0.014 more injury "
        f"received (0.031 less to 0.052 more). Before that: {SAID_4}."
    )
    assert first.sources == ("/past/0", "/steps/0", "/steps/1")
    assert second.words == (
        f"tank.length, {MEASURES['serious'].text}: the gains go on to the last value, 5 ft. From "
        "step to step: 4 ft to 5 ft, 11 less in 100 runs with a serious injury (1 to 22 less)."
    )
    assert second.sources == ("/past/1", "/steps/2", "/steps/3")


@pytest.mark.parametrize(
    ("lower", "upper", "says"),
    [
        (GAIN_4, NONE_8, " Past 5 ft the interval includes no further gain."),
        (NONE_6, NONE_8, " Past 5 ft the interval includes no gain."),
        (GAIN_4, WORSE_8, " Past 5 ft the interval includes no further gain."),
        (GAIN_4, GAIN_5, ""),
        (GAIN_4, (0.1, None, None), ""),
    ],
)
def test_a_hypercube_is_told_half_by_half(lower: Change, upper: Change, says: str) -> None:
    halves = [
        step("3 ft", "5 ft", lower, part="lower half"),
        step("5 ft", "8 ft", upper, part="upper half"),
    ]
    (said,) = sweep_sentences(swept(halves, plan="latin"))
    low, high = (change_words(one) for one in halves)
    assert said.words == (
        "tank.length, injury received, summed over the fish, all else alike: 3 ft to 5 ft, "
        f"{low}; 5 ft to 8 ft, {high}.{says}"
    )
    assert said.sources == ("/steps/0", "/steps/1")


def test_too_few_points_of_a_hypercube_are_said() -> None:
    (said,) = sweep_sentences(swept([], plan="latin"))
    assert said.words == (
        "Injury received, summed over the fish: too few points to part the factors. Ask for more "
        "--points."
    )


def point(runs: int, narrow: bool | None) -> PointResult:
    return PointResult(
        values=("3 ft",), numbers=(3.0,), hash="", runs=runs, draws=runs // 4, narrow=narrow,
        outcomes={}, caves=(),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("points", "says"),
    [
        ((point(40, True), point(64, False)), "it took 40 to 64, and 1 point stayed wider."),
        ((point(64, False), point(64, False)), "it took 64, and 2 points stayed wider."),
        ((point(40, True), point(52, True)), "it took 40 to 52."),
    ],
)
def test_how_narrow_it_became_is_said_with_the_runs_it_took(
    points: tuple[PointResult, ...], says: str
) -> None:
    asked: dict[str, object] = {"outcome": "dose", "half_width": 0.15, "most_runs": 64}
    sure = " ".join(sure_sentences(swept([], points=points, precision=asked)))
    assert (
        "Each point was played until the interval of injury received, summed over the fish was no "
        f"wider than 0.15 to either side, injury, or for 64 runs; {says} How narrow" in sure
    )
    assert f"Changes rest on the first {min(one.runs for one in points)} runs" in sure
    without = " ".join(sure_sentences(swept([], points=points)))
    assert "was played until" not in without
