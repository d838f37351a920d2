"""Flocking: Mesa's own shipped example, as a yardstick of an ordinary agent model."""

from __future__ import annotations

import time


def flocking_ns(n_agents: int, *, seconds: float = 1.0) -> float:
    """Return the time of one step of Mesa's flocking example for each agent, in ns.

    Parameters
    ----------
    n_agents
        Number of agents; everything else is as the example ships.
    seconds
        Least time to measure.
    """
    from mesa.examples.basic.boid_flockers.model import BoidFlockers

    model = BoidFlockers(population_size=n_agents)
    model.step()
    steps = 0
    began = time.thread_time()
    while time.thread_time() - began < seconds:
        model.step()
        steps += 1
    return (time.thread_time() - began) / steps / n_agents * 1e9
