"""Overlays: what a fish at a place sees, how far it is to swim from there, where a pair spawns."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from sim.layout import CAVE, FLAT, ROCK_EDGE, Layout
from sim.rooms import XY
from sim.units import format_length

if TYPE_CHECKING:
    from sim.check import Checked
    from sim.layout import Site
    from sim.scenario import Scenario

F8 = NDArray[np.float64]

CELL_M = 0.04  # of the lattice on which distances to swim are reckoned for the picture
BAND_M = 0.3048  # a foot to the next line
ASIDE_RAD = 1e-6  # a ray just past a corner goes on behind it
DRAWS = 20
SETTLED_DAYS = 0.5  # they have half a day to take places before the nest is chosen


def sight_region(layout: Layout, at: XY) -> Polygon:
    """Return the floor that a fish near the floor sees from a place, as a polygon in m.

    It is `sim.layout.Layout.sees` for all places at once: nothing behind a piece that is taller
    than the line between two fish near the floor, nothing into a piece or out of it.

    Parameters
    ----------
    layout
        Of the tank.
    at
        Where the fish is, m.
    """
    outlines = [piece.outline.exterior for piece in layout.pieces if piece.sight_top >= 0]
    sides = _sides([layout.glass.exterior, *outlines])
    corners = np.unique(np.concatenate([sides[:, :2], sides[:, 2:]]), axis=0)
    here = np.array(at)
    towards = np.arctan2(*(corners - here).T[::-1])
    rays = np.unique(np.concatenate([towards - ASIDE_RAD, towards, towards + ASIDE_RAD]))
    ways = np.column_stack([np.cos(rays), np.sin(rays)])
    ends = here + ways * _first_met(here, ways, sides)[:, None]
    region = Polygon(ends).buffer(0)
    if isinstance(region, MultiPolygon):
        region = max(region.geoms, key=lambda part: part.area)
    return region if isinstance(region, Polygon) else Polygon()


def _sides(rings: list[shapely.LinearRing]) -> F8:
    """The sides of rings, `(n, 4)`: both ends."""
    found = []
    for ring in rings:
        xy = shapely.get_coordinates(ring)
        found.append(np.hstack([xy[:-1], xy[1:]]))
    return np.concatenate(found)


def _first_met(here: F8, ways: F8, sides: F8) -> F8:
    """How far each ray goes until it meets a side, `(n_rays,)`; 0 where it meets none."""
    ax, ay = (sides[:, :2] - here).T
    ex, ey = (sides[:, 2:] - sides[:, :2]).T
    dx, dy = ways[:, :1], ways[:, 1:]
    cross = dx * ey - dy * ex
    with np.errstate(divide="ignore", invalid="ignore"):
        far = (ax * ey - ay * ex) / cross
        along = (ax * dy - ay * dx) / cross
    met = (np.abs(cross) > 1e-15) & (far > 1e-9) & (along >= -1e-12) & (along <= 1.0 + 1e-12)
    nearest: F8 = np.where(met, far, np.inf).min(axis=1)
    return np.where(np.isfinite(nearest), nearest, 0.0)


@dataclass(frozen=True, slots=True)
class Band:
    """A line of places that are equally far to swim to.

    Parameters
    ----------
    far_m
        How far.
    words
        The same as one says it: "2 ft".
    lines
        In m, each `(n, 2)`.
    """

    far_m: float
    words: str
    lines: tuple[F8, ...]


def swim_bands(layout: Layout, at: XY) -> tuple[Band, ...]:
    """Return lines of equal distance to swim from a place, a foot apart.

    Parameters
    ----------
    layout
        Of the tank.
    at
        From where, m; the nearest open water where a piece stands there.
    """
    from contourpy import contour_generator

    xs = np.arange(0.5 * CELL_M, layout.length_m, CELL_M)
    ys = np.arange(0.5 * CELL_M, layout.width_m, CELL_M)
    far = _swim_grid(layout, at, xs, ys)
    known = far[np.isfinite(far)]
    if known.size == 0:
        return ()
    lines = contour_generator(xs, ys, np.ma.masked_invalid(far))
    steps = np.arange(1, int(known.max() / BAND_M) + 1)
    return tuple(
        Band(
            float(k * BAND_M),
            f"{k} ft",
            tuple(np.asarray(line, dtype=np.float64) for line in lines.lines(float(k * BAND_M))),
        )
        for k in steps
    )


def _swim_grid(layout: Layout, at: XY, xs: F8, ys: F8) -> F8:
    """How far it is to swim to each point of a lattice, `(ny, nx)`; not finite inside pieces."""
    from sim.ways import bends_round

    ways = layout.ways
    grid = np.column_stack([a.ravel() for a in np.meshgrid(xs, ys)])
    far = np.full(len(grid), np.inf)
    start = ways.free_points(np.array([at]))
    if np.isnan(start).any():
        return far.reshape(len(ys), len(xs))
    free = np.asarray(shapely.intersects_xy(ways.free, grid[:, 0], grid[:, 1]))
    points = grid[free]
    straight = ways.open_between(np.repeat(start, len(points), axis=0), points)
    found = np.where(straight, np.hypot(*(points - start).T), np.inf)
    if len(ways.corners):
        past = ways.corner_distances(start)[0][0]
        row, corner = np.nonzero(bends_round(points, corners=ways.corners) & ~straight[:, None])
        ends = ways.corners[corner, :2]
        clear = ways.open_between(points[row], ends)
        total = np.hypot(*(points[row] - ends).T) + past[corner]
        np.minimum.at(found, row[clear], total[clear])
    far[free] = found
    return far.reshape(len(ys), len(xs))


@dataclass(frozen=True, slots=True)
class Nest:
    """A place where a pair spawned.

    Parameters
    ----------
    at
        Where, m.
    words
        The place in words.
    draws
        In how many draws of fish.
    """

    at: XY
    words: str
    draws: int


@dataclass(frozen=True, slots=True)
class Nests:
    """Where a pair spawned in several draws of fish.

    Parameters
    ----------
    places
        The most frequent first.
    draws
        How many draws were played.
    none
        In how many of them no pair could spawn.
    """

    places: tuple[Nest, ...]
    draws: int
    none: int

    @property
    def words(self) -> str:
        """The answer in a sentence."""
        if not self.places:
            return f"In none of {self.draws} draws of fish is there a pair that finds a place."
        parts: Counter[str] = Counter()
        for nest in self.places:
            parts[nest.words] += nest.draws
        listed = ", ".join(f"{count} {words}" for words, count in parts.most_common())
        none = f"; {self.none} without a pair that finds a place" if self.none else ""
        return f"Where they spawn in {self.draws} draws of fish: {listed}{none}."


def nests(
    checked: Checked, *, draws: int = DRAWS, stop: Callable[[], bool] = lambda: False
) -> Nests:
    """Return where a pair spawns, by letting one begin in several draws of these fish.

    Parameters
    ----------
    checked
        The tank as it stands before its first event; the likeliest pair, or the one it names.
    draws
        How many draws of fish.
    stop
        Asked before each; where it says yes, fewer are played.

    Raises
    ------
    Refused
        If no two fish of the tank can be a pair.
    """
    from sim.check import check_scenario
    from sim.start import RUNS_PER_DRAW

    asked = check_scenario(_that_spawns(checked.scenario))
    count: Counter[int] = Counter()
    played = 0
    for draw in range(draws):
        if stop():
            break
        count[_nest_of(asked, run=draw * RUNS_PER_DRAW)] += 1
        played += 1
    sites = asked.layout.sites
    return Nests(
        places=tuple(
            Nest(sites[site].point, site_words(asked.layout, sites[site]), times)
            for site, times in count.most_common()
            if site >= 0
        ),
        draws=played,
        none=count[-1],
    )


def _that_spawns(scenario: Scenario) -> Scenario:
    """The tank with a pair that begins to court after half a day, and nothing else done to it."""
    from sim.parameters import load_parameters
    from viz.app.editing.changing import rebuilt, remade

    fish = tuple(
        remade(group, joins_day=0.0, established=_without_a_mate(group.established))
        for group in scenario.fish
    )
    day = load_parameters()["courting_days"].value + SETTLED_DAYS
    breeding = remade(scenario.breeding, mode="on", spawn_day=day)
    return rebuilt(
        scenario,
        fish=fish,
        breeding=breeding,
        days=day + 1.0,
        settling_days=0.0,
        events=(),
        observe=(),
        keeper_plan=None,
    )


def _without_a_mate(past: object) -> object:
    from sim.care import Established
    from viz.app.editing.changing import remade

    return remade(past, mate=None, brood=None) if isinstance(past, Established) else None


def _nest_of(checked: Checked, *, run: int) -> int:
    """The site that the pair of one run chooses, -1 where it finds none."""
    from sim.engine import History
    from sim.errors import Refused

    try:
        history = History(checked.scenario, checked.layout, run=run)
    except Refused:
        return -1  # of this draw's fish no two can be a pair
    while not history.finished:
        history.advance(until_day=history.day + 0.1)
        chosen = history.state.broods[history.state.broods.there == 1]
        if len(chosen) == 0:
            return -1
        if int(chosen.stage[0]) > 0:
            return int(chosen.nest[0])
    return -1


def site_words(layout: Layout, site: Site) -> str:
    """Return a site in words: "in the large pot", "on open sand 12 in from the left".

    Parameters
    ----------
    layout
        Of the tank.
    site
        One of its sites.
    """
    if site.kind == CAVE:
        return f"in the {layout.pieces[site.piece].name}"
    if site.kind == FLAT:
        return f"on the {layout.pieces[site.piece].name}"
    if site.kind == ROCK_EDGE:
        return f"beside the {layout.pieces[site.piece].name}"
    return f"on open floor {format_length(round(site.point[0], 2))} from the left"
