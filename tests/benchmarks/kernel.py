"""Kernel: what a tick of a settled tank costs, and how much of it are chases."""

from __future__ import annotations

import statistics
import time
from dataclasses import dataclass

import numpy as np

from sim.engine import History
from tests.benchmarks.company import go_on, settled

TICK_S = 0.2
TICKS_OF_FISH = 600_000
LEAST_TICKS = 3000
BLOCK_S = 50.0
BLOCKS = 1200


@dataclass(frozen=True, slots=True)
class Cost:
    """What watching a settled tank costs.

    Parameters
    ----------
    n_fish
        Number of fish.
    ns
        Processor time for each fish and tick, median of three stretches.
    chases_per_h
        Chases while it was measured.
    """

    n_fish: int
    ns: float
    chases_per_h: float

    @property
    def us(self) -> float:
        """Return microseconds for each watched fish-second."""
        return self.ns / TICK_S / 1e3


def cost_of(n_fish: int) -> Cost:
    """Return what watching a settled company of so many fish costs."""
    history = settled(n_fish)
    tank = history.state.tank
    ticks = max(LEAST_TICKS, TICKS_OF_FISH // n_fish)
    go_on(history, 20.0)
    figures = []
    watched, chases = float(tank.watched_s[0]), int(tank.chases[0])
    for _ in range(3):
        began, at = time.thread_time(), int(tank.tick[0])
        go_on(history, ticks * TICK_S)
        # A night is a stride, too; only ticks are counted.
        figures.append((time.thread_time() - began) / (int(tank.tick[0]) - at) / n_fish * 1e9)
    hours = (float(tank.watched_s[0]) - watched) / 3600.0
    return Cost(n_fish, statistics.median(figures), (int(tank.chases[0]) - chases) / hours)


def chased_seconds(history: History, since: int) -> tuple[float, int]:
    """Return the seconds of the watched chases that ended since a count, and the new count."""
    pool = history.state.pool
    rows = int(history.state.tank.pool_rows[0])
    return sum(float(pool.seconds[k % len(pool)]) for k in range(since, rows)), rows


def chase_share(history: History) -> tuple[float, float]:
    """Return the share of a tank's time that goes into chases, and its standard error.

    The time of many short stretches is set against the seconds of chase in each, by least
    squares; the slope times the mean is what chases cost.

    Parameters
    ----------
    history
        A settled tank, watched every second.
    """
    spent, chased = np.empty(BLOCKS), np.empty(BLOCKS)
    _, rows = chased_seconds(history, 0)
    for k in range(BLOCKS):
        began = time.thread_time()
        go_on(history, BLOCK_S)
        spent[k] = time.thread_time() - began
        chased[k], rows = chased_seconds(history, rows)
    spread = chased - chased.mean()
    square = float((spread**2).sum())
    if square == 0.0:
        return 0.0, 0.0
    slope = float((spread * spent).sum()) / square
    left = spent - spent.mean() - slope * spread
    error = float(np.sqrt((left**2).sum() / (BLOCKS - 2) / square))
    scale = float(chased.mean() / spent.mean())
    return slope * scale, error * scale
