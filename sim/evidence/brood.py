"""P8: defence rises through the brood, and mates share it.

Acts of each parent toward an intruder of its own kind that is in the tank for a quarter of an
hour, at each stage; fry are looked at twice, when they have just begun to swim and a week later.
How two parents share the work of one is measured where the paper measured it, in open water with
intruders that come and go: in a small tank an intruder that cannot leave gives work to both.

References
----------
Lavery1991, Teresa2011, AlShaer2025
"""

from __future__ import annotations

from collections.abc import Sequence

from sim.evidence.study import Observables, Study, Unit, acts, column, ratio

INTRUDERS = {"own": 3, "other": 1}  # at each stage
STAGES = ("courting", "eggs", "wrigglers", "fry", "late fry")
PARENTS = ("father", "mother")  # rows 0 and 1 of every set-up


def unit(study: Study, k: int) -> Unit:
    """Let intruders come to a pair through one brood, and to a pair and a lone female in a lake."""
    found: Unit = {}
    history = study.play("brood-and-intruders", k)
    counts = acts(history)
    chases = history.state.seen["chases"]
    for s, stretch in enumerate(history.occasions.stretches):
        stage, kind = stretch.name.split(", ")
        (intruder,) = history.occasions.rows[stretch.fish[0].lower()]
        for row, parent in enumerate(PARENTS):
            key = f"{parent}_{stage}_{kind.split()[0]}"
            each = 1.0 / INTRUDERS[kind.split()[0]]
            found[key] = found.get(key, 0.0) + each * counts[s, row, intruder]
            key = f"{key}_chases"
            found[key] = found.get(key, 0.0) + each * chases[s, row, intruder]
    for name, setup in (("pair", "lake-pair"), ("lone", "lake-lone-female")):
        chases = study.play(setup, k).state.seen["chases"]
        for row, parent in enumerate(PARENTS):
            found[f"lake_{name}_{parent}"] = float(chases[:, row, len(PARENTS) :].sum())
    return found


def measure(units: Sequence[Unit]) -> Observables:
    """Return defence by stage and parent, how it is shared, and against whom it goes."""
    mean = {name: float(column(units, name).mean()) for name in units[0]}

    def swimming(parent: str, what: str) -> float:
        return 0.5 * (mean[f"{parent}_fry_{what}"] + mean[f"{parent}_late fry_{what}"])

    found: Observables = {}
    for parent in PARENTS:
        by_stage = [mean[f"{parent}_{stage}_own"] for stage in STAGES]
        found |= {f"{parent}_{s}": v for s, v in zip(STAGES, by_stage, strict=True)}
        _, eggs, wrigglers, *_ = by_stage
        fry = swimming(parent, "own")
        found[f"{parent}_rise_wrigglers"] = ratio(wrigglers - eggs, wrigglers + eggs)
        found[f"{parent}_rise_fry"] = ratio(fry - wrigglers, fry + wrigglers)
    for stage in ("courting", "eggs"):
        his, hers = (mean[f"{parent}_{stage}_own_chases"] for parent in PARENTS)
        found[f"male_share_{stage}"] = ratio(his, his + hers)
    found["male_share_eggs_falls"] = found["male_share_courting"] - found["male_share_eggs"]
    his, hers = (swimming(parent, "own_chases") for parent in PARENTS)
    found["male_share_fry"] = ratio(his, his + hers)
    found["male_share_falls"] = found["male_share_courting"] - found["male_share_fry"]
    parents = 0.5 * (mean["lake_pair_father"] + mean["lake_pair_mother"])
    found["lone_chases"] = mean["lake_lone_mother"]
    found["parent_over_lone"] = ratio(parents, mean["lake_lone_mother"])
    own, other = (
        sum(mean[f"{parent}_{stage}_{kind}"] for parent in PARENTS for stage in STAGES)
        for kind in ("own", "other")
    )
    found["own_over_other"] = ratio(own, other)
    return found
