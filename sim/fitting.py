r"""Fitting: who passes a door, how surely, and until when.

A fish passes a door that is wider than its body and higher than its body is deep
(`sim.rooms.Door.passes`), so that each species has a longest fish that does,

.. math:: L_{\max} = \max_{doors} \min(h / r_{depth}, w / r_{width}).

Lengths that a keeper does not know are drawn for each run, as `sim.start` does it; the chance here
is that of a draw. A fish that grows outgrows the door on the day on which, fed well and beaten by
nobody, it is :math:`L_{\max}` long (`sim.sums.food.length_on`); one that eats less does later.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from sim.scenario import Member
from sim.sums.food import grown_length, length_on

ADULT_SPREAD = 0.05  # sd of ln length among adults, as in `sim.start`
GUESS_SPREAD = 0.08  # sd of ln length where a keeper says "about", as in `sim.start`
LATEST_DAY = 36525.0  # d; a fish that has not outgrown a door by then never does


class Opening(Protocol):
    """What a body must pass: a door of a room, or of a kind of piece; m."""

    @property
    def width_m(self) -> float:
        """Clear width."""

    @property
    def height_m(self) -> float:
        """Clear height."""


@dataclass(frozen=True, slots=True)
class Fit:
    """Whether one fish passes one of several doors.

    Parameters
    ----------
    member
        The fish.
    chance
        Share of the draws in which it passes at the start, 0 to 1.
    until_day
        Day from which it no longer does, if it is fed well, counted from the start; None where it
        never outgrows the doors, or does not pass them to begin with.
    grown
        Whether it passes when full-grown.
    """

    member: Member
    chance: float
    until_day: float | None
    grown: bool


def longest_through(fish: Member, doors: Iterable[Opening]) -> float:
    """Return the length at which a fish no longer passes any of the doors, m; 0 without a door.

    Parameters
    ----------
    fish
        Its species gives depth and width for its length.
    doors
        Of one room.
    """
    kind = fish.species
    return max(
        (min(door.height_m / kind.depth_ratio, door.width_m / kind.width_ratio) for door in doors),
        default=0.0,
    )


def chance_through(fish: Member, doors: Iterable[Opening]) -> float:
    """Return the share of draws in which a fish passes one of the doors at the start, 0 to 1.

    Parameters
    ----------
    fish
        A fish of a scenario.
    doors
        Of one room.
    """
    most_m = longest_through(fish, doors)
    if most_m <= 0.0:
        return 0.0
    if fish.length_m is not None:
        return _share_below(most_m, middle_m=fish.length_m, spread=GUESS_SPREAD * fish.about)
    sexes = ("male", "female") if fish.sex == "unknown" else (fish.sex,)
    shares = [
        _share_below(most_m, middle_m=fish.species.adult_m(sex), spread=ADULT_SPREAD)
        for sex in sexes
    ]
    return sum(shares) / len(shares)


def _share_below(most_m: float, *, middle_m: float, spread: float) -> float:
    """Share of draws of ln length about a middle that are shorter than a length."""
    if spread == 0.0:
        return float(middle_m < most_m)
    return 0.5 * (1.0 + math.erf(math.log(most_m / middle_m) / (spread * math.sqrt(2.0))))


def fits(
    members: Iterable[Member], doors: Sequence[Opening], *, temperature_c: float
) -> tuple[Fit, ...]:
    """Return for each fish whether it passes one of the doors, and until when.

    Parameters
    ----------
    members
        Fish of a scenario.
    doors
        Of one room; those of a kind of piece will do, before it is placed.
    temperature_c
        Of the water: fish grow faster in warm water.

    Returns
    -------
    tuple of Fit
        In the order of the fish.
    """
    return tuple(_fit(fish, doors, temperature_c=temperature_c) for fish in members)


def _fit(fish: Member, doors: Sequence[Opening], *, temperature_c: float) -> Fit:
    chance = chance_through(fish, doors)
    most_m, grown_m = longest_through(fish, doors), grown_length(fish)
    start_m = grown_m if fish.length_m is None else fish.length_m
    grown = grown_m < most_m
    if grown or start_m >= most_m:
        return Fit(fish, chance, None, grown)
    return Fit(fish, chance, _day_of(fish, most_m, temperature_c=temperature_c), grown)


def _day_of(fish: Member, length_m: float, *, temperature_c: float) -> float | None:
    """Return the day on which a well-fed fish comes to a length; None if it never does."""
    low, high = 0.0, 1.0
    while length_on(fish, day=high, temperature_c=temperature_c) < length_m:
        low, high = high, 2.0 * high
        if high > LATEST_DAY:
            return None
    while high - low > 0.01:
        middle = 0.5 * (low + high)
        if length_on(fish, day=middle, temperature_c=temperature_c) < length_m:
            low = middle
        else:
            high = middle
    return high
