"""Start of breeding: what each species needs to spawn, who is a pair, and where a brood stands."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from sim.draws import PAIRING, named_key
from sim.errors import Problem, Refused
from sim.rules.codes import (
    BARE,
    COURTING,
    DIGGING,
    EGGS,
    FEMALE,
    FRY,
    GRAVEL,
    MALE,
    ON,
    RESTING,
    SAND,
    SPONTANEOUS,
    STAGES,
    WRIGGLERS,
)
from sim.rules.hours import DAY
from sim.rules.young import CLUTCH_POWER
from sim.scenario import Scenario
from sim.species import load_species
from sim.state import NEVER
from sim.temperature import development_rate

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sim.care import Established
    from sim.layout import Layout
    from sim.start import Individual
    from sim.state import State

SUBSTRATE = {"sand": SAND, "gravel": GRAVEL, "bare": BARE}


def fill_breeding(
    state: State, scenario: Scenario, layout: Layout, people: Sequence[Individual]
) -> None:
    """Set all that breeding needs in the state of the first moment.

    Parameters
    ----------
    state
        Fish are in it already.
    scenario, layout
        What is played.
    people
        The fish of this draw, in the order of the file.

    Raises
    ------
    Refused
        If breeding is on and no pair can breed, or if fish that are said to be mates cannot be.
    """
    tank = state.tank
    tank.substrate = SUBSTRATE[scenario.tank.substrate]
    tank.ripened_at = float(tank.clock[0])
    q10 = float(state.par["development_q10"][0])
    rate = development_rate(scenario.tank.temperature_c, q10=q10)
    _fill_kinds(state, people, rate)
    _fill_plants(state, layout)
    if scenario.breeding.site != "auto":
        tank.asked_site = layout.find_site(scenario.breeding.site)
    if scenario.breeding.mode == "on":
        _fill_asked_pair(state, scenario, people)
    elif scenario.breeding.mode == "spontaneous":
        tank.breeding = SPONTANEOUS
        _fill_females(state)
        _fill_mates(state, scenario, people)


def _fill_kinds(state: State, people: Sequence[Individual], rate: float) -> None:
    species = load_species()
    for k, name in enumerate(sorted({fish.member.species.key for fish in people})):
        kind, row = species[name], state.kinds[k]
        row["spawns"] = int(kind.site != "none" and kind.eggs_days > 0.0)
        row["digs"] = int(kind.digs)
        for stage in ("eggs", "wrigglers", "fry", "interval"):
            row[f"{stage}_s"] = DAY * getattr(kind, f"{stage}_days") / rate
        row["clutch"] = kind.clutch
        row["clutch_length"] = max(kind.clutch_length_m, 0.01)
        row["survival"] = min(max(kind.fry / max(kind.clutch, 1), 1e-3), 1.0)


def _fill_plants(state: State, layout: Layout) -> None:
    plants = [piece for piece in layout.pieces if piece.kind.group == "plant"]
    for row, piece in zip(state.plants, plants, strict=True):
        row["key"] = named_key("plant", piece.name)
        point = piece.outline.representative_point()
        row["x"], row["y"], row["day"] = point.x, point.y, NEVER


def _fill_females(state: State) -> None:
    """Draw how near to spawning each female is, and when she first looks for a mate."""
    for row in state.fish:
        rng = np.random.Generator(np.random.Philox(key=[int(row.key), PAIRING]))
        ripe, first_choice = rng.random(), rng.exponential()
        row.pair_left = first_choice
        if row.sex == FEMALE:
            row.ripening = state.par.ripening_share[0] * state.kinds[row.species].interval_s
            if row.length >= row.ripe_length:
                row.ripe = ripe


def _can_breed(she: Individual, he: Individual) -> bool:
    kind = she.member.species
    return (
        she.sex == FEMALE
        and he.sex == MALE
        and kind.key == he.member.species.key
        and kind.site != "none"
        and kind.eggs_days > 0.0
        and min(she.length_m, he.length_m) >= kind.maturity_m
    )


def _fill_asked_pair(state: State, scenario: Scenario, people: Sequence[Individual]) -> None:
    names = [fish.member.name for fish in people]
    wanted = scenario.breeding.pair
    pairs = [
        (people[f].length_m + people[m].length_m, f, m)
        for f, she in enumerate(people)
        for m, he in enumerate(people)
        if _can_breed(she, he) and (wanted is None or {names[f], names[m]} == set(wanted))
    ]
    if not pairs:
        asked = "no two fish" if wanted is None else f"{wanted[0]} and {wanted[1]}"
        raise Refused(
            Problem(
                "breeding.mode",
                f'is "on", but {asked} can be a pair: expected a grown male and a grown female of '
                "one cichlid species. Add such a pair, or set breeding off.",
            )
        )
    _, mother, father = max(pairs)
    spawn = scenario.breeding.spawn_day if scenario.breeding.spawn_day is not None else 0.0
    state.tank.breeding = ON
    row = _new_row(state, mother, father)
    # Negative where they are courting before the first day: stages then pass at once.
    row["stage_until"] = DAY * (spawn - state.par["courting_days"][0]) + state.tank.light_on[0]


def _new_row(state: State, mother: int, father: int) -> np.void:
    k = int(np.argmin(state.broods.there))
    row: np.void = state.broods[k]
    kind = state.kinds[state.fish.species[mother]]
    row["there"], row["mother"], row["father"] = 1, mother, father
    for name in ("eggs_s", "wrigglers_s", "fry_s"):
        row[name] = kind[name]
    row["asked"] = state.tank.asked_site[0]
    row["fails_at"] = NEVER
    row["bond_left"] = 1.0
    state.fish.brood[[mother, father]] = k
    state.tally.paired_day[[mother, father]] = 0.0
    return row


def _past(scenario: Scenario) -> Mapping[str, Established]:
    return {
        group.name: group.established for group in scenario.fish if group.established is not None
    }


def _fill_mates(state: State, scenario: Scenario, people: Sequence[Individual]) -> None:
    """Make pairs of those that are said to be mates, with the brood they guard."""
    past = _past(scenario)
    place = {fish.member.name.lower(): i for i, fish in enumerate(people)}
    taken: set[int] = set()
    for i, fish in enumerate(people):
        told = past.get(fish.member.group)
        if told is None or told.mate is None or i in taken:
            continue
        j = place[told.mate.lower()]
        f, m = (i, j) if fish.sex == FEMALE else (j, i)
        if not _can_breed(people[f], people[m]):
            raise Refused(
                Problem(
                    f"fish {fish.member.name}.established.mate",
                    f'got "{told.mate}", but the two cannot be a pair; expected a grown male and a '
                    "grown female of one cichlid species. State their sexes and lengths, or take "
                    "the key out.",
                )
            )
        taken |= {i, j}
        other = past.get(people[j].member.group)
        brood = told.brood or (other.brood if other is not None else None)
        row = _new_row(state, f, m)
        row["stage"] = RESTING
        row["stage_until"] = state.tank.clock[0]
        state.fish.mate[f], state.fish.mate[m] = m, f
        state.tank.pairs_formed += 1
        state.tank.first_pair_day = 0.0
        if brood is not None and brood.stage != "resting":
            _fill_brood(state, row, stage=STAGES.index(brood.stage), days=brood.days_in_stage)


def _fill_brood(state: State, row: np.void, *, stage: int, days: float) -> None:
    """Set a brood that stood at a stage for so many days; its nest is chosen on the first beat."""
    par, now = state.par[0], float(state.tank.clock[0])
    mother = state.fish[int(row["mother"])]
    kind = state.kinds[mother.species]
    courting = DAY * max(float(par.courting_days - par.digging_days), 0.1)
    lasts = {
        COURTING: courting,
        DIGGING: DAY * float(par.digging_days),
        EGGS: kind.eggs_s,
        WRIGGLERS: kind.wrigglers_s,
        FRY: kind.fry_s,
    }
    before = {EGGS: 0.0, WRIGGLERS: kind.eggs_s, FRY: kind.eggs_s + kind.wrigglers_s}
    row["stage"] = stage
    row["stage_since"] = now - DAY * days
    row["stage_until"] = now + max(float(lasts[stage]) - DAY * days, 0.0)
    if stage in before:
        age = before[stage] + DAY * days
        whole = kind.eggs_s + kind.wrigglers_s + kind.fry_s
        size = math.log(mother.length / kind.clutch_length)
        row["laid"] = kind.clutch * math.exp(CLUTCH_POWER * size)
        left = par.quiet_loss * math.log(kind.survival) * min(age / whole, 1.0)
        row["young"] = row["laid"] * math.exp(left)
        row["spawnings"] = 1
        mother["ripe"] = float(par.guard_ripening) * age / float(mother.ripening)
    else:
        mother["ripe"] = 1.0
