"""Moment: how a running tank stands, as plain values for the page; and the frames of its motion."""

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
    CHASE_ENDS,
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
    TO_CORNER,
    TO_DOOR,
    TO_FOOD,
)
from viz.app.events import Stretch, Teller, Told, recent
from viz.replay_page import attack_words, moment, reason_words

if TYPE_CHECKING:
    from sim.engine import History
    from sim.hands import Played

Ring = tuple[tuple[float, float], ...]
MOST_BITES = 60  # marked on the floor
MARGIN = 0.003  # m, to which outlines are drawn


@dataclass(frozen=True)
class Frame:
    """Where the fish are now; sent ten times a second.

    Parameters
    ----------
    number
        Counts up.
    day
        Since midnight of day 0.
    speed
        So many times as fast as in life; 0 while it stands.
    motion
        float32, shape (n_fish, 4): x and y in m, heading in rad, speed in m/s.
    acts, targets
        What each does, a code of `sim.rules.codes`, and at whom; -1 for nobody.
    shown
        0 not in the tank, 1 in the open, 2 in a hiding place.
    layers
        0 floor, 1 middle, 2 surface.
    ends
        Where chases ended since the last frame (x and y in m), and how.
    """

    number: int
    day: float
    speed: float
    motion: np.ndarray
    acts: tuple[int, ...]
    targets: tuple[int, ...]
    shown: tuple[int, ...]
    layers: tuple[int, ...]
    ends: tuple[tuple[float, float, str], ...] = ()


def chase_ends(history: History, before: dict[int, int]) -> tuple[tuple[float, float, str], ...]:
    """Return where chases ended since the last frame, and how, in words.

    Parameters
    ----------
    history
        The run.
    before
        Row of the log of each chase that was under way, by its pursuer.
    """
    state = history.state
    found = []
    for i, row in before.items():
        one = state.log[row]
        over = state.fish.act[i] != PURSUE or int(state.fish.chase_cause[i]) != row
        if not over or one.end < 0 or int(one.attacker) != i:
            continue
        j = int(one.victim)
        words = CHASE_ENDS[int(one.end)]
        if one.wall_bites > 0:
            words = f"bitten at a wall, {words}"
        elif one.bites > 0:
            words = f"bitten, {words}"
        found.append((round(float(state.fish.x[j]), 3), round(float(state.fish.y[j]), 3), words))
    return tuple(found)


def frame_of(
    history: History,
    *,
    number: int,
    speed: float,
    ends: tuple[tuple[float, float, str], ...] = (),
) -> Frame:
    """Return the frame of this moment.

    Parameters
    ----------
    history
        The run, between two strides.
    number, speed, ends
        As in `Frame`.
    """
    fish = history.state.fish
    motion = np.empty((len(fish), 4), np.float32)
    motion[:, 0], motion[:, 1] = fish.x, fish.y
    motion[:, 2] = np.arctan2(fish.head_y, fish.head_x)
    motion[:, 3] = fish.speed
    shown = np.where(fish.presence != IN_TANK, 0, np.where(fish.room >= 0, 2, 1))
    return Frame(
        number=number,
        day=history.day,
        speed=speed,
        motion=motion,
        acts=tuple(fish.act.tolist()),
        targets=tuple(fish.target.tolist()),
        shown=tuple(shown.tolist()),
        layers=tuple(fish.layer.tolist()),
        ends=ends,
    )


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
class Picked:
    """What is told of the fish that is picked.

    Parameters
    ----------
    row
        Which fish.
    at
        Where it is, m, rounded to a few cm: what it sees is drawn from there.
    sees, wants, attacked, suffered
        Sentences; empty where there is nothing to tell.
    """

    row: int
    at: tuple[float, float]
    sees: str
    wants: str
    attacked: tuple[str, ...]
    suffered: tuple[str, ...]


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
    last
        The last event.
    events, stretches, broods
        The days so far.
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
    last: Told | None
    events: tuple[Told, ...]
    stretches: tuple[Stretch, ...]
    broods: tuple[Stretch, ...]
    bites: tuple[tuple[float, float], ...]
    picked: Picked | None
    refused: tuple[str, ...]
    stage: int
    food: tuple[tuple[float, float], ...]
    hands: int


@dataclass(frozen=True)
class Likeness:
    """What tells a fish of one's own kind from others, in the log."""

    own_kind: float
    similar: float


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
        last=teller.last,
        events=teller.events,
        stretches=teller.stretches,
        broods=teller.broods,
        bites=tuple((round(float(r["x"]), 3), round(float(r["y"]), 3)) for r in bitten),
        picked=picked_of(history, picked, names, log) if 0 <= picked < len(names) else None,
        refused=refused,
        stage=stage,
        food=tuple((float(s.x), float(s.y)) for s in state.food if s.food > 0.0),
        hands=len(played.scenario.events),
    )


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


def picked_of(history: History, i: int, names: tuple[str, ...], log: np.ndarray) -> Picked:
    """Return what is told of one fish.

    Parameters
    ----------
    history
        The run.
    i
        Its row.
    names
        Of all fish.
    log
        The last attacks, from `viz.app.events.recent`.
    """
    state = history.state
    row = state.fish[i]
    if row.presence != IN_TANK:
        return Picked(i, (-1.0, -1.0), "", "", (), ())
    seen = [
        names[j]
        for j in np.flatnonzero(state.pair.seen[i] == 1).tolist()
        if j != i and state.fish.presence[j] == IN_TANK
    ]
    kinds = Likeness(float(state.par.like_own_kind[0]), float(state.par.like_similar[0]))

    def told(field: str) -> tuple[str, ...]:
        which = np.flatnonzero(log[field] == i)
        if not len(which):
            return ()
        last = log[which[-1]]
        return (
            f"{moment(float(last['time']))}: {attack_words(last, names)}.",
            f"Because: {reason_words(last, kinds)}.",
        )

    return Picked(
        row=i,
        at=(round(float(row.x) * 20.0) / 20.0, round(float(row.y) * 20.0) / 20.0),
        sees=f"Sees {listed(seen)}." if seen else "Sees nobody.",
        wants=_wants(history, i, names),
        attacked=told("attacker"),
        suffered=told("victim"),
    )


def listed(names: list[str]) -> str:
    """Return names in a row: "A, B and C"."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _wants(history: History, i: int, names: tuple[str, ...]) -> str:
    state = history.state
    row = state.fish[i]
    layout = history.layout.stages[int(state.tank.furniture[0])]
    fear = f" Fear {float(row.fear):.2f} of 1." if row.fear >= 0.05 else ""
    if row.goal == TO_DOOR or row.room >= 0:
        return f"Wants to stay out of sight.{fear}"
    if row.goal == TO_CORNER or row.hiding == 1:
        return f"Wants to get away, into a top corner.{fear}"
    if row.goal == TO_FOOD:
        return f"Wants to eat.{fear}"
    shunned = [
        names[j] for j in np.flatnonzero(state.pair.avoid[i] > 0.3).tolist()
        if state.fish.presence[j] == IN_TANK
    ]  # fmt: skip
    parts = []
    if row.site >= 0:
        parts.append(f"Keeps near {place_name(layout, int(row.site))}.")
    if shunned:
        parts.append(f"Keeps away from {listed(shunned)}.")
    if row.shoaling > 0.3:
        parts.append("Swims with its own.")
    return (" ".join(parts) or "Roams.") + fear
