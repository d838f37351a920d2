"""What the pictures of the report are drawn from, as plain values and shapes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.rules.codes import EGGS, FRY, IN_TANK, STAGES, WRIGGLERS
from viz.drawing import DrawnFish
from viz.hurt_spots import Spots, spots_of
from viz.results import Number
from viz.why_results import CourseResult, course_of

if TYPE_CHECKING:
    from sim.ground import Territory
    from sim.layout import Layout
    from sim.summary import Summary


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """A moment of one run: who holds what and where the fish are.

    Parameters
    ----------
    run
        Its number: the middle one by injury received.
    day
        Days since midnight of day 0.
    stage
        Layout with the furniture of that moment.
    ground, fish
        Territories, and the fish that are in the tank.
    open_share
        Share of the floor that nobody holds.
    young
        What the tank's brood is then: "fry", "eggs" and so on; "" without young.
    """

    run: int
    day: float
    stage: Layout
    ground: tuple[Territory, ...]
    fish: tuple[DrawnFish, ...]
    open_share: float
    young: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictured:
    """What the pictures of one tank are drawn from.

    Parameters
    ----------
    letter, name
        What it is called.
    moment
        Territories of a moment.
    unhurt
        Share of runs without a serious injury by the end of each day.
    unhurt_fish
        The same by fish.
    moved
        Share of runs in which no fish has been moved out by then; None where no keeper looks.
    spots
        Where on the floor the injury is taken.
    per_day
        Chases a day of row after column, shape (n_fish, n_fish).
    order, elo
        Rows of the fish by rank, and the mean Elo ratings after a run's last chases.
    linear
        Landau's h of the contests.
    injury_round, chases_round
        Injury and chases a day by the day from the first spawning; empty where nobody spawns.
    """

    letter: str
    name: str
    moment: Moment
    unhurt: CourseResult
    unhurt_fish: tuple[CourseResult, ...]
    moved: CourseResult | None
    spots: Spots
    per_day: np.ndarray
    order: tuple[int, ...]
    elo: np.ndarray
    linear: Number | None
    injury_round: CourseResult
    chases_round: CourseResult


def pictured(summary: Summary, *, letter: str, name: str) -> Pictured:
    """Return what the pictures of a tank are drawn from.

    Parameters
    ----------
    summary
        Of a batch that kept its days.
    letter, name
        What it is called.
    """
    from sim.by_day import moved_out, round_spawning, unhurt, unhurt_fish
    from viz.gathered import number_of

    batch = summary.batch
    dominance = summary.dominance
    elo = dominance.elo if dominance else np.zeros(len(summary.members))
    unit = "share of runs"
    return Pictured(
        letter=letter,
        name=name,
        moment=moment_of(summary),
        unhurt=course_of(unhurt(summary), unit=unit),
        unhurt_fish=tuple(course_of(one, unit=unit) for one in unhurt_fish(summary)),
        moved=course_of(moved_out(summary), unit=unit) if summary.keeper_looks else None,
        spots=spots_of(batch),
        per_day=batch.chases / (batch.done * batch.scenario.days),
        order=tuple(int(k) for k in np.argsort(-elo, kind="stable")),
        elo=elo,
        linear=number_of(dominance.landau_h, unit="") if dominance else None,
        injury_round=course_of(round_spawning(summary, "dose"), unit="injury"),
        chases_round=course_of(round_spawning(summary, "chases"), unit="per day"),
    )


def middle_run(summary: Summary) -> int:
    """Return the number of the run that is in the middle by injury received."""
    dose = summary.run_column("dose")
    order = np.argsort(dose, kind="stable")
    return int(order[(len(order) - 1) // 2])


def moment_of(summary: Summary) -> Moment:
    """Return the moment of the middle run at which the floor is most defended.

    The noon of the day on which least of the floor is open, among those with young where there are
    any; played again up to there.

    Parameters
    ----------
    summary
        Of a batch that kept its days.
    """
    from sim.by_day import day_table
    from sim.engine import History
    from sim.ground import territories

    batch = summary.batch
    run = middle_run(summary)
    held, stage = day_table(summary, "held_share")[run], day_table(summary, "stage")[run]
    whole = int(batch.scenario.days) or 1
    held, stage = held[:whole], stage[:whole]
    for young in (FRY, WRIGGLERS, EGGS):
        if (stage == young).any():
            held = np.where(stage == young, held, -1.0)
            break
    tank = batch.scenario.tank
    noon = (tank.lights_on_h + 0.5 * tank.light_hours) / 24.0
    day = float(np.argmax(held)) + noon
    history = History(
        batch.scenario, batch.layout, run=run, seed=batch.seed, settings=batch.settings,
        changes=batch.changes,
    )  # fmt: skip
    history.advance(until_day=min(day, batch.scenario.days))
    state = history.state
    fish = tuple(
        DrawnFish(i, float(row.x), float(row.y), float(row.head_x), float(row.head_y),
                  float(row.length), float(row.width), int(row.room))
        for i, row in enumerate(state.fish)
        if row.presence == IN_TANK
    )  # fmt: skip
    stage = batch.layout.stages[int(state.tank.furniture[0])]
    return Moment(
        run=run, day=history.day, stage=stage, ground=tuple(territories(history)), fish=fish,
        open_share=1.0 - float(state.tank.held_now[0]),
        young=STAGES[now] if EGGS <= (now := int(state.tank.stage[0])) <= FRY else "",
    )  # fmt: skip
