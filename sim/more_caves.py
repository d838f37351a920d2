"""More caves or fewer: where a further hiding place can be built into a tank.

A tank with so many caves keeps those it has, the first in the file first. A further one is put on
the most open ground there is: the place farthest from all other pieces, on a grid of whole inches,
turned by quarters, its door toward the open. It must be buildable: clear of the glass, so that the
glass can be cleaned; far enough from every piece, at every stage of the furniture, for a fish to
swim through; no door blocked and no floor shut off that was not before. So the caves of a point
with fewer are among those of a point with more, in the same places.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sim.errors import Problem, Refused
from sim.layout import Layout
from sim.pieces import PlacedPiece, find_kind, find_size, place_piece
from sim.scenario import MOST_PIECES, Piece, Scenario

if TYPE_CHECKING:
    from sim.pieces import Kind

GRID_M = 0.0254
GLASS_M = 0.02  # between a cave and the glass (assumed)
SWIM_M = 0.04  # between a cave and what is swum round, or where fish or food are put (assumed)
TRIES = 200  # places that are looked at whole, the most open first
USUAL = ("pot", "4 in")  # added to a tank without a cave


@dataclass(frozen=True, slots=True)
class Caves:
    """What was done so that a tank has so many caves.

    Parameters
    ----------
    kept
        Names of its own that stay.
    taken_out
        Names of its own that go.
    added
        Further ones, each with its place.
    """

    kept: tuple[str, ...]
    taken_out: tuple[str, ...]
    added: tuple[Piece, ...]


def caves_of(scenario: Scenario) -> list[Piece]:
    """Return the pieces of a scenario that are caves by their kind, in the order of the file."""
    return [piece for piece in scenario.pieces if find_kind(piece.kind).group == "cave"]


def cave_named(text: str, *, where: str) -> tuple[Kind, str]:
    """Return a kind of cave and a size from text such as ``"upturned pot 4 in"``.

    Parameters
    ----------
    text
        The kind, and its size after it.
    where
        What a refusal points at.

    Raises
    ------
    Refused
        If there is no such cave.
    """
    words = text.split()
    for cut in range(len(words) - 1, 0, -1):
        try:
            kind = find_kind(" ".join(words[:cut]), where=where)
        except Refused:
            continue
        if kind.group == "cave":
            return kind, find_size(" ".join(words[cut:]), kind=kind, where=where).name
    raise Refused(
        Problem(where, f'got "{text}"; expected a kind of cave and its size, as pipe 2 in.')
    )


def with_caves(
    scenario: Scenario, *, count: int, cave: tuple[Kind, str] | None = None, where: str
) -> Caves:
    """Return how a tank comes to have so many caves.

    Parameters
    ----------
    scenario
        A checked scenario.
    count
        Caves it is to have.
    cave
        Kind and size of those that are added; more of the tank's own in turn where None.
    where
        What a refusal points at.

    Raises
    ------
    Refused
        If so many cannot be built.
    """
    own = caves_of(scenario)
    names = [piece.name for piece in own]
    if count <= len(own):
        return Caves(tuple(names[:count]), tuple(names[count:]), ())
    most = MOST_PIECES - len(scenario.pieces) + len(own)
    if count > most:
        raise Refused(Problem(where, f"got {count}; expected at most {most}."))
    added: list[Piece] = []
    for number in range(count - len(own)):
        model = _model(own, number) if cave is None else _new(*cave)
        try:
            added.append(_placed(scenario, added, model))
        except _NoPlace as none:
            found = len(own) + len(added)
            raise Refused(
                Problem(
                    where,
                    f"got {count}; expected at most {found}: {none}. Ask for fewer, for smaller "
                    'ones (hardscape.cave="pipe 2 in"), or a larger tank.',
                )
            ) from None
    return Caves(tuple(names), (), tuple(added))


class _NoPlace(Exception):  # noqa: N818
    """There is no place for a further cave; the text says why."""


def _model(own: list[Piece], number: int) -> Piece:
    return own[number % len(own)] if own else _new(find_kind(USUAL[0]), USUAL[1])


def _new(kind: Kind, size: str) -> Piece:
    return Piece(kind=kind.key, size=size, x_m=0.0, y_m=0.0)


def _placed(scenario: Scenario, added: list[Piece], model: Piece) -> Piece:
    """Return a further cave like a model on the most open ground."""
    taken = {piece.name.lower() for piece in scenario.pieces} | {p.name.lower() for p in added}
    number = len(added) + 1
    while f"added cave {number}" in taken:
        number += 1
    before = scenario.model_copy(update={"pieces": (*scenario.pieces, *added)})
    layout = Layout(before)
    known = {one.sentence for stage in layout.stages for one in stage.warnings()}
    why = "there is no ground far enough from the other pieces and the glass"
    for tries, (x_m, y_m, turn_rad) in enumerate(_open_places(layout, model)):
        if tries == TRIES:
            break
        piece = model.model_copy(
            update={
                "name": f"added cave {number}", "x_m": x_m, "y_m": y_m, "turn_rad": turn_rad,
            }
        )  # fmt: skip
        after = Layout(before.model_copy(update={"pieces": (*before.pieces, piece)}))
        wrong = [one for stage in after.stages for one in stage.problems()]
        wrong += [
            one for stage in after.stages for one in stage.warnings() if one.sentence not in known
        ]
        if not wrong:
            return piece
        why = wrong[0].sentence.split("; expected")[0]
    raise _NoPlace(why)


def _open_places(layout: Layout, model: Piece) -> Iterator[tuple[float, float, float]]:
    """Yield x, y (m) and turn (rad) of a further cave, the most open place first."""
    standing = [piece for stage in layout.stages for piece in stage.pieces]
    points = [*layout.feeding_spots, *(m.joins_place for m in layout.members if m.joins_place)]
    round_it = [piece.outline for piece in standing if piece.swim_top >= 0]
    round_it += [shapely.Point(point) for point in points]
    over_it = [piece.outline.buffer(-SWIM_M) for piece in standing if piece.swim_top < 0]
    taken = shapely.union_all([*round_it, *over_it])
    xs, ys = np.meshgrid(
        np.arange(GRID_M, layout.length_m, GRID_M), np.arange(GRID_M, layout.width_m, GRID_M)
    )
    rows = []
    for quarter in range(4):
        turn_rad = (0.0, 0.5 * math.pi, math.pi, -0.5 * math.pi)[quarter]
        piece = place_piece(
            model.model_copy(update={"x_m": 0.0, "y_m": 0.0, "turn_rad": turn_rad}),
            tank_height_m=layout.height_m,
        )
        gap, open_m = _gaps(layout, piece, taken, xs.ravel(), ys.ravel())
        for k in np.flatnonzero(gap >= SWIM_M):
            x_m, y_m = float(xs.flat[k]), float(ys.flat[k])
            rows.append((-round(gap[k], 2), -round(open_m[k], 2), quarter, x_m, y_m, turn_rad))
    for *_, x_m, y_m, turn_rad in sorted(rows):
        yield round(x_m, 6), round(y_m, 6), turn_rad


def _gaps(
    layout: Layout, piece: PlacedPiece, taken: BaseGeometry, x: np.ndarray, y: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Return how far a cave is from all that stands, and how far its door looks to the glass.

    A place that is too near the glass has a distance of -1.
    """
    low_x, low_y, high_x, high_y = piece.outline.bounds
    inside = (x + low_x >= GLASS_M) & (x + high_x <= layout.length_m - GLASS_M)
    inside &= (y + low_y >= GLASS_M) & (y + high_y <= layout.width_m - GLASS_M)
    gap = np.where(inside, 9.0, -1.0)
    if not taken.is_empty:
        corners = shapely.get_coordinates(piece.outline)
        places = np.column_stack((x, y))[inside]
        outlines = shapely.polygons(corners[None, :, :] + places[:, None, :])
        gap[inside] = shapely.distance(outlines, taken)
    open_m = np.zeros(len(x))
    for door in piece.doors[:1]:
        way = door.facing_rad + piece.turn_rad
        dx, dy = math.cos(way), math.sin(way)
        along = np.where(dx > 0, layout.length_m - x, x) * abs(dx)
        across = np.where(dy > 0, layout.width_m - y, y) * abs(dy)
        open_m = np.where(abs(dx) > abs(dy), along, across)
    return gap, open_m
