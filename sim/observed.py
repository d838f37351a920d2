"""Observed: what somebody who watches counts, as rows of every run and as figures of a batch.

A *sitting* is one stretch of one day. Runs are what is averaged over: the sittings of one name in a
run are taken together first.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.figures import Figure, Measure, figure_of, ratio_of_counts
from sim.observing import stretches_of
from sim.records import SEEN
from sim.state import NEVER

if TYPE_CHECKING:
    from sim.batch import Batch
    from sim.outcome import Outcome

ACTS = ("displays", "bites", "wrestles", "chases")
COUNTED = tuple(SEEN.names or ())

SITTING_ROW = np.dtype(
    [
        ("run", "i8"),
        ("sitting", "i8"),  # in the order of time
        ("missed", "u1"),  # a fish of the meeting was not to be had
        ("start_s", "f8"),  # since midnight of day 0
        ("lasted_s", "f8"),  # nan where it was missed
        ("first_act_s", "f8"),  # after its start; nan without an act
        ("decided_s", "f8"),  # after its start; nan where nobody won
        ("winner", "i8"),  # row of the fish, -1 none
        ("loser", "i8"),
        *((name, "i8") for name in ACTS),
        ("contests", "i8"),
        ("contest_s", "f8"),
    ]
)

ACTS_ROW = np.dtype(
    [
        ("run", "i8"),
        ("sitting", "i8"),
        ("actor", "i8"),
        ("other", "i8"),
        *((name, SEEN[name]) for name in COUNTED),
    ]
)

MEASURES = {
    m.name: m
    for m in (
        Measure("acts", "per sitting", "mean", "less", "acts, all fish together"),
        Measure("displays", "per sitting", "mean", "less", "displays"),
        Measure("bites", "per sitting", "mean", "less", "bites that land"),
        Measure("wrestles", "per sitting", "mean", "less", "acts of mouth wrestling"),
        Measure("chases", "per sitting", "mean", "less", "chases"),
        Measure("contests", "per sitting", "mean", "less", "contests that ended"),
        Measure("first_act_min", "min", "mean", "", "minutes to the first act, where there is one"),
    )
}
MEETING_MEASURES = {
    m.name: m
    for m in (
        Measure("missed", "share of sittings", "share", "", "a fish of the meeting was not there"),
        Measure("decided", "share of sittings", "share", "", "meetings that somebody won"),
        Measure("decided_min", "min", "mean", "", "minutes until then, where somebody won"),
    )
}
FISH_MEASURES = {
    m.name: m
    for m in (
        Measure("given", "per sitting", "mean", "", "acts toward others"),
        Measure("taken", "per sitting", "mean", "less", "acts of others toward it"),
        Measure("won", "share of sittings", "share", "", "meetings that it won"),
    )
}


@dataclass(frozen=True, slots=True)
class ObservedFish:
    """What one fish does and is done to in the sittings of one name.

    Parameters
    ----------
    row
        Its place in all tables.
    figures
        By the names of `FISH_MEASURES`.
    """

    row: int
    figures: dict[str, Figure]


@dataclass(frozen=True, slots=True)
class Observed:
    """What is counted in the sittings of one name.

    Parameters
    ----------
    name
        Of the observation.
    days
        On which it is made.
    at_h, minutes
        Time of day, and how long.
    meeting
        Whether fish are put in for it.
    figures
        By the names of `MEASURES`, and of `MEETING_MEASURES` for a meeting.
    fish
        Those that did something or to whom something was done in any run.
    """

    name: str
    days: tuple[int, ...]
    at_h: float
    minutes: float
    meeting: bool
    figures: dict[str, Figure]
    fish: tuple[ObservedFish, ...]


def sitting_rows(outcome: Outcome) -> np.ndarray:
    """Return a row for each sitting of a run, of `SITTING_ROW`, shape (n_sittings,).

    Parameters
    ----------
    outcome
        Of the run.
    """
    told, seen = outcome.stretches, outcome.seen
    rows = np.zeros(len(told), SITTING_ROW)
    rows["run"] = outcome.run
    rows["sitting"] = np.arange(len(told))
    for name in ("missed", "winner", "loser"):
        rows[name] = told[name]
    rows["start_s"] = told["start"]
    for name, field in (("lasted_s", "ended"), ("first_act_s", "first_act")):
        rows[name] = _since(told[field], told["start"])
    rows["decided_s"] = _since(told["decided_at"], told["start"])
    rows["lasted_s"][told["missed"] == 1] = math.nan
    for name in (*ACTS, "contests", "contest_s"):
        rows[name] = seen[name].sum(axis=(1, 2))
    return rows


def act_rows(outcome: Outcome) -> np.ndarray:
    """Return a row for each ordered pair of fish that did anything in a sitting, of `ACTS_ROW`.

    Parameters
    ----------
    outcome
        Of the run.
    """
    seen = outcome.seen
    any_of = np.zeros(seen.shape, bool)
    for name in COUNTED:
        any_of |= seen[name] > 0
    sitting, actor, other = np.nonzero(any_of)
    rows = np.zeros(len(sitting), ACTS_ROW)
    rows["run"] = outcome.run
    rows["sitting"], rows["actor"], rows["other"] = sitting, actor, other
    for name in COUNTED:
        rows[name] = seen[name][any_of]
    return rows


def observed_of(batch: Batch, *, runs: int, cluster: np.ndarray, level: float) -> list[Observed]:
    """Return what is counted in the sittings of each observation, in the order of the file.

    Parameters
    ----------
    batch
        With one run or more.
    runs
        How many of them to use, from the first.
    cluster
        What of each run is independent, shape (n_runs,).
    level
        Coverage of the intervals, 0 to 1.
    """
    scenario = batch.scenario
    if not scenario.observe:
        return []
    stretches = stretches_of(scenario)
    rows = batch.sittings.rows()[: runs * len(stretches)].reshape(runs, len(stretches))
    acts = batch.acts.rows()
    acts = acts[acts["run"] < rows["run"][0, 0] + runs]
    found = []
    for one in scenario.observe:
        which = [k for k, stretch in enumerate(stretches) if stretch.name == one.name]
        found.append(
            Observed(
                name=one.name,
                days=tuple(stretches[k].day for k in which),
                at_h=one.at_h,
                minutes=one.minutes,
                meeting=bool(one.fish),
                figures=_figures(
                    rows[:, which], meeting=bool(one.fish), cluster=cluster, level=level
                ),
                fish=_fish(
                    rows[:, which],
                    acts[np.isin(acts["sitting"], which)],
                    n_fish=batch.n_fish,
                    meeting=bool(one.fish),
                    cluster=cluster,
                    level=level,
                ),
            )
        )
    return found


def _since(when_s: np.ndarray, start_s: np.ndarray) -> np.ndarray:
    """Seconds from the start of each sitting, nan for what never came."""
    return np.where(when_s < 0.5 * NEVER, when_s - start_s, math.nan)


def _mean(values: np.ndarray, there: np.ndarray) -> np.ndarray:
    """Mean over the sittings of each run that have a value; nan in a run where none has."""
    count = there.sum(axis=1)
    total = np.where(there, values, 0.0).sum(axis=1)
    return np.where(count > 0, total / np.maximum(count, 1), math.nan)


def _figures(
    rows: np.ndarray, *, meeting: bool, cluster: np.ndarray, level: float
) -> dict[str, Figure]:
    held = rows["missed"] == 0
    acted, decided = np.isfinite(rows["first_act_s"]), np.isfinite(rows["decided_s"])
    columns = {name: _mean(rows[name], held) for name in (*ACTS, "contests")}
    columns["acts"] = _mean(np.sum([rows[name] for name in ACTS], axis=0), held)
    columns["first_act_min"] = _mean(rows["first_act_s"] / 60.0, acted)
    measures = dict(MEASURES)
    if meeting:
        columns["decided_min"] = _mean(rows["decided_s"] / 60.0, decided)
        measures["decided_min"] = MEETING_MEASURES["decided_min"]
    found = {
        name: figure_of(measure, columns[name], draw=cluster, level=level)
        for name, measure in measures.items()
    }
    if meeting:
        found["missed"] = _share(
            "missed", ~held, of=np.ones_like(held), cluster=cluster, level=level
        )
        found["decided"] = _share("decided", decided, of=held, cluster=cluster, level=level)
    return {name: figure for name, figure in found.items() if figure is not None}


def _share(
    name: str, had: np.ndarray, *, of: np.ndarray, cluster: np.ndarray, level: float
) -> Figure | None:
    """Share of the sittings of all runs, clustered; None where there was none."""
    counts, size = had.sum(axis=1), of.sum(axis=1)
    there = size > 0
    if not there.any():
        return None
    measure = {**MEETING_MEASURES, **FISH_MEASURES}[name]
    return Figure(
        measure,
        ratio_of_counts(counts[there], of=size[there], draw=cluster[there], level=level),
    )


def _fish(
    rows: np.ndarray,
    acts: np.ndarray,
    *,
    n_fish: int,
    meeting: bool,
    cluster: np.ndarray,
    level: float,
) -> tuple[ObservedFish, ...]:
    runs = len(rows)
    held = rows["missed"] == 0
    sittings = held.sum(axis=1)
    run = acts["run"] - rows["run"][0, 0]
    each = np.sum([acts[name] for name in ACTS], axis=0)
    totals = {}
    for name, field in (("given", "actor"), ("taken", "other")):
        totals[name] = np.zeros((runs, n_fish))
        np.add.at(totals[name], (run, acts[field]), each)
    found = []
    for i in range(n_fish):
        won = rows["winner"] == i
        if not (totals["given"][:, i].any() or totals["taken"][:, i].any() or won.any()):
            continue
        figures = {
            name: figure_of(
                FISH_MEASURES[name],
                np.where(sittings > 0, total[:, i] / np.maximum(sittings, 1), math.nan),
                draw=cluster,
                level=level,
            )
            for name, total in totals.items()
        }
        if meeting:
            figures["won"] = _share("won", won & held, of=held, cluster=cluster, level=level)
        found.append(ObservedFish(i, {name: figure for name, figure in figures.items() if figure}))
    return tuple(found)
