r"""Hunt: a hungry fish goes for what it can swallow, as food and not as a rival.

Whoever's greatest depth and width are less than another's gape is its prey. Prey is attacked at
the rate

.. math:: h_{ij} = \lambda_h\, H_i\, (1 - I_i)\; \theta^{(d / r L_i)^2}

with :math:`H` hunger (0-1), :math:`I` the hunter's injury and :math:`d` the distance, :math:`r` =
`own_space` lengths and :math:`\theta` the claim at the edge, less across layers. What follows is a
chase whose bites may swallow (see `bite`): nobody displays to its food. Hunger grows as

.. math:: \dot H = (1 - H) / \tau_h

and falls by the share of its fill that a fish eats at a meal; a swallowed fish ends it. Where
meals are not played, each fish is taken to be fed out of sight as the lights come on.

References
----------
None found; rates assumed. Prey by gape against body depth is a rule of geometry.
"""

from __future__ import annotations

import math

from sim.compiler import rule, small_rule
from sim.rules.bite import injury
from sim.rules.claim import curve, layer_factor
from sim.rules.codes import IN_TANK
from sim.state import State


@rule
def mark_prey(state: State, i: int, j: int) -> None:
    """Note whether fish `i` can swallow fish `j`."""
    g = state.fish[j]
    fits = i != j and max(g.depth, g.width) < state.fish[i].gape
    state.pair[i, j].prey = 1 if fits else 0


@small_rule
def hunt_rate(state: State, i: int) -> float:
    """Return the attacks a second of a fish on prey right before it."""
    return state.par[0].hunt_rate * state.fish[i].hunger * (1.0 - injury(state, i))


@small_rule
def hunting_range(state: State, i: int, j: int, d2: float) -> float:
    """Return how much of that rate is left at a squared distance (m2), 0 to 1."""
    f = state.fish[i]
    near = state.par[0].own_space * f.length
    return curve(state, d2 / (near * near)) * layer_factor(state, f.layer, state.fish[j].layer)


@rule
def grow_hungry(state: State, dt: float) -> None:
    """Let `dt` seconds make fish hungry."""
    keep = math.exp(-dt / (3600.0 * state.par[0].hunger_time))
    for i in range(len(state.fish)):
        if state.fish[i].presence == IN_TANK:
            state.fish[i].hunger = 1.0 - (1.0 - state.fish[i].hunger) * keep
