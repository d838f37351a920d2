"""Introducing: each fish of a tank in a line, from what its species and its measures say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sim.fitting import chance_through
from sim.scenario import Member, Scenario, company
from viz.app.columns import described
from viz.phrases import listed

if TYPE_CHECKING:
    from sim.layout import Layout

SHOALS = 0.5  # shoaling from which a fish is said to keep with its like
SITES = {
    "cave": "holds ground around a cave",
    "pit": "holds ground around a pit it digs in the sand",
    "surface": "holds ground around a flat stone",
    "none": "holds ground around a place of its own",
}
LAYERS = ("near the floor", "in the middle of the water", "near the surface")


@dataclass(frozen=True)
class Introduced:
    """One fish, or several alike.

    Parameters
    ----------
    numbers
        Those on the floor, for example ``"1"`` or ``"3 to 8"``.
    name
        Of the fish or the group.
    words
        A sentence.
    """

    numbers: str
    name: str
    words: str


def introductions(scenario: Scenario, layout: Layout) -> tuple[Introduced, ...]:
    """Return every group of fish in a line.

    Parameters
    ----------
    scenario, layout
        A checked scenario and its layout.
    """
    members = company(scenario)
    groups: dict[str, list[int]] = {}
    for number, fish in enumerate(members):
        groups.setdefault(fish.group, []).append(number)
    found = []
    for group, rows in groups.items():
        first = members[rows[0]]
        numbers = str(rows[0] + 1) if len(rows) == 1 else f"{rows[0] + 1} to {rows[-1] + 1}"
        about = manner(first, many=len(rows) > 1) + rooms_words(first, layout)
        found.append(Introduced(numbers, group, f"{described(first)}; {about}."))
    return tuple(found)


def manner(fish: Member, *, many: bool) -> str:
    """Return what such a fish is about, in a few words.

    Parameters
    ----------
    fish
        The fish.
    many
        Whether there are several of it.
    """
    kind = fish.species
    if kind.territorial:
        return SITES[kind.site]
    where = LAYERS[kind.layer]
    if many and kind.shoaling >= SHOALS:
        return f"keep together, {where}"
    return f"holds no ground, {where}"


def rooms_words(fish: Member, layout: Layout) -> str:
    """Return which hiding places a fish fits, and which it does not; empty where there are none.

    Parameters
    ----------
    fish
        The fish.
    layout
        Of its tank.
    """
    fits = [room.name for room in layout.rooms if chance_through(fish, room.doors) > 0.5]
    small = [room.name for room in layout.rooms if room.name not in fits]
    if not fits and not small:
        return ""
    if not small:
        return "; fits every hiding place"
    if not fits:
        return "; fits no hiding place"
    return f"; fits the {listed(fits)}, not the {listed(small, last='or')}"
