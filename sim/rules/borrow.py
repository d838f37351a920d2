r"""Borrow: how exposed a pair is taken to be in a leap, by its own windows and those of its likes.

Where fish swim and hide hangs together over half an hour or so, and a window shows four minutes.
So what a few windows tell of one pair is much luck; leaps would go on with that luck for days, and
fish would be hurt for it that in truth are not. Fish that hold no ground are where they are for
the same reasons as others of their kind: where every second is watched, those of a kind differ in
exposure by a sixth or so, and twenty windows miss each of them by half. So they borrow:

.. math:: r_k = \frac{n_k \hat r_k + B_2\,\hat r}{n_k + B_2}, \qquad
   r_j = \frac{n_j \hat r_j + B_1\,r_k}{n_j + B_1}

with :math:`\hat r` the exposure a second to one attacker, seen of fish j, of its kind k, and of all
that hold no ground, in the open and in cover apart; :math:`n` the windows, times the fish, in which
it was seen (their effective number, since they fade). Who holds ground, and a mate, stand for
themselves.

References
----------
Stein1956 (several means are told better together than each by itself). :math:`B_1` and :math:`B_2`
assumed, from how exposures differ where every second is watched; see
docs/decisions/0002-watching-and-leaping.md.
"""

from __future__ import annotations

from sim.compiler import rule, small_rule
from sim.rules.codes import IN_TANK
from sim.state import State

LIKE = 250.0  # windows, for one of a kind among its kind
OTHER = 10.0  # windows, for a kind among all


@small_rule
def effective_number(weight: float, squares: float) -> float:
    """Return how many sights of one weight would be as sure as those seen, of which the old fade.

    Parameters
    ----------
    weight, squares
        Sum of their weights, and of the squares of these.
    """
    return weight * weight / squares if squares > 0.0 else 0.0


@small_rule
def borrows(state: State, i: int, j: int) -> bool:
    """Return whether fish `j` is exposed to `i` as others are: it holds nothing, and is no mate."""
    f = state.fish[i]
    g = state.fish[j]
    there = g.presence == IN_TANK and g.compartment == f.compartment
    apart = (g.brood >= 0 or f.mate == j) and state.tank[0].no_brood == 0
    return there and i != j and g.site < 0 and not apart


@small_rule
def lent(exposure: float, free: float, windows: float, rate: float, weight: float) -> float:
    """Return an exposure a second, from what was seen and a rate that weighs so many windows."""
    if free <= 0.0:
        return rate
    return (windows * exposure / free + weight * rate) / (windows + weight)


@small_rule
def seen_rate(exposure: float, free: float) -> float:
    """Return an exposure a second; 0 where nothing was seen."""
    return exposure / free if free > 0.0 else 0.0


@rule
def seen_by_kind(state: State, i: int) -> tuple[float, float, float, float]:
    """Add up what is pooled toward fish `i` of all that borrow, by kind, and return it in all."""
    for k in range(len(state.kinds)):
        kind = state.kinds[k]
        kind.seen = 0.0
        kind.seen_free = 0.0
        kind.seen_covered = 0.0
        kind.seen_free_covered = 0.0
    exposure = 0.0
    free = 0.0
    covered = 0.0
    free_covered = 0.0
    for j in range(len(state.fish)):
        if borrows(state, i, j):
            link = state.pair[i, j]
            kind = state.kinds[state.fish[j].species]
            kind.seen += link.exposure
            kind.seen_free += link.free
            kind.seen_covered += link.exposure_covered
            kind.seen_free_covered += link.free_covered
            exposure += link.exposure
            free += link.free
            covered += link.exposure_covered
            free_covered += link.free_covered
    return exposure, free, covered, free_covered


@rule
def set_rates(state: State) -> None:
    """Set the exposure a second of every pair, for the leap that begins."""
    t = state.tank[0]
    n = len(state.fish)
    # Windows a second of pooled time: of even windows as many as would be as sure as these.
    per_s = 0.0
    if t.pool_square > 0.0 and t.pool_time > 0.0:
        per_s = effective_number(t.pool_weight, t.pool_square) / t.pool_time
    for i in range(n):
        exposure, free, covered, free_covered = seen_by_kind(state, i)
        every = seen_rate(exposure, free)
        every_covered = seen_rate(covered, free_covered)
        for j in range(n):
            link = state.pair[i, j]
            if not borrows(state, i, j):
                link.rate = seen_rate(link.exposure, link.free)
                link.rate_covered = seen_rate(link.exposure_covered, link.free_covered)
                continue
            kind = state.kinds[state.fish[j].species]
            mine = per_s * (link.free + link.free_covered)
            ours = per_s * (kind.seen_free + kind.seen_free_covered)
            r = lent(kind.seen, kind.seen_free, ours, every, OTHER)
            link.rate = lent(link.exposure, link.free, mine, r, LIKE)
            r = lent(kind.seen_covered, kind.seen_free_covered, ours, every_covered, OTHER)
            link.rate_covered = lent(link.exposure_covered, link.free_covered, mine, r, LIKE)
