"""What is wrong or unwise in where pieces stand, each in one sentence with its mend."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from shapely.geometry import Polygon

from sim.errors import Problem
from sim.pieces import FLAT_M, PlacedPiece
from sim.units import format_both

TOUCH_M = 0.001  # pieces may touch, and lean on the glass, to within this


def place_of(piece: PlacedPiece) -> str:
    """Return how a sentence points at a piece."""
    return f'pieces "{piece.name}"'


def piece_problems(
    pieces: Sequence[PlacedPiece], *, glass: Polygon, tank_height_m: float
) -> list[Problem]:
    """Return what is wrong with where pieces stand and with their own measures.

    Parameters
    ----------
    pieces
        In the order of the file.
    glass
        The footprint, m.
    tank_height_m
        Height of the water, m.

    Returns
    -------
    list of Problem
        Pieces outside the glass, taller than the tank, in one place, or with impossible rooms.
    """
    found: list[Problem] = []
    for piece in pieces:
        found += _outside(piece, glass=glass)
        found += _too_tall(piece, tank_height_m=tank_height_m)
        found += _bad_room(piece)
    found += _overlaps(pieces)
    return found


def _outside(piece: PlacedPiece, *, glass: Polygon) -> Iterator[Problem]:
    x0, y0, x1, y1 = piece.outline.bounds
    _, _, length_m, width_m = glass.bounds
    for key, low, high, size_m, sides in (
        ("x", x0, x1, length_m, ("left", "right")),
        ("y", y0, y1, width_m, ("front", "back")),
    ):
        if low >= -TOUCH_M and high <= size_m + TOUCH_M:
            continue
        where = f"{place_of(piece)}.{key}"
        if high - low > size_m:
            yield Problem(
                where,
                f"it does not fit between the {sides[0]} and the {sides[1]} glass, got "
                f"{format_both(high - low)}; expected at most {format_both(size_m)}. "
                "Turn it or choose a smaller one.",
            )
            continue
        side, back, out = (
            (sides[0], sides[1], -low) if low < -TOUCH_M else (sides[1], sides[0], high - size_m)
        )
        yield Problem(
            where,
            f"it goes through the {side} glass, got a piece from {format_both(low)} to "
            f"{format_both(high)}; expected 0 to {format_both(size_m)}. Move it "
            f"{format_both(out)} toward the {back}.",
        )


def _too_tall(piece: PlacedPiece, *, tank_height_m: float) -> Iterator[Problem]:
    if piece.kind.group != "plant" and piece.height_m > tank_height_m + TOUCH_M:
        yield Problem(
            f"{place_of(piece)}.height",
            f"it is taller than the tank, got {format_both(piece.height_m)}; expected at most "
            f"{format_both(tank_height_m)}. Choose a lower one or a taller tank.",
        )


def _bad_room(piece: PlacedPiece) -> Iterator[Problem]:
    if not piece.doors:
        return
    if not piece.is_divider and (piece.room is None or piece.room_height_m <= 0):
        yield Problem(
            place_of(piece),
            "it has a door but no room inside, got an outline of "
            f"{format_both(_breadth(piece.outline))} at its narrowest and a height of "
            f"{format_both(piece.height_m)}; expected more than its walls. Choose a larger "
            "one or leave out the doors.",
        )
        return
    for number, door in enumerate(piece.doors, start=1):
        # a rim or a bore leaves room above a round opening, hence height against the whole piece
        for key, got, most in (
            ("height", door.height_m, piece.height_m),
            ("width", door.width_m, _length(piece.outline)),
        ):
            if got > most + TOUCH_M:
                yield Problem(
                    f"{place_of(piece)}.doors #{number}.{key}",
                    f"the door is larger than the piece, got {format_both(got)}; expected at most "
                    f"{format_both(most)}. Make the door smaller.",
                )


def _overlaps(pieces: Sequence[PlacedPiece]) -> Iterator[Problem]:
    """Two solid pieces in one place; a stone may stand on a flat slate, plants grow anywhere."""
    cores = [piece.outline.buffer(-TOUCH_M / 2) for piece in pieces]
    if not cores:
        return
    first, second = shapely.STRtree(cores).query(cores, predicate="intersects")
    for a, b in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        one, other = pieces[a], pieces[b]
        if a >= b or not (one.kind.blocks_swimming and other.kind.blocks_swimming):
            continue
        if min(one.height_m, other.height_m) <= FLAT_M < max(one.height_m, other.height_m):
            continue
        depth_m = max(_breadth(one.outline.intersection(other.outline)), TOUCH_M)
        yield Problem(
            place_of(other),
            f'it stands where "{one.name}" stands, got an overlap '
            f"{format_both(depth_m)} deep; expected pieces side by side. Move one of them about "
            f"{format_both(depth_m)} away from the other.",
        )


def _sides(shape: Polygon) -> tuple[float, float]:
    """Return the shorter and the longer side of the narrowest box round a shape (m)."""
    x, y = shapely.get_coordinates(shape.minimum_rotated_rectangle)[:3].T
    if len(x) < 3:
        return 0.0, 0.0
    first, second = ((x[1:] - x[:-1]) ** 2 + (y[1:] - y[:-1]) ** 2) ** 0.5
    return min(first, second), max(first, second)


def _breadth(shape: Polygon) -> float:
    return _sides(shape)[0]


def _length(shape: Polygon) -> float:
    return _sides(shape)[1]
