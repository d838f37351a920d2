"""Who is at risk once a brood is guarded: the four-foot tank with the brood and without it.

`python -m tests.published.brood_at_risk [RUNS]` prints what docs/evidence.md says of it.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from sim.engine import History
from sim.outcome import fish_names
from sim.paired import ratio_interval
from sim.settings import Settings
from sim.statistics import clustered_share_interval
from sim.unmeasured import RUNS_PER_SET
from tests.sim.worlds import shipped

LAID, SETTLED = 10.0, 3.0  # d: the eggs; the first days, which are left out of "before"
PAIR = (0, 1)


@dataclass(frozen=True)
class Risk:
    """Bites of the pair on each tankmate, shape (runs, tankmates), per waking hour.

    Parameters
    ----------
    names
        Of the tankmates.
    before, after
        From day 3 until the eggs, and from then to the end.
    serious
        Whether the tankmate was seriously hurt or died after the eggs.
    """

    names: tuple[str, ...]
    before: np.ndarray
    after: np.ndarray
    serious: np.ndarray


def risk_of(name: str, *, runs: int, days: float, without: tuple[str, ...] = ()) -> Risk:
    """Play a shipped tank and return what the pair does to the others."""
    checked = shipped(name)
    scenario = checked.scenario.model_copy(update={"days": days, "without": without})
    rates: list[list[np.ndarray]] = []
    serious = []
    for run in range(runs):
        history = History(scenario, checked.layout, run=run, settings=Settings(vary=True))
        seen = []
        for day in (SETTLED, LAID, days):
            history.advance(until_day=day)
            state = history.state
            bites = state.pair.bites[list(PAIR)].sum(axis=0)[len(PAIR) :]
            seen.append((bites, float(state.tank.awake[0]) / 3600.0))
        rates.append([(b[0] - a[0]) / (b[1] - a[1]) for a, b in pairwise(seen)])
        hurt = np.minimum(state.tally.serious_day, state.tally.death_day)[len(PAIR) :]
        serious.append((hurt >= LAID) & np.isfinite(hurt))
    both = np.array(rates)
    names = fish_names(scenario)[len(PAIR) :]
    return Risk(names, both[:, 0], both[:, 1], np.array(serious))


def main(runs: int) -> None:
    """Print bites with and without the brood, and how often a tankmate is seriously hurt."""
    brood = risk_of("convict-spawning", runs=runs, days=30.0)
    none = risk_of("convict-four-foot", runs=runs, days=30.0)
    sets = np.arange(runs) // RUNS_PER_SET

    def by_set(values: np.ndarray) -> np.ndarray:
        return np.bincount(sets, values) / np.bincount(sets)

    def times(a: np.ndarray, b: np.ndarray) -> str:
        found = ratio_interval(by_set(a), b=by_set(b))
        return "?" if found is None else f"{found.value:.2f} ({found.low:.2f} to {found.high:.2f})"

    for k, name in enumerate(brood.names):
        print(
            f"{name}: bites of the pair, after over before "
            f"{times(brood.after[:, k], brood.before[:, k])}, without a brood "
            f"{times(none.after[:, k], none.before[:, k])}; with over without, after "
            f"{times(brood.after[:, k], none.after[:, k])}; seriously hurt after in "
            f"{100 * brood.serious[:, k].mean():.1f} of 100 runs, without "
            f"{100 * none.serious[:, k].mean():.1f}"
        )
    for words, one in (("with the brood", brood), ("without", none)):
        hurt = np.bincount(sets, one.serious.any(axis=1))
        share = clustered_share_interval(hurt, sizes=np.bincount(sets))
        print(f"a tankmate seriously hurt after day 10, {words}: {share}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 160)
