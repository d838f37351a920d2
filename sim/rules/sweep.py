"""Sweep: a step that stops short of glass and stone and slides along them.

A step is swept against the outlines of its layer: it stops a millimetre short of the first side
it meets and goes on along that side, and a step that would still cross a side is not made.

References
----------
None: geometry. The distances kept are assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule, small_rule
from sim.rules.see import cell_at
from sim.tables import Floor

SKIN = 0.001  # m kept from a side
GLASS = 0.005  # m kept from the glass


@small_rule
def first_side(
    floor: Floor, x: float, y: float, dx: float, dy: float, layer: int
) -> tuple[float, int]:
    """Return the share of a step made before the first side it meets, and that side.

    Parameters
    ----------
    floor
        Tables of the layout.
    x, y, dx, dy
        Start and step (m), the step no longer than the margin of the tables.
    layer
        Layer of the fish.

    Returns
    -------
    share, side
        Share in 0 to 1, and the row of `edges`, or (2.0, -1) when nothing is met.
    """
    cell = cell_at(floor, x, y)
    best = 2.0
    side = -1
    for k in range(floor.bin_start[cell], floor.bin_start[cell + 1]):
        e = floor.bin_edge[k]
        if floor.edge_top[e] < layer:
            continue
        ax = floor.edges[e, 0]
        ay = floor.edges[e, 1]
        ex = floor.edges[e, 2] - ax
        ey = floor.edges[e, 3] - ay
        cross = dx * ey - dy * ex
        if cross == 0.0:
            continue
        qx = ax - x
        qy = ay - y
        t = (qx * ey - qy * ex) / cross
        s = (qx * dy - qy * dx) / cross
        if 0.0 <= t <= 1.0 and -1e-9 <= s <= 1.0 + 1e-9 and t < best:
            best = t
            side = e
    return best, side


@rule
def way_is_open(floor: Floor, x: float, y: float, dx: float, dy: float, layer: int) -> bool:
    """Return whether a straight way (m), however long, meets no side in a layer."""
    parts = int(math.sqrt(dx * dx + dy * dy) / (0.8 * floor.dims[7])) + 1
    dx /= parts
    dy /= parts
    for k in range(parts):
        _, side = first_side(floor, x + k * dx, y + k * dy, dx, dy, layer)
        if side >= 0:
            return False
    return True


@rule
def slide(
    floor: Floor, x: float, y: float, dx: float, dy: float, layer: int
) -> tuple[float, float, int]:
    """Return where a step ends, round the pieces and inside the glass.

    Parameters
    ----------
    floor
        Tables of the layout.
    x, y, dx, dy
        Start and wanted step (m), at most the margin of the tables long.
    layer
        Layer of the fish.

    Returns
    -------
    x, y, met
        The end (m); `met` is 0 for open water, 1 for glass, 2 for a piece.
    """
    met = 0
    nx = min(max(x + dx, GLASS), floor.dims[0] - GLASS)
    ny = min(max(y + dy, GLASS), floor.dims[1] - GLASS)
    if nx != x + dx or ny != y + dy:
        met = 1
    sx = nx - x
    sy = ny - y
    length = math.sqrt(sx * sx + sy * sy)
    if length == 0.0 or len(floor.bin_edge) == 0:
        return nx, ny, met
    t, side = first_side(floor, x, y, sx, sy, layer)
    # A step that only comes close is stopped too, so that the skin is kept.
    reach = 1.0 + 2.0 * SKIN / length
    if side < 0:
        t, side = first_side(floor, x, y, sx * reach, sy * reach, layer)
        if side < 0:
            return nx, ny, met
        t *= reach
    go = max(t - 2.0 * SKIN / length, 0.0)
    go = min(go, 1.0)
    px = x + sx * go
    py = y + sy * go
    ex = floor.edges[side, 2] - floor.edges[side, 0]
    ey = floor.edges[side, 3] - floor.edges[side, 1]
    along = (sx * ex + sy * ey) / (ex * ex + ey * ey) * (1.0 - go)
    qx = min(max(px + ex * along, GLASS), floor.dims[0] - GLASS)
    qy = min(max(py + ey * along, GLASS), floor.dims[1] - GLASS)
    lx = qx - px
    ly = qy - py
    length = math.sqrt(lx * lx + ly * ly)
    if length > 0.0:
        reach = 1.0 + SKIN / length
        t, side = first_side(floor, px, py, lx * reach, ly * reach, layer)
        if side >= 0:
            go = max(t * reach - SKIN / length, 0.0)
            go = min(go, 1.0)
            qx = px + lx * go
            qy = py + ly * go
        t, side = first_side(floor, x, y, qx - x, qy - y, layer)
        if side < 0:
            return qx, qy, 2
    t, side = first_side(floor, x, y, px - x, py - y, layer)
    if side < 0:
        return px, py, 2
    return x, y, 2
