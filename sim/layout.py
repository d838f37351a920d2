"""The hardscape of one tank as exact shapes: rooms, doors, sites, sight and ways round."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon, box

from sim.compartments import Compartments
from sim.errors import Problem, Refused
from sim.fields import shown
from sim.formats import INCH_M
from sim.furniture import Furniture, furniture_of
from sim.pieces import PlacedPiece, place_piece
from sim.placing import piece_problems, place_of
from sim.rooms import (
    XY,
    Door,
    door_warnings,
    find_rooms,
    leaves_at,
    room_problems,
    xy_of,
)
from sim.scenario import Piece, Scenario, company
from sim.units import format_both
from sim.ways import Ways

if TYPE_CHECKING:
    from sim.tables import Floor

SITE_GAP_M = 0.04  # a site on open floor keeps this far from outlines and glass (assumed)
SITE_SPACING_M = 0.10  # between sites on open floor (assumed)
SITES_AT_MOST = 400  # on open floor; a larger tank has a wider lattice
SHUT_OFF_M2 = 0.005  # floor that cannot be reached is worth a word above this (assumed)
EDGE_SITES = 2  # beside a rock or a piece of wood (assumed)

OPEN_FLOOR, CAVE, FLAT, ROCK_EDGE = range(4)


@dataclass(frozen=True, slots=True)
class Site:
    """A place a territory can be held around; room and piece are indices, -1 for none."""

    kind: int
    point: XY
    room: int = -1
    piece: int = -1


class Layout:
    """The exact geometry of one tank, made once per layout.

    Parameters
    ----------
    scenario
        Its tank, its pieces and its fish are read.

    Raises
    ------
    Refused
        When a piece's kind or size is not in the catalogue, all such pieces at once. What is wrong
        with where a piece stands is told by `problems`.
    """

    def __init__(self, scenario: Scenario) -> None:
        tank = scenario.tank
        self.length_m = float(tank.length_m)
        self.width_m = float(tank.width_m)
        self.height_m = float(tank.height_m)
        self.glass: Polygon = box(0.0, 0.0, self.length_m, self.width_m)
        self._scenario = scenario
        self.furniture: Furniture = furniture_of(scenario)
        self.pieces = self._place(self.furniture.stages[0])
        self.members = company(scenario)
        self.feeding_spots = scenario.feeding.spots if scenario.feeding else ()
        self.rooms, self.blocked_doors = find_rooms(self.pieces, ways=self.ways, glass=self.glass)
        self.doors: tuple[Door, ...] = tuple(door for room in self.rooms for door in room.doors)

    @property
    def area_m2(self) -> float:
        """Area of the footprint (m2)."""
        return self.length_m * self.width_m

    @cached_property
    def open_area_m2(self) -> float:
        """Area of the footprint less the pieces that must be swum round (m2)."""
        taken = shapely.union_all([piece.outline for piece in self.solid(0)])
        return float(self.glass.difference(taken).area)

    def solid(self, layer: int) -> tuple[PlacedPiece, ...]:
        """Return the pieces that block swimming in a layer (0 floor, 1 middle, 2 surface)."""
        return tuple(piece for piece in self.pieces if piece.swim_top >= layer)

    @cached_property
    def ways(self) -> Ways:
        """The ways to swim near the floor."""
        outlines = [piece.outline for piece in self.solid(0)]
        return Ways(outlines, size_m=(self.length_m, self.width_m))

    def sees(self, p: XY, q: XY, layer_a: int = 0, layer_b: int = 0) -> bool:
        """Return whether nothing stands between two points that is tall enough to hide them.

        Two points inside one outline see each other; one inside and one outside do not.

        Parameters
        ----------
        p, q
            Points on the footprint, m.
        layer_a, layer_b
            Their layers, 0 floor to 2 surface.

        Returns
        -------
        bool
        """
        line = LineString([p, q])
        return not any(
            piece.outline.exterior.intersects(line)
            for piece in self.pieces
            if piece.sight_top >= layer_a + layer_b
        )

    def swim_distance(self, p: XY, q: XY) -> float:
        """Return how far it is to swim near the floor from one point to another.

        Parameters
        ----------
        p, q
            Points on the footprint, m.

        Returns
        -------
        float
            m, round outlines grown by `sim.ways.BODY_M`; infinite where there is no way.
        """
        return self.ways.distance(p, q)

    @cached_property
    def sites(self) -> tuple[Site, ...]:
        """Every place a territory can be held around: open floor, caves, slates, rock edges."""
        caves = [
            Site(CAVE, room.doors[0].outside, room=index, piece=room.piece)
            for index, room in enumerate(self.rooms)
            if not room.through
        ]
        slates = [
            Site(FLAT, xy_of(piece.outline.representative_point()), piece=index)
            for index, piece in enumerate(self.pieces)
            if piece.kind.group == "slate" and not piece.blocks_swimming
        ]
        edges = [
            Site(ROCK_EDGE, point, piece=index)
            for index, piece in enumerate(self.pieces)
            if piece.kind.group in ("rock", "wood") and piece.blocks_swimming
            for point in self._points_beside(piece)
        ]
        free = self.ways.free
        slates = [site for site in slates if shapely.intersects_xy(free, *site.point)]
        return (*self._lattice(), *caves, *slates, *edges)

    def find_site(self, where: str | XY) -> int:
        """Return the site at a piece, or the one nearest to a point.

        Parameters
        ----------
        where
            Name of a piece, or a point on the footprint (m).

        Returns
        -------
        int
            Index into `sites`; -1 where there is none.
        """
        if isinstance(where, str):
            names = [piece.name for piece in self.pieces]
            index = names.index(where) if where in names else -2
            at = (i for i, site in enumerate(self.sites) if site.piece == index)
            return next(at, -1)
        reach = [math.dist(site.point, where) for site in self.sites]
        return int(np.argmin(reach)) if reach else -1

    @cached_property
    def compartments(self) -> Compartments:
        """What the dividers part the water into."""
        outlines = [piece.outline for piece in self.solid(2)]
        return Compartments(outlines, size_m=(self.length_m, self.width_m))

    @cached_property
    def stages(self) -> tuple[Layout, ...]:
        """The layouts of the tank through its events: this one, then the later ones."""
        later = (
            Layout(self._scenario.model_copy(update={"pieces": pieces, "events": ()}))
            for pieces in self.furniture.stages[1:]
        )
        return (self, *later)

    def floors(self) -> tuple[Floor, ...]:
        """Return the tables of every stage; made on the first call and kept."""
        return tuple(stage.floor() for stage in self.stages)

    def floor(self) -> Floor:
        """Return the tables the compiled rules read; made on the first call and kept."""
        return self._floor

    @cached_property
    def _floor(self) -> Floor:
        from sim.tables import build_floor  # the compiler is loaded for a run, not for a check

        return build_floor(self)

    def problems(self) -> list[Problem]:
        """Return what makes the layout impossible, one sentence each.

        Returns
        -------
        list of Problem
            Pieces in one place, outside the glass or taller than the tank; caves that no fish of
            the scenario fits, or that have no open door; a tank with no free floor.
        """
        found = piece_problems(self.pieces, glass=self.glass, tank_height_m=self.height_m)
        if self.ways.free.is_empty:
            sentence = (
                "the pieces leave no room to swim near the floor, got none; expected some. "
                "Take pieces out."
            )
            found.append(Problem("pieces", sentence))
        found += room_problems(
            self.rooms, self.blocked_doors, pieces=self.pieces, members=self.members
        )
        for index, spot in enumerate(self.feeding_spots):
            for piece in self.solid(0):
                if piece.outline.contains(Point(spot)):
                    sentence = (
                        f"the food falls on {shown(piece.name)}, got {format_both(spot[0])} along "
                        f"and {format_both(spot[1])} back; expected open floor. Move the spot."
                    )
                    found.append(Problem(f"feeding.spots #{index + 1}", sentence))
        return found

    def warnings(self) -> list[Problem]:
        """Return what is possible but unwise in the layout, one sentence each.

        Returns
        -------
        list of Problem
            Doors that are blocked while another is open; floor that cannot be reached.
        """
        found = door_warnings(self.rooms, self.blocked_doors, pieces=self.pieces)
        parts = shapely.get_parts(self.ways.free)
        areas, inside = shapely.area(parts), np.zeros(len(parts), dtype=np.int64)
        if len(parts):
            points = shapely.get_coordinates(shapely.point_on_surface(parts))
            inside = self.compartments.of(points)
        largest = sum(areas[inside == k].max() for k in np.unique(inside))
        if (shut_m2 := areas.sum() - largest) > SHUT_OFF_M2:
            sentence = (
                f"they shut off part of the floor, got {shut_m2 / INCH_M**2:.0f} sq in "
                f"({1e4 * shut_m2:.0f} cm2) that no fish can swim to; expected gaps between "
                "pieces wide enough for a fish, or none. Move them apart or together."
            )
            found.append(Problem("pieces", sentence))
        if len(self.compartments) == 1:
            found += [
                Problem(
                    place_of(piece),
                    "it parts nothing, since a fish can swim round it; expected a sheet from glass "
                    "to glass. Choose a longer one, or move it.",
                )
                for piece in self.pieces
                if piece.is_divider
            ]
        return found

    def _place(self, pieces: Sequence[Piece]) -> tuple[PlacedPiece, ...]:
        placed: list[PlacedPiece] = []
        problems: list[Problem] = []
        for piece in pieces:
            try:
                placed.append(place_piece(piece, tank_height_m=self.height_m))
            except Refused as refusal:
                problems += refusal.problems
        if problems:
            raise Refused(problems)
        return tuple(placed)

    def _lattice(self) -> list[Site]:
        spacing_m = max(SITE_SPACING_M, math.sqrt(self.area_m2 / SITES_AT_MOST))
        axes = []
        for size_m in (self.length_m, self.width_m):
            steps = math.floor((size_m - 2 * SITE_GAP_M) / spacing_m + 1e-9)
            axes.append((size_m - steps * spacing_m) / 2 + spacing_m * np.arange(steps + 1))
        xs, ys = (grid.ravel() for grid in np.meshgrid(*axes))
        if self.pieces and len(xs):
            tree = shapely.STRtree([piece.outline for piece in self.pieces])
            points = shapely.points(xs, ys)
            near, _ = tree.query(points, predicate="dwithin", distance=SITE_GAP_M)
            xs, ys = np.delete(xs, np.unique(near)), np.delete(ys, np.unique(near))
        return [Site(OPEN_FLOOR, (float(x), float(y))) for x, y in zip(xs, ys, strict=True)]

    def _points_beside(self, piece: PlacedPiece) -> list[XY]:
        """Return up to two free points beside a piece, its broad sides first."""
        middle = piece.outline.representative_point()
        found: list[XY] = []
        for turn in (math.pi / 2, -math.pi / 2, 0.0, math.pi):
            way = np.array([math.cos(piece.turn_rad + turn), math.sin(piece.turn_rad + turn)])
            point = leaves_at(piece.outline, middle, way) + SITE_GAP_M * way
            if len(found) < EDGE_SITES and shapely.intersects_xy(self.ways.free, *point):
                found.append((float(point[0]), float(point[1])))
        return found
