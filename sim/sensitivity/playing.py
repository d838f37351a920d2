"""Playing: the points of a plan, each with the same fish in both tanks."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from sim.crew import Job, play
from sim.outcome import Outcome as Played
from sim.sensitivity.company import TANKS, company
from sim.sensitivity.outcomes import RAW
from sim.sensitivity.plan import Plan

Row = dict[str, Any]


def play_points(plan: Plan, numbers: Sequence[int], *, workers: int | None) -> Iterator[Row]:
    """Play points and yield a row of each, in their order.

    Parameters
    ----------
    plan
        What is played.
    numbers
        Numbers of its points.
    workers
        Threads; as many as there are cores where None.

    Yields
    ------
    dict
        `of`, the plan's key; `number`; and `seen`, the runs of each tank by outcome, or for the
        stage *parts* a digest of all that came out of the four-foot tank.
    """
    tanks = company(plan.kind, days=plan.days).tanks[: 1 if plan.stage == "parts" else None]
    jobs = (
        Job(
            scenario=tank.scenario,
            layout=tank.layout,
            run=plan.first_run(number) + run,
            seed=plan.seed,
            changes=changes,
        )
        for number in numbers
        for changes in (plan.numbers(number),)
        for run in range(plan.runs)
        for tank in tanks
    )
    outcomes = play(jobs, workers=workers)
    try:
        for number in numbers:
            rows = [next(outcomes) for _ in range(plan.runs * len(tanks))]
            yield {"of": plan.key, "number": number, "seen": _seen(plan, rows)}
    finally:
        outcomes.close()  # type: ignore[attr-defined]


def _seen(plan: Plan, played: list[Played]) -> Any:
    if plan.stage == "parts":
        return _digest(played)
    return {
        tank: {
            name: [_short(float(one.row[name][0])) for one in played[k :: len(TANKS)]]
            for name in RAW
        }
        for k, tank in enumerate(TANKS)
    }


def _short(value: float) -> float:
    return float(f"{value:.6g}")


def _digest(played: list[Played]) -> str:
    digest = hashlib.sha256()
    for one in played:
        row = np.array(one.row)
        row["harm_per_bite"] = 0.0  # the number itself, no outcome
        digest.update(row.tobytes() + np.array(one.fish).tobytes())
    return digest.hexdigest()[:16]


def takes_part(plan: Plan, rows: Sequence[Row]) -> dict[str, bool]:
    """Return for each number whether moving it changed anything in the runs of stage *parts*.

    Parameters
    ----------
    plan, rows
        The plan and all its rows, in order.
    """
    width = len(plan.names) + 1
    digests = [row["seen"] for row in rows]
    return {
        name: any(
            digests[base + k] != digests[base] for base in range(0, len(digests) - width + 1, width)
        )
        for k, name in enumerate(plan.names, start=1)
    }
