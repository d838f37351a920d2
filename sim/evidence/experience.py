"""P2: a fish that has won wins again two hours later, one that has lost loses again.

References
----------
Oliveira2009
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sim.evidence.study import Observables, Study, Unit, column, share, won_by


def unit(study: Study, k: int) -> Unit:
    """Stage one winner and one loser against a naive male each, with learning and without."""
    found: Unit = {}
    for name, without in (("", ()), ("_untaught", ("learning",))):
        winner = study.play("experience-winner", k, without=without)
        loser = study.play("experience-loser", k, without=without)
        again = won_by(winner, "test", "Naive")
        found[f"winner_wins{name}"] = 1.0 - again
        found[f"loser_loses{name}"] = won_by(loser, "test", "Naive")
        if not name:
            seen = winner.state.seen[0]
            long = float(seen["contest_s"].sum())
            found["fight_min"] = long / 60.0 if long > 0.0 else float("nan")
            found["display_share"] = float(seen["display_s"].sum()) / long if long else float("nan")
            found["undecided"] = float(np.isnan(again))
    return found


def measure(units: Sequence[Unit]) -> Observables:
    """Return shares of those decided, and what the first fights were like."""
    return {name: share(column(units, name)) for name in units[0]}
