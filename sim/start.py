"""Start: a state of the first moment, made from a scenario, its layout and a run's number.

What a fish is (temper, sex where unknown, length where rough, unseen quality) hangs on the seed,
on the draw of fish and on the fish's own group and number alone, so that two tanks of a
comparison hold the same fish even when one holds more of them. What happens to it hangs on the
run besides. Two runs share each draw of fish, so that the spread between fish and the luck of the
day can be told apart.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.draws import TRAIT, named_key
from sim.feeding import feeding_spots, feeding_times
from sim.observing import called_in, stretches_of
from sim.parameters import parameter_record
from sim.rules.codes import CAVE, FEMALE, FLAT, MALE, OPEN_FLOOR
from sim.scenario import Member, Scenario, company
from sim.settings import Settings
from sim.start_breeding import fill_breeding
from sim.start_past import fill_past
from sim.state import NEVER, State, blank_state, harm_grid
from sim.temperature import aggression_factor, development_rate
from sim.unmeasured import numbers_of_run

if TYPE_CHECKING:
    from sim.layout import Layout
    from sim.tables import Floor

# Aggression and boldness of a fish in standard deviations about its species, by group and number.
Tempers = Mapping[tuple[str, int], tuple[float, float]]

RUNS_PER_DRAW = 2
ADULT_SPREAD = 0.05  # sd of ln length among adults, assumed
YEAR = 365.25  # d
GUESS_SPREAD = 0.08  # sd of ln length where a keeper says "about", assumed
TEMPER = {"mild": -1.0, "typical": 0.0, "fierce": 1.0}  # in standard deviations, assumed
SITE_KIND = {"cave": CAVE, "pit": OPEN_FLOOR, "surface": FLAT, "none": OPEN_FLOOR}


@dataclass(frozen=True, slots=True)
class Individual:
    """One fish of one draw: what it is, before anything has happened to it.

    Parameters
    ----------
    member
        The fish of the scenario.
    sex
        `FEMALE` or `MALE`.
    length_m
        Total length.
    grown_m
        Length toward which it grows.
    aggression
        Multiplier of the attack rate.
    boldness
        0 to 1.
    quality, daring
        In ln weight.
    """

    member: Member
    sex: int
    length_m: float
    grown_m: float
    aggression: float
    boldness: float
    quality: float
    daring: float


def draw_of(run: int) -> int:
    """Return the draw of fish that a run plays."""
    return run // RUNS_PER_DRAW


def draw_fish(
    scenario: Scenario,
    *,
    seed: int,
    draw: int,
    quality_sd: float,
    daring_sd: float,
    tempers_of: int | None = None,
    tempers: Tempers | None = None,
) -> tuple[Individual, ...]:
    """Return the fish of one draw, the same in every tank that holds them.

    Parameters
    ----------
    scenario
        Names the fish, and whether individuality is taken away.
    seed
        Seed of the study.
    draw
        Number of the draw.
    quality_sd, daring_sd
        Spread among fish, ln weight.
    tempers_of
        Draw from which the tempers (aggression and boldness) are taken, and nothing else; `draw`
        where None.
    tempers
        Tempers that are given, in place of drawn ones; a fish that is not named there is drawn. A
        temper that the scenario states stays.

    Returns
    -------
    tuple of Individual
        In the order of the file.
    """
    average = "individuality" in scenario.without
    fish = []
    for member in company(scenario):
        kind = member.species
        rng = _traits(member, seed=seed, draw=draw)
        # Drawn in a fixed order and always all, so that one answer never shifts another.
        z_temper, z_bold, z_quality, z_daring, z_length = rng.standard_normal(5)
        coin = rng.random()
        if tempers_of is not None:
            z_temper, z_bold = _traits(member, seed=seed, draw=tempers_of).standard_normal(5)[:2]
        if tempers is not None:
            z_temper, z_bold = tempers.get((member.group, member.index), (z_temper, z_bold))
        if average:
            z_temper = z_bold = z_quality = z_daring = z_length = 0.0
        if member.temper in TEMPER:
            z_temper = TEMPER[member.temper]
        sex = {"male": MALE, "female": FEMALE}.get(member.sex, MALE if coin < 0.5 else FEMALE)
        length = member.length_m
        adult = kind.adult_male_m if sex == MALE else kind.adult_female_m
        adult *= math.exp(ADULT_SPREAD * z_length)
        if length is None:
            length = adult
        elif member.about:
            length *= math.exp(GUESS_SPREAD * z_length)
        fish.append(
            Individual(
                member=member,
                sex=sex,
                length_m=length,
                grown_m=max(adult, length),
                aggression=kind.aggression * math.exp(kind.aggression_sd * z_temper),
                boldness=min(max(kind.boldness + kind.boldness_sd * z_bold, 0.0), 1.0),
                quality=quality_sd * z_quality,
                daring=daring_sd * z_daring,
            )
        )
    return tuple(fish)


def _traits(member: Member, *, seed: int, draw: int) -> np.random.Generator:
    key = named_key("fish", seed, draw, member.group, member.index, TRAIT)
    return np.random.Generator(np.random.Philox(key=int(key)))


def fits_of(fish: Individual, floor: Floor) -> np.ndarray:
    """Return which doors a fish passes on the first day, shape (n_doors,).

    Parameters
    ----------
    fish
        One fish of a draw.
    floor
        Tables of the layout.
    """
    kind = fish.member.species
    width, height = floor.door_size[:, 0], floor.door_size[:, 1]
    return np.asarray(
        (kind.depth_ratio * fish.length_m < height) & (kind.width_ratio * fish.length_m < width)
    )


def start_state(
    scenario: Scenario,
    layout: Layout,
    *,
    run: int = 0,
    seed: int | None = None,
    settings: Settings | None = None,
    changes: Mapping[str, float] | None = None,
    tempers_of: int | None = None,
    tempers: Tempers | None = None,
) -> State:
    """Return the state of a run before anything has happened.

    Parameters
    ----------
    scenario, layout
        The checked scenario and its layout.
    run
        Number of the run.
    seed
        Seed of the study; the scenario's own where none is given, else 1.
    settings
        Time steps and watching.
    changes
        Parameters that differ from the defaults.
    tempers_of
        Run whose tempers the fish have, and whose unmeasured numbers are played, all else being
        that of `run`; `run` itself where None.
    tempers
        As `draw_fish`.

    Returns
    -------
    State
        Ready for `sim.rules.advance.begin`.

    Raises
    ------
    Refused
        If a parameter is unknown or out of range, or no pair can breed that is asked to.
    """
    seed = seed if seed is not None else scenario.seed if scenario.seed is not None else 1
    floor = layout.floor()
    settings = settings or Settings()
    numbers = run if tempers_of is None else tempers_of
    par = parameter_record(numbers_of_run(numbers, seed=seed, vary=settings.vary, changes=changes))
    plants = [piece for piece in layout.pieces if piece.kind.group == "plant"]
    kinds = {fish.species.key for fish in company(scenario)}
    watched = stretches_of(scenario)
    state = blank_state(
        n_fish=sum(group.count for group in scenario.fish),
        n_doors=max(len(stage.door_room) for stage in layout.floors()),
        days=math.ceil(scenario.days),
        par=par,
        settings=settings.record(),
        n_spots=len(feeding_spots(scenario)),
        n_meals=len(feeding_times(scenario)),
        n_kinds=len(kinds),
        n_plants=len(plants),
        stretches=len(watched),
        n_blocks=math.prod(harm_grid(int(floor.dims[4]), int(floor.dims[5]))),
    )
    for row, stretch in zip(state.stretches, watched, strict=True):
        row["start"], row["end"] = stretch.start_s, stretch.end_s
        row["until_decided"] = int(stretch.until_decided)
    people = draw_fish(
        scenario,
        seed=seed,
        draw=draw_of(run),
        quality_sd=float(par.quality_sd[0]),
        daring_sd=float(par.daring_sd[0]),
        tempers_of=None if tempers_of is None else draw_of(tempers_of),
        tempers=tempers,
    )
    tank = state.tank
    tank.seed = named_key("run", seed, run)
    tank.light_on = 3600.0 * scenario.tank.lights_on_h
    tank.light_off = 3600.0 * (scenario.tank.lights_on_h + scenario.tank.light_hours)
    tank.clock = tank.light_on
    tank.end = 86400.0 * scenario.days
    tank.dim = 3600.0 * scenario.tank.dusk_hours
    tank.stop_at = NEVER
    for name in ("assessment", "learning", "occlusion", "hiding", "brood"):
        tank[f"no_{name}"] = int(name in scenario.without)
    _fill_fish(state, people, seed=seed, run=run, temperature_c=scenario.tank.temperature_c)
    _fill_pairs(state, people)
    fill_fits(state, floor)
    for i in called_in(scenario):
        state.fish["join_time"][i] = NEVER  # it comes for a meeting
    _fill_food(state, scenario)
    fill_past(state, scenario, layout, people)
    fill_breeding(state, scenario, layout, people)
    return state


def _fill_fish(
    state: State, people: tuple[Individual, ...], *, seed: int, run: int, temperature_c: float
) -> None:
    par = state.par[0]
    kinds = {name: k for k, name in enumerate(sorted({p.member.species.key for p in people}))}
    for row, fish in zip(state.fish, people, strict=True):
        member = fish.member
        kind = member.species
        row["key"] = named_key("luck", seed, run, member.group, member.index)
        row["species"] = kinds[kind.key]
        row["sex"] = fish.sex
        row["length"] = fish.length_m
        row["ripe_length"] = kind.maturity_m
        row["mass"] = kind.mass_g(fish.length_m)
        row["depth"] = kind.depth_ratio * fish.length_m
        row["width"] = kind.width_ratio * fish.length_m
        row["gape"] = kind.gape_ratio * fish.length_m
        row["warmth"] = aggression_factor(
            temperature_c, curve=kind.warmth, effect=float(par["warmth_effect"])
        )
        row["start_length"] = fish.length_m
        row["grown_length"] = fish.grown_m
        male = fish.sex == MALE
        row["growth_rate"] = (kind.growth_male_per_y if male else kind.growth_female_per_y) / YEAR
        row["mass_power"] = kind.weight_b
        row["strength"] = math.log(row["mass"])
        row["quality"] = fish.quality
        row["daring"] = fish.daring
        row["aggression"] = fish.aggression
        row["boldness"] = fish.boldness
        row["armour"] = kind.armour
        row["shoaling"] = kind.shoaling
        row["activity"] = kind.day
        row["floor_share"] = kind.layer_share[0]
        row["middle_share"] = kind.layer_share[1]
        row["cruise"] = par["cruise_speed"] * fish.length_m
        row["burst"] = par["burst_speed"] * fish.length_m
        row["chase"] = par["chase_speed"] * fish.length_m
        row["territorial"] = int(kind.territorial)
        row["spawns_in"] = SITE_KIND[kind.site]
        row["dusk"] = kind.dusk
        row["night"] = kind.night
        at_s = float(state.tank.light_on[0])
        if member.joins_at_h is not None:
            at_s = 3600.0 * member.joins_at_h
        row["join_time"] = 86400.0 * member.joins_day + at_s
        if member.joins_place is not None:
            row["put_x"], row["put_y"] = member.joins_place


def _fill_pairs(state: State, people: tuple[Individual, ...]) -> None:
    par = state.par[0]
    for i, fish in enumerate(people):
        for j, other in enumerate(people):
            a, b = fish.member.species, other.member.species
            if a.key == b.key:
                word = "own_kind"
            elif a.kind == b.kind and (a.shape == b.shape or a.colour == b.colour):
                word = "similar"
            else:
                word = "other"
            row = state.pair[i, j]
            row["likeness"] = par[f"like_{word}"]
            row["kind_reach"] = par[f"reach_{word}"]
            gap = math.log(other.length_m / (par["most_attacked"] * fish.length_m))
            row["size_factor"] = math.exp(-0.5 * (gap / par["size_width"]) ** 2)
            prey = max(state.fish.depth[j], state.fish.width[j]) < state.fish.gape[i]
            row["prey"] = int(i != j and prey)


def fill_fits(state: State, floor: Floor) -> None:
    """Set which fish passes which door of a layout.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    """
    state.fits[:] = 0
    for i, row in enumerate(state.fish):
        for d, (width, height) in enumerate(floor.door_size):
            state.fits[i, d] = row["depth"] < height and row["width"] < width


def _fill_food(state: State, scenario: Scenario) -> None:
    tank = state.tank
    par = state.par[0]
    tank.growing = int(scenario.growth)
    warm = development_rate(scenario.tank.temperature_c, q10=float(par["growth_q10"]))
    tank.growth_speed = warm * par["growth_scale"]
    if scenario.feeding is None:
        return
    tank.fed = 1
    tank.ration = scenario.feeding.share_of_mass or 0.0
    state.meal_times[:] = sorted(feeding_times(scenario))
    for row, (x, y) in zip(state.food, feeding_spots(scenario), strict=True):
        row["x"], row["y"] = x, y
    tank.next_meal = state.meal_times[0]
