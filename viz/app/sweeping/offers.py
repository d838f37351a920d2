"""What can be varied in a tank, in plain words, with values to begin with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sim.errors import Refused
from sim.formats import FOOT_M, INCH_M

if TYPE_CHECKING:
    from sim.scenario import Scenario

FEET = (2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0, 20.0)
INCHES_DEEP = (10.0, 12.0, 15.0, 18.0, 24.0, 30.0, 36.0, 48.0)
LARGER = 1.08  # times its own size, at least, is another size
MOST_VALUES = 4
MORE_CAVES = 3
WARMER_F = (-3, 0, 3)


@dataclass(frozen=True, slots=True)
class Offer:
    """Something that can be varied.

    Parameters
    ----------
    key
        Of `holdwater sweep --vary`; empty for another that is typed.
    words
        What it is, as one would say it.
    values
        To begin with, as `--vary` takes them.
    hint
        What may be typed.
    """

    key: str
    words: str
    values: str
    hint: str


def offers(scenario: Scenario) -> tuple[Offer, ...]:
    """Return what can be varied in a tank; any other key of a scenario besides.

    Parameters
    ----------
    scenario
        The tank.
    """
    tank = scenario.tank
    found = [
        Offer("tank.length", "how long the tank is", _feet(tank.length_m), "as 4 ft, 120 cm"),
        Offer("hardscape.caves", "how many caves it has", _caves(scenario), "as 0..6, or 1, 3, 6"),
    ]
    if len(scenario.fish) > 1:
        for group in scenario.fish:
            values = "0, 1" if group.count == 1 else _counts(group.count)
            single, several = f"whether {group.name} is there", f"how many {group.name} there are"
            words = single if group.count == 1 else several
            found.append(Offer(f"fish.{group.name}.count", words, values, "as 0, 6, 12"))
    found += [
        Offer(
            "tank.width", "how deep it is, front to back", _deep(tank.width_m), "as 18 in, 45 cm"
        ),
        Offer(
            "tank.temperature", "how warm it is", _warm(tank.temperature_c), "as 78 degF, 25 degC"
        ),
        Offer("tank.light_hours", "how long the light is on", "8, 10, 12", "hours, as 8, 12"),
    ]
    if scenario.keeper_plan is not None:
        found.append(
            Offer("keeper_plan.spare_places", "how many spare places there are", "0..3", "as 0..3")
        )
    found.append(Offer("", "another key of a scenario", "", "values with commas, or a range: 0..6"))
    return tuple(found)


def range_of(values: str) -> str:
    """Return values as one range, for a plan that goes evenly through it.

    Parameters
    ----------
    values
        As `--vary` takes them.

    Returns
    -------
    str
        From the least to the greatest, as ``"4 ft..8 ft"``; the values themselves where they are
        no numbers of one unit, or are a range already.
    """
    from sim.varying import read_factors

    try:
        (factor,) = read_factors([f"key={values}"])
        if not factor.ordered or factor.span is not None:
            return values
        ends = sorted(factor.values, key=lambda value: value.number)
        found = f"{ends[0].text}..{ends[-1].text}"
        read_factors([f"key={found}"])
    except Refused:
        return values
    return found


def _feet(length_m: float) -> str:
    own = round(length_m / FOOT_M, 2)
    return _from(own, FEET, "ft")


def _deep(width_m: float) -> str:
    own = round(width_m / INCH_M, 1)
    return _from(own, INCHES_DEEP, "in")


def _from(own: float, sizes: tuple[float, ...], unit: str) -> str:
    """Its own size and larger ones: in a smaller tank the pieces may not find room."""
    found = [own, *(one for one in sizes if one > own * LARGER)]
    if len(found) == 1:
        found.append(round(2.0 * own, 2))
    return ", ".join(f"{one:g} {unit}" for one in found[:MOST_VALUES])


def _caves(scenario: Scenario) -> str:
    from sim.more_caves import caves_of

    return f"0..{len(caves_of(scenario)) + MORE_CAVES}"


def _counts(count: int) -> str:
    return ", ".join(str(one) for one in sorted({0, (count + 1) // 2, count, 2 * count}))


def _warm(temperature_c: float) -> str:
    own = round(1.8 * temperature_c + 32.0)
    return ", ".join(f"{own + more} degF" for more in WARMER_F)
