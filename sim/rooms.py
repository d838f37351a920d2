"""Hiding places: the rooms inside pieces, their doors, and who fits through them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Point, Polygon

from sim.errors import Problem
from sim.pieces import Doorway, PlacedPiece
from sim.placing import place_of
from sim.scenario import Member
from sim.units import format_both
from sim.ways import Ways

DOOR_STEP_M = 0.02  # how far outside the outline a fish waits at a door (assumed)

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Door:
    """An opening of a room: a point just outside, one inside, and what a body must pass."""

    room: int
    outside: XY
    inside: XY
    width_m: float
    height_m: float

    def passes(self, *, depth_m: float, width_m: float) -> bool:
        """Return whether a body of that depth and width (m) fits through."""
        return depth_m < self.height_m and width_m < self.width_m


@dataclass(frozen=True, slots=True)
class Room:
    """A hiding place: the piece it is in (by index), a point inside, its floor and its doors.

    The doorway of a divider is one too: it has a door on either side and holds one fish.
    """

    piece: int
    name: str
    point: XY
    area_m2: float
    height_m: float
    doors: tuple[Door, ...]
    through: bool = False


@dataclass(frozen=True, slots=True)
class BlockedDoor:
    """A door that glass or another piece stands in front of."""

    piece: int
    by: str


def find_rooms(
    pieces: Sequence[PlacedPiece], *, ways: Ways, glass: Polygon
) -> tuple[tuple[Room, ...], tuple[BlockedDoor, ...]]:
    """Return the rooms with the doors that are open, and the doors that are blocked.

    Parameters
    ----------
    pieces
        Of one tank.
    ways
        The ways to swim near its floor.
    glass
        Its footprint, m.

    Returns
    -------
    tuple
        Rooms with at least one open door, in the order of the pieces; blocked doors.
    """
    rooms: list[Room] = []
    blocked: list[BlockedDoor] = []
    for index, piece in enumerate(pieces):
        if piece.is_divider:
            for doorway in piece.doors:
                found = _doorway(doorway, piece, index=index, room=len(rooms), ways=ways)
                if found is None:
                    by = _stands_at(
                        np.array(_in_sheet(doorway, piece)), pieces=pieces, but=index, glass=glass
                    )
                    blocked.append(BlockedDoor(index, by))
                else:
                    rooms.append(found)
            continue
        if piece.room is None:
            continue
        middle = piece.room.centroid
        if not piece.room.contains(middle):
            middle = piece.room.representative_point()
        doors: list[Door] = []
        for doorway in piece.doors:
            turn = doorway.facing_rad + piece.turn_rad
            way = np.array([math.cos(turn), math.sin(turn)])
            outside = leaves_at(piece.outline, middle, way) + DOOR_STEP_M * way
            inside = leaves_at(piece.room, middle, way) - DOOR_STEP_M * way
            if not piece.room.contains(Point(inside)):
                inside = np.array(xy_of(middle))
            moved = ways.free_points(outside)[0]
            # a tank that is full has no free point, which compares as false
            if not np.hypot(*(moved - outside)) <= DOOR_STEP_M:
                by = _stands_at(outside, pieces=pieces, but=index, glass=glass)
                blocked.append(BlockedDoor(index, by))
                continue
            doors.append(
                Door(
                    room=len(rooms),
                    outside=(float(moved[0]), float(moved[1])),
                    inside=(float(inside[0]), float(inside[1])),
                    width_m=doorway.width_m,
                    height_m=doorway.height_m,
                )
            )
        if doors:
            rooms.append(
                Room(
                    piece=index,
                    name=piece.name,
                    point=xy_of(middle),
                    area_m2=float(piece.room.area),
                    height_m=piece.room_height_m,
                    doors=tuple(doors),
                )
            )
    return tuple(rooms), tuple(blocked)


def _in_sheet(doorway: Doorway, piece: PlacedPiece) -> XY:
    """Return the middle of a divider's doorway."""
    middle = piece.outline.centroid
    return (
        float(middle.x + doorway.along_m * math.cos(piece.turn_rad)),
        float(middle.y + doorway.along_m * math.sin(piece.turn_rad)),
    )


