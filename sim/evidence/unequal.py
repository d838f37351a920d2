"""P5: fights shorten as the fish differ, though their phases do not.

References
----------
Koops1993, Enquist1990, Enquist1986
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sim.evidence.study import Observables, Study, Unit, rank_correlation, share

PAIRS = 12


def unit(study: Study, k: int) -> Unit:
    """Stage twelve pairs of one day's fish, from matched to nearly five times as heavy."""
    history = study.play("unequal-pairs", k)
    rows = history.state.stretches
    mass = history.state.fish["mass"]
    total = history.state.seen
    found: dict[str, list[float]] = {
        name: [] for name in ("ratio", "seconds", "fought", "display_s", "biting_s", "wrestling_s")
    }
    for p in range(PAIRS):
        found["ratio"].append(float(mass[2 * p] / mass[2 * p + 1]))
        met = rows["winner"][p] >= 0
        lasted = rows["decided_at"][p] - rows["first_act"][p] if met else float("nan")
        found["seconds"].append(max(lasted, 0.0) if met else float("nan"))
        found["fought"].append(float(total[p]["contests"].sum() > 0))
        for name in ("display_s", "biting_s", "wrestling_s"):
            found[name].append(float(total[p][name].sum()))
    return {name: np.array(values) for name, values in found.items()}


def measure(units: Sequence[Unit]) -> Observables:
    """Return correlations with the weight ratio over all pairs, and shares by quarter."""
    all_of = {name: np.concatenate([unit[name] for unit in units]) for name in units[0]}
    ratio, met = all_of["ratio"], np.isfinite(all_of["seconds"])
    found = {"rho_duration": rank_correlation(ratio[met], all_of["seconds"][met])}
    wrestled = (all_of["wrestling_s"] > 0.0).astype(float)
    quarter = np.searchsorted(np.quantile(ratio, [0.25, 0.5, 0.75]), ratio, side="right")
    shares = [share(wrestled[quarter == q]) for q in range(4)]
    found |= {f"wrestle_q{q + 1}": value for q, value in enumerate(shares)}
    found["wrestle_step_up"] = float(np.max(np.diff(shares)))
    found["wrestle_fall"] = shares[0] - shares[-1]
    done = all_of["biting_s"] > 0.0
    found["rho_display"] = rank_correlation(ratio[done], all_of["display_s"][done])
    done = wrestled > 0.0
    found["rho_biting"] = rank_correlation(ratio[done], all_of["biting_s"][done])
    found["unequal_fight"] = share(all_of["fought"][ratio > 2.0])
    near = (ratio < 1.2) & (all_of["fought"] > 0.0)
    seconds = all_of["display_s"] + all_of["biting_s"] + all_of["wrestling_s"]
    found["matched_min"] = share(seconds[near]) / 60.0
    found["display_share"] = share(all_of["display_s"][near] / np.maximum(seconds[near], 1e-9))
    return found
