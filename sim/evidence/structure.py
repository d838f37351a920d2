"""P7: structure lowers the share of pairs that fight.

A fight is a contest, of which there is at least one within half an hour. A fish that is chased off
without resisting has not fought.

References
----------
Kadry2010
"""

from __future__ import annotations

from collections.abc import Sequence

from sim.evidence.study import Observables, Study, Unit, column, share, won_by


def unit(study: Study, k: int) -> Unit:
    """Put an intruder to a resident of its size, in a bare and in an enriched tank."""
    found: Unit = {}
    for name in ("bare", "enriched"):
        history = study.play(f"resident-{name}", k)
        found[f"fights_{name}"] = float(history.state.seen["contests"].sum() > 0)
        found[f"resident_wins_{name}"] = won_by(history, "intrusion", "Resident")
        found[f"chases_{name}"] = float(history.state.seen["chases"].sum())
        row = history.state.stretches[0]
        waited = float(row.first_act - row.start)
        found[f"latency_{name}_s"] = waited if waited < row.end - row.start else float("nan")
    return found


def measure(units: Sequence[Unit]) -> Observables:
    """Return shares of pairs."""
    return {name: share(column(units, name)) for name in units[0]}
