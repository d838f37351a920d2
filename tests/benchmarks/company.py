"""Company: mixed tanks of any number of fish, and a tank in its settled state to time."""

from __future__ import annotations

import math
from typing import Any

from sim.engine import History
from sim.layout import Layout
from sim.rules.codes import WATCHED
from sim.scenario import Scenario
from sim.settings import Settings

# One fish in three is a cichlid; the rest are their usual company.
KINDS = (
    ("Amatitlania nigrofasciata", "male"),
    ("Xiphophorus hellerii", "unknown"),
    ("Corydoras aeneus", "unknown"),
    ("Thorichthys meeki", "female"),
    ("Xiphophorus hellerii", "unknown"),
    ("Gymnocorymbus ternetzi", "unknown"),
)
FLOOR_PER_FISH_M2 = 0.07  # twelve fish in about six feet
N_PIECES = 3
SETTLED_DAYS = 0.5
DAY_S = 86400.0


def mixed_company(n_fish: int, *, days: float = 30.0) -> Scenario:
    """Return a tank of so many fish, its floor growing with their number.

    Parameters
    ----------
    n_fish
        Number of fish, a third of them cichlids.
    days
        Length of a run.
    """
    width_m = max(0.45, math.sqrt(FLOOR_PER_FISH_M2 * n_fish / 4.0))
    length_m = max(0.9, FLOOR_PER_FISH_M2 * n_fish / width_m)
    counts: dict[tuple[str, str], int] = {}
    for k in range(n_fish):
        kind = KINDS[k % len(KINDS)]
        counts[kind] = counts.get(kind, 0) + 1
    pieces: list[dict[str, Any]] = []
    # Few pieces, since it is the fish that are timed here and not the making of tables.
    for k in range(N_PIECES):
        x_m = (k + 0.5) * length_m / N_PIECES
        piece = ("pot", "boulder", "pipe")[k % 3]
        size = {"pot": "6 in", "boulder": "8 in", "pipe": "2 in"}[piece]
        pieces.append(
            {"kind": piece, "size": size, "x_m": x_m, "y_m": (0.35, 0.6)[k % 2] * width_m}
        )
    return Scenario.model_validate(
        {
            "tank": {"length_m": length_m, "width_m": width_m, "height_m": 0.5},
            "pieces": pieces,
            "fish": [
                {"species": species, "sex": sex, "count": count}
                for (species, sex), count in counts.items()
            ],
            "days": days,
        }
    )


def laid_out(scenario: Scenario) -> Layout:
    """Return the layout of a scenario that must have no problems."""
    layout = Layout(scenario)
    problems = layout.problems()
    if problems:
        raise RuntimeError("; ".join(str(problem) for problem in problems))
    return layout


def settled(n_fish: int, *, seed: int = 1) -> History:
    """Return a mixed company some days on, from now on watched every second."""
    scenario = mixed_company(n_fish)
    return settled_tank(scenario, laid_out(scenario), seed=seed)


def settled_tank(scenario: Scenario, layout: Layout, *, seed: int = 1) -> History:
    """Return a tank some days on, from now on watched every second."""
    history = History(scenario, layout, seed=seed, settings=Settings())
    history.advance(until_day=SETTLED_DAYS + 0.5)
    tank = history.state.tank
    history.state.settings["watch_all"] = 1
    while tank.phase[0] != WATCHED:
        go_on(history, 0.001)
    return history


def go_on(history: History, seconds: float) -> None:
    """Advance by so many seconds, and to the end of the stride they end in."""
    history.advance(until_day=history.day + seconds / DAY_S)
