"""P3: a fish that is large enough overrides experience.

References
----------
Beaugrand1996
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sim.evidence.study import Observables, Study, Unit, column, share, won_by

CLASSES = (5, 15, 25)  # per cent larger side, the middle of each class of the paper
LARGE = ("Large one", "Large two")


def unit(study: Study, k: int) -> Unit:
    """Stage a smaller winner against a larger loser in each class of size."""
    return {
        f"larger_wins_{pc}": won_by(study.play(f"size-experience-{pc}", k), "test", *LARGE)
        for pc in CLASSES
    }


def measure(units: Sequence[Unit]) -> Observables:
    """Return the share of larger fish that win in each class, and the slope that comes of it."""
    found = {name: share(column(units, name)) for name in units[0]}
    weights = np.log(1.0 + np.array(CLASSES) / 100.0) * 1.5  # area to weight
    values = np.clip([found[f"larger_wins_{pc}"] for pc in CLASSES], 0.01, 0.99)
    found["slope"] = float(np.polyfit(weights, np.log(values / (1.0 - values)), 1)[0])
    found["rise"] = found["larger_wins_25"] - found["larger_wins_5"]
    return found
