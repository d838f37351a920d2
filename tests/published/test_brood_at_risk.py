"""Once a pair guards a brood, every tankmate in four feet is at risk (common practice, no source).

What holds here: the pair bites each of the others more than in the same tank without the brood,
with the same fish. That they are seriously hurt does not follow; docs/evidence.md says how seldom
that is.
"""

from __future__ import annotations

import pytest

from tests.published.brood_at_risk import Risk, risk_of
from tests.published.paired import errors_above

RUNS = 24  # seed 1; of 160 runs, 99 in 100 samples of so many showed it for each of seven fish
DAYS = 16.0  # six with eggs and wrigglers


@pytest.fixture(scope="module")
def brood() -> Risk:
    return risk_of("convict-spawning", runs=RUNS, days=DAYS)


@pytest.fixture(scope="module")
def none() -> Risk:
    return risk_of("convict-four-foot", runs=RUNS, days=DAYS)


def test_the_pair_bites_every_tankmate_more_than_without_a_brood(brood, none):
    for k, name in enumerate(brood.names):
        assert brood.after[:, k].mean() > none.after[:, k].mean(), name
    assert errors_above((brood.after - none.after).mean(axis=1)) > 3.0


def test_the_rise_comes_with_the_eggs(brood, none):
    rise = (brood.after - brood.before).mean(axis=1)
    assert errors_above(rise) > 3.0
    assert errors_above(rise - (none.after - none.before).mean(axis=1)) > 3.0


def test_taking_the_brood_away_takes_the_rise_away(brood):
    null = risk_of("convict-spawning", runs=RUNS, days=DAYS, without=("brood",))
    rise = (null.after - null.before).mean(axis=1)
    assert errors_above(rise) < 2.0
    assert errors_above((brood.after - null.after).mean(axis=1)) > 3.0
