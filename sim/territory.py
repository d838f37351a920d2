"""Territories as polygons, drawn from the claims that the rules keep by cell."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from contourpy import FillType, contour_generator
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import MultiPolygon, Polygon, box

F8 = NDArray[np.float64]
SPECK_M2 = 1e-9  # a part this small is rounding


def claim_leads(claims: ArrayLike, *, threshold: float) -> F8:
    """Return by how much each holder's claim is above the threshold and above everyone else's.

    Parameters
    ----------
    claims
        `(n_holders, ny, nx)`, 0 to 1.
    threshold
        A claim at or below this defends nothing.

    Returns
    -------
    ndarray
        `(n_holders, ny, nx)`; positive in a holder's territory.
    """
    claim = np.asarray(claims, dtype=np.float64)
    leads = np.empty_like(claim)
    for holder in range(len(claim)):
        others = np.delete(claim, holder, axis=0)
        rival = others.max(axis=0, initial=threshold)
        leads[holder] = claim[holder] - rival
    return leads


def territory_polygons(
    claims: ArrayLike, *, cell_m: float, size_m: tuple[float, float], threshold: float
) -> list[MultiPolygon | Polygon]:
    """Return each holder's territory: where its claim leads, between cell centres by contour.

    Nothing reads these back: the rules keep to the cells.

    Parameters
    ----------
    claims
        `(n_holders, ny, nx)` claims at the cell centres, 0 to 1.
    cell_m
        Side of a cell, m.
    size_m
        Length and width of the footprint, m.
    threshold
        A claim at or below this defends nothing.

    Returns
    -------
    list
        One polygon or multipolygon for each holder, in m; empty where it leads nowhere. Its area
        differs from that of the cells it leads by less than half a cell times their perimeter.
    """
    glass = box(0.0, 0.0, *size_m)
    found: list[MultiPolygon | Polygon] = []
    for lead in claim_leads(claims, threshold=threshold):
        ny, nx = lead.shape
        # one ring more all round, with the value beside it, carries the contour to the glass
        x = (np.arange(nx + 2) - 0.5) * cell_m
        y = (np.arange(ny + 2) - 0.5) * cell_m
        lines = contour_generator(
            x, y, np.pad(lead, 1, mode="edge"), fill_type=FillType.OuterOffset
        )
        outlines: Any = lines.filled(0.0, max(float(lead.max()), 0.0) + 1.0)
        parts = []
        for xy, cuts in zip(*outlines, strict=True):
            rings = [xy[a:b] for a, b in pairwise(cuts)]
            parts.append(Polygon(rings[0], rings[1:]))
        shape = shapely.union_all(parts).intersection(glass)
        kept = [p for p in shapely.get_parts(shape) if isinstance(p, Polygon) and p.area > SPECK_M2]
        found.append(kept[0] if len(kept) == 1 else MultiPolygon(kept))
    return found
