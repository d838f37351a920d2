"""Feeding as it is played: when and where, with what a scenario leaves open filled in."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sim.scenario import Scenario


def feeding_times(scenario: Scenario) -> tuple[float, ...]:
    """Return the times of day of the meals, s.

    Parameters
    ----------
    scenario
        A checked scenario.

    Returns
    -------
    tuple of float
        None where meals are not played; noon of the lit hours where the file leaves it open.
    """
    feeding = scenario.feeding
    if feeding is None:
        return ()
    tank = scenario.tank
    noon = tank.lights_on_h + 0.5 * tank.light_hours
    return tuple(3600.0 * hour for hour in feeding.times or (noon,))


def feeding_spots(scenario: Scenario) -> tuple[tuple[float, float], ...]:
    """Return where food falls.

    Parameters
    ----------
    scenario
        A checked scenario.

    Returns
    -------
    tuple of (float, float)
        In m; the middle of the tank where the file leaves it open.
    """
    feeding = scenario.feeding
    if feeding is None:
        return ()
    tank = scenario.tank
    return feeding.spots or ((0.5 * tank.length_m, 0.5 * tank.width_m),)
