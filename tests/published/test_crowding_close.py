"""An owner attacks more the more intruders there are, then less, where none can leave its ground.

Caballero2003 (a sea bream): a direction. The pattern's own set-up is larger and shows no fall
(`docs/evidence.md`, P10); this one was looked at after that was known. The fall comes from the
owner's hiding from what it sees, whose strength, `fear_of_sight`, is assumed: the last test.
"""

from __future__ import annotations

import numpy as np
import pytest

from sim.evidence.study import Study, acts
from tests.published.paired import errors_above

REPLICATES = 6
FEW, MANY = 12, 24


def acts_of_owner(count: int, **changes: float) -> np.ndarray:
    """Return the owner's acts in an hour of watching, by replicate."""
    study = Study(seed=1, changes=changes)
    fish = (("Intruders", (("count", count),)),)
    histories = (study.play("crowding-close", k, fish=fish) for k in range(REPLICATES))
    return np.array([acts(history)[:, 0, 1:].sum() for history in histories], dtype=float)


@pytest.fixture(scope="module")
def few() -> np.ndarray:
    return acts_of_owner(FEW)


def test_attacks_rise_with_intruders_at_first(few):
    assert errors_above(few - acts_of_owner(2)) > 2.0


def test_attacks_fall_where_there_are_many(few):
    assert errors_above(acts_of_owner(MANY) - few) < -2.0


def test_they_go_on_rising_where_the_sight_of_chases_frightens_nobody():
    unafraid = [acts_of_owner(count, fear_of_sight=0.0) for count in (FEW, MANY)]
    assert errors_above(unafraid[1] - unafraid[0]) > 2.0
