"""P8: defence rises through the brood, and mates share it.

Acts of each parent toward an intruder of its own kind that is in the tank for a quarter of an
hour, at each stage.

References
----------
Lavery1991, Teresa2011, AlShaer2025
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sim.evidence.study import Observables, Study, Unit, acts, column, ratio

INTRUDERS = {"own": 3, "other": 1}  # at each stage
STAGES = ("courting", "eggs", "wrigglers", "fry", "late fry")


def unit(study: Study, k: int) -> Unit:
    """Let intruders come to a pair and to a lone female through one brood."""
    found: Unit = {}
    for name, setup in (("pair", "brood-and-intruders"), ("lone", "lone-female")):
        history = study.play(setup, k)
        counts = acts(history)
        chases = history.state.seen["chases"]
        for s, stretch in enumerate(history.occasions.stretches):
            stage, kind = stretch.name.split(", ")
            (intruder,) = history.occasions.rows[stretch.fish[0].lower()]
            for row, parent in enumerate(("father", "mother")):
                key = f"{name}_{parent}_{stage}_{kind.split()[0]}"
                each = 1.0 / INTRUDERS[kind.split()[0]]
                found[key] = found.get(key, 0.0) + each * counts[s, row, intruder]
                key = f"{key}_chases"
                found[key] = found.get(key, 0.0) + each * chases[s, row, intruder]
    return found


def measure(units: Sequence[Unit]) -> Observables:
    """Return defence by stage and parent, how it is shared, and against whom it goes."""
    mean = {name: float(column(units, name).mean()) for name in units[0]}
    found: Observables = {}
    for parent in ("father", "mother"):
        by_stage = [mean[f"pair_{parent}_{stage}_own"] for stage in STAGES[:4]]
        found |= {f"{parent}_{s}": v for s, v in zip(STAGES, by_stage, strict=False)}
        _, eggs, wrigglers, fry = by_stage
        found[f"{parent}_rise_wrigglers"] = ratio(wrigglers - eggs, wrigglers + eggs)
        found[f"{parent}_rise_fry"] = ratio(fry - wrigglers, fry + wrigglers)
    for stage in ("courting", "eggs", "fry"):
        his, hers = (mean[f"pair_{p}_{stage}_own_chases"] for p in ("father", "mother"))
        found[f"male_share_{stage}"] = ratio(his, his + hers)
    found["male_share_falls"] = found["male_share_courting"] - found["male_share_fry"]
    guarded = STAGES[1:]
    pair = sum(mean[f"pair_{p}_{s}_own_chases"] for p in ("father", "mother") for s in guarded)
    lone = sum(mean[f"lone_mother_{s}_own_chases"] for s in guarded)
    found["parent_over_lone"] = ratio(pair / 2.0, lone)
    own, other = (
        sum(mean[f"pair_{p}_{s}_{kind}"] for p in ("father", "mother") for s in STAGES)
        for kind in ("own", "other")
    )
    found["own_over_other"] = ratio(own, other)
    found["lone_chases"] = float(np.float64(lone))
    return found
