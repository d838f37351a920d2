"""A breeding pair of large cichlids with company of its size does worse in four feet than in six.

Common practice, no source. Held for the company alone: the pair does the harm.
"""

from __future__ import annotations

import numpy as np
import pytest

from sim.batch import play_batch
from sim.figures import by_draw
from tests.published.paired import errors_above
from tests.sim.worlds import shipped

RUNS = 40  # seed 1: twenty draws of fish
PAIR = 2  # the first of both files


@pytest.fixture(scope="module")
def doses() -> dict[str, np.ndarray]:
    """Injury that the severums receive in a run, by draw of fish."""
    found = {}
    for feet in ("four", "six"):
        tank = shipped(f"large-pair-{feet}-foot")
        batch = play_batch(tank.scenario, tank.layout, runs=RUNS, seed=1)
        fish = batch.fish.column("dose").reshape(RUNS, -1)
        found[feet] = by_draw(fish[:, PAIR:].sum(axis=1), draw=np.arange(RUNS) // 2)
    return found


def test_company_takes_more_injury_in_four_feet(doses):
    more = doses["four"] - doses["six"]
    assert errors_above(more) > 2.0


def test_both_tanks_hold_a_pair_of_that_size_and_company_like_it():
    for feet in ("four", "six"):
        scenario = shipped(f"large-pair-{feet}-foot").scenario
        *pair, company = scenario.fish
        assert all(0.20 <= fish.length_m <= 0.25 for fish in pair)
        assert 0.8 <= company.length_m / pair[1].length_m <= 1.2
        assert scenario.breeding.mode == "on"
    assert shipped("large-pair-six-foot").scenario.tank.length_m == pytest.approx(
        1.5 * shipped("large-pair-four-foot").scenario.tank.length_m
    )
