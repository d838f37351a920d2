"""The story of a film: which moments of a run are shown, and how fast.

Quiet life first, then what turned the run, the busiest minutes, and what came of it. Every moment
lies in time that was watched; what lies between is skipped and the film says how long it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sim import chronicle as words
from sim.rules.codes import CHASED
from viz.replay_page import happening_words

if TYPE_CHECKING:
    from sim.chronicle import Chronicle
    from sim.comparison import Design
    from sim.footage import Stretch

SCENE_S = 8.5  # of film, about
MOST_SCENES = 12
LEAST_SCENES = 3
TITLE_SHARE, END_SHARE = 0.06, 0.12  # of the film
BEFORE = 0.3  # share of a scene before what it is about
ROOM_S = 200.0  # of the tank, in one scene at most: a watched stretch lasts four minutes
MOST_S = 12.0  # of film for one scene
APART_S = 1800.0  # two turns of a tank within this are one scene
SETTLED_S = 12.0 * 3600.0  # before that the fish are only just finding their places
FIRST, QUIET, BUSY, LAST = "first", "quiet", "busy", "last"

# What can turn a run, the weightier first; with what the scene is called.
TURNS: dict[str, str] = {
    "eggs": "They spawn",
    words.SERIOUS: "Hurt seriously",
    words.SWALLOWED: "Swallowed",
    words.DIES: "A fish dies",
    words.JOINS: "A newcomer",
    "event": "The keeper changes something",
    "fry": "The fry swim",
    words.MOVED: "Moved out",
    words.PAIRS: "A pair forms",
    words.HURT: "Torn fins",
    words.HOLDS: "A place is taken",
    words.BACK: "Back in the tank",
    words.PARTS: "A pair parts",
    "wrigglers": "The eggs hatch",
    "digging": "They dig",
    words.LEAVES: "A place is lost",
}
NAMES = {
    FIRST: "At the start",
    QUIET: "Quiet life",
    BUSY: "The busiest moment",
    LAST: "The last day",
    **TURNS,
}
SPEEDS = {FIRST: 4.0, QUIET: 8.0, BUSY: 2.0, LAST: 8.0}  # times as fast as life
TURN_SPEED = 4.0
LONGER = {BUSY: 0.6}  # so much more of the film than another scene
SMALL = (words.HOLDS, words.LEAVES, words.HURT)  # quiet life goes on
NEW_S = 3600.0  # fish that are there within the first hour are no newcomers


@dataclass(frozen=True, slots=True)
class Run:
    """One tank's run, as far as a story needs it.

    Parameters
    ----------
    design
        The tank.
    chronicle
        The run, told.
    stretches
        That were watched, s since midnight of day 0.
    """

    design: Design
    chronicle: Chronicle
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class Moment:
    """Something that happened: when, of which kind, in words, and to which fish (rows)."""

    time_s: float
    kind: str
    words: str
    fish: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Shot:
    """What is shown of one tank in a scene.

    Parameters
    ----------
    start_s, end_s
        Since midnight of day 0.
    moment
        What it is about; None where the scene is about nothing that happened in this tank.
    """

    start_s: float
    end_s: float
    moment: Moment | None = None


@dataclass(frozen=True, slots=True)
class Scene:
    """Some seconds of the film.

    Parameters
    ----------
    kind
        What it is about.
    seconds
        How long it lasts in the film.
    speed
        How many times as fast as life it is shown.
    shots
        One for each tank.
    """

    kind: str
    seconds: float
    speed: float
    shots: tuple[Shot, ...]

    @property
    def name(self) -> str:
        """What it is called."""
        return NAMES[self.kind]


def moments(run: Run) -> list[Moment]:
    """Return what happened in a run that may turn it, in order of time.

    Parameters
    ----------
    run
        The run, told.
    """
    from sim.furniture import event_time_s
    from sim.outcome import fish_names

    names = fish_names(run.design.scenario)
    found = []
    for one in run.chronicle.happenings:
        kind = one.detail if one.what == words.YOUNG else one.what
        if kind not in TURNS or (one.what == words.JOINS and one.time_s < _first_s(run) + NEW_S):
            continue
        rows = tuple(row for row in (one.fish, one.other) if row >= 0)
        found.append(Moment(one.time_s, kind, happening_words(one, names), rows))
    scenario = run.design.scenario
    for event in scenario.events:
        said = event.name if event.name and event.name != event.do else event.do
        found.append(Moment(event_time_s(scenario, event), "event", said))
    last_s = run.stretches[-1][1] if run.stretches else 0.0
    return sorted((m for m in found if m.time_s <= last_s), key=lambda m: m.time_s)


def story_of(runs: Sequence[Run], *, seconds: float, from_s: float = 0.0) -> tuple[Scene, ...]:
    """Return the scenes of a film.

    Parameters
    ----------
    runs
        One for each tank, over the same fish.
    seconds
        How long the film lasts, its title and its end among it.
    from_s
        Nothing earlier is shown, s since midnight of day 0.

    Returns
    -------
    tuple of Scene
        In order of time; fewer than asked for where little happened. Empty where nothing was
        watched from then on.
    """
    late = [_from(run, from_s) for run in runs]
    if not all(run.stretches for run in late):
        return ()
    told = [[m for m in moments(run) if m.time_s >= from_s] for run in late]
    room = seconds * (1.0 - TITLE_SHARE - END_SHARE)
    count = min(max(round(room / SCENE_S), LEAST_SCENES), MOST_SCENES)
    turns = _turns(told)
    busy = [BUSY] if any(len(_chases(run)) for run in late) else []
    first = [FIRST] if from_s <= 0.0 else []
    wanted = [*turns[:1], QUIET, *busy, *turns[1:2], LAST, *first, *turns[2:]][:count]
    part = room / (len(wanted) + sum(LONGER.get(kind, 0.0) for kind in wanted))
    turn_s = _turn_s(told, [kind for kind in wanted if kind in TURNS])
    scenes = [
        Scene(kind, each, speed, _shots(kind, late, told, length_s=each * speed, turn_s=turn_s))
        for kind in wanted
        for each in (min(part * (1.0 + LONGER.get(kind, 0.0)), MOST_S),)
        for speed in (min(SPEEDS.get(kind, TURN_SPEED), ROOM_S / each),)
    ]
    scenes.sort(key=lambda scene: sum(shot.start_s for shot in scene.shots))
    return _in_order(scenes, late)


def _turns(told: Sequence[list[Moment]]) -> list[str]:
    """The kinds of what happened in any tank, the weightiest first; what goes together once."""
    found: list[str] = []
    times: list[tuple[int, float]] = []
    for kind in TURNS:
        own = [(k, m.time_s) for k, one in enumerate(told) if (m := _first(one, kind)) is not None]
        if own and not all(any(k == j and abs(a - b) < APART_S for j, b in times) for k, a in own):
            found.append(kind)
            times += own
    return found


def _first(told: Sequence[Moment], kind: str) -> Moment | None:
    return next((one for one in told if one.kind == kind), None)


def _shots(
    kind: str,
    runs: Sequence[Run],
    told: Sequence[list[Moment]],
    *,
    length_s: float,
    turn_s: float,
) -> tuple[Shot, ...]:
    """What each tank shows: its own moment of the kind, or what goes on in it meanwhile."""
    found: list[Shot | None] = []
    for run, one in zip(runs, told, strict=True):
        own = _first(one, kind)
        if kind == FIRST:
            found.append(_shot(run.stretches[0], run.stretches[0][0], length_s, share=0.0))
        elif kind == QUIET:
            found.append(_quiet(run, before_s=turn_s, length_s=length_s))
        elif kind == BUSY:
            found.append(_busiest(run, after_s=turn_s, length_s=length_s))
        elif kind == LAST:
            found.append(_shot(run.stretches[-1], run.stretches[-1][1], length_s))
        elif own is not None:
            found.append(_about(run, own, length_s=length_s))
        else:
            found.append(None)
    meanwhile_s = min(shot.start_s for shot in found if shot is not None)
    return tuple(
        shot or _shot(_stretch_at(run, meanwhile_s), meanwhile_s, length_s)
        for run, shot in zip(runs, found, strict=True)
    )


def _quiet(run: Run, *, before_s: float, length_s: float) -> Shot:
    """Ordinary minutes before the run turned: those with the middle number of chases."""
    end_s = min(before_s, run.stretches[-1][1])
    before = [one for one in run.stretches if one[1] <= end_s] or list(run.stretches[:1])
    times = _chases(run)
    counts = [int(np.searchsorted(times, b) - np.searchsorted(times, a)) for a, b in before]
    middle = sorted(counts)[(len(counts) - 1) // 2]
    half_s = 0.5 * (before[0][0] + end_s)
    alike = [one for one, count in zip(before, counts, strict=True) if count == middle]
    stretch = min(alike, key=lambda one: abs(one[0] - half_s))
    return _shot(stretch, 0.5 * (stretch[0] + stretch[1]), length_s, share=0.5)


def _busiest(run: Run, *, after_s: float, length_s: float) -> Shot:
    """The minutes of that length with the most chases and bites, after the run turned."""
    log = run.chronicle.attacks
    log = log[(log["watched"] == 1) & (log["outcome"] == CHASED)]
    after = [one for one in run.stretches if one[0] > after_s] or run.stretches
    best, found = -1.0, _shot(after[0], after[0][0], length_s)
    for stretch in after:
        inside = log[(log["time"] >= stretch[0]) & (log["time"] <= stretch[1])]
        for row in inside:
            shot = _shot(stretch, float(row["time"]), length_s, share=0.05)
            seen = inside[(inside["time"] >= shot.start_s) & (inside["time"] <= shot.end_s)]
            weight = len(seen) + float(seen["bites"].sum())
            if weight > best:
                best, found = weight, shot
    return found


def _about(run: Run, moment: Moment, *, length_s: float) -> Shot:
    shot = _shot(_stretch_at(run, moment.time_s), moment.time_s, length_s, share=BEFORE)
    return Shot(shot.start_s, shot.end_s, moment)


def _shot(stretch: Stretch, time_s: float, length_s: float, *, share: float = BEFORE) -> Shot:
    """So long a piece of a stretch that a time comes at a share of it, or as near as can be."""
    latest_s = max(stretch[1] - length_s, stretch[0])
    start_s = min(max(time_s - share * length_s, stretch[0]), latest_s)
    return Shot(start_s, min(start_s + length_s, stretch[1]))


def _stretch_at(run: Run, time_s: float) -> Stretch:
    """The stretch a time lies in, else the next one, else the last."""
    return next((one for one in run.stretches if one[1] > time_s), run.stretches[-1])


def _in_order(scenes: Iterable[Scene], runs: Sequence[Run]) -> tuple[Scene, ...]:
    """Let time never run back in any tank: a shot that would goes to the next watched stretch."""
    done = [0.0] * len(runs)
    kept: list[Scene] = []
    for scene in scenes:
        shots = []
        for k, (run, shot) in enumerate(zip(runs, scene.shots, strict=True)):
            length_s = shot.end_s - shot.start_s
            if shot.start_s < done[k] and done[k] > 0.0:
                least_s = done[k] + 0.5 * length_s
                left = [(max(a, done[k]), b) for a, b in run.stretches if b > least_s]
                if not left:
                    break
                shot = Shot(left[0][0], min(left[0][0] + length_s, left[0][1]), shot.moment)
            shots.append(shot)
        if len(shots) == len(runs):
            done = [shot.end_s for shot in shots]
            kept.append(Scene(scene.kind, scene.seconds, scene.speed, tuple(shots)))
    return tuple(kept)


def _chases(run: Run) -> np.ndarray:
    """Times of the chases that were watched, in order."""
    log = run.chronicle.attacks
    times: np.ndarray = log["time"][(log["watched"] == 1) & (log["outcome"] == CHASED)]
    return times


def _turn_s(told: Sequence[list[Moment]], kinds: Sequence[str]) -> float:
    """When the run turned: the first of what is shown, once the fish have found their places."""
    times = [
        one.time_s
        for moments_ in told
        for one in moments_
        if one.kind in kinds and one.kind not in SMALL and one.time_s > SETTLED_S
    ]
    return min(times, default=float("inf"))


def _first_s(run: Run) -> float:
    return run.stretches[0][0] if run.stretches else 0.0


def _from(run: Run, from_s: float) -> Run:
    """The run from a time on; what was watched before day 0, while it settled, is left out."""
    late = tuple((max(a, from_s), b) for a, b in run.stretches if b > max(from_s, 0.0) and b > a)
    log = run.chronicle.attacks
    chronicle = replace(run.chronicle, attacks=log[log["time"] >= from_s])
    return Run(run.design, chronicle, late)
