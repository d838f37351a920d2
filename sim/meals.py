"""Meals: when and where a scenario is fed."""

from __future__ import annotations

from sim.scenario import Scenario


def feeding_times(scenario: Scenario) -> tuple[float, ...]:
    """Return the times of day of the meals, s; none where meals are not played."""
    feeding = scenario.feeding
    if feeding is None:
        return ()
    tank = scenario.tank
    noon = tank.lights_on_h + 0.5 * tank.light_hours
    return tuple(3600.0 * hour for hour in feeding.times or (noon,))


def feeding_spots(scenario: Scenario) -> tuple[tuple[float, float], ...]:
    """Return where food falls, m; the middle of the tank where the file leaves it open."""
    feeding = scenario.feeding
    if feeding is None:
        return ()
    tank = scenario.tank
    return feeding.spots or ((0.5 * tank.length_m, 0.5 * tank.width_m),)
