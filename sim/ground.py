"""Ground: the territories of a moment as polygons, from the very claims the ticks read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from shapely import MultiPolygon, Polygon

from sim.rules.claim import claims_on_cells
from sim.rules.codes import IN_TANK
from sim.territory import territory_polygons

if TYPE_CHECKING:
    from sim.engine import History


@dataclass(frozen=True, slots=True)
class Territory:
    """What one holder, a fish or a pair, holds at a moment.

    Parameters
    ----------
    fish
        Rows of the holder: one fish, or the two of a pair.
    site
        Row of the site among those of the layout.
    outline
        Where its claim is above the threshold and above everyone else's, in m.
    """

    fish: tuple[int, ...]
    site: int
    outline: Polygon | MultiPolygon

    @property
    def area_m2(self) -> float:
        """Area of the outline."""
        return float(self.outline.area)


def holders(history: History) -> list[tuple[int, ...]]:
    """Return who holds ground now, as rows of one fish or of a pair's two.

    Parameters
    ----------
    history
        The run.

    Returns
    -------
    list of tuple of int
        In the order of the fish.
    """
    fish = history.state.fish
    found: list[tuple[int, ...]] = []
    for i, row in enumerate(fish):
        if row.site < 0 or row.presence != IN_TANK:
            continue
        mate = int(row.mate)
        if mate >= 0 and fish[mate].site == row.site and fish[mate].presence == IN_TANK:
            if i < mate:
                found.append((i, mate))
        else:
            found.append((i,))
    return found


def claim_grids(history: History) -> np.ndarray:
    """Return each holder's claim on the cells; that of a pair is the larger of its mates'.

    Parameters
    ----------
    history
        The run.

    Returns
    -------
    numpy.ndarray, shape (n_holders, ny, nx)
        0 to 1, 0 under pieces.
    """
    floor = history.floor
    nx, ny = int(floor.dims[4]), int(floor.dims[5])
    claims = np.zeros((len(history.state.fish), nx * ny))
    claims_on_cells(history.state, floor, claims)
    grids = [claims[list(rows)].max(axis=0) for rows in holders(history)]
    return np.array(grids).reshape(len(grids), ny, nx)


def territories(history: History) -> list[Territory]:
    """Return the territories of the moment.

    Parameters
    ----------
    history
        The run.

    Returns
    -------
    list of Territory
        One for each holder, with an empty outline where the others leave it nothing.
    """
    who = holders(history)
    if not who:
        return []
    floor = history.floor
    outlines = territory_polygons(
        claim_grids(history),
        cell_m=float(floor.dims[3]),
        size_m=(float(floor.dims[0]), float(floor.dims[1])),
        threshold=float(history.state.par.claim_edge[0]),
    )
    return [
        Territory(fish=rows, site=int(history.state.fish.site[rows[0]]), outline=outline)
        for rows, outline in zip(who, outlines, strict=True)
    ]
