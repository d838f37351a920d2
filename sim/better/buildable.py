"""Buildable: what must hold of a layout so that a keeper can build it and fish can live in it.

- Nothing overlaps, and what is swum round keeps so far from the next piece that the broadest fish,
  full-grown, passes with a quarter of its breadth to spare, and never less than `SWIM_M`.
- Pieces leave the glass free by `GLASS_M`, so that it can be cleaned and water passes (common
  practice, no source).
- Before each door the floor is free over as much as fish need to pass between pieces.
- The pit, and places where fish are put in or food falls, are kept free.
- `sim.check` finds nothing wrong with the tank, at any stage of its furniture, and nothing unwise
  that was not so before: no door blocked, no floor shut off.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from sim.better.moving import TURN_STEP_DEG, Moving
from sim.check import Checked, check_scenario
from sim.errors import Refused
from sim.more_caves import GLASS_M, SWIM_M
from sim.pieces import PlacedPiece, place_piece
from sim.rooms import leaves_at
from sim.scenario import Scenario
from sim.units import parse_angle, parse_length

F8 = npt.NDArray[np.float64]

TO_SPARE = 1.25  # times the breadth of the broadest fish, between pieces (assumed)
APART_M = 0.005  # between pieces of which one is swum over or through (assumed)
PIT_M = 0.10  # kept free round a place where eggs are to be laid (assumed)
SPOT_GLASS_M = 0.05  # from where food falls to the glass (assumed)
GRID_PER_IN = 4  # places on the floor for an inch: a layout is built with a ruler
PUSHES = 40
OVER_M = 0.004  # that a piece is pushed too far, so that rounding does not undo it
TRIES = 60  # at a place for one piece
RESTARTS = 40

# Of each piece that moves x, y (m) and turn (rad), then of each feeding spot x and y.
Plan = tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class Shape:
    """A piece turned some way, its middle at 0, 0: outline, floor before its doors, what it is."""

    outline: Polygon
    doorsteps: tuple[Polygon, ...]
    solid: bool

    def at(self, x_m: float, y_m: float) -> Shape:
        """Return it moved to a place."""
        move = {"xoff": x_m, "yoff": y_m}
        return Shape(
            affinity.translate(self.outline, **move),
            tuple(affinity.translate(step, **move) for step in self.doorsteps),
            self.solid,
        )


class FloorPlan:
    """All layouts of one tank that its loose pieces and feeding spots allow.

    Parameters
    ----------
    checked
        The tank.
    moving
        What may be put elsewhere.
    """

    def __init__(self, checked: Checked, moving: Moving) -> None:
        self.checked, self.moving = checked, moving
        self.scenario: Scenario = checked.scenario
        layout = checked.layout
        self.size = (layout.length_m, layout.width_m)
        self.height_m = layout.height_m
        self.glass = layout.glass
        self.clear_m = clearance_m(checked)
        self.models = [self.scenario.pieces[k] for k in moving.pieces]
        self.spots = self.scenario.feeding.spots if moving.spots and self.scenario.feeding else ()
        others = [k for k in range(len(self.scenario.pieces)) if k not in moving.pieces]
        self.standing = [self._standing(k) for k in others]
        self.kept_free = kept_free(self.scenario, spots=not moving.spots)
        self._shapes: dict[tuple[int, int], Shape] = {}
        self._known = {one.sentence for one in checked.warnings}

    # --- as the search sees it ------------------------------------------------------------

    @property
    def dims(self) -> int:
        """Numbers that say a plan."""
        return 3 * len(self.models) + 2 * len(self.spots)

    @cached_property
    def given(self) -> Plan:
        """The plan of the file."""
        pieces = tuple((one.x_m, one.y_m, one.turn_rad) for one in self.models)
        return (*pieces, *((float(x), float(y)) for x, y in self.spots))

    def numbers(self, plan: Plan) -> F8:
        """Return a plan as numbers from 0 to 1, shape (dims,)."""
        whole = 2.0 * math.pi
        found = [
            (part[0] / self.size[0], part[1] / self.size[1], *(t / whole % 1.0 for t in part[2:]))
            for part in plan
        ]
        return np.array([number for part in found for number in part])

    def plan_of(self, numbers: F8) -> Plan:
        """Return numbers as a plan on the grid, allowed or not."""
        found: list[tuple[float, ...]] = []
        for k in range(len(self.models)):
            x, y, turn = (float(one) for one in numbers[3 * k : 3 * k + 3])
            found.append((*self._on_grid(x * self.size[0], y * self.size[1]), turned(turn)))
        for k in range(len(self.spots)):
            first = 3 * len(self.models) + 2 * k
            x, y = (float(one) for one in numbers[first : first + 2])
            found.append(self._on_grid(x * self.size[0], y * self.size[1]))
        return tuple(found)

    def near(self, numbers: F8) -> Plan | None:
        """Return a buildable plan near some numbers: pieces are pushed apart; else None.

        Parameters
        ----------
        numbers
            0 to 1, shape (dims,).
        """
        plan = self._pushed(self.plan_of(numbers))
        return plan if self.fits(plan) and self.tank_of(plan) is not None else None

    def anywhere(self, rng: np.random.Generator) -> Plan | None:
        """Return a buildable plan from anywhere, the larger pieces placed first; else None.

        Parameters
        ----------
        rng
            Drawn from.
        """
        order = sorted(
            range(len(self.models)),
            key=lambda k: -self._shape(k, self.models[k].turn_rad).outline.area,
        )
        for _ in range(RESTARTS):
            placed: dict[int, tuple[float, ...]] = {}
            for k in order:
                part = self._somewhere(k, placed, rng)
                if part is None:
                    break
                placed[k] = part
            else:
                plan = (*(placed[k] for k in range(len(self.models))), *self._any_spots(rng))
                if self.fits(plan) and self.tank_of(plan) is not None:
                    return plan
        return None

    # --- what is allowed ------------------------------------------------------------------

    def fits(self, plan: Plan) -> bool:
        """Return whether pieces and spots of a plan keep their distances.

        Parameters
        ----------
        plan
            A plan.
        """
        return not any(True for _ in self.faults(plan))

    def faults(self, plan: Plan) -> Iterator[str]:
        """Yield what is wrong with the distances of a plan, a few words each.

        Parameters
        ----------
        plan
            A plan.
        """
        shapes = self.shapes(plan)
        every = [*shapes, *self.standing]
        inner = shapely.box(GLASS_M, GLASS_M, self.size[0] - GLASS_M, self.size[1] - GLASS_M)
        for k, one in enumerate(shapes):
            if not inner.buffer(1e-9).covers(one.outline):
                yield f"{self.models[k].name} too near the glass"
            for other in every[k + 1 :]:
                if one.outline.distance(other.outline) < self.apart(one, other) - 1e-9:
                    yield f"{self.models[k].name} too near another piece"
            for point, room_m in self.kept_free:
                if one.solid and one.outline.distance(Point(point)) < room_m:
                    yield f"{self.models[k].name} on a place kept free"
        for k, one in enumerate(every):
            for step in one.doorsteps:
                if not self.glass.buffer(1e-9).covers(step) or any(
                    other.solid and other.outline.intersects(step)
                    for j, other in enumerate(every)
                    if j != k
                ):
                    yield "a door without free floor before it"
        for x, y in plan[len(self.models) :]:
            spot = Point(x, y)
            if self.glass.exterior.distance(spot) < SPOT_GLASS_M or not self.glass.contains(spot):
                yield "food too near the glass"
            if any(one.solid and one.outline.distance(spot) < SWIM_M for one in every):
                yield "food on a piece"

    def apart(self, one: Shape, other: Shape) -> float:
        """Return how far two pieces must be from each other, m."""
        return self.clear_m if one.solid and other.solid else APART_M

    def tank_of(self, plan: Plan) -> Checked | None:
        """Return the tank of a plan, checked; None where something is wrong or newly unwise.

        Parameters
        ----------
        plan
            A plan.
        """
        try:
            checked = check_scenario(self.scenario_of(plan))
        except Refused:
            return None
        if plan != self.given and any(one.sentence not in self._known for one in checked.warnings):
            return None
        return checked

    def scenario_of(self, plan: Plan) -> Scenario:
        """Return the scenario with its pieces and spots as in a plan.

        Parameters
        ----------
        plan
            A plan.
        """
        pieces = list(self.scenario.pieces)
        for index, part in zip(self.moving.pieces, plan, strict=False):
            x_m, y_m, turn_rad = part
            update = {"x_m": x_m, "y_m": y_m, "turn_rad": turn_rad}
            pieces[index] = pieces[index].model_copy(update=update)
        changed: dict[str, object] = {"pieces": tuple(pieces)}
        if self.spots:
            assert self.scenario.feeding is not None
            spots = tuple((part[0], part[1]) for part in plan[len(self.models) :])
            changed["feeding"] = self.scenario.feeding.model_copy(update={"spots": spots})
        return self.scenario.model_copy(update=changed)

    def shapes(self, plan: Plan) -> list[Shape]:
        """Return the pieces of a plan in their places."""
        return [
            self._shape(k, part[2]).at(part[0], part[1])
            for k, part in enumerate(plan[: len(self.models)])
        ]

    # --- how plans are made ---------------------------------------------------------------

    def _on_grid(self, x_m: float, y_m: float) -> tuple[float, float]:
        return on_grid(min(max(x_m, 0.0), self.size[0])), on_grid(min(max(y_m, 0.0), self.size[1]))

    def _shape(self, k: int, turn_rad: float) -> Shape:
        key = (k, round(turn_rad * 1e6))
        if key not in self._shapes:
            model = self.models[k].model_copy(update={"x_m": 0.0, "y_m": 0.0, "turn_rad": turn_rad})
            self._shapes[key] = self._as_shape(place_piece(model, tank_height_m=self.height_m))
        return self._shapes[key]

    def _standing(self, index: int) -> Shape:
        piece = self.scenario.pieces[index]
        found = self._as_shape(place_piece(piece, tank_height_m=self.height_m))
        return Shape(found.outline, (), found.solid)  # its doors are as the file has them

    def _as_shape(self, piece: PlacedPiece) -> Shape:
        steps = doorsteps(piece, deep_m=self.clear_m)
        return Shape(piece.outline, tuple(steps), piece.blocks_swimming and piece.swim_top >= 0)

    def _somewhere(
        self, k: int, placed: dict[int, tuple[float, ...]], rng: np.random.Generator
    ) -> tuple[float, ...] | None:
        others = [
            *self.standing,
            *(self._shape(j, part[2]).at(part[0], part[1]) for j, part in placed.items()),
        ]
        for _ in range(TRIES):
            x, y, turn = (float(one) for one in rng.random(3))
            part = (*self._on_grid(x * self.size[0], y * self.size[1]), turned(turn))
            one = self._shape(k, part[2]).at(part[0], part[1])
            if self._push_from_glass(one.outline) != (0.0, 0.0):
                continue
            if all(one.outline.distance(o.outline) >= self.apart(one, o) for o in others):
                return part
        return None

    def _any_spots(self, rng: np.random.Generator) -> Sequence[tuple[float, ...]]:
        return [
            self._on_grid(float(x) * self.size[0], float(y) * self.size[1])
            for x, y in rng.random((len(self.spots), 2))
        ]

    def _pushed(self, plan: Plan) -> Plan:
        """Push pieces from the glass and from each other until they keep their distances."""
        parts = [list(part) for part in plan]
        n = len(self.models)
        for _ in range(PUSHES):
            quiet = True
            shapes = self.shapes(tuple(tuple(part) for part in parts))
            for k in range(n):
                dx, dy = self._push_from_glass(shapes[k].outline)
                for step in shapes[k].doorsteps:
                    x, y = self._push_from_glass(step, gap_m=0.0)
                    dx, dy = dx + x, dy + y
                for j, other in enumerate([*shapes, *self.standing]):
                    if j == k:
                        continue
                    x, y = self._push_apart(shapes[k], other)
                    half = 0.5 if j < n else 1.0
                    dx, dy = dx + half * x, dy + half * y
                if shapes[k].solid:
                    for point, room_m in self.kept_free:
                        x, y = push(shapes[k].outline, Point(point), room_m)
                        dx, dy = dx + x, dy + y
                if dx or dy:
                    quiet = False
                    parts[k][0] += dx
                    parts[k][1] += dy
            if quiet:
                break
        for spot in parts[n:]:
            for axis in (0, 1):
                spot[axis] = min(max(spot[axis], SPOT_GLASS_M + OVER_M),
                                 self.size[axis] - SPOT_GLASS_M - OVER_M)  # fmt: skip
        return tuple((*self._on_grid(part[0], part[1]), *part[2:]) for part in parts)

    def _push_apart(self, one: Shape, other: Shape) -> tuple[float, float]:
        """How to move a piece so that it keeps from another, the floor before doors among it."""
        dx, dy = push(one.outline, other.outline, self.apart(one, other))
        if dx or dy:
            return dx, dy
        if other.solid:
            for step in one.doorsteps:
                x, y = push(step, other.outline, 0.5 * OVER_M)
                dx, dy = dx + x, dy + y
        if one.solid:
            for step in other.doorsteps:
                x, y = push(one.outline, step, 0.5 * OVER_M)
                dx, dy = dx + x, dy + y
        return dx, dy

    def _push_from_glass(self, outline: Polygon, *, gap_m: float = GLASS_M) -> tuple[float, float]:
        x0, y0, x1, y1 = outline.bounds
        found = []
        for low, high, size_m in ((x0, x1, self.size[0]), (y0, y1, self.size[1])):
            if low < gap_m:
                found.append(gap_m - low + OVER_M)
            elif high > size_m - gap_m:
                found.append(size_m - gap_m - high - OVER_M)
            else:
                found.append(0.0)
        return found[0], found[1]


def clearance_m(checked: Checked) -> float:
    """Return how far pieces that are swum round keep from each other in a tank, m.

    Parameters
    ----------
    checked
        The tank.
    """
    broadest_m = max(
        max(one.length_m or 0.0, one.species.longest_m(one.sex)) * one.species.width_ratio
        for one in checked.layout.members
    )
    return max(SWIM_M, TO_SPARE * broadest_m)


def kept_free(scenario: Scenario, *, spots: bool) -> tuple[tuple[tuple[float, float], float], ...]:
    """Return the places that pieces keep off, each with its room, m.

    Parameters
    ----------
    scenario
        The tank.
    spots
        Whether its feeding spots stay where they are.
    """
    found: list[tuple[tuple[float, float], float]] = []
    if not isinstance(scenario.breeding.site, str):
        found.append((scenario.breeding.site, PIT_M))
    for group in scenario.fish:
        if group.joins_place is not None:
            found.append((group.joins_place, SWIM_M))
        if group.established is not None and isinstance(group.established.owns, tuple):
            found.append((group.established.owns, PIT_M))
    found += [(event.place, SWIM_M) for event in scenario.events if event.place is not None]
    if spots and scenario.feeding:
        found += [(spot, SWIM_M) for spot in scenario.feeding.spots]
    return tuple(((float(x), float(y)), room) for (x, y), room in found)


def doorsteps(piece: PlacedPiece, *, deep_m: float) -> Iterator[Polygon]:
    """Yield the floor before each door of a piece that must stay free.

    Parameters
    ----------
    piece
        In its place.
    deep_m
        From the outline outward, m.
    """
    if piece.room is None or piece.is_divider:
        return
    middle = piece.room.centroid
    if not piece.room.contains(middle):
        middle = piece.room.representative_point()
    for door in piece.doors:
        turn = door.facing_rad + piece.turn_rad
        way = np.array([math.cos(turn), math.sin(turn)])
        edge = leaves_at(piece.outline, middle, way)
        line = LineString([edge, edge + deep_m * way])
        yield line.buffer(0.5 * door.width_m, cap_style="flat")


def push(one: Polygon, other: BaseGeometry, room_m: float) -> tuple[float, float]:
    """Return how to move a shape so that it keeps some room from another, m.

    Parameters
    ----------
    one
        Is moved.
    other
        Stays.
    room_m
        Between them.
    """
    far = one.distance(other)
    if far >= room_m:
        return 0.0, 0.0
    if far > 1e-6:
        (x1, y1), (x0, y0) = shapely.get_coordinates(shapely.shortest_line(one, other))
        step = (room_m - far + OVER_M) / far
        return float((x1 - x0) * step), float((y1 - y0) * step)
    a, b = one.centroid, other.centroid
    dx, dy = a.x - b.x, a.y - b.y
    long = math.hypot(dx, dy) or 1.0
    step = room_m + OVER_M + 0.02
    return float((dx or 1.0) / long * step), float(dy / long * step)


def on_grid(length_m: float) -> float:
    """Return the length nearest to one on the grid, exactly as a file would say it, m."""
    return float(parse_length(f"{round(length_m / 0.0254 * GRID_PER_IN) / GRID_PER_IN:g} in"))


def turned(share: float) -> float:
    """Return a share of a whole turn as an angle in steps, exactly as a file would say it, rad."""
    steps = round(share * 360.0 / TURN_STEP_DEG) * TURN_STEP_DEG % 360
    return float(parse_angle(f"{steps - 360 if steps > 180 else steps} deg"))
