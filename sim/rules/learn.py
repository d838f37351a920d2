r"""Learn: winner and loser effects, memory of each opponent, avoidance and familiarity.

After a contest :math:`e_W \mathrel{+}= \Delta_W (1 - e_W / e_{max})` for the winner and the same
with :math:`\Delta_L` for the loser; a retreat without a contest counts the share `retreat_counts`.
Both fade with half-lives of clock time (2 h and 24 h). A chase teaches its victim to avoid that
bully: :math:`a \mathrel{+}= g (1 - a)`, and for a share of the lesson the bully's mate, with whom
it holds its ground. Residents grow familiar with each other over days.

References
----------
Oliveira2009 (size of the two effects at 2 h); Hsu2006; Leiser1999 (dear enemies). Half-lives
from memory; avoidance and familiarity assumed.
"""

from __future__ import annotations

from sim.compiler import rule, small_rule
from sim.rules.codes import SHUNNED
from sim.state import State


@rule
def experience(state: State, winner: int, loser: int, share: float) -> None:
    """Let a winner and a loser learn from what passed between them.

    Parameters
    ----------
    state
        State of the run.
    winner, loser
        The two fish.
    share
        1 for a contest, less for a retreat without one.
    """
    if state.tank[0].no_learning == 1:
        return
    p = state.par[0]
    w = state.fish[winner]
    f = state.fish[loser]
    w.winning += share * p.winner_gain * (1.0 - w.winning / p.experience_cap)
    f.losing += share * p.loser_loss * (1.0 - f.losing / p.experience_cap)


@rule
def remember(state: State, i: int, j: int, estimate: float, doubt: float) -> None:
    """Keep what `i` came to believe of its advantage (ln weight) over `j`, with its variance."""
    if state.tank[0].no_learning == 1:
        return
    link = state.pair[i, j]
    link.estimate = estimate
    link.doubt = doubt
    link.met = state.tank[0].clock


@small_rule
def mark_shunned(state: State, i: int, j: int) -> None:
    """Note, for looks to find it quickly, whether fish `i` avoids fish `j` enough to lean away."""
    shuns = 1 if state.pair[i, j].avoid >= SHUNNED else 0
    state.shuns[0, i, j] = shuns
    state.shuns[1, j, i] = shuns


@rule
def avoid(state: State, victim: int, bully: int, share: float) -> None:
    """Let the victim of a chase learn to avoid the fish that chased it."""
    if state.tank[0].no_learning == 1:
        return
    p = state.par[0]
    link = state.pair[victim, bully]
    link.avoid += share * p.avoid_gain * (1.0 - link.avoid)
    mark_shunned(state, victim, bully)
    mate = state.fish[bully].mate
    if mate >= 0 and mate != victim:
        also = state.pair[victim, mate]
        also.avoid += share * p.pair_lesson * p.avoid_gain * (1.0 - also.avoid)
        mark_shunned(state, victim, mate)
