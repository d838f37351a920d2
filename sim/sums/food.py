r"""Food: how long and how heavy the fish of a scenario are, and what they are fed.

Lengths are those of the file; where it says nothing, or "adult", the full-grown length of the sex,
and the mean of both sexes where that is unknown. A fish that grows does so as one that is fed all
it needs and is beaten by nobody,

.. math:: L(d) = L_\infty - (L_\infty - L_0)\, e^{-K q d}

which is the rule `sim.rules.grow` at its best. Food a day is the `share_of_mass` of the file, or
what the rule `sim.rules.feed` says the fish need.

References
----------
Grantner1998 (exponent of need); the rest as those rules say.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

from sim.parameters import load_parameters
from sim.temperature import development_rate

if TYPE_CHECKING:
    from sim.scenario import Member, Scenario

USUAL_MASS = 30.0  # g, at which the share of mass a day holds, as in `sim.rules.feed`
YEAR = 365.25  # d


def grown_length(fish: Member) -> float:
    """Return the length toward which a fish grows, m: no less than it has."""
    return max(fish.species.adult_m(fish.sex), fish.length_m or 0.0)


def length_on(fish: Member, *, day: float, temperature_c: float) -> float:
    """Return the length of a well-fed fish after so many days of growth, m.

    Parameters
    ----------
    fish
        One fish of a scenario.
    day
        Days of growth; infinite for full-grown.
    temperature_c
        Of the water.
    """
    grown = grown_length(fish)
    start = grown if fish.length_m is None else fish.length_m
    kind = fish.species
    rate = {"male": kind.growth_male_per_y, "female": kind.growth_female_per_y}.get(
        fish.sex, 0.5 * (kind.growth_male_per_y + kind.growth_female_per_y)
    )
    par = load_parameters()
    speed = development_rate(temperature_c, q10=par["growth_q10"].value) * par["growth_scale"].value
    return grown - (grown - start) * math.exp(-rate / YEAR * speed * day)


def daily_need(mass_g: float) -> float:
    """Return what a fish needs to eat in a day, g.

    Parameters
    ----------
    mass_g
        Of the fish.

    References
    ----------
    Grantner1998
    """
    par = load_parameters()
    need = par["need_share"].value * USUAL_MASS
    return float(need * (mass_g / USUAL_MASS) ** par["need_power"].value)


def daily_food(scenario: Scenario, masses_g: Iterable[float]) -> float:
    """Return what the fish of a scenario are fed in a day, all together, g.

    Parameters
    ----------
    scenario
        A checked scenario; its `feeding` is read.
    masses_g
        Mass of each fish.
    """
    masses = tuple(masses_g)
    if scenario.feeding is not None and scenario.feeding.share_of_mass:
        return scenario.feeding.share_of_mass * math.fsum(masses)
    return math.fsum(daily_need(mass) for mass in masses)
