"""Recorded: before the rules are compiled a tank moves as a recording of itself."""

from __future__ import annotations

import threading
from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from viz.app.motion import Frame
from viz.app.recording import TANK, Recording, first_recording
from viz.progress import compiled_before

if TYPE_CHECKING:
    from sim.scenario import Scenario

FRAME_S = 0.1


def recorded_for(scenario: Scenario) -> Recording | None:
    """Return the recording that is of this very tank, while nothing can be played yet; else None.

    Parameters
    ----------
    scenario
        A tank.
    """
    if compiled_before() or scenario != _recorded_tank():
        return None
    return first_recording()


@cache
def _recorded_tank() -> Scenario:
    from sim.scenario_file import read_scenario
    from viz.app.opening import shipped

    return read_scenario(shipped(TANK))


def frame_at(recording: Recording, seconds: float, *, number: int) -> Frame:
    """Return a frame of a recording, between two of its ticks if need be.

    Parameters
    ----------
    recording
        What is shown.
    seconds
        Since its beginning; after its end it begins anew.
    number
        Counts the frames.
    """
    from sim.rules.codes import IN_TANK

    seconds %= recording.seconds - recording.step_s
    row = int(seconds / recording.step_s)
    share = seconds / recording.step_s - row
    before, after = recording.fish[row], recording.fish[row + 1]
    turn = np.arctan2(before.head_y, before.head_x)
    turned = np.angle(np.exp(1j * (np.arctan2(after.head_y, after.head_x) - turn)))
    motion = np.empty((len(before), 4), np.float32)
    motion[:, 0] = before.x + share * (after.x - before.x)
    motion[:, 1] = before.y + share * (after.y - before.y)
    motion[:, 2] = turn + share * turned
    motion[:, 3] = before.speed
    shown = np.where(before.presence != IN_TANK, 0, np.where(before.room >= 0, 2, 1))
    return Frame(
        number=number,
        day=float(recording.time_s[row]) / 86400.0,
        speed=1.0,
        motion=motion,
        acts=tuple(before.act.tolist()),
        targets=tuple(before.target.tolist()),
        shown=tuple(shown.tolist()),
        layers=tuple(before.layer.tolist()),
    )


def play(recording: Recording, send: Callable[[Frame], None]) -> Callable[[], None]:
    """Send a recording, ten frames a second, until it is stopped.

    Parameters
    ----------
    recording
        What is shown.
    send
        Takes a frame, from a thread of its own.

    Returns
    -------
    a function that ends it.
    """
    ended = threading.Event()

    def run() -> None:
        number = 0
        while not ended.wait(FRAME_S):
            number += 1
            send(frame_at(recording, number * FRAME_S, number=number))

    thread = threading.Thread(target=run, name="holdwater-recording", daemon=True)
    thread.start()

    def stop() -> None:
        ended.set()
        if thread is not threading.current_thread():
            thread.join(timeout=2.0)

    return stop
