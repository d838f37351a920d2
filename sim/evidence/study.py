"""Study: the laboratory's set-ups, and how they are played for a pattern.

A pattern is a module with two functions. `unit(study, k)` plays the k-th independent replicate (a
group, a pair, a tank, or one of each kind) and returns what was seen as numbers. `measure(units)`
makes the observables of all replicates. Replicates hold different fish: replicate k is run 2 k,
since two runs share each draw of fish.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import as_file, files
from typing import Any

import numpy as np

from sim.check import Checked, check_file
from sim.engine import History
from sim.errors import Problem, Refused
from sim.scenario_rules import faults

Unit = dict[str, Any]
Observables = dict[str, float]
FishChange = tuple[str, tuple[tuple[str, Any], ...]]


@cache
def set_up(name: str, changes: tuple[FishChange, ...] = ()) -> Checked:
    """Return one of the laboratory's set-ups, read and checked once.

    Parameters
    ----------
    name
        Name of its file in `scenarios/laboratory`, without the ending.
    changes
        Groups of fish that differ from the file: name, and the fields that differ.
    """
    with as_file(files("scenarios.laboratory").joinpath(f"{name}.toml")) as path:
        checked = check_file(path)
    if not changes:
        return checked
    told = dict(changes)
    fish = tuple(
        group.model_copy(update=dict(told.get(group.name, ()))) for group in checked.scenario.fish
    )
    scenario = checked.scenario.model_copy(update={"fish": fish})
    problems = [Problem(str(place), text) for place, text in faults(scenario)]
    if problems:
        raise Refused(tuple(problems))
    return Checked(scenario, checked.layout, checked.warnings)  # other fish, the same tank


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """How the set-ups of a pattern are played.

    Parameters
    ----------
    seed
        Seed of all runs.
    changes
        Parameters that differ from the defaults.
    without
        Mechanisms that are taken away.
    """

    seed: int = 1
    changes: Mapping[str, float] = field(default_factory=dict)
    without: tuple[str, ...] = ()

    def begin(
        self, name: str, k: int, *, without: tuple[str, ...] = (), fish: tuple[FishChange, ...] = ()
    ) -> History:
        """Return replicate `k` of a set-up at its first moment."""
        checked = set_up(name, fish)
        taken = tuple(sorted({*self.without, *without}))
        scenario = checked.scenario.model_copy(update={"without": taken})
        return History(scenario, checked.layout, run=2 * k, seed=self.seed, changes=self.changes)

    def play(self, name: str, k: int, **more: Any) -> History:
        """Return replicate `k` of a set-up at its end."""
        history = self.begin(name, k, **more)
        history.advance()
        return history


def acts(history: History) -> np.ndarray:
    """Return the agonistic acts of each stretch, row toward column, shape (stretches, n, n)."""
    seen = history.state.seen
    total: np.ndarray = seen["displays"] + seen["bites"] + seen["wrestles"] + seen["chases"]
    return total


def won_by(history: History, name: str, *fish: str) -> float:
    """Return 1 if one of `fish` won a meeting, 0 if another did, nan if nobody did."""
    stretches = history.occasions.stretches
    which = [k for k, one in enumerate(stretches) if one.name == name][-1]
    winner = int(history.state.stretches["winner"][which])
    if winner < 0:
        return float("nan")
    rows = {row for one in fish for row in history.occasions.rows[one.lower()]}
    return float(winner in rows)


def column(units: Sequence[Unit], name: str) -> np.ndarray:
    """Return one number of every replicate, shape (n_units,)."""
    return np.array([unit[name] for unit in units], dtype=float)


def share(values: np.ndarray) -> float:
    """Return the mean of what is known; nan where nothing is."""
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) else float("nan")


def ratio(above: float, below: float) -> float:
    """Return a ratio, nan where there is nothing to divide by."""
    return above / below if below > 0.0 else float("nan")


def rank_correlation(x: np.ndarray, y: np.ndarray) -> float:
    """Return Spearman's rho; nan with fewer than four points or no variation."""
    from scipy.stats import spearmanr

    if len(x) < 4 or np.ptp(x) == 0.0 or np.ptp(y) == 0.0:
        return float("nan")
    return float(spearmanr(x, y).statistic)
