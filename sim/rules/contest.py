r"""Contest: sequential assessment in rounds of six seconds, without space.

Advantages are in units of ln(weight): +0.1 feels ten per cent heavier.

.. math::
   A_{ij} &= \kappa \ln(W_i / W_j) + q_i - q_j \\
   m &= g\,(\kappa \ln(W_i / W_j) + s_v \epsilon) + e_W - e_L + d_i + \mathrm{residency}
        + \mathrm{brood}, \qquad g = P_0 / (P_0 + s_v^2), \quad P = P_0 (1 - g)

Each round both sample :math:`\pm A + s\,\epsilon` (the error falls from display to biting to
mouth wrestling), update like a Kalman filter, and give up when :math:`m + z \sqrt{P}` falls under
a line that rises with what the fight has cost. Phases end on lengths drawn at the start, blind to
the difference. Forty-five minutes is a draw. A past meeting with the same fish carries over and
fades. Among females :math:`\kappa = 0.25`, since size does not decide there.

References
----------
Enquist1990, Koops1993 (phases, and their lengths independent of asymmetry); Oliveira2009;
Draud2004. The numbers are assumed, and fitted to the patterns of the evidence page.
"""

from __future__ import annotations

import math

import numpy as np

from sim.compiler import rule
from sim.draws import CONTEST, chain, exponential, normal
from sim.rules.codes import EGGS, FEMALE, FRY
from sim.state import State

ROUND = 6.0  # s
LONGEST = 450  # rounds, 45 min
DISPLAY_TIME = 10.0  # s that a display which leads to nothing takes, assumed


@rule
def pair_key(state: State, i: int, j: int, purpose: int) -> np.uint64:
    """Return the key of a pair of fish for one purpose, the same whoever else is in the tank."""
    return chain(chain(state.fish[i].key, purpose), int(state.fish[j].key >> np.uint64(2)))


@rule
def true_difference(state: State, i: int, j: int) -> float:
    """Return what size says of `i` against `j` (ln weight), 0 where assessment is taken away."""
    if state.tank[0].no_assessment == 1:
        return 0.0
    a = state.fish[i]
    b = state.fish[j]
    both_female = a.sex == FEMALE and b.sex == FEMALE
    kappa = state.par[0].female_size_weight if both_female else 1.0
    return kappa * (a.strength - b.strength)


@rule
def size_up(state: State, i: int, j: int, key: np.uint64) -> tuple[float, float]:
    """Return `i`'s first estimate of its advantage over `j` (ln weight), and the variance.

    Parameters
    ----------
    state
        State of the run.
    i, j
        The fish that looks and the one it looks at.
    key
        Key of this look.

    Returns
    -------
    estimate, variance
        In ln weight and its square.
    """
    p = state.par[0]
    t = state.tank[0]
    f = state.fish[i]
    spread = p.look_error * p.look_error
    gain = p.prior_variance / (p.prior_variance + spread)
    estimate = 0.0
    variance = p.prior_variance
    if t.no_assessment == 0:
        estimate = gain * (true_difference(state, i, j) + p.look_error * normal(key))
        variance *= 1.0 - gain
    estimate += f.winning - f.losing + f.daring
    if f.site >= 0:
        stay = (t.clock - f.site_since) / (3600.0 * p.residency_time)
        estimate += p.residency * (1.0 - math.exp(-stay))
    if f.brood >= 0 and EGGS <= state.broods[f.brood].stage <= FRY:
        estimate += p.brood_value
    link = state.pair[i, j]
    if link.met >= 0.0 and link.doubt > 0.0:
        age = (t.clock - link.met) / (3600.0 * p.memory_half_life)
        weight = math.exp(-0.6931471805599453 * age) / link.doubt
        estimate = (estimate / variance + weight * link.estimate) / (1.0 / variance + weight)
        variance = 1.0 / (1.0 / variance + weight)
    return estimate, variance


@rule
def phase_length(key: np.uint64, minutes: float) -> float:
    """Return a phase's length (s), gamma of shape 4 about a mean in minutes."""
    total = 0.0
    for k in range(4):
        total += exponential(chain(key, k))
    return total * minutes * 60.0 / 4.0


@rule
def phase_ends(state: State, i: int, j: int, ordinal: int) -> tuple[float, float]:
    """Return when the display and the biting of a contest end (s since it began), if it lasts.

    Parameters
    ----------
    state
        State of the run.
    i, j
        The fish that opened it and the other.
    ordinal
        Number of this contest between the two, for the draws.
    """
    p = state.par[0]
    key = chain(pair_key(state, i, j, CONTEST), ordinal)
    display = phase_length(chain(key, 3), p.display_time)
    return display, display + phase_length(chain(key, 4), p.biting_time)


@rule
def fight(
    state: State, i: int, j: int, ordinal: int
) -> tuple[int, float, float, float, float, float, float]:
    """Play one contest to its end.

    Parameters
    ----------
    state
        State of the run; not changed.
    i, j
        The fish that opened it and the other.
    ordinal
        Number of this contest between the two, for the draws.

    Returns
    -------
    outcome
        1 when `i` wins, -1 when `j` wins, 0 for a draw.
    seconds
        Length of the contest.
    contact
        Seconds of it after the display: biting and mouth wrestling.
    estimate_i, variance_i, estimate_j, variance_j
        What both came to believe.
    """
    p = state.par[0]
    key = chain(pair_key(state, i, j, CONTEST), ordinal)
    m_i, v_i = size_up(state, i, j, chain(key, 1))
    m_j, v_j = size_up(state, j, i, chain(key, 2))
    truth = true_difference(state, i, j) + state.fish[i].quality - state.fish[j].quality
    display, biting = phase_ends(state, i, j, ordinal)
    cost_i = 0.0
    cost_j = 0.0
    weigh_i = math.exp(-p.inferior_cost * truth)
    weigh_j = math.exp(p.inferior_cost * truth)
    for r in range(LONGEST):
        now = r * ROUND
        if now >= biting:
            error = p.wrestling_error
            cost = p.wrestling_cost
        elif now >= display:
            error = p.biting_error
            cost = p.biting_cost
        else:
            error = p.display_error
            cost = p.display_cost
        gain = v_i / (v_i + error * error)
        m_i += gain * (truth + error * normal(chain(key, 10 + 2 * r)) - m_i)
        v_i *= 1.0 - gain
        gain = v_j / (v_j + error * error)
        m_j += gain * (-truth + error * normal(chain(key, 11 + 2 * r)) - m_j)
        v_j *= 1.0 - gain
        cost_i += cost * weigh_i * ROUND / 60.0
        cost_j += cost * weigh_j * ROUND / 60.0
        short_i = m_i + p.hope * math.sqrt(v_i) - cost_i + p.giving_up_line
        short_j = m_j + p.hope * math.sqrt(v_j) - cost_j + p.giving_up_line
        if short_i < 0.0 or short_j < 0.0:
            outcome = 1 if short_j < short_i else -1
            return outcome, now + ROUND, max(now + ROUND - display, 0.0), m_i, v_i, m_j, v_j
    seconds = LONGEST * ROUND
    return 0, seconds, max(seconds - display, 0.0), m_i, v_i, m_j, v_j
