"""P1: fish of one size fight twice as much as fish of mixed sizes.

References
----------
Boscolo2011. The level hangs on what one act is (`sim.rules.observe`): the ratio less so.
"""

from __future__ import annotations

from collections.abc import Sequence

from sim.evidence.study import Observables, Study, Unit, acts, column, ratio


def unit(study: Study, k: int) -> Unit:
    """Play one matched and one mixed group."""
    same = study.play("matched-groups", k)
    mixed = study.play("mixed-groups", k)
    found: Unit = {"same": float(acts(same).sum()), "mixed": float(acts(mixed).sum())}
    for name, of in (("same", same), ("mixed", mixed)):
        found[f"{name}_contest_s"] = float(of.state.seen["contest_s"].sum())
        found[f"{name}_hurt"] = float((of.state.tally.serious_day < 1e9).mean())
        for kind in ("displays", "bites", "wrestles", "chases"):
            found[f"{name}_{kind}"] = float(of.state.seen[kind].sum())
    return found


def measure(units: Sequence[Unit]) -> Observables:
    """Return acts in 50 min of both kinds, their ratio, what they were, and who was hurt."""
    found = {name: float(column(units, name).mean()) for name in units[0]}
    found["hurt"] = 0.5 * (found["same_hurt"] + found["mixed_hurt"])
    found["ratio"] = ratio(found["same"], found["mixed"])
    return found
