"""Drawer: the pieces of the catalogue in sizes keepers know, with who fits in them until when."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from sim.fitting import Fit, Opening, fits
from sim.pieces import Kind, Size, load_pieces, place_piece
from sim.rooms import XY, Room, leaves_at
from sim.scenario import Member, Piece, Scenario, company
from sim.units import format_length
from viz.phrases import listed

SHELVES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Stones", ("rock",)),
    ("Slate and wood", ("slate", "wood")),
    ("Hiding places", ("cave",)),
    ("Plants", ("plant",)),
    ("Dividers", ("divider",)),
    ("Equipment", ("equipment",)),
)
SURE = 0.995  # share of draws from which one says "fits" without a number


@dataclass(frozen=True, slots=True)
class Offered:
    """One piece in one size, as it lies in the drawer.

    Parameters
    ----------
    kind, size
        Their names in the catalogue.
    title
        What it is.
    measures
        Its length, width and height.
    doors
        How many doors, and how large; empty for a solid piece.
    fits
        Who fits, and until when; empty for a solid piece.
    group
        What it is good for, as in `sim.pieces.GROUPS`.
    outline
        Its corners seen from above, m, its middle at 0.
    ways_in
        Where its doors stand, each as two ends on the outline, m.
    """

    kind: str
    size: str
    title: str
    measures: str
    doors: str
    fits: str
    group: str
    outline: tuple[XY, ...]
    ways_in: tuple[tuple[XY, XY], ...]


@dataclass(frozen=True, slots=True)
class Shelf:
    """Pieces of one use.

    Parameters
    ----------
    title
        What it holds.
    pieces
        In every size.
    """

    title: str
    pieces: tuple[Offered, ...]


def shelves(scenario: Scenario) -> tuple[Shelf, ...]:
    """Return the whole catalogue, with who of this tank fits where.

    Parameters
    ----------
    scenario
        The tank: its fish and its water.
    """
    members = [fish for fish in company(scenario) if fish.index == 0]
    catalogue = load_pieces().values()
    return tuple(
        Shelf(
            title,
            tuple(
                _offered(kind, size, members=members, scenario=scenario)
                for kind in catalogue
                if kind.group in groups
                for size in _sizes(kind, scenario)
            ),
        )
        for title, groups in SHELVES
    )


def _sizes(kind: Kind, scenario: Scenario) -> tuple[Size, ...]:
    """The sizes worth a place: of a divider, which is cut to the tank, the one it takes."""
    if kind.group != "divider":
        return kind.sizes
    width_m = scenario.tank.width_m
    return (min(kind.sizes, key=lambda size: abs(size.length_m - width_m)),)


def _offered(kind: Kind, size: Size, *, members: Sequence[Member], scenario: Scenario) -> Offered:
    outline, ways_in = seen_from_above(kind, size, scenario=scenario)
    return Offered(
        kind=kind.key,
        size=size.name,
        title=kind.title if kind.group == "divider" else f"{kind.title}, {size.name}",
        measures=measures(kind, size, scenario=scenario),
        doors=doors_words(size.doors),
        fits=fit_words(members, size.doors, scenario=scenario),
        group=kind.group,
        outline=outline,
        ways_in=ways_in,
    )


def seen_from_above(
    kind: Kind, size: Size, *, scenario: Scenario
) -> tuple[tuple[XY, ...], tuple[tuple[XY, XY], ...]]:
    """Return the outline of a piece and its doors, m, its middle at 0.

    Parameters
    ----------
    kind, size
        Of the catalogue; a divider is cut to the tank.
    scenario
        The tank.
    """
    tank = scenario.tank
    length = {"length_m": tank.width_m} if kind.group == "divider" else {}
    piece = Piece(kind=kind.key, size=size.name, x_m=0.0, y_m=0.0, **length)  # type: ignore[arg-type]
    placed = place_piece(piece, tank_height_m=tank.height_m)
    ways_in = []
    for door in placed.doors:
        way = np.array([math.cos(door.facing_rad), math.sin(door.facing_rad)])
        x, y = leaves_at(placed.outline, placed.outline.centroid, way)
        dx, dy = 0.5 * door.width_m * np.array([-way[1], way[0]])
        ways_in.append(((float(x - dx), float(y - dy)), (float(x + dx), float(y + dy))))
    corners = shapely.get_coordinates(placed.outline.exterior)[:-1].tolist()
    return tuple((float(x), float(y)) for x, y in corners), tuple(ways_in)


def measures(kind: Kind, size: Size, *, scenario: Scenario) -> str:
    """Return how large a piece is: "5.7 x 6.1 in, 5.9 in high".

    Parameters
    ----------
    kind, size
        Of the catalogue; a divider is cut to the tank.
    scenario
        The tank.
    """
    if kind.group == "divider":
        return f"cut to {format_length(scenario.tank.width_m)}, as high as the tank"
    length = format_length(size.length_m).removesuffix(" in")
    high = (
        "as high as the tank" if size.height_m is None else (f"{format_length(size.height_m)} high")
    )
    return f"{length} x {format_length(size.width_m)}, {high}"


def doors_words(doors: Sequence[Opening]) -> str:
    """Return how many doors there are and how large: "2 doors, 2 in wide and 1.8 in high".

    Parameters
    ----------
    doors
        Of one piece.
    """
    if not doors:
        return ""
    sizes = {(door.width_m, door.height_m) for door in doors}
    number = "one door" if len(doors) == 1 else f"{len(doors)} doors"
    if len(sizes) == 1:
        width, height = sizes.pop()
        return f"{number}, {format_length(width)} wide and {format_length(height)} high"
    each = " and ".join(
        f"{format_length(w)} by {format_length(h)}" for w, h in sorted(sizes, reverse=True)
    )
    return f"{number}: {each}"


def fit_words(members: Sequence[Member], doors: Sequence[Opening], *, scenario: Scenario) -> str:
    """Return who passes one of the doors, and until when, in a sentence.

    Parameters
    ----------
    members
        One fish of each group.
    doors
        Of one room; nothing is said of a piece without.
    scenario
        Its water, and whether its fish grow.
    """
    if not doors or not members:
        return ""
    found = fits(members, doors, temperature_c=scenario.tank.temperature_c)
    inside = [one for one in found if one.chance > 1.0 - SURE]
    outside = [one.member.group for one in found if one.chance <= 1.0 - SURE]
    if not inside:
        return "Nobody here fits."
    if not outside and all(one.chance >= SURE and one.until_day is None for one in inside):
        return "Everybody here fits."
    said = f"Room for {listed([_fit(one, grows=scenario.growth) for one in inside])}"
    return f"{said}; too large: {listed(outside)}." if outside else f"{said}."


def _fit(fit: Fit, *, grows: bool) -> str:
    """A fish that fits, with how surely and until when: "Pumice (until about day 63)"."""
    said = []
    if fit.chance < SURE:
        said.append(f"in {100.0 * fit.chance:.0f} of 100 draws")
    if fit.until_day is not None:
        if grows:
            said.append(f"until about day {fit.until_day:.0f}, fed well")
        else:
            said.append("but not full-grown; fish do not grow in these runs")
    name = fit.member.group
    return f"{name} ({'; '.join(said)})" if said else name


def room_words(scenario: Scenario, room: Room) -> str:
    """Return who fits a hiding place that stands in the tank, and until when.

    Parameters
    ----------
    scenario
        The tank.
    room
        Of its layout; only its open doors count.
    """
    members = [fish for fish in company(scenario) if fish.index == 0]
    return fit_words(members, room.doors, scenario=scenario)