def _doorway(
    doorway: Doorway, piece: PlacedPiece, *, index: int, room: int, ways: Ways
) -> Room | None:
    """Return a divider's doorway as a room with a door on either side; None where it is blocked."""
    at = np.array(_in_sheet(doorway, piece))
    turn = piece.turn_rad + math.pi / 2
    way = np.array([math.cos(turn), math.sin(turn)])
    sheet = Point(at)
    if not piece.outline.contains(sheet):
        return None
    doors = []
    for side in (1.0, -1.0):
        outside = leaves_at(piece.outline, sheet, side * way) + DOOR_STEP_M * side * way
        moved = ways.free_points(outside)[0]
        if not np.hypot(*(moved - outside)) <= DOOR_STEP_M:
            return None
        doors.append(
            Door(
                room=room,
                outside=(float(moved[0]), float(moved[1])),
                inside=(float(at[0]), float(at[1])),
                width_m=doorway.width_m,
                height_m=doorway.height_m,
            )
        )
    return Room(
        piece=index,
        name=piece.name,
        point=(float(at[0]), float(at[1])),
        area_m2=0.0,
        height_m=doorway.height_m,
        doors=tuple(doors),
        through=True,
    )


def room_problems(
    rooms: Sequence[Room],
    blocked: Sequence[BlockedDoor],
    *,
    pieces: Sequence[PlacedPiece],
    members: Sequence[Member],
) -> list[Problem]:
    """Return the hiding places that nothing can get into, and those nobody fits.

    Parameters
    ----------
    rooms, blocked
        As `find_rooms` gives them.
    pieces
        Of the tank.
    members
        The fish of the scenario; without any, no room is called too small.

    Returns
    -------
    list of Problem
    """
    found: list[Problem] = []
    entered = {room.piece for room in rooms}
    for door in blocked:
        if door.piece not in entered:
            entered.add(door.piece)
            found.append(_blocked(door, pieces[door.piece], "nothing can get in"))
    bodies = [body_of(member) for member in members]
    for room in rooms:
        if not bodies or any(
            door.passes(depth_m=depth_m, width_m=width_m)
            for door in room.doors
            for depth_m, width_m in bodies
        ):
            continue
        widest = max(room.doors, key=lambda door: min(door.width_m, door.height_m))
        depth_m, width_m = min(bodies)
        sentence = (
            f"nobody fits, got a door {format_both(widest.width_m)} wide and "
            f"{format_both(widest.height_m)} high; expected more than the {format_both(width_m)} "
            f"by {format_both(depth_m)} of the slimmest fish. Choose a larger size or take it out."
        )
        found.append(Problem(place_of(pieces[room.piece]), sentence))
    return found


def door_warnings(
    rooms: Sequence[Room], blocked: Sequence[BlockedDoor], *, pieces: Sequence[PlacedPiece]
) -> list[Problem]:
    """Return the doors that are blocked while another of the same room is open.

    Parameters
    ----------
    rooms, blocked
        As `find_rooms` gives them.
    pieces
        Of the tank.

    Returns
    -------
    list of Problem
    """
    entered = {room.piece for room in rooms}
    return [
        _blocked(door, pieces[door.piece], "one of its doors is not used")
        for door in blocked
        if door.piece in entered
    ]


def body_of(member: Member) -> tuple[float, float]:
    """Return the depth and width (m) of a fish; of the smaller sex where neither is known."""

    species = member.species
    adult_m = {"male": species.adult_male_m, "female": species.adult_female_m}
    length_m = member.length_m
    if length_m is None:
        length_m = adult_m.get(member.sex, min(adult_m.values()))
    return length_m * species.depth_ratio, length_m * species.width_ratio


def _blocked(door: BlockedDoor, piece: PlacedPiece, what: str) -> Problem:
    sentence = (
        f"{what}, got a door with {door.by} right in front of it; expected "
        f"{format_both(DOOR_STEP_M)} of free floor before a door. Turn or move it."
    )
    return Problem(place_of(piece), sentence)


def _stands_at(
    point: NDArray[np.float64], *, pieces: Sequence[PlacedPiece], but: int, glass: Polygon
) -> str:
    """Return what is nearest to a point before a door: another piece, or the glass."""
    at = Point(point)
    glass_m = glass.exterior.distance(at) if glass.contains(at) else 0.0
    nearest = [(glass_m, "the glass")]
    nearest += [
        (piece.outline.distance(at), f'"{piece.name}"')
        for index, piece in enumerate(pieces)
        if index != but and piece.blocks_swimming
    ]
    return min(nearest)[1]


def leaves_at(outline: Polygon, start: Point, way: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return where a ray from inside leaves an outline for good."""
    x0, y0, x1, y1 = outline.bounds
    far = np.array(xy_of(start)) + way * (x1 - x0 + y1 - y0)
    inside = shapely.intersection(LineString([xy_of(start), far]), outline)
    corners = shapely.get_coordinates(inside)
    last: NDArray[np.float64] = corners[np.argmax(corners @ way)]
    return last


def xy_of(point: Point) -> XY:
    return float(point.x), float(point.y)
