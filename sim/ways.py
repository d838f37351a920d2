"""Shortest ways to swim round outlines: an exact visibility graph between their corners."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import Polygon, box

BODY_M = 0.015  # a swimming fish's middle keeps this far from an outline (assumed)
SLACK_M = 1e-5  # a way may run along an outline grown by BODY_M; one grown this much less stops it
TOUCH = 1e-15  # m4: rounding of a line that runs along a side
ROWS = 256  # of the graph filled at a time, which bounds the memory

F8 = NDArray[np.float64]
B1 = NDArray[np.bool_]


class Ways:
    """The free water of one layer between grown outlines, and shortest ways through it.

    Parameters
    ----------
    outlines
        What must be swum round, m.
    size_m
        Length and width of the footprint, m.
    """

    def __init__(self, outlines: Sequence[Polygon], *, size_m: tuple[float, float]) -> None:
        self.size_m = size_m
        grown = shapely.buffer(np.array(outlines, dtype=object), BODY_M, join_style="mitre")
        self.blockers: tuple[Polygon, ...] = tuple(
            shapely.buffer(outline, BODY_M - SLACK_M, join_style="mitre") for outline in outlines
        )
        obstacle = shapely.union_all(grown)
        self.free = box(0.0, 0.0, *size_m).difference(obstacle)
        self._blocked = shapely.union_all(self.blockers)
        shapely.prepare(self.free)
        shapely.prepare(self._blocked)
        self.corners = _corners(obstacle, size_m=size_m)

    def free_points(self, points: ArrayLike) -> F8:
        """Return for each point the nearest one where a fish can swim.

        Parameters
        ----------
        points
            `(n, 2)`, m.

        Returns
        -------
        ndarray
            `(n, 2)`, m; the point itself where it is free, NaN where the tank is full.
        """
        xy = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        moved = xy.copy()
        stuck = ~shapely.intersects_xy(self.free, xy[:, 0], xy[:, 1])
        if self.free.is_empty:
            moved[:] = np.nan
        elif stuck.any():
            lines = shapely.shortest_line(self.free, shapely.points(xy[stuck]))
            moved[stuck] = shapely.get_coordinates(lines)[::2]
        return moved

    def open_between(self, starts: F8, ends: F8) -> B1:
        """Return whether nothing is in the way from start to end.

        Parameters
        ----------
        starts, ends
            `(n, 2)` free points, m.

        Returns
        -------
        ndarray
            `(n,)`.
        """
        lines = shapely.linestrings(np.stack([starts, ends], axis=1))
        clear: B1 = ~shapely.intersects(self._blocked, lines)
        return clear

    @cached_property
    def graph(self) -> tuple[NDArray[np.int64], NDArray[np.int64], F8]:
        """Pairs of corners in sight of each other that a shortest way may join, with their m."""
        found: list[NDArray[np.int64]] = [np.empty((0, 2), dtype=np.int64)]
        xy = self.corners[:, :2]
        for first in range(0, len(xy), ROWS):
            some = self.corners[first : first + ROWS]
            fits = bends_round(some[:, :2], corners=self.corners)
            fits &= bends_round(xy, corners=some).T
            here, there = np.nonzero(fits)
            keep = here + first < there
            here, there = here[keep] + first, there[keep]
            seen = self.open_between(xy[here], xy[there])
            found.append(np.stack([here[seen], there[seen]], axis=1))
        pairs = np.concatenate(found)
        here, there = np.concatenate([pairs, pairs[:, ::-1]]).T
        return here, there, np.hypot(*(xy[here] - xy[there]).T)

    def corner_distances(self, targets: F8) -> tuple[F8, NDArray[np.int64]]:
        """Return the shortest way from each corner to each target.

        Parameters
        ----------
        targets
            `(n_targets, 2)` free points, m.

        Returns
        -------
        tuple of ndarray
            `(n_targets, n_corners)` m, infinite where there is no way, and the corner that comes
            next on it, -1 where that is the target or there is none.
        """
        from scipy.sparse import csr_array
        from scipy.sparse.csgraph import dijkstra

        n_corners, n_targets = len(self.corners), len(targets)
        target, corner = np.nonzero(bends_round(targets, corners=self.corners))
        seen = self.open_between(targets[target], self.corners[corner, :2])
        target, corner = target[seen], corner[seen]
        first = np.hypot(*(targets[target] - self.corners[corner, :2]).T)
        here, there, length = self.graph
        rows = np.concatenate([here, target + n_corners])
        columns = np.concatenate([there, corner])
        # a target on a corner is at distance zero, which a sparse graph would take for no way
        lengths = np.maximum(np.concatenate([length, first]), 1e-12)
        total = n_corners + n_targets
        graph = csr_array((lengths, (rows, columns)), shape=(total, total))
        far, after = dijkstra(graph, indices=np.arange(n_corners, total), return_predecessors=True)
        after = after[:, :n_corners].astype(np.int64)
        after[after >= n_corners] = -1
        return np.ascontiguousarray(far[:, :n_corners]), np.maximum(after, -1)

    def distance(self, start: ArrayLike, end: ArrayLike) -> float:
        """Return how far it is to swim from one point to another.

        Parameters
        ----------
        start, end
            `(2,)`, m; a point inside or close to an outline counts from the nearest free one.

        Returns
        -------
        float
            m; infinite where there is no way.
        """
        given = np.array([start, end], dtype=np.float64)
        points = self.free_points(given)
        if np.isnan(points).any():
            return float("inf")
        aside = float(np.hypot(*(points - given).T).sum())
        if self.open_between(points[:1], points[1:])[0]:
            return aside + float(np.hypot(*(points[1] - points[0])))
        from_end = self.corner_distances(points[1:])[0][0]
        corner = np.flatnonzero(bends_round(points[:1], corners=self.corners)[0])
        xy = self.corners[corner, :2]
        corner = corner[self.open_between(np.repeat(points[:1], len(xy), axis=0), xy)]
        first = np.hypot(*(self.corners[corner, :2] - points[0]).T)
        return aside + float((first + from_end[corner]).min(initial=np.inf))


def bends_round(points: F8, *, corners: F8) -> B1:
    """Return whether a shortest way from a point may bend at a corner: if it touches there.

    A way that bends at a corner leaves the obstacle's two sides there on one side of its line.

    Parameters
    ----------
    points
        `(n, 2)`, m.
    corners
        `(n_corners, 6)`: corner, the one before and the one after along the outline, m.

    Returns
    -------
    ndarray
        `(n, n_corners)`.
    """
    dx = corners[None, :, 0] - points[:, None, 0]
    dy = corners[None, :, 1] - points[:, None, 1]
    before = dx * (corners[:, 3] - corners[:, 1]) - dy * (corners[:, 2] - corners[:, 0])
    after = dx * (corners[:, 5] - corners[:, 1]) - dy * (corners[:, 4] - corners[:, 0])
    touches: B1 = before * after >= -TOUCH
    return touches


def _corners(obstacle: shapely.Geometry, *, size_m: tuple[float, float]) -> F8:
    """Return the corners a way can bend at, `(n, 6)`: xy, and xy of the ones before and after."""
    found = [np.empty((0, 6))]
    for part in shapely.get_parts(obstacle):
        if part.is_empty:
            continue
        part = shapely.geometry.polygon.orient(part)  # water on the right of every ring
        for ring in (part.exterior, *part.interiors):
            xy = shapely.get_coordinates(ring)[:-1]
            before, after = np.roll(xy, 1, axis=0), np.roll(xy, -1, axis=0)
            (ax, ay), (bx, by) = (xy - before).T, (after - xy).T
            convex = ax * by - ay * bx > 0
            inside = ((xy >= 0) & (xy <= size_m)).all(axis=1)
            found.append(np.hstack([xy, before, after])[convex & inside])
    return np.ascontiguousarray(np.concatenate(found))
