"""Motion: the frames in which a running tank is sent to the browser."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.rules.codes import CHASE_ENDS, IN_TANK, PURSUE

if TYPE_CHECKING:
    from sim.engine import History


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
