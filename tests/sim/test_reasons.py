"""Where the injury is taken, as shares of all of it, and what the floor offers."""

from __future__ import annotations

import numpy as np
import pytest

from sim.batch import Batch
from sim.reasons import (
    by_run,
    ends_by_stage,
    floor_by_cover,
    ground_by_stage,
    holder_parts,
    injury_parts,
)
from sim.records import HARM_SHAPE
from sim.rules.codes import CHASED_INSIDE, CHASED_OPEN, COVER_BANDS, FRY, HARM_CONTEST
from sim.settings import Settings
from sim.start import draw_fish, fits_of, start_state
from sim.summary import Summary
from tests.sim.made import Design, design, outcome

# Harm of four runs over two draws: fish, way, ground, stage, cover, injury.
TAKEN = (
    [(2, CHASED_INSIDE, 1, FRY, 0, 3.0)],
    [(2, CHASED_OPEN, 0, FRY, 4, 1.0), (3, HARM_CONTEST, 1, 0, 2, 1.0)],
    [(2, CHASED_INSIDE, 1, FRY, 0, 2.0)],
    [],
)
HELD = ({(2, 0): 3.0}, {(2, -1): 1.0, (3, 0): 1.0}, {(2, 1): 2.0}, {})


def batch(of: Design | None = None) -> Batch:
    of = of or design()
    made = Batch(scenario=of.scenario, layout=of.layout, seed=1, settings=Settings(), changes={})
    n = made.n_fish
    for run, (taken, held) in enumerate(zip(TAKEN, HELD, strict=True)):
        harm = np.zeros((n, *HARM_SHAPE))
        for fish, way, ground, stage, cover, dose in taken:
            harm[fish, way, ground, stage, cover] = dose
        one = outcome(run, n_fish=n, harm=harm)
        for (fish, holder), dose in held.items():
            one.harm_on[fish, holder] = dose
            one.harm_by[0, fish] += dose
        one.ends[FRY, 2], one.ends[0, 0] = 3, 1
        made.add(one)
    return made


def shares(parts) -> dict[str, float]:
    return {part.name: part.share.value for part in parts}


def test_the_injury_divides_by_each_thing_that_is_kept_of_it():
    summary = Summary(batch())
    assert shares(injury_parts(summary, "way")) == pytest.approx(
        {
            "in a contest": 1 / 7,
            "in a chase": 1 / 7,
            "in a hiding place that the biter passes into": 5 / 7,
        }
    )
    assert shares(injury_parts(summary, "stage")) == pytest.approx({"none": 1 / 7, "fry": 6 / 7})
    assert shares(injury_parts(summary, "ground")) == pytest.approx(
        {"open ground": 1 / 7, "the biter's": 6 / 7}
    )
    assert shares(injury_parts(summary, "cover")) == pytest.approx(
        {"inside one": 5 / 7, "10 to 20 cm": 1 / 7, "over 40 cm": 1 / 7}
    )


def test_whose_ground_it_is_is_told_for_each_stage_by_itself():
    """With fry 5 of 6 on the biter's ground; the one bite without a brood fell there, too."""
    found = {stage: shares(parts) for stage, parts in ground_by_stage(Summary(batch())).items()}
    assert list(found) == ["none", "fry"]
    assert found["none"] == pytest.approx({"the biter's": 1.0})
    assert found["fry"] == pytest.approx({"open ground": 1 / 6, "the biter's": 5 / 6})


def test_the_ground_is_named_by_its_holder_the_greatest_part_first():
    summary = Summary(batch())
    names = [member.name for member in summary.members]
    parts = holder_parts(summary)
    assert [part.name for part in parts] == [names[0], names[1], ""]
    assert shares(parts) == pytest.approx({names[0]: 4 / 7, names[1]: 2 / 7, "": 1 / 7})
    assert all(part.share.low < part.share.value < part.share.high for part in parts)


def test_only_the_runs_that_are_asked_for_count():
    summary = Summary(batch(), runs=2)
    assert shares(injury_parts(summary, "way"))["in a contest"] == pytest.approx(1 / 5)
    table = by_run(summary.batch.holders, "holder", runs=2, places=10)
    assert table.sum(axis=1) == pytest.approx([3.0, 2.0])
    assert table[1, -1] == 1.0


def test_intervals_count_draws_of_fish_and_not_units_of_injury():
    """The same runs with a tenth and with a thousandfold of the injury are as sure."""
    plain = injury_parts(Summary(batch()), "way")[0].share
    many = batch()
    for _ in range(3):
        for run, taken in enumerate(TAKEN, start=many.done):
            harm = np.zeros((many.n_fish, *HARM_SHAPE))
            for fish, way, ground, stage, cover, dose in taken:
                harm[fish, way, ground, stage, cover] = 1e3 * dose
            many.add(outcome(run, n_fish=many.n_fish, harm=harm))
    wide = plain.high - plain.low
    narrow = injury_parts(Summary(many), "way")[0].share
    assert plain.n == 2
    assert narrow.n == 8
    assert 0.0 < narrow.high - narrow.low < wide < 1.0


def test_nobody_hurt_is_nowhere():
    of = design()
    made = Batch(scenario=of.scenario, layout=of.layout, seed=1, settings=Settings(), changes={})
    for run in range(2):
        made.add(outcome(run, n_fish=made.n_fish))
    summary = Summary(made)
    assert injury_parts(summary, "way") == ()
    assert holder_parts(summary) == ()
    assert floor_by_cover(summary) == {}


def test_the_floor_is_told_by_the_way_to_a_hiding_place_for_those_that_are_hurt():
    summary = Summary(batch())
    shares = floor_by_cover(summary)
    assert list(shares) == list(COVER_BANDS)
    assert sum(shares.values()) == pytest.approx(1.0)
    assert shares["inside one"] == 0.0
    # By hand: the fish that are hurt are small and pass every door.
    floor = summary.batch.layout.floor()
    nearest = floor.door_dist[:, floor.free[0] == 1].min(axis=0)
    assert shares["over 40 cm"] == pytest.approx(np.mean(nearest >= 0.4))
    assert shares["under 10 cm"] == pytest.approx(np.mean(nearest < 0.1))


def test_who_passes_which_door_is_as_at_the_start_of_a_run():
    of = design("scenarios/juveniles-crowd.toml")
    floor = of.layout.floor()
    state = start_state(of.scenario, of.layout, run=4, seed=3)
    people = draw_fish(of.scenario, seed=3, draw=2, quality_sd=0.0, daring_sd=0.0)
    for i, fish in enumerate(people):
        assert np.array_equal(fits_of(fish, floor), state.fits[i] == 1)


def test_ends_are_told_at_the_stages_in_which_there_were_chases():
    found = ends_by_stage(batch())
    assert list(found) == ["none", "fry"]
    assert found["fry"]["reached a hiding place"] == 12
    assert found["none"]["left the territory"] == 4
