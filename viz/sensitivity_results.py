"""Results of a study of sensitivity as plain values: all that its page and figures read."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import Any

import numpy as np

from sim.errors import Problem, Refused
from sim.parameters import load_parameters
from sim.sensitivity.company import KINDS
from sim.sensitivity.indices import Indices, indices_of
from sim.sensitivity.outcomes import OUTCOMES, table_of
from sim.sensitivity.plan import PART_POINTS, Plan
from sim.sensitivity.playing import takes_part
from sim.sensitivity.screening import Effect, effects_of, share_of_squares
from viz.asked import quoted
from viz.sensitivity_rows import Kept

Results = dict[str, Any]
ORDERS = ("dose_difference", "hidden_h_per_day_difference", "open_share_difference")
COLUMNS = ("mean", "size", "spread", "luck", "clear", "told", "share")
TAILS = (5.0, 95.0)  # percent of points


def _whole_paths(kept: Kept, kind: str) -> tuple[Plan, list[Any], np.ndarray] | None:
    plan = kept.plans.get(f"{kind}/morris")
    if plan is None:
        return None
    unknown = [name for name in plan.names if name not in load_parameters()]
    if unknown:
        raise Refused(
            Problem(
                f"{quoted(kept.path)}, {plan.key}",
                f"moves {unknown[0]}, which is no parameter any more; expected a study of the "
                "numbers there are. Begin another file.",
            )
        )
    width = len(plan.names) + 1
    rows = kept.rows[plan.key]
    count = len(rows) // width * width
    if count == 0:
        return None
    places = np.array([plan.places(number) for number in range(count)], dtype=float)
    return plan, [row["seen"] for row in rows[:count]], places


def screened(kept: Kept, kind: str) -> dict[str, list[Effect]]:
    """Return the effects of the screening by outcome; empty where no path is whole.

    Parameters
    ----------
    kept
        Rows of the study.
    kind
        Which fish.
    """
    found = _whole_paths(kept, kind)
    if found is None:
        return {}
    plan, seen, places = found
    return {
        outcome.name: effects_of(plan.names, places, table_of(outcome, seen))
        for outcome in OUTCOMES
    }


def results_of(kept: Kept, *, shares: bool = True) -> Results:
    """Return what a study says, as plain values.

    Parameters
    ----------
    kept
        Rows of the study.
    shares
        Whether to fit emulators, which takes a few seconds an outcome.

    Raises
    ------
    Refused
        If there is no whole path in it.
    """
    results = {kind: _of_kind(kept, kind, shares) for kind in KINDS if _whole_paths(kept, kind)}
    if not results:
        raise Refused(
            Problem(
                quoted(kept.path),
                "has no whole path of stage morris; expected one or more. Play --stage morris.",
            )
        )
    return results


def _of_kind(kept: Kept, kind: str, shares: bool) -> Results:
    found = _whole_paths(kept, kind)
    assert found is not None
    plan, seen, _ = found
    found_effects = screened(kept, kind)
    parts = kept.plans.get(f"{kind}/parts")
    idle: list[str] = []
    if parts is not None:
        part = takes_part(parts, kept.rows[parts.key])
        idle = [name for name in parts.names if not part[name]]
    result: Results = {
        "model": plan.model,
        "days": plan.days,
        "seed": plan.seed,
        "idle": idle,
        "trials": PART_POINTS,
        "morris": {
            "paths": len(seen) // (len(plan.names) + 1),
            "points": len(seen),
            "runs": plan.runs,
            "names": list(plan.names),
            "columns": list(COLUMNS),
            "effects": {name: _table(rows) for name, rows in found_effects.items()},
        },
        "sobol": None,
    }
    cloud = kept.plans.get(f"{kind}/sobol")
    rows = kept.rows[cloud.key] if cloud is not None and shares else []
    if cloud is not None and rows:
        seen = [row["seen"] for row in rows]
        places = np.array([cloud.places(number) for number in range(len(rows))], dtype=float)
        result["sobol"] = {
            "points": len(rows),
            "runs": cloud.runs,
            "names": list(cloud.names),
            "outcomes": {
                outcome.name: _plain(
                    indices_of(cloud.names, places, table_of(outcome, seen), seed=1)
                )
                for outcome in OUTCOMES
            },
        }
    result["over"] = "sobol" if rows else "morris"
    result["spans"] = _spans(seen)
    result["orders"] = _orders(seen)
    return _finite(result)  # type: ignore[no-any-return]


def _table(rows: list[Effect]) -> list[list[Any]]:
    shares = share_of_squares(rows)
    return [[*(getattr(one, name) for name in COLUMNS[:-1]), shares[one.name]] for one in rows]


def effects(kind: Results, outcome: str) -> list[Results]:
    """Return the effects on an outcome, each with its name and the columns by name.

    Parameters
    ----------
    kind
        Results of one pair of tanks.
    outcome
        Name of the outcome.
    """
    screen = kind["morris"]
    return [
        {"name": name, **dict(zip(screen["columns"], row, strict=True))}
        for name, row in zip(screen["names"], screen["effects"][outcome], strict=True)
    ]


def _plain(found: Indices) -> Results:
    return {
        "r2": found.r2,
        "clear_r2": found.clear_r2,
        "luck": found.luck,
        "spread": found.spread,
        "first": {name: list(asdict(one).values()) for name, one in found.first.items()},
        "total": {name: list(asdict(one).values()) for name, one in found.total.items()},
    }


def _spans(seen: list[Any]) -> Results:
    """Mean and tails of each outcome over the points, each the mean of its runs."""
    spans = {}
    for outcome in OUTCOMES:
        means = table_of(outcome, seen).mean(axis=1)
        if outcome.in_log:
            means = np.exp(means)
        low, high = np.percentile(means, TAILS)
        spans[outcome.name] = [float(np.median(means)), float(low), float(high)]
    return spans


def _orders(seen: list[Any]) -> Results:
    """In how many points the six-foot tank had less of it: less, alike, more."""
    orders = {}
    for outcome in OUTCOMES:
        if outcome.name in ORDERS:
            means = table_of(outcome, seen).mean(axis=1)
            orders[outcome.name] = [
                int(np.sum(means < 0.0)),
                int(np.sum(means == 0.0)),
                int(np.sum(means > 0.0)),
            ]
    return orders


def _finite(value: Any) -> Any:
    """The same with what is no number as null, and four digits of the rest."""
    if isinstance(value, dict):
        return {key: _finite(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_finite(one) for one in value]
    if isinstance(value, float):
        return float(f"{value:.4g}") if math.isfinite(value) else None
    return value
