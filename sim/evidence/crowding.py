"""P10: as intruders grow many, attacks on them rise, then fall.

References
----------
Caballero2003, on a sea bream: the direction is the claim, not the place of the peak.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sim.evidence.study import Observables, Study, Unit, acts, column, rank_correlation

COUNTS = (1, 2, 4, 8, 12, 16, 20, 24)


def unit(study: Study, k: int) -> Unit:
    """Watch an owner among 1 to 24 intruders for an hour each."""
    found: Unit = {}
    for count in COUNTS:
        history = study.play("crowding", k, fish=(("Intruders", (("count", count),)),))
        found[f"acts_{count}"] = float(acts(history)[:, 0, 1:].sum())
    return found


def measure(units: Sequence[Unit]) -> Observables:
    """Return the owner's acts an hour by number of intruders, where they peak, and per intruder."""
    total = np.array([column(units, f"acts_{count}").mean() for count in COUNTS])
    found = {f"acts_{count}": float(v) for count, v in zip(COUNTS, total, strict=True)}
    found["peak_at"] = float(COUNTS[int(np.argmax(total))])
    found["last_over_peak"] = float(total[-1] / max(total.max(), 1e-9))
    each = total / np.array(COUNTS)
    found["rho_each"] = rank_correlation(np.array(COUNTS, dtype=float), each)
    return found
