"""Start of residents: what a fish brings from its life in the tank before the first day.

A resident has been there since a day before day 0. It holds what it is said to own, with the
residence of all that time, and begins there; residents know each other, as fish do that have lived
side by side so long; of two with a rank the lower has learned to give way to the higher, and both
remember who is the stronger; an old injury is of scales and fins, since skin has closed long ago.

References
----------
None: how well settled fish know their place is assumed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused

if TYPE_CHECKING:
    from sim.care import Established
    from sim.layout import Layout
    from sim.scenario import Scenario
    from sim.start import Individual
    from sim.state import State

DAY = 86400.0  # s
KNOWN_EDGE = 0.2  # ln weight that a settled fish believes it has over a lower one, assumed
KNOWN_DOUBT = 0.05  # variance of that, ln weight squared, assumed


def fill_past(
    state: State, scenario: Scenario, layout: Layout, people: Sequence[Individual]
) -> None:
    """Give established fish what they bring from before the first day.

    Parameters
    ----------
    state
        A state in which nothing has happened yet.
    scenario, layout
        The checked scenario and its layout.
    people
        The fish of the run.

    Raises
    ------
    Refused
        If there is nothing to hold where a fish is said to own a place.
    """
    told = {group.name: group.established for group in scenario.fish if group.established}
    if not told:
        return
    past = {i: told[one.member.group] for i, one in enumerate(people) if one.member.group in told}
    for i, one in past.items():
        row = state.fish[i]
        row.resident_s = -DAY * one.since_day
        if one.injury is not None:
            row.scales = one.injury
        if one.owns is not None:
            row.owned = _place_of(layout, one, people[i].member.name)
            row.put_x, row.put_y = layout.sites[int(row.owned)].point
    _fill_acquaintance(state, past)


def _place_of(layout: Layout, one: Established, name: str) -> int:
    assert one.owns is not None
    site = layout.find_site(one.owns)
    if site < 0:
        raise Refused(
            Problem(
                f"fish {name}.established.owns",
                f"got {one.owns!r}, where there is nothing to hold; expected a cave, a flat stone, "
                "a rock with floor beside it, or a place on the floor. Name another.",
            )
        )
    return site


def _fill_acquaintance(state: State, past: Mapping[int, Established]) -> None:
    par = state.par[0]
    now = float(state.tank.clock[0])
    for i, one in past.items():
        for j, other in past.items():
            if i == j:
                continue
            link = state.pair[i, j]
            together = -max(one.since_day, other.since_day)
            learns = not state.tank.no_learning[0]
            if learns:
                link.familiar = 1.0 - math.exp(-together / float(par.familiar_time))
            if one.rank is None or other.rank is None or one.rank == other.rank:
                continue
            above = one.rank < other.rank
            link.beaten = int(above)
            if not learns:
                continue
            link.estimate = KNOWN_EDGE if above else -KNOWN_EDGE
            link.doubt = KNOWN_DOUBT
            link.met = now
            if not above:
                link.avoid = float(par.settled_avoidance)
                state.shuns[0, i, j] = 1
                state.shuns[1, j, i] = 1
