"""What must hold between the parts of a scenario."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator
from itertools import combinations

from sim.event_rules import event_faults
from sim.fields import shown
from sim.naming import member_names
from sim.observing import observation_faults
from sim.scenario import MOST_FISH, Scenario, company
from sim.settling import settling_faults

Place = tuple[str | int, ...]
Fault = tuple[Place, str]


def faults(scenario: Scenario) -> list[Fault]:
    """What cannot be as it stands, though each part of the scenario is right by itself.

    Parameters
    ----------
    scenario : a scenario whose parts are right one by one.

    Returns
    -------
    place and sentence for each fault.
    """
    return [
        *_too_many_fish(scenario),
        *_doubled_names(scenario),
        *_late_comers(scenario),
        *_repeated_switches(scenario),
        *_feeding(scenario),
        *_breeding(scenario),
        *_residents(scenario),
        *_mates(scenario),
        *_unknown_names(scenario),
        *event_faults(scenario),
        *observation_faults(scenario),
        *settling_faults(scenario),
    ]


def _too_many_fish(scenario: Scenario) -> Iterator[Fault]:
    total = sum(group.count for group in scenario.fish)
    if total > MOST_FISH:
        yield (
            ("fish",),
            f"too many fish, got {total}; expected at most {MOST_FISH}. Lower a `count`.",
        )


def _doubled_names(scenario: Scenario) -> Iterator[Fault]:
    for key in ("pieces", "events", "observe"):
        seen: set[str] = set()
        for index, entry in enumerate(getattr(scenario, key)):
            if entry.name.lower() in seen:
                yield (
                    (key, index, "name"),
                    f"got {shown(entry.name)} a second time; expected every name once. "
                    "Give one of them another name.",
                )
            seen.add(entry.name.lower())
    taken: set[str] = set()
    for index, group in enumerate(scenario.fish):
        names = {group.name, *member_names(group)}
        again = sorted(name for name in names if name.lower() in taken)
        if again:
            yield (
                ("fish", index, "name"),
                f"got {shown(again[0])} a second time; expected every name once (the fish of a "
                "group are its name and a number). Give one of them another name.",
            )
        taken.update(name.lower() for name in names)


def _late_comers(scenario: Scenario) -> Iterator[Fault]:
    for index, group in enumerate(scenario.fish):
        if group.joins_day >= scenario.days:
            yield (
                ("fish", index, "joins_day"),
                f"got {group.joins_day:g}, when the run is over; expected a day before "
                f"{scenario.days:g}. Lower it, or raise `days`.",
            )


def _repeated_switches(scenario: Scenario) -> Iterator[Fault]:
    for index, mechanism in enumerate(scenario.without):
        if mechanism in scenario.without[:index]:
            yield (
                ("without", index),
                f"got {shown(mechanism)} a second time; expected each once. Take one out.",
            )


def _feeding(scenario: Scenario) -> Iterator[Fault]:
    feeding = scenario.feeding
    if feeding is None:
        return
    tank = scenario.tank
    off = tank.lights_on_h + tank.light_hours
    for index, hour in enumerate(feeding.times):
        if not tank.lights_on_h <= hour <= off - 0.25:
            yield (
                ("feeding", "times", index),
                f"got {_clock(hour)}, in the dark or just before it; expected a time from "
                f"{_clock(tank.lights_on_h)} to {_clock(off - 0.25)}. Feed in the light.",
            )
        if hour in feeding.times[:index]:
            yield (
                ("feeding", "times", index),
                f"got {_clock(hour)} a second time; expected each time once. Take one out.",
            )
    for index, (x, y) in enumerate(feeding.spots):
        if not (0.0 < x < tank.length_m and 0.0 < y < tank.width_m):
            yield (
                ("feeding", "spots", index),
                f"got {x:g} m along and {y:g} m back, outside the glass; expected a place within "
                f"{tank.length_m:g} by {tank.width_m:g} m. Move it.",
            )


def _clock(hour: float) -> str:
    minutes = round(60.0 * hour)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _breeding(scenario: Scenario) -> Iterator[Fault]:
    breeding = scenario.breeding
    if breeding.mode == "on" and breeding.spawn_day is None:
        yield (
            ("breeding", "spawn_day"),
            'is missing with mode = "on"; expected the day the eggs are laid. '
            "Add it, for example spawn_day = 10.",
        )
    if breeding.mode == "off" and breeding.spawn_day is not None:
        yield (
            ("breeding", "spawn_day"),
            f"got {breeding.spawn_day:g} with mode = "
            '"off", when nothing spawns; expected no spawn_day. Take it out, or write '
            'mode = "on".',
        )
    if breeding.mode == "spontaneous" and breeding.spawn_day is not None:
        yield (
            ("breeding", "spawn_day"),
            f'got {breeding.spawn_day:g} with mode = "spontaneous", when they spawn of themselves; '
            'expected no spawn_day. Take it out, or write mode = "on".',
        )
    if breeding.mode == "spontaneous" and breeding.pair is not None:
        yield (
            ("breeding", "pair"),
            'got a pair with mode = "spontaneous", when they choose for themselves; expected '
            'none. Take it out, or say under a fish: established = { mate = "..." }.',
        )
    if breeding.spawn_day is not None and breeding.spawn_day >= scenario.days:
        yield (
            ("breeding", "spawn_day"),
            f"got {breeding.spawn_day:g}, when the run is over; expected a day before "
            f"{scenario.days:g}. Lower it, or raise `days`.",
        )
    if isinstance(breeding.site, str) and breeding.site != "auto":
        yield from _unknown(
            breeding.site,
            (piece.name for piece in scenario.pieces),
            place=("breeding", "site"),
            what='"auto", the name of a piece, or a place',
        )
    if breeding.pair is not None:
        yield from _pair(scenario)
    elif breeding.mode != "off" and not _possible_pair(scenario):
        yield (
            ("breeding", "mode"),
            f'got "{breeding.mode}", but no two fish here can pair; expected a male and a female '
            "(or unknown sex) of one kind of cichlid. Add one, or write mode = "
            '"off".',
        )


def _pair(scenario: Scenario) -> Iterator[Fault]:
    breeding = scenario.breeding
    assert breeding.pair is not None
    group_of = {name.lower(): g for g in scenario.fish for name in member_names(g)}
    unknown = False
    for index, name in enumerate(breeding.pair):
        for fault in _unknown(
            name, _fish_names(scenario), place=("breeding", "pair", index), what="a fish's name"
        ):
            unknown = True
            yield fault
    if unknown:
        return
    first, second = (group_of[name.lower()] for name in breeding.pair)
    names = " and ".join(shown(name) for name in breeding.pair)
    place = ("breeding", "pair")
    if breeding.pair[0].lower() == breeding.pair[1].lower():
        yield place, f"got {names}, one fish twice; expected two fish. Name its mate."
        return
    if first.species != second.species:
        yield (
            place,
            f"got {names}, a {first.species} and a {second.species}; expected two of one "
            "species. Name another fish.",
        )
    if first.sex == second.sex != "unknown":
        yield (
            place,
            f"got {names}, two {first.sex}s; expected a male and a female. Change a sex, or name "
            "another fish.",
        )
    joins_day = max(first.joins_day, second.joins_day)
    if breeding.spawn_day is not None and breeding.spawn_day < joins_day:
        yield (
            ("breeding", "spawn_day"),
            f"got {breeding.spawn_day:g}, before the pair is together on day {joins_day:g}; "
            "expected a later day. Raise it.",
        )


def _residents(scenario: Scenario) -> Iterator[Fault]:
    """What is wrong with fish that are said to have lived here before the start."""
    owners: dict[str, str] = {}
    for index, group in enumerate(scenario.fish):
        past = group.established
        if past is None:
            continue
        place: Place = ("fish", index, "established")
        if group.joins_day > 0.0:
            yield (
                place,
                f"got a life here before the start with joins_day = {group.joins_day:g}; expected "
                "one or the other. Take one out.",
            )
        if past.owns is None:
            continue
        if group.count != 1:
            yield (
                (*place, "owns"),
                f"got a place for a whole group of {group.count}; expected one fish. Give the "
                "owner its own entry.",
            )
        spot = str(past.owns).lower()
        if spot in owners:
            yield (
                (*place, "owns"),
                f"got {shown(past.owns)}, which {owners[spot]} owns already; expected one owner "
                "for a place. Take one out.",
            )
        owners[spot] = group.name


def _mates(scenario: Scenario) -> Iterator[Fault]:
    """What is wrong with fish that are said to be mates, or to guard a brood."""
    group_of = {name.lower(): g for g in scenario.fish for name in member_names(g)}
    mate_of: dict[str, str] = {}
    for index, group in enumerate(scenario.fish):
        past = group.established
        if past is None:
            continue
        place: Place = ("fish", index, "established", "mate")
        if past.brood is not None and past.mate is None:
            yield (
                ("fish", index, "established", "brood"),
                "got a brood without a mate; expected both. Add `mate`, the name of the other "
                "parent.",
            )
        if past.mate is None or past.mate.lower() not in group_of:
            continue
        if scenario.breeding.mode != "spontaneous":
            yield (
                place,
                f'got {shown(past.mate)} with breeding.mode = "{scenario.breeding.mode}"; expected '
                '"spontaneous", where pairs last. Write that mode, or take the key out.',
            )
        other = group_of[past.mate.lower()]
        if group.count != 1:
            yield place, "got a mate for a whole group; expected one fish. Give it its own entry."
        elif other is group:
            yield place, f"got {shown(past.mate)}, the fish itself; expected another. Name it."
        elif other.species != group.species or group.sex == other.sex != "unknown":
            yield (
                place,
                f"got {shown(past.mate)}, which it cannot pair with; expected a fish of its "
                "species and of the other sex. Name another, or change a sex.",
            )
        elif "unknown" in (group.sex, other.sex):
            yield (
                place,
                f"got {shown(past.mate)} where a sex is unknown; expected to know which of the "
                "two is the male. Add `sex` to both.",
            )
        elif mate_of.get(past.mate.lower(), group.name.lower()) != group.name.lower():
            yield (
                place,
                f"got {shown(past.mate)}, which is the mate of another fish; expected each in "
                "one pair. Take one out.",
            )
        mate_of[group.name.lower()] = past.mate.lower()
        mate_of.setdefault(past.mate.lower(), group.name.lower())


def _possible_pair(scenario: Scenario) -> bool:

    members = [fish for fish in company(scenario) if fish.species.site != "none"]
    return any(
        one.species.key == other.species.key and not one.sex == other.sex != "unknown"
        for one, other in combinations(members, 2)
    )


def _unknown_names(scenario: Scenario) -> Iterator[Fault]:
    fish = _fish_names(scenario)
    pieces = [piece.name for piece in scenario.pieces]
    for index, group in enumerate(scenario.fish):
        past = group.established
        if past is None:
            continue
        if past.mate is not None:
            place: Place = ("fish", index, "established", "mate")
            yield from _unknown(past.mate, fish, place=place, what="a fish's name")
        if isinstance(past.owns, str):
            place = ("fish", index, "established", "owns")
            yield from _unknown(past.owns, pieces, place=place, what="a piece's name or a place")
    for index, event in enumerate(scenario.events):
        for key, named, known in (
            ("fish", event.fish, [*fish, *(group.name for group in scenario.fish)]),
            ("pieces", event.pieces, pieces),
            ("moves", tuple(move.piece for move in event.moves), pieces),
            ("divider", (event.divider,) if event.divider else (), pieces),
        ):
            for name in named:
                yield from _unknown(name, known, place=("events", index, key), what="a known name")


def _fish_names(scenario: Scenario) -> list[str]:
    return [name for group in scenario.fish for name in member_names(group)]


def _unknown(name: str, known: Iterable[str], *, place: Place, what: str) -> Iterator[Fault]:
    names = {other.lower(): other for other in known}
    if name.lower() in names:
        return
    yield (
        place,
        f"got {shown(name)}, which nothing here is called; expected {what}. "
        + did_you(name, names.values(), otherwise="Correct it."),
    )


def did_you(name: str, known: Iterable[str], *, otherwise: str) -> str:
    """A question after the nearest known word, or another sentence when none is near.

    Parameters
    ----------
    name : what was written.
    known : what could have been meant.
    otherwise : said when nothing is near.

    Returns
    -------
    a sentence.
    """
    words = {word.lower(): word for word in known}
    near = difflib.get_close_matches(name.lower()[:60], words, n=1, cutoff=0.6)
    return f'Did you mean "{words[near[0]]}"?' if near else otherwise
