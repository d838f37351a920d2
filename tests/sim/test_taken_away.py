"""One thing taken away and the same fish played again; what tempers make of the spread."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from sim.engine import History
from sim.settings import Settings
from sim.start import draw_fish
from sim.summary import Summary
from sim.taken_away import (
    SHIFT,
    TEMPERS,
    NotPlayed,
    Variant,
    change_of,
    fish_in_other_tank,
    fish_share,
    play_variants,
    temper_share,
    variants_of,
)
from tests.sim.made import SIX_FOOT, batch, design


def test_what_would_change_nothing_is_not_played_and_says_why():
    of = design()
    found, left = variants_of(
        of.scenario, of.layout, mechanisms=("brood", "occlusion", "individuality", "hiding")
    )
    assert [one.key for one in found] == ["occlusion", "individuality", "hiding"]
    assert [one.scenario.without for one in found] == [
        ("occlusion",), ("individuality",), ("hiding",)
    ]  # fmt: skip
    assert left == [NotPlayed("brood", "no brood is played in this tank")]
    bare = design("scenarios/convict-bare.toml", without=("individuality",))
    found, left = variants_of(
        bare.scenario, bare.layout, mechanisms=("occlusion", "individuality", "hiding")
    )
    assert not found
    assert [one.why for one in left] == [
        "nothing in this tank blocks the view",
        "it is switched off in this tank already",
        "there is no hiding place in this tank",
    ]
    spawning = design("scenarios/convict-spawning.toml", days=30)
    found, _ = variants_of(spawning.scenario, spawning.layout, mechanisms=("brood",))
    assert [one.key for one in found] == ["brood"]


def test_the_same_fish_need_no_other_tank_and_others_are_put_into_it():
    four, six = design(), design(SIX_FOOT)
    assert fish_in_other_tank(four.scenario, six.scenario, letter="A") is None
    crowd = design("scenarios/juveniles-crowd.toml")
    found = fish_in_other_tank(crowd.scenario, six.scenario, letter="A")
    assert isinstance(found, Variant)
    assert found.key == "fish of A"
    assert found.scenario.fish == crowd.scenario.fish
    assert found.layout.length_m == six.layout.length_m


def test_fish_that_cannot_live_in_the_other_tank_are_refused_in_words():
    small = design("scenarios/feeding-one-spot.toml")
    settled = design("scenarios/settled-newcomer.toml", days=30)
    found = fish_in_other_tank(settled.scenario, small.scenario, letter="B")
    assert isinstance(found, NotPlayed)
    assert found.key == "fish of B"
    assert len(found.why) > 20
    assert not found.why.endswith(".")


def test_fish_with_the_tempers_of_others_share_nothing_else():
    of = design("scenarios/juveniles-crowd.toml")
    draw: Any = lambda **more: draw_fish(  # noqa: E731
        of.scenario, seed=1, quality_sd=0.1, daring_sd=0.1, **more
    )
    mine, theirs, both = draw(draw=3), draw(draw=7), draw(draw=3, tempers_of=7)
    for a, b, c in zip(mine, theirs, both, strict=True):
        assert (c.aggression, c.boldness) == (b.aggression, b.boldness)
        assert (c.sex, c.length_m, c.grown_m, c.quality, c.daring) == (
            a.sex, a.length_m, a.grown_m, a.quality, a.daring
        )  # fmt: skip
        assert a.aggression != b.aggression
    assert draw(draw=3, tempers_of=3) == mine


def test_a_run_with_the_tempers_of_another_plays_its_numbers_with_its_own_luck():
    of = design()
    vary = Settings(vary=True)
    plain = History(of.scenario, of.layout, run=6, settings=vary)
    alone = History(of.scenario, of.layout, run=6 + SHIFT, settings=vary)
    both = History(of.scenario, of.layout, run=6 + SHIFT, settings=vary, tempers_of=6)
    assert both.state.par.tobytes() == plain.state.par.tobytes() != alone.state.par.tobytes()
    assert np.array_equal(both.state.fish.aggression, plain.state.fish.aggression)
    assert np.array_equal(both.state.fish.length, alone.state.fish.length)
    assert np.array_equal(both.state.fish.key, alone.state.fish.key)
    assert both.state.tank.seed == alone.state.tank.seed


def test_variants_are_played_with_the_runs_of_the_tank_as_it_is():
    of = design(days=0.2)
    variants, _ = variants_of(of.scenario, of.layout, mechanisms=("individuality",))
    variants.append(Variant(key=TEMPERS, scenario=of.scenario, layout=of.layout))
    seen: list[tuple[int, int]] = []
    average, partner = play_variants(
        variants, runs=4, seed=1, settings=Settings(), changes={}, workers=1,
        progress=lambda done, total: seen.append((done, total)),
    )  # fmt: skip
    assert seen[0] == (0, 8)
    assert seen[-1] == (8, 8)
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    assert average.runs.column("run").tolist() == [0, 1, 2, 3]
    assert partner.runs.column("run").tolist() == [SHIFT, SHIFT + 1, SHIFT + 2, SHIFT + 3]
    n = average.n_fish
    alike = average.fish.column("aggression").reshape(4, n)
    assert np.all(alike == alike[0])
    tempers = partner.fish.column("aggression").reshape(4, n)
    people = draw_fish(of.scenario, seed=1, draw=1, quality_sd=0.0, daring_sd=0.0)
    assert tempers[2] == pytest.approx([fish.aggression for fish in people])
    assert play_variants([], runs=4, seed=1, settings=Settings(), changes={}) == ()


def test_a_change_is_of_the_same_runs():
    of = design()
    dose = np.array([1.0, 2.0, 3.0, 4.0] * 10)
    as_it_is = [{"dose": d, "serious": float(d > 3), "hidden_h_per_day": 2.0} for d in dose]
    without = [{**row, "dose": row["dose"] - 0.5, "serious": 0.0} for row in as_it_is]
    change = change_of("brood", Summary(batch(of, as_it_is)), Summary(batch(of, without)))
    rows = {row.outcome: row for row in change.differences}
    assert rows["dose"].estimate == pytest.approx(-0.5)
    assert rows["dose"].high < 0.0
    assert rows["serious"].estimate == pytest.approx(-0.25)
    assert rows["hidden_h_per_day"].estimate == 0.0


def spread(rng: np.random.Generator, sets: int) -> tuple[np.ndarray, np.ndarray]:
    """Doses whose variance within a set is 0.3 temper, 0.3 other traits and 0.4 luck."""

    def normal(*shape: int) -> np.ndarray:
        return rng.standard_normal(shape)

    number, temper = 2.0 * normal(sets, 1, 1), np.sqrt(0.3) * normal(sets, 2, 1)
    mine, other = (
        number + temper + np.sqrt(0.3) * normal(sets, 2, 1) + np.sqrt(0.4) * normal(sets, 2, 2)
        for _ in range(2)
    )
    return mine.ravel(), other.ravel()


def based_on(values: np.ndarray) -> Summary:
    return cast("Summary", SimpleNamespace(run_column=lambda _: values, level=0.95))


def test_the_share_of_tempers_and_of_the_fish_is_found_again():
    """Seed 5; 4,000 sets: 0.3 and 0.6 within 4 of their standard errors, about 0.01 each."""
    mine, other = spread(np.random.default_rng(5), 4000)
    tempers, fish = temper_share(based_on(mine), other), fish_share(based_on(mine))
    assert tempers is not None
    assert fish is not None
    assert tempers.value == pytest.approx(0.3, abs=0.04)
    assert fish.value == pytest.approx(0.6, abs=0.04)
    assert tempers.high - tempers.low < 0.1


def test_its_interval_holds_the_truth_about_nine_times_in_ten():
    """Seed 3, 300 studies of 25 sets (100 runs): 0.92 was found; 4 standard errors are 0.06."""
    rng = np.random.default_rng(3)
    held = 0
    for _ in range(300):
        mine, other = spread(rng, 25)
        found = temper_share(based_on(mine), other)
        assert found is not None
        held += found.low <= 0.3 <= found.high
    assert 0.86 <= held / 300 <= 0.99


def test_with_few_runs_or_nothing_that_varies_nothing_is_said():
    mine, other = spread(np.random.default_rng(1), 19)
    assert temper_share(based_on(mine), other) is None
    assert fish_share(based_on(mine)) is None
    assert fish_share(based_on(np.ones(80))) is None
