"""P6: aggression peaks at about two competitors for each patch of food.

Acts counted in the quarter of an hour from the start of each meal. No parameter holds the number
of competitors at the peak; what a chase costs beside how long a chased fish stays off its food
(`food_chase_time`, `food_away_time`, both assumed) says where giving up sets in.

References
----------
Noel2005, Grant2000
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sim.evidence.study import Observables, Study, Unit, acts, column

PATCHES = (10, 7, 5, 2, 1)
FISH = 10


def unit(study: Study, k: int) -> Unit:
    """Feed one group of ten from each number of patches."""
    found: Unit = {}
    for patches in PATCHES:
        counts = acts(study.play(f"patches-{patches}", k))
        found[f"acts_{patches}"] = float(counts.sum() / len(counts))
    return found


def measure(units: Sequence[Unit]) -> Observables:
    """Return acts a meal by number of patches, and at how many competitors they peak."""
    mean = np.array([column(units, f"acts_{patches}").mean() for patches in PATCHES])
    found = {f"acts_{p}": float(value) for p, value in zip(PATCHES, mean, strict=True)}
    best = int(np.argmax(mean))
    top = max(float(mean[best]), 1e-9)
    found["peak_at"] = FISH / PATCHES[best]
    found["at_1_over_peak"] = float(mean[0]) / top
    found["at_10_over_peak"] = float(mean[-1]) / top
    return found
