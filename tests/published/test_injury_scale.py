"""The injury scale closes: the fish of published set-ups mostly live here too.

None of these papers reports deaths over its days (as far as was read). The thresholds are ours
[A]: at least 95 % of all fish alive, and a serious injury in under 10 % of the fish of the five
tilapia groups (matched and mixed together). Footprints and some lengths are assumed, as each
file says.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from sim.check import check_file
from sim.engine import History

SETUPS = Path(__file__).parent / "setups"
RUNS = 40  # 200 to 400 fish a set-up


def play(name: str) -> tuple[np.ndarray, np.ndarray]:
    """Return whether each fish lived, and whether it was seriously hurt, over all runs."""
    checked = check_file(SETUPS / f"{name}.toml")
    alive, hurt = [], []
    for run in range(RUNS):
        history = History(checked.scenario, checked.layout, run=run, seed=11)
        history.advance()
        fish = history.outcome().fish
        alive.append(~np.isfinite(fish["death_day"]))
        hurt.append(np.isfinite(fish["serious_day"]) | np.isfinite(fish["death_day"]))
    return np.concatenate(alive), np.concatenate(hurt)


@pytest.mark.parametrize(
    "name",
    [
        "tilapia-five-matched",  # Boscolo, Morais & Goncalves-de-Freitas 2011
        "tilapia-five-mixed",  # the same
        "convict-one-over-four",  # Praw & Grant 1999
        "convict-ten-young",  # Noel, Grant & Carrigan 2005
    ],
)
def test_the_fish_of_a_published_set_up_mostly_live(name):
    alive, _ = play(name)
    assert alive.mean() >= 0.95


def test_few_of_the_tilapia_groups_are_seriously_hurt():
    _, matched = play("tilapia-five-matched")
    _, mixed = play("tilapia-five-mixed")
    assert np.concatenate([matched, mixed]).mean() < 0.10


def test_injury_does_happen():
    # Without this, a scale on which a bite does nothing would pass the checks above.
    checked = check_file(SETUPS / "tilapia-five-mixed.toml")
    doses = []
    for run in range(10):
        history = History(checked.scenario, checked.layout, run=run, seed=11)
        history.advance()
        doses.append(history.outcome().row["dose"][0])
    assert np.mean(doses) > 0.2
