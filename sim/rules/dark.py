r"""Dark: what the hours of the day do to activity, and what is about at night.

The first and the last `dim` seconds of light are dusk: fish then are as active as their species is
at dusk. In the dark fish rest and nobody attacks (assumed); but a species that is about at night
finds young in a nest: for the night as a whole fish :math:`i` makes

.. math:: N_i \sim \mathrm{Poisson}(v\, a_i\, T)

visits, with :math:`v` = `night_visit_rate` (1/h), :math:`a_i` its activity by night and :math:`T`
the hours of darkness. What a visit costs the brood is the matter of `breed`.

References
----------
None; activity by species is in the species data, the rate is assumed.
"""

from __future__ import annotations

from sim.compiler import rule, small_rule
from sim.draws import NIGHT, chain, poisson
from sim.rules.codes import IN_TANK
from sim.rules.hours import lights_off
from sim.state import State

ABOUT = 0.3  # activity by night from which a fish is about in the dark, assumed


@small_rule
def activity_now(state: State, i: int) -> float:
    """Return how active a fish's kind is at this hour of light, 0 to 1."""
    t = state.tank[0]
    f = state.fish[i]
    if t.dim > 0.0:
        off = lights_off(state)
        if t.clock >= off - t.dim or t.clock < off - (t.light_off - t.light_on) + t.dim:
            return f.dusk
    return f.activity


@rule
def time_to_dusk(state: State) -> float:
    """Return the time (s) until the dim hours begin or end, or a very long one."""
    t = state.tank[0]
    if t.dim <= 0.0:
        return 1e12
    off = lights_off(state)
    morning = off - (t.light_off - t.light_on) + t.dim
    for edge in (morning, off - t.dim):
        if t.clock < edge - 1e-6:
            return edge - t.clock
    return 1e12


@rule
def night_visits(state: State, i: int, hours: float) -> int:
    """Return how often fish `i` comes upon a nest in so many hours of darkness.

    Parameters
    ----------
    state
        State of the run.
    i
        The fish.
    hours
        Hours of darkness since the last call.

    Returns
    -------
    int
        A draw; 0 for a fish that rests at night. Counted in its tally.
    """
    f = state.fish[i]
    if f.presence != IN_TANK or f.night < ABOUT:
        return 0
    key = chain(chain(f.key, NIGHT), int(state.tank[0].clock))
    count = poisson(key, state.par[0].night_visit_rate * f.night * hours)
    state.tally[i].night_visits += count
    return count
