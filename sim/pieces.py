"""The catalogue of what can be placed in a tank, and a placed piece as a shape."""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import shapely
from shapely import affinity
from shapely.geometry import Polygon

from sim.errors import Problem, Refused, shown
from sim.scenario import Piece

FLAT_M = 0.03  # a piece no higher than this is swum over, not round (assumed)
FLOOR_SIGHT_M = 0.06  # two fish near the floor see each other along at most this height (assumed)
WALL_M = 0.02  # wall of a piece of no catalogue size that was given doors (assumed)
CORNERS = 16  # of a round outline: 2 % off the ellipse's radius at worst, same area
GROUPS = ("rock", "wood", "slate", "cave", "plant", "divider", "equipment")
SHAPES = ("ellipse", "rectangle", "taper", "polygon")


@dataclass(frozen=True, slots=True)
class Doorway:
    """A door of a kind of piece; `facing_rad` is in the piece's own frame, 0 along its length.

    `along_m` is how far from the middle of a divider its doorway is, along its length.
    """

    width_m: float
    height_m: float
    facing_rad: float
    along_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Size:
    """One size in which a kind of piece is sold or found; no height means as high as the tank."""

    name: str
    length_m: float
    width_m: float
    height_m: float | None
    wall_m: float
    doors: tuple[Doorway, ...]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of piece: what it is good for, its outline, what it blocks, and its sizes."""

    key: str
    title: str
    group: str
    shape: str
    taper: float
    outline: tuple[tuple[float, float], ...]
    blocks_swimming: bool
    blocks_sight: bool
    sizes: tuple[Size, ...]
    sources: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class PlacedPiece:
    """A piece in its place: outline on the footprint, height, and what it blocks up to there.

    `swim_top` is the highest layer (0 to 2) in which it is in the way, -1 for none; `sight_top`
    the highest sum of two layers (0 to 4) between which it is in the way of sight, -1 for none.
    `room` is the floor of the hiding place inside, `None` for a solid piece.
    """

    name: str
    kind: Kind
    outline: Polygon
    height_m: float
    turn_rad: float
    swim_top: int
    sight_top: int
    room: Polygon | None
    room_height_m: float
    doors: tuple[Doorway, ...]

    @property
    def is_divider(self) -> bool:
        """Whether it is a sheet that parts the tank."""
        return self.kind.group == "divider"

    @property
    def blocks_swimming(self) -> bool:
        """Whether a fish must swim round it in at least the floor layer."""
        return self.swim_top >= 0

    @property
    def blocks_sight(self) -> bool:
        """Whether it hides fish from each other near the floor at least."""
        return self.sight_top >= 0


@cache
def load_pieces() -> dict[str, Kind]:
    """Return the catalogue of pieces by key, in the order of the file.

    Returns
    -------
    dict
        Key to `Kind`; read once, do not change it.
    """
    text = resources.files("sim.data").joinpath("pieces.toml").read_text(encoding="utf-8")
    return {key: _kind(key, entry) for key, entry in tomllib.loads(text).items()}


def _kind(key: str, entry: Mapping[str, Any]) -> Kind:
    sizes = tuple(
        Size(
            name=size["name"],
            length_m=size["length_m"],
            width_m=size["width_m"],
            height_m=size.get("height_m"),
            wall_m=size.get("wall_m", 0.0),
            doors=tuple(
                Doorway(
                    width_m=door["width_m"],
                    height_m=door["height_m"],
                    facing_rad=math.radians(door["facing_deg"]),
                )
                for door in size.get("doors", ())
            ),
        )
        for size in entry["sizes"]
    )
    return Kind(
        key=key,
        title=entry["title"],
        group=entry["group"],
        shape=entry["shape"],
        taper=entry.get("taper", 1.0),
        outline=tuple((float(x), float(y)) for x, y in entry.get("outline", ())),
        blocks_swimming=entry["group"] != "plant",
        blocks_sight=entry.get("blocks_sight", True),
        sizes=sizes,
        sources=entry["sources"],
    )


def find_kind(name: str, *, where: str = "kind") -> Kind:
    """Return the kind of piece of that name.

    Parameters
    ----------
    name
        Key or title, in any case, with spaces, hyphens or underscores.
    where
        File and key to name in a refusal.

    Returns
    -------
    Kind

    Raises
    ------
    Refused
        When there is none; the sentence gives near misses.
    """
    catalogue = load_pieces()
    by_name = {_plain(kind.title): kind for kind in catalogue.values()}
    by_name.update({_plain(key): kind for key, kind in catalogue.items()})
    if (kind := by_name.get(_plain(name))) is not None:
        return kind
    near = difflib.get_close_matches(_plain(name), [_plain(key) for key in catalogue], n=3)
    offered = ", ".join(near or catalogue)
    raise Refused(
        Problem(where, f'no such kind of piece, got {shown(name)}; expected one of: {offered}.')
    )


def find_size(name: str, *, kind: Kind, where: str = "size") -> Size:
    """Return the size of that name of a kind of piece.

    Parameters
    ----------
    name
        For example `"6 in"`, in any case and with any spaces.
    kind
        A kind of the catalogue.
    where
        File and key to name in a refusal.

    Returns
    -------
    Size

    Raises
    ------
    Refused
        When the kind has no such size; the sentence lists those it has.
    """
    for size in kind.sizes:
        if _plain(size.name) == _plain(name):
            return size
    offered = ", ".join(size.name for size in kind.sizes)
    raise Refused(
        Problem(
            where,
            f'no such size of {kind.key}, got {shown(name)}; expected one of: {offered}. '
            "For another, leave out size and give length, width and height.",
        )
    )


def _plain(name: str) -> str:
    return "".join(letter for letter in name.lower() if letter not in " -_")


def place_piece(piece: Piece, *, tank_height_m: float, where: str | None = None) -> PlacedPiece:
    """Turn a scenario's piece into a shape on the footprint.

    Measures given with the piece win over those of its size; a piece without a size takes walls
    and doors from the catalogue size nearest in length, scaled to its own width and height.

    Parameters
    ----------
    piece
        A scenario's piece, lengths in m, `turn_rad` counter-clockwise seen from above.
    tank_height_m
        Height of the water (m): layers are its thirds.
    where
        File and key to name in a refusal; by default `pieces` and its name.

    Returns
    -------
    PlacedPiece

    Raises
    ------
    Refused
        When the kind or the size is not in the catalogue, nothing tells how large it is, or its own
        outline crosses itself.
    """
    where = f'pieces "{piece.name}"' if where is None else where
    kind = find_kind(piece.kind, where=f"{where}.kind")
    size = _size_of(piece, kind=kind, where=where)
    height_m = tank_height_m if size.height_m is None else size.height_m
    outline = _own_outline(piece, kind=kind, size=size)
    if not outline.is_valid or outline.area == 0:
        raise Refused(
            Problem(
                f"{where}.outline",
                f"got corners that make no shape ({shapely.is_valid_reason(outline)}); expected a "
                "line round the piece that does not cross itself. Mend the order of the corners.",
            )
        )
    outline = affinity.rotate(outline, piece.turn_rad, origin=(0, 0), use_radians=True)
    outline = affinity.translate(outline, piece.x_m, piece.y_m)
    room = None
    if size.doors and kind.group != "divider":
        inside = outline.buffer(-size.wall_m, join_style="mitre")
        parts = [part for part in shapely.get_parts(inside) if not part.is_empty]
        room = max(parts, key=shapely.area, default=None)
    return PlacedPiece(
        name=piece.name,
        kind=kind,
        outline=outline,
        height_m=height_m,
        turn_rad=piece.turn_rad,
        swim_top=_swim_top(height_m, tank_height_m) if kind.blocks_swimming else -1,
        sight_top=_sight_top(height_m, tank_height_m) if kind.blocks_sight else -1,
        room=room,
        room_height_m=height_m - size.wall_m,
        doors=size.doors,
    )


def sight_height_m(layers: int, *, tank_height_m: float) -> float:
    """Return how high above the floor the line between fish of two layers runs.

    Parameters
    ----------
    layers
        Sum of the two layers (0 to 4).
    tank_height_m
        Height of the water (m).

    Returns
    -------
    float
        m; a piece taller than this hides them from each other (assumed).
    """
    if layers == 0:
        return min(tank_height_m / 6, FLOOR_SIGHT_M)
    return tank_height_m * (1 + layers) / 6


def _swim_top(height_m: float, tank_height_m: float) -> int:
    limits = (FLAT_M, tank_height_m / 2, tank_height_m * 5 / 6)
    return sum(height_m > limit for limit in limits) - 1


def _sight_top(height_m: float, tank_height_m: float) -> int:
    limits = (sight_height_m(k, tank_height_m=tank_height_m) for k in range(5))
    return sum(height_m > limit for limit in limits) - 1


def _size_of(piece: Piece, *, kind: Kind, where: str) -> Size:
    """Return the measures of a piece: its size's, overridden by its own."""
    given = (piece.length_m, piece.width_m)
    if piece.outline:
        xs, ys = zip(*piece.outline, strict=True)
        given = (max(xs) - min(xs), max(ys) - min(ys))
    if piece.size is not None:
        base = find_size(piece.size, kind=kind, where=f"{where}.size")
        ratio_width = ratio_height = 1.0
    elif given[0] is None or given[1] is None:
        offered = ", ".join(size.name for size in kind.sizes)
        raise Refused(
            Problem(
                where,
                f"how large is it? Got neither a size nor a length and width; expected a size of "
                f"{kind.key} ({offered}), or length, width and height.",
            )
        )
    else:
        length_m = given[0]
        base = min(kind.sizes, key=lambda size: abs(size.length_m - length_m))
        ratio_width = given[1] / base.width_m
        ratio_height = 1.0
        if piece.height_m is not None and base.height_m is not None:
            ratio_height = piece.height_m / base.height_m
    doors = tuple(
        Doorway(door.width_m * ratio_width, door.height_m * ratio_height, door.facing_rad)
        for door in base.doors
    )
    if piece.doors:
        doors = tuple(
            Doorway(door.width_m, door.height_m, door.facing_rad, door.along_m)
            for door in piece.doors
        )
    return Size(
        name=base.name,
        length_m=base.length_m if given[0] is None else given[0],
        width_m=base.width_m if given[1] is None else given[1],
        height_m=base.height_m if piece.height_m is None else piece.height_m,
        wall_m=base.wall_m or (WALL_M if doors else 0.0),
        doors=doors,
    )


def _own_outline(piece: Piece, *, kind: Kind, size: Size) -> Polygon:
    """Return the outline in the piece's own frame, its middle at (0, 0)."""
    if piece.outline:
        return shapely.geometry.polygon.orient(Polygon(piece.outline))
    shape = piece.shape or kind.shape
    half_x, half_y = size.length_m / 2, size.width_m / 2
    if shape == "ellipse":
        step = 2 * math.pi / CORNERS
        # corners moved out so far that the polygon has the ellipse's area
        grow = math.sqrt(step / math.sin(step))
        corners = [
            (half_x * grow * math.cos((i + 0.5) * step), half_y * grow * math.sin((i + 0.5) * step))
            for i in range(CORNERS)
        ]
    elif shape == "taper":
        end_y = half_y * kind.taper
        corners = [(-half_x, -end_y), (half_x, -half_y), (half_x, half_y), (-half_x, end_y)]
    elif shape == "polygon" and kind.outline:
        corners = [(x * size.length_m, y * size.width_m) for x, y in kind.outline]
    else:
        corners = [(-half_x, -half_y), (half_x, -half_y), (half_x, half_y), (-half_x, half_y)]
    return Polygon(corners)
