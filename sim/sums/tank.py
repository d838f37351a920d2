"""Every sum for the tank and the fish of one scenario."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from sim.scenario import Scenario, company
from sim.sums.ammonia import ammonia_from_feed
from sim.sums.assumed import load_matter, numbers_of
from sim.sums.density import water_density
from sim.sums.food import daily_food, length_on
from sim.sums.load import floor_load, glass_mass
from sim.sums.nitrate import (
    change_needed,
    longest_between,
    nitrate_after_change,
    nitrate_before_change,
    nitrate_rise,
)
from sim.sums.oxygen import oxygen_saturation, pressure_at
from sim.sums.unionised import total_for, unionised_share
from sim.sums.volume import grain_volume, matter_volume, water_volume

if TYPE_CHECKING:
    from sim.pieces import PlacedPiece

MOMENTS = ("now", "at the end", "full-grown")
MOST_SUBSTRATE = 0.5  # of the tank's height, assumed: deeper, and the sums mean nothing


@dataclass(frozen=True, slots=True)
class Moment:
    """The fish at one time, and what they do to the water.

    Parameters
    ----------
    name
        One of `MOMENTS`; "at the end" of the scenario's days only where fish grow.
    day
        Days from the start; None for full-grown.
    fish_g, food_g
        Mass of all fish, and their food a day.
    share_of_mass
        Food a day as a share of that mass.
    ammonia_g
        Ammonia nitrogen they give off in a day.
    ammonia_rise
        What it makes in the water if nothing takes it up, mg of nitrogen per litre and day.
    hours_to_harm
        Until that harms, from clean water and without a filter that is ripe.
    nitrate_rise
        mg/L a day.
    nitrate_before, nitrate_after
        In the long run, just before and just after a water change, mg/L.
    change_needed
        Least share of water each time that keeps the limit; None where all of it does not suffice.
    longest_days
        Most days between changes of the usual share; None where the water that comes in is at the
        limit.
    """

    name: str
    day: float | None
    fish_g: float
    food_g: float
    share_of_mass: float
    ammonia_g: float
    ammonia_rise: float
    hours_to_harm: float
    nitrate_rise: float
    nitrate_before: float
    nitrate_after: float
    change_needed: float | None
    longest_days: float | None


@dataclass(frozen=True, slots=True)
class TankSums:
    """What one tank weighs and holds, and what its fish do to its water.

    Parameters
    ----------
    length_m, width_m, height_m, temperature_c
        The tank and its water.
    fish
        How many.
    fed_by
        "scenario" where it says how much is fed, else "need".
    brim_l, grains_l, pieces_l, water_l
        Up to the surface; less what grains and pieces take the place of, the water.
    water_kg, substrate_kg, pieces_kg, glass_kg, stand_kg, total_kg
        What it all weighs.
    load_kpa, foot_kg, room_times
        Load under the footprint, a quarter of the weight, and the load as a multiple of that for
        which floors of dwellings are commonly designed.
    unionised_share, harm_total
        Share of ammonia that is un-ionised, and the total ammonia at which that harms, mg of
        nitrogen per litre.
    harm_total_higher
        The same at one unit of pH more.
    oxygen_mg_l
        At saturation.
    moments
        Now, at the end where fish grow, and full-grown.
    """

    length_m: float
    width_m: float
    height_m: float
    temperature_c: float
    fish: int
    fed_by: str
    brim_l: float
    grains_l: float
    pieces_l: float
    water_l: float
    water_kg: float
    substrate_kg: float
    pieces_kg: float
    glass_kg: float
    stand_kg: float
    total_kg: float
    load_kpa: float
    foot_kg: float
    room_times: float
    unionised_share: float
    harm_total: float
    harm_total_higher: float
    oxygen_mg_l: float
    moments: tuple[Moment, ...]


def tank_sums(
    scenario: Scenario,
    pieces: tuple[PlacedPiece, ...],
    *,
    given: Mapping[str, float] | None = None,
    where: str = "scenario",
) -> TankSums:
    """Return every sum for a scenario: its tank, its pieces, and all its fish together.

    Parameters
    ----------
    scenario
        A checked scenario.
    pieces
        Its pieces in their places, as `sim.layout.Layout.pieces` has them.
    given
        Numbers in place of those that are assumed, by the names of `sim.sums.assumed`.
    where
        What the scenario is called in a refusal.

    Returns
    -------
    TankSums

    Raises
    ------
    Refused
        If a number is unknown or out of its range, the substrate too deep, or no water is left.
    """
    numbers = numbers_of(given)
    tank = scenario.tank
    floor_m2 = tank.length_m * tank.width_m
    depth_m = 0.0 if tank.substrate == "bare" else numbers["substrate_depth"]
    if depth_m > MOST_SUBSTRATE * tank.height_m:
        raise Refused(
            Problem(
                "--substrate-depth",
                f"got {depth_m:g} m, more than half the height of {where}; expected at most "
                f"{MOST_SUBSTRATE * tank.height_m:g} m. Give less.",
            )
        )
    grains_m3 = grain_volume(floor_m2, depth_m=depth_m, pores=numbers["substrate_pores"])
    matter = load_matter()
    volumes = [
        matter_volume(one, fills=matter[one.kind.key].fills, water_height_m=tank.height_m)
        for one in pieces
    ]
    try:
        water_m3 = water_volume(
            floor_m2 * tank.height_m, grains_m3=grains_m3, pieces_m3=math.fsum(volumes)
        )
    except ValueError as error:
        raise Refused(Problem(where, f"{error} Take pieces out.")) from None
    weights = {
        "water_kg": water_m3 * water_density(tank.temperature_c),
        "substrate_kg": grains_m3 * numbers["grain_density"],
        "pieces_kg": math.fsum(
            volume * matter[one.kind.key].density_kg_m3
            for one, volume in zip(pieces, volumes, strict=True)
        ),
        "glass_kg": glass_mass(
            tank.length_m,
            width_m=tank.width_m,
            height_m=tank.height_m,
            of_height=numbers["glass_thickness"],
            least_m=numbers["least_glass"],
            density_kg_m3=numbers["glass_density"],
        ),
        "stand_kg": numbers["stand"] * tank.length_m,
    }
    total_kg = math.fsum(weights.values())
    load_kpa = floor_load(total_kg, footprint_m2=floor_m2)
    share = unionised_share(tank.temperature_c, ph=numbers["ph"])
    harm, higher = (
        total_for(numbers["ammonia_harm"], temperature_c=tank.temperature_c, ph=ph)
        for ph in (numbers["ph"], numbers["ph"] + 1.0)
    )
    fed = scenario.feeding is not None and bool(scenario.feeding.share_of_mass)
    return TankSums(
        length_m=tank.length_m,
        width_m=tank.width_m,
        height_m=tank.height_m,
        temperature_c=tank.temperature_c,
        fish=sum(group.count for group in scenario.fish),
        fed_by="scenario" if fed else "need",
        brim_l=1000.0 * floor_m2 * tank.height_m,
        grains_l=1000.0 * grains_m3,
        pieces_l=1000.0 * math.fsum(volumes),
        water_l=1000.0 * water_m3,
        total_kg=total_kg,
        load_kpa=load_kpa,
        foot_kg=0.25 * total_kg,
        room_times=load_kpa / numbers["room_load"],
        unionised_share=share,
        harm_total=harm,
        harm_total_higher=higher,
        oxygen_mg_l=oxygen_saturation(
            tank.temperature_c,
            salinity_g_kg=numbers["salinity"],
            pressure_atm=pressure_at(numbers["altitude"]),
        ),
        moments=_moments(scenario, numbers, water_l=1000.0 * water_m3, harm=harm),
        **weights,
    )


def _moments(
    scenario: Scenario, numbers: Mapping[str, float], *, water_l: float, harm: float
) -> tuple[Moment, ...]:
    now, end, grown = MOMENTS
    days = [(now, 0.0), (end, scenario.days), (grown, math.inf)]
    if not scenario.growth:
        del days[1]
    return tuple(
        _moment(scenario, numbers, name=name, day=day, water_l=water_l, harm=harm)
        for name, day in days
    )


def _moment(
    scenario: Scenario,
    numbers: Mapping[str, float],
    *,
    name: str,
    day: float,
    water_l: float,
    harm: float,
) -> Moment:
    masses = [
        one.species.mass_g(length_on(one, day=day, temperature_c=scenario.tank.temperature_c))
        for one in company(scenario)
    ]
    fish_g = math.fsum(masses)
    food_g = daily_food(scenario, masses)
    ammonia_g = ammonia_from_feed(
        food_g, protein=numbers["protein"], per_protein=numbers["ammonia_of_protein"]
    )
    ammonia_rise = 1000.0 * ammonia_g / water_l
    rise = nitrate_rise(ammonia_g, water_l=water_l)
    share, every = numbers["change_share"], numbers["change_days"]
    tap, limit = numbers["tap_nitrate"], numbers["nitrate_limit"]
    before = nitrate_before_change(rise, share=share, days=every, tap=tap)
    return Moment(
        name=name,
        day=None if math.isinf(day) else day,
        fish_g=fish_g,
        food_g=food_g,
        share_of_mass=food_g / fish_g,
        ammonia_g=ammonia_g,
        ammonia_rise=ammonia_rise,
        hours_to_harm=24.0 * harm / ammonia_rise,
        nitrate_rise=rise,
        nitrate_before=before,
        nitrate_after=nitrate_after_change(before, share=share, tap=tap),
        change_needed=change_needed(rise, days=every, limit=limit, tap=tap),
        longest_days=longest_between(rise, share=share, limit=limit, tap=tap),
    )
