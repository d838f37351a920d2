"""Moment: how a running tank stands, as plain values for the page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from sim.chronicle import place_name
from sim.ground import territories
from sim.outcome import fish_names, injury_now
from sim.rules.codes import (
    AWAY,
    CONTEST,
    DEAD,
    EGGS,
    FLEE,
    FRY,
    IN_TANK,
    MOVED_OUT,
    NOT_YET,
    PURSUE,
    STAGES,
    TO_FOOD,
)
from viz.app.events import Stretch, Teller, Told, recent
from viz.app.picked import Picked, picked_of
from viz.replay_page import moment

if TYPE_CHECKING:
    from sim.engine import History
    from sim.hands import Played

Ring = tuple[tuple[float, float], ...]
MOST_BITES = 60  # marked on the floor
MARGIN = 0.003  # m, to which outlines are drawn


@dataclass(frozen=True)
class FishNow:
    """One fish now.

    Parameters
    ----------
    name
        Its name.
    length_m
        Total length.
    doing
        What it does, in words.
    hurt
        ``""``, ``"torn fins"``, ``"seriously hurt"``, ``"dead"``, ``"moved out"``, ``"taken out"``
        or ``"not in yet"``.
    """

    name: str
    length_m: float
    doing: str
    hurt: str


@dataclass(frozen=True)
class Ground:
    """A territory now.

    Parameters
    ----------
    fish
        Rows of its holders.
    home
        The site it is held around, m.
    area_m2
        Its area.
    rings
        Outlines in m, holes among them.
    """

    fish: tuple[int, ...]
    home: tuple[float, float]
    area_m2: float
    rings: tuple[Ring, ...]


@dataclass(frozen=True)
class Nest:
    """Where the young of a pair are now.

    Parameters
    ----------
    at
        m; in a cave, inside it.
    stage
        0 eggs, 1 wrigglers, 2 fry.
    left
        Share of the eggs that were laid, 0-1.
    """

    at: tuple[float, float]
    stage: int
    left: float


@dataclass(frozen=True)
class Moment:
    """How things stand; two moments that are equal look the same.

    Parameters
    ----------
    day
        Since midnight of day 0.
    when
        In words.
    days
        Of the whole run.
    playing, speed, asleep, finished
        How it goes on.
    fish
        Each fish.
    ground
        Territories.
    open_share
        Share of the footprint that is neither piece nor territory, 0-1.
    floor_m2
        The footprint.
    last
        The last event.
    events, stretches, broods
        The days so far.
    nests
        Where young are.
    bites
        Where the last bites fell, m.
    picked
        The fish that is looked at.
    refused
        Why the last hand could not be done; empty when it was.
    stage
        Number of the furniture that stands in the tank now.
    food
        Where food lies now, m.
    hands
        How many events the scenario has now, hands included.
    """

    day: float
    when: str
    days: float
    playing: bool
    speed: float
    asleep: bool
    finished: bool
    fish: tuple[FishNow, ...]
    ground: tuple[Ground, ...]
    open_share: float
    floor_m2: float
    last: Told | None
    events: tuple[Told, ...]
    stretches: tuple[Stretch, ...]
    broods: tuple[Stretch, ...]
    nests: tuple[Nest, ...]
    bites: tuple[tuple[float, float], ...]
    picked: Picked | None
    refused: tuple[str, ...]
    stage: int
    food: tuple[tuple[float, float], ...]
    hands: int


def moment_of(
    history: History,
    *,
    played: Played,
    teller: Teller,
    picked: int,
    playing: bool,
    speed: float,
    asleep: bool,
    refused: tuple[str, ...],
) -> Moment:
    """Return how a run stands.

    Parameters
    ----------
    history, played, teller
        The run, what is played, and what was told of it.
    picked
        Row of the fish that is looked at, -1 for none.
    playing, speed, asleep, refused
        As in `Moment`.
    """
    state = history.state
    names = fish_names(history.scenario)
    held = tuple(
        Ground(
            fish=one.fish,
            home=(
                float(history.floor.site_xy[one.site, 0]),
                float(history.floor.site_xy[one.site, 1]),
            ),
            area_m2=one.area_m2,
            rings=rings_of(one.outline),
        )
        for one in territories(history)
    )
    log = recent(history)
    bitten = log[log["bites"] > 0][-MOST_BITES:]
    stage = int(state.tank.furniture[0])
    area = float(history.floor.dims[0] * history.floor.dims[1])
    open_m2 = history.layout.stages[stage].open_area_m2 - sum(one.area_m2 for one in held)
    return Moment(
        day=round(history.day, 4),
        when=moment(86400.0 * history.day),
        days=float(history.scenario.days),
        playing=playing,
        speed=speed,
        asleep=asleep,
        finished=history.finished,
        fish=tuple(fish_now(history, i, names) for i in range(len(names))),
        ground=held,
        open_share=round(max(open_m2, 0.0) / area, 3),
        floor_m2=area,
        last=teller.last,
        events=teller.events,
        stretches=teller.stretches,
        broods=teller.broods,
        nests=nests_of(history),
        bites=tuple((round(float(r["x"]), 3), round(float(r["y"]), 3)) for r in bitten),
        picked=picked_of(history, picked, names, log) if 0 <= picked < len(names) else None,
        refused=refused,
        stage=stage,
        food=tuple((float(s.x), float(s.y)) for s in state.food if s.food > 0.0),
        hands=len(played.scenario.events),
    )


def nests_of(history: History) -> tuple[Nest, ...]:
    """Return where there are young, of each pair that has any.

    Parameters
    ----------
    history
        The run.
    """
    floor = history.floor
    found = []
    for row in history.state.broods:
        if row.there != 1 or not EGGS <= row.stage <= FRY or row.place < 0:
            continue
        room = int(floor.site_room[row.place])
        inside = room >= 0 and row.stage < FRY
        x, y = floor.room_xy[room] if inside else floor.site_xy[row.place]
        left = round(float(row.young) / max(float(row.laid), 1.0), 2)
        stage = int(row.stage) - EGGS
        found.append(Nest((round(float(x), 3), round(float(y), 3)), stage, min(left, 1.0)))
    return tuple(found)


def rings_of(shape: shapely.Geometry) -> tuple[Ring, ...]:
    """Return the outlines of a polygon or several, holes among them, m, to the millimetre."""
    found: list[Ring] = []
    for part in shapely.get_parts(shapely.simplify(shape, MARGIN)):
        if isinstance(part, shapely.Polygon) and not part.is_empty:
            for ring in (part.exterior, *part.interiors):
                found.append(tuple((round(x, 3), round(y, 3)) for x, y in ring.coords))
    return tuple(found)


def fish_now(history: History, i: int, names: tuple[str, ...]) -> FishNow:
    """Return one fish as it is now.

    Parameters
    ----------
    history
        The run.
    i
        Its row.
    names
        Of all fish.
    """
    state = history.state
    row = state.fish[i]
    return FishNow(
        name=names[i],
        length_m=round(float(row.length), 3),
        doing=_doing(history, i, names) if row.presence == IN_TANK else "",
        hurt=_hurt(history, i),
    )


def _hurt(history: History, i: int) -> str:
    state = history.state
    gone = {
        DEAD: "dead", MOVED_OUT: "moved out", AWAY: "taken out", NOT_YET: "not in yet"
    }  # fmt: skip
    out = gone.get(int(state.fish.presence[i]))
    if out is not None:
        return out
    injury = injury_now(state, i)
    if injury >= float(state.par.serious_injury[0]):
        return "seriously hurt"
    return "torn fins" if injury >= float(state.par.minor_injury[0]) else ""


def _doing(history: History, i: int, names: tuple[str, ...]) -> str:
    state = history.state
    row = state.fish[i]
    other = names[int(row.target)] if row.target >= 0 else ""
    if row.act == PURSUE and other:
        return f"chases {other}"
    if row.act == FLEE:
        chaser = np.flatnonzero((state.fish.act == PURSUE) & (state.fish.target == i))
        return f"flees from {names[int(chaser[0])]}" if len(chaser) else "flees"
    if row.act == CONTEST and other:
        return f"contends with {other}"
    layout = history.layout.stages[int(state.tank.furniture[0])]
    if row.room >= 0:
        return f"in {layout.rooms[int(row.room)].name}"
    if row.hiding == 1:
        return "hides in a top corner" if row.layer == 2 else "keeps to cover"
    if row.goal == TO_FOOD:
        return "goes to the food"
    k = int(row.brood)
    if k >= 0 and EGGS <= state.broods.stage[k] <= FRY:
        return f"guards {STAGES[int(state.broods.stage[k])]}"
    if k >= 0 and state.broods.stage[k] > 0 and row.mate >= 0:
        return f"{STAGES[int(state.broods.stage[k])]} with {names[int(row.mate)]}"
    if row.site >= 0:
        return f"holds {place_name(layout, int(row.site))}"
    return "swims"
