"""Compartments: what dividers part a tank into, and which of them a point lies in.

A fish swims as a point that keeps clear of the glass; two points are in one compartment when it
could swim from one to the other near the surface, where only what is as high as the tank stands.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import Polygon, box

GLASS_M = 0.005  # fish keep this far from the glass, as in the rule `sweep`
SLIVER_M2 = 0.0004  # a smaller part of the water is no compartment (assumed)


class Compartments:
    """The parts of a tank's water that no fish can swim between.

    Parameters
    ----------
    outlines
        What stands in the water up to the surface, m.
    size_m
        Length and width of the footprint, m.
    """

    def __init__(self, outlines: Sequence[Polygon], *, size_m: tuple[float, float]) -> None:
        length_m, width_m = size_m
        water = box(GLASS_M, GLASS_M, length_m - GLASS_M, width_m - GLASS_M)
        if outlines:
            water = water.difference(shapely.union_all(list(outlines)))
        parts = [part for part in shapely.get_parts(water) if part.area > SLIVER_M2]
        # From left to right, so that a number means a place whatever shapely's order.
        self.parts: tuple[Polygon, ...] = tuple(
            sorted(parts, key=lambda part: (part.bounds[0], part.bounds[1]))
        )

    def __len__(self) -> int:
        """Return how many there are, at least one."""
        return max(len(self.parts), 1)

    def of(self, points: ArrayLike) -> NDArray[np.int64]:
        """Return the compartment each point lies in, or the nearest.

        Parameters
        ----------
        points
            `(n, 2)`, m.

        Returns
        -------
        ndarray
            `(n,)`, numbered from left to right.
        """
        xy = np.asarray(points, dtype=np.float64).reshape(-1, 2)
        if len(self.parts) <= 1 or len(xy) == 0:
            return np.zeros(len(xy), dtype=np.int64)
        away = np.stack([shapely.distance(part, shapely.points(xy)) for part in self.parts])
        nearest: NDArray[np.int64] = np.argmin(away, axis=0).astype(np.int64)
        return nearest
