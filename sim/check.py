"""Whether a scenario can be run: its file, its geometry, and whether its fish fit the tank.

What cannot be is a problem; what is merely unwise is a warning, since asking why it is unwise is
what the program is for.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from sim.fields import shown
from sim.scenario import Member, Piece, Scenario, company
from sim.scenario_file import Reading, gather
from sim.units import format_both, format_both_degrees

if TYPE_CHECKING:
    from sim.layout import Layout

_IMPOSSIBLE_SIZE = 1.6  # times the larger sex's typical adult length (assumed)
_DOUBTFUL_SIZE = 1.2
_ROOM_TO_TURN = 1.0  # times a fish's length that the tank should be wide (common practice)


@dataclass(frozen=True, slots=True)
class Checked:
    """A scenario that can be run.

    Parameters
    ----------
    scenario : the scenario, based-on files merged in.
    layout : its geometry.
    warnings : what is unwise, but can be asked.
    """

    scenario: Scenario
    layout: Layout
    warnings: tuple[Problem, ...]


def check_file(path: str | os.PathLike[str]) -> Checked:
    """Read a scenario file and check it whole.

    Parameters
    ----------
    path : a TOML file.

    Returns
    -------
    the scenario, its layout and the warnings.

    Raises
    ------
    Refused : with every problem of the file at once, and the warnings.
    """
    return check_reading(gather(path), file=os.fspath(path))


def check_reading(reading: Reading, *, file: str) -> Checked:
    """Check a scenario as far as it could be read.

    Parameters
    ----------
    reading : of `sim.scenario_file`.
    file : what its sentences call it.

    Returns
    -------
    the scenario, its layout and the warnings.

    Raises
    ------
    Refused : with every problem at once, and the warnings.
    """
    problems = list(reading.problems)
    warnings: list[Problem] = []
    layout = None
    scenario = reading.scenario
    if scenario is not None:
        layout, found, warnings = _geometry(scenario, reading)
        problems += _in_file(found, file)
        members = () if "fish" in reading.placeheld else company(scenario)
        if "tank" not in reading.placeheld:
            problems += _in_file(_misfits(scenario, members), file)
            warnings += _unwise(scenario, members)
        warnings = _in_file(warnings, file)
    if problems or scenario is None or layout is None:
        raise Refused(problems, warnings=warnings)
    return Checked(scenario, layout, tuple(warnings))


def check_scenario(scenario: Scenario) -> Checked:
    """Check a scenario that was made in memory rather than read.

    Parameters
    ----------
    scenario : a scenario.

    Returns
    -------
    the scenario, its layout and the warnings.

    Raises
    ------
    Refused : with every problem at once, and the warnings.
    """
    from sim.scenario_rules import faults
    from sim.scenario_variant import source
    from sim.scenario_words import problems_of

    tree = source(scenario.model_dump(mode="python", by_alias=True), file="scenario")
    problems = problems_of(faults(scenario), tree=tree)
    members = company(scenario)
    layout, found, warnings = _geometry(scenario, Reading(scenario, ()))
    problems += [*found, *_misfits(scenario, members)]
    warnings += _unwise(scenario, members)
    if problems or layout is None:
        raise Refused(problems, warnings=warnings)
    return Checked(scenario, layout, tuple(warnings))


def _in_file(problems: Iterable[Problem], file: str) -> list[Problem]:
    return [
        Problem(f"{file}, {problem.where}" if problem.where else file, problem.sentence)
        for problem in problems
    ]


def _geometry(
    scenario: Scenario, reading: Reading
) -> tuple[Layout | None, list[Problem], list[Problem]]:
    """The layout of what is right in the pieces, with its problems and warnings."""
    from sim.layout import Layout
    from sim.pieces import place_piece

    unknown: list[Problem] = []
    known: list[Piece] = []
    for piece in scenario.pieces:
        try:
            place_piece(
                piece, tank_height_m=scenario.tank.height_m, where=f"pieces {shown(piece.name)}"
            )
        except Refused as refusal:
            unknown += refusal.problems
        else:
            known.append(piece)
    if "tank" in reading.placeheld:
        return None, unknown, []  # nothing can be said of places in a tank of unknown size
    incomplete = "fish" in reading.placeheld or "fish" in reading.positions
    fish = () if incomplete else scenario.fish  # a cave is too small for all only if all are known
    layout = Layout(scenario.model_copy(update={"pieces": tuple(known), "fish": fish}))
    found, warnings = layout.problems(), layout.warnings()
    if not found:
        found, warnings = _later(layout, scenario, warnings)
    return layout, unknown + found, warnings


def _later(
    layout: Layout, scenario: Scenario, warnings: list[Problem]
) -> tuple[list[Problem], list[Problem]]:
    """What is wrong or unwise in the tank as events leave it, each with the event before it."""
    problems: list[Problem] = []
    known = {(one.where, one.sentence) for one in warnings}
    for number, stage in enumerate(layout.stages[1:], start=1):
        event = scenario.events[layout.furniture.event_of(number)]
        for found, into in ((stage.problems(), problems), (stage.warnings(), warnings)):
            for one in found:
                if (one.where, one.sentence) not in known:
                    known.add((one.where, one.sentence))
                    sentence = f"after it, {one.where}: {one.sentence}"
                    into.append(Problem(f"events {shown(event.name)}", sentence))
    return problems, warnings


def _longest_m(fish: Member) -> float:
    """Its length, or how long it can be when full-grown."""
    return fish.length_m if fish.length_m is not None else fish.species.longest_m(fish.sex)


def _one_of_each_group(members: Iterable[Member]) -> Iterator[Member]:
    return (fish for fish in members if fish.index == 0)


def _misfits(scenario: Scenario, members: Iterable[Member]) -> Iterator[Problem]:
    tank = scenario.tank
    for fish in _one_of_each_group(members):
        where = f"fish {shown(fish.group)}.length"
        length_m = _longest_m(fish)
        most_m = _IMPOSSIBLE_SIZE * fish.species.longest_m("unknown")
        if length_m > most_m:
            yield Problem(
                where,
                f"got {format_both(length_m)}, longer than any {fish.species.names[0]}; "
                f"expected at most {format_both(most_m)}. Correct the length or the species.",
            )
        elif length_m >= tank.length_m:
            yield Problem(
                where,
                f"the fish does not fit the tank at all, got {format_both(length_m)}; expected "
                f"less than the tank's length of {format_both(tank.length_m)}. Take it out, or "
                "use a longer tank.",
            )
        elif length_m * fish.species.depth_ratio >= tank.height_m:
            yield Problem(
                where,
                "the fish does not fit the tank at all, got a body "
                f"{format_both(length_m * fish.species.depth_ratio)} deep; expected less than "
                f"the tank's height of {format_both(tank.height_m)}. Take it out, or use a "
                "taller tank.",
            )


def _unwise(scenario: Scenario, members: tuple[Member, ...]) -> Iterator[Problem]:
    for fish in _one_of_each_group(members):
        yield from _doubtful_length(fish)
        yield from _too_wide_a_turn(scenario, fish)
        yield from _wrong_water(scenario, fish)
    yield from _meals(members)
    yield from _unripe_pair(scenario, members)


def _doubtful_length(fish: Member) -> Iterator[Problem]:
    typical_m = fish.species.longest_m("unknown")
    if fish.length_m is not None and _DOUBTFUL_SIZE < fish.length_m / typical_m <= _IMPOSSIBLE_SIZE:
        yield Problem(
            f"fish {shown(fish.group)}.length",
            f"got {format_both(fish.length_m)}, very long for a {fish.species.names[0]}; "
            f"expected about {format_both(typical_m)}. Measure again.",
        )


def _too_wide_a_turn(scenario: Scenario, fish: Member) -> Iterator[Problem]:
    width_m = scenario.tank.width_m
    where = f"fish {shown(fish.group)}.length"
    grown_m = max(_longest_m(fish), fish.species.adult_m(fish.sex))
    if _longest_m(fish) >= scenario.tank.length_m or grown_m * _ROOM_TO_TURN <= width_m:
        return
    if _longest_m(fish) * _ROOM_TO_TURN > width_m:
        yield Problem(
            where,
            f"the fish is longer than the tank is wide, got {format_both(_longest_m(fish))}; "
            f"expected at most {format_both(width_m)}, so that it can turn. Think of a wider "
            "tank.",
        )
    else:
        yield Problem(
            where,
            f"the fish will outgrow the width of the tank, got {format_both(grown_m)} when "
            f"full-grown; expected at most {format_both(width_m)}. Plan for a wider tank.",
        )


def _wrong_water(scenario: Scenario, fish: Member) -> Iterator[Problem]:
    water_c = scenario.tank.temperature_c
    low_c, high_c = fish.species.temperature_low_c, fish.species.temperature_high_c
    if not low_c <= water_c <= high_c:
        yield Problem(
            "tank.temperature",
            f"got {format_both_degrees(water_c)}, outside what {fish.group} is kept in; "
            f"expected {format_both_degrees(low_c)} to {format_both_degrees(high_c)}. "
            "Change it, or the fish.",
        )


def _meals(members: tuple[Member, ...]) -> Iterator[Problem]:
    groups = list(_one_of_each_group(members))
    for small in groups:
        depth_m = (small.length_m or _smallest_adult_m(small)) * small.species.depth_ratio
        for large in groups:
            if large.group == small.group:
                continue
            if depth_m < _longest_m(large) * large.species.gape_ratio:
                yield Problem(
                    f"fish {shown(small.group)}",
                    f"small enough to be swallowed by {large.group}, got a body "
                    f"{format_both(depth_m)} deep; expected more than "
                    f"{format_both(_longest_m(large) * large.species.gape_ratio)}. Keep larger "
                    "ones.",
                )
                break


def _smallest_adult_m(fish: Member) -> float:
    if fish.sex == "unknown":
        return min(fish.species.adult_male_m, fish.species.adult_female_m)
    return fish.species.adult_m(fish.sex)


def _unripe_pair(scenario: Scenario, members: tuple[Member, ...]) -> Iterator[Problem]:
    breeding = scenario.breeding
    if breeding.mode == "off" or breeding.pair is None:
        return
    pair = [name.lower() for name in breeding.pair]
    for fish in members:
        if fish.name.lower() in pair and _longest_m(fish) < fish.species.maturity_m:
            yield Problem(
                f"fish {shown(fish.group)}.length",
                f"it is to spawn but is not grown up, got {format_both(_longest_m(fish))}; "
                f"expected at least {format_both(fish.species.maturity_m)}. Name another pair.",
            )
        if (
            fish.name.lower() == pair[0]
            and fish.species.site == "pit"
            and scenario.tank.substrate == "bare"
        ):
            yield Problem(
                "tank.substrate",
                f'got "bare", but a {fish.species.names[0]} spawns in a pit it digs; expected sand '
                "or gravel. Change it, or expect them on the glass.",
            )
