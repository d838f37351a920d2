"""Scene: what the workbench draws, as plain values; metres, from the front left corner."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from sim.draws import named_key
from sim.errors import Refused
from sim.furniture import furniture_of
from sim.pieces import PlacedPiece, place_piece
from sim.scenario import FishGroup, Scenario, company
from sim.species import load_species
from sim.units import format_length

if TYPE_CHECKING:
    from shapely.geometry import Polygon

    from viz.app.building.bench import Bench
    from viz.app.building.looking import Shown
    from viz.app.editing.verdict import Message

COLOURS = 6  # of groups of fish; their number and their shape tell them apart as well
MOST_DRAWN = 9  # fish of one group that are drawn; its label says how many there are
TRIES = 200  # places that are tried for fish that are put in anywhere
GLASS_M = 0.08  # they are shown no nearer to the glass,
SHOAL = 1.5  # lengths that a group is drawn about its middle
CLEAR_M = 0.06  # nor nearer to a piece where that can be


def scene_of(bench: Bench) -> dict[str, Any]:
    """Return what the workbench draws of the tank as it stands.

    Parameters
    ----------
    bench
        Whose tank, what is picked and what lies over the floor.
    """
    scenario = bench.scenario
    tank = scenario.tank
    messages = bench.messages
    placed = _placed(scenario)
    return {
        "tank": {
            "length": tank.length_m,
            "width": tank.width_m,
            "substrate": tank.substrate,
            "words": f"{format_length(tank.length_m)} by {format_length(tank.width_m)}",
        },
        "pieces": _pieces(scenario, placed, messages),
        "fish": _fish(scenario, placed, messages),
        "picked": None
        if bench.picked is None
        else {"what": bench.picked.what, "name": bench.picked.name},
        "over": over_of(bench.looking.shown),
    }


def _placed(scenario: Scenario) -> dict[str, PlacedPiece]:
    """Every piece in its place, those that come later too; by name."""
    found = {}
    for piece in scenario.pieces:
        try:
            found[piece.name] = place_piece(piece, tank_height_m=scenario.tank.height_m)
        except Refused:
            continue  # a kind that is not in the catalogue has no shape
    return found


def _pieces(
    scenario: Scenario, placed: dict[str, PlacedPiece], messages: tuple[Message, ...]
) -> list[dict[str, Any]]:
    first = {piece.name for piece in furniture_of(scenario).stages[0]}
    rows = []
    for piece in scenario.pieces:
        shape = placed.get(piece.name)
        if shape is None:
            continue
        mark, says = _marked("piece", piece.name, messages)
        later = piece.name not in first
        where = (
            f"{format_length(piece.x_m)} from the left, {format_length(piece.y_m)} from the front"
        )
        rows.append(
            {
                "name": piece.name,
                "group": shape.kind.group,
                "kind": shape.kind.key,
                "x": _mm(piece.x_m),
                "y": _mm(piece.y_m),
                "turn": round(piece.turn_rad, 5),
                "outline": ring_of(shape.outline),
                "room": None if shape.room is None else ring_of(shape.room),
                "doors": doors_of(shape),
                "later": later,
                "mark": mark,
                "says": says,
                "label": f"{piece.name}, {shape.kind.title.lower()}, {where}"
                + (", put in later" if later else "")
                + (f". {says}" if says else ""),
            }
        )
    return rows


def _marked(about: str, name: str, messages: tuple[Message, ...]) -> tuple[str, str]:
    """The mark something bears and why: "problem", "unwise" or nothing."""
    mine = [one for one in messages if (one.about, one.name) == (about, name)]
    if not mine:
        return "", ""
    mark = "unwise" if all(one.unwise for one in mine) else "problem"
    return mark, " ".join(one.words for one in mine)


def doors_of(shape: PlacedPiece) -> list[dict[str, float]]:
    """Return where each door stands in the outline, the way it looks, and its width."""
    rows = []
    for door in shape.doors:
        middle = shape.outline.centroid
        turn = door.facing_rad + shape.turn_rad
        if shape.is_divider:
            x = middle.x + door.along_m * math.cos(shape.turn_rad)
            y = middle.y + door.along_m * math.sin(shape.turn_rad)
            turn = shape.turn_rad + math.pi / 2
        else:
            x, y = _leaves(shape.outline, (middle.x, middle.y), turn)
        rows.append({"x": _mm(x), "y": _mm(y), "turn": round(turn, 5), "width": _mm(door.width_m)})
    return rows


def _leaves(outline: Polygon, start: tuple[float, float], turn: float) -> tuple[float, float]:
    from shapely.geometry import Point

    from sim.rooms import leaves_at

    way = np.array([math.cos(turn), math.sin(turn)])
    found = leaves_at(outline, Point(start), way)
    return float(found[0]), float(found[1])


def _fish(
    scenario: Scenario, placed: dict[str, PlacedPiece], messages: tuple[Message, ...]
) -> list[dict[str, Any]]:
    kinds = load_species()
    lengths: dict[str, list[float]] = {}
    for fish in company(scenario):
        adult = fish.species.adult_m(fish.sex)
        lengths.setdefault(fish.group, []).append(adult if fish.length_m is None else fish.length_m)
    keys = list(dict.fromkeys(group.species for group in scenario.fish))
    anywhere = _anywhere(scenario, placed)
    rows = []
    for group in scenario.fish:
        kind = kinds[group.species]
        mark, says = _marked("fish", group.name, messages)
        length_m = lengths[group.name][0]
        given = group.joins_place
        at = anywhere.get(group.name) if given is None else given
        rows.append(
            {
                "name": group.name,
                "count": group.count,
                "drawn": min(group.count, MOST_DRAWN),
                "colour": keys.index(group.species) % COLOURS,
                "shape": kind.shape,
                "length": _mm(length_m),
                "width": _mm(length_m * kind.width_ratio),
                "x": _mm(at[0]) if at else None,
                "y": _mm(at[1]) if at else None,
                "anywhere": given is None,
                "mark": mark,
                "says": says,
                "label": _called(group, kind.names[0], given) + (f". {says}" if says else ""),
            }
        )
    return rows


def _called(group: FishGroup, trade: str, given: tuple[float, float] | None) -> str:
    number = "" if group.count == 1 else f"{group.count} "
    where = (
        "put in anywhere"
        if given is None
        else f"put in {format_length(given[0])} from the left, {format_length(given[1])} from the "
        "front"
    )
    day = f" on day {group.joins_day:g}" if group.joins_day else ""
    return f"{group.name}, {number}{trade}, {where}{day}"


def _anywhere(scenario: Scenario, placed: dict[str, PlacedPiece]) -> dict[str, tuple[float, float]]:
    """A place in open water for each group that is put in anywhere.

    Each group tries places in an order of its own, so that it stays where it is shown while pieces
    are moved about, unless one of them comes to stand there.
    """
    tank = scenario.tank
    solid = shapely.union_all([shape.outline for shape in placed.values()])
    reach = {
        fish.group: (fish.length_m or fish.species.adult_m(fish.sex)) * (0.5, SHOAL)[fish.index > 0]
        for fish in company(scenario)
    }
    taken = [
        (group.joins_place, reach[group.name])
        for group in scenario.fish
        if group.joins_place is not None
    ]
    found: dict[str, tuple[float, float]] = {}
    for group in scenario.fish:
        if group.joins_place is not None:
            continue
        rng = np.random.Generator(np.random.Philox(key=int(named_key("shown", group.name))))
        points = GLASS_M + rng.random((TRIES, 2)) * (
            np.array([tank.length_m, tank.width_m]) - 2.0 * GLASS_M
        )
        clear = np.full(TRIES, np.inf)
        for other, far_m in taken:
            apart = np.hypot(*(points - other).T) - far_m - reach[group.name]
            clear = np.minimum(clear, apart + CLEAR_M)
        if placed:
            clear = np.minimum(clear, shapely.distance(solid, shapely.points(points)))
        free = np.flatnonzero(clear > CLEAR_M)
        best = int(free[0]) if len(free) else int(np.argmax(clear))
        at = (float(points[best, 0]), float(points[best, 1]))
        found[group.name] = at
        taken.append((at, reach[group.name]))
    return found


def over_of(shown: Shown) -> dict[str, Any]:
    """Return what lies over the floor, as plain values.

    Parameters
    ----------
    shown
        Of `viz.app.building.looking`.
    """
    return {
        "overlay": shown.overlay,
        "at": None if shown.at is None else [_mm(shown.at[0]), _mm(shown.at[1])],
        "sight": None if shown.sight is None or shown.sight.is_empty else ring_of(shown.sight),
        "bands": [
            {
                "words": band.words,
                "lines": [[[_mm(x), _mm(y)] for x, y in line] for line in band.lines],
            }
            for band in shown.bands or ()
        ],
        "nests": []
        if shown.nests is None
        else [
            {
                "at": [_mm(nest.at[0]), _mm(nest.at[1])],
                "draws": nest.draws,
                "share": nest.draws / max(shown.nests.draws, 1),
                "words": f"{nest.draws} of {shown.nests.draws} {nest.words}",
            }
            for nest in shown.nests.places
        ],
    }


def ring_of(shape: Polygon) -> list[list[float]]:
    """Return the corners of an outline, m, to a tenth of a millimetre."""
    return [[_mm(x), _mm(y)] for x, y in shapely.get_coordinates(shape.exterior)[:-1].tolist()]


def _mm(value_m: float) -> float:
    return round(float(value_m), 4)
