"""Compiled loops over cells: what is seen from where, the ways to targets, the sides in reach.

Only sums, products, quotients and square roots, so that the tables are the same to the bit with
the compiler off.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sim.compiler import entry, jit

F8 = NDArray[np.float64]
F4 = NDArray[np.float32]
I8 = NDArray[np.int64]
I4 = NDArray[np.int32]
U1 = NDArray[np.uint8]

SECTORS = 64  # directions from a point; more cost time with few outlines, fewer with many
AHEAD = 4  # half cells; farther than across a cell and an eighth more all round

XY = tuple[float, float]


@jit
def crosses(px: float, py: float, qx: float, qy: float, side: F8) -> bool:
    """Return whether the line from p to q meets a side (x1, y1, x2, y2), ends included."""
    ax, ay, bx, by = side[0], side[1], side[2], side[3]
    dx, dy = qx - px, qy - py
    from_a = dx * (ay - py) - dy * (ax - px)
    from_b = dx * (by - py) - dy * (bx - px)
    if (from_a > 0.0 and from_b > 0.0) or (from_a < 0.0 and from_b < 0.0):
        return False
    ex, ey = bx - ax, by - ay
    from_p = ex * (py - ay) - ey * (px - ax)
    from_q = ex * (qy - ay) - ey * (qx - ax)
    if (from_p > 0.0 and from_q > 0.0) or (from_p < 0.0 and from_q < 0.0):
        return False
    # all four on one line: the outline's next side decides, which leaves that line
    return bool(from_a != 0.0 or from_b != 0.0)


@jit
def meets(
    px: float, py: float, qx: float, qy: float, shape: int, rounds: F8, first: I8, sides: F8
) -> bool:
    """Return whether the line from p to q meets an outline, by its round and then its sides."""
    cx, cy = rounds[shape, 0] - px, rounds[shape, 1] - py
    dx, dy = qx - px, qy - py
    along = cx * dx + cy * dy
    length2 = dx * dx + dy * dy
    t = 0.0
    if length2 > 0.0:
        t = min(max(along / length2, 0.0), 1.0)
    ex, ey = cx - t * dx, cy - t * dy
    if ex * ex + ey * ey > rounds[shape, 2] * rounds[shape, 2]:
        return False
    for i in range(first[shape], first[shape + 1]):
        if crosses(px, py, qx, qy, sides[i]):
            return True
    return False


@jit
def sector(dx: float, dy: float) -> int:
    """Return which of `SECTORS` parts of the full turn a direction points into."""
    size = abs(dx) + abs(dy)
    if size == 0.0:
        return 0
    turn = dy / size  # grows with the angle, without its cost
    if dx < 0.0:
        turn = 2.0 - turn
    elif turn < 0.0:
        turn += 4.0
    return min(int(turn * (SECTORS / 4)), SECTORS - 1)


@jit
def list_by_sector(px: float, py: float, rounds: F8, count: I8, listed: I8) -> None:
    """List for each direction from a point the outlines that a line there can meet.

    `count` is `(SECTORS,)`, `listed` `(SECTORS, n_shapes)`; each list keeps the outlines' order.
    """
    count[:] = 0
    for shape in range(rounds.shape[0]):
        cx, cy, radius = rounds[shape, 0] - px, rounds[shape, 1] - py, rounds[shape, 2]
        away2 = cx * cx + cy * cy
        low, steps = 0, SECTORS
        if away2 > radius * radius:
            sine = radius / math.sqrt(away2)
            cosine = math.sqrt(1.0 - sine * sine)
            low = sector(cx * cosine + cy * sine, cy * cosine - cx * sine)
            high = sector(cx * cosine - cy * sine, cy * cosine + cx * sine)
            steps = (high - low) % SECTORS + 1
        for step in range(steps):
            part = (low + step) % SECTORS
            listed[part, count[part]] = shape
            count[part] += 1


@jit
def first_met(
    px: float,
    py: float,
    qx: float,
    qy: float,
    count: I8,
    listed: I8,
    rounds: F8,
    first: I8,
    sides: F8,
) -> int:
    """Return the first outline in order that the line from p to q meets, -1 for none."""
    part = sector(qx - px, qy - py)
    for i in range(count[part]):
        if meets(px, py, qx, qy, listed[part, i], rounds, first, sides):
            return int(listed[part, i])
    return -1


@entry
def hiding_levels(points: F8, rounds: F8, first: I8, sides: F8, top: I8) -> U1:
    """Return up to which level each pair of points is hidden from each other.

    Parameters
    ----------
    points
        `(n, 2)`, m.
    rounds, first, sides
        Outlines: `(n_shapes, 3)` circles round them, `(n_shapes + 1,)` where their sides start,
        `(n_sides, 4)` sides.
    top
        `(n_shapes,)`: level up to which each outline hides, falling.

    Returns
    -------
    ndarray
        `(n, n)`: 0 where they see each other at every level, else the highest level that is
        hidden, plus one.
    """
    n = points.shape[0]
    levels = np.zeros((n, n), dtype=np.uint8)
    count = np.zeros(SECTORS, dtype=np.int64)
    listed = np.zeros((SECTORS, rounds.shape[0]), dtype=np.int64)
    for i in range(n):
        px, py = points[i, 0], points[i, 1]
        list_by_sector(px, py, rounds, count, listed)
        for j in range(i):
            qx, qy = points[j, 0], points[j, 1]
            shape = first_met(px, py, qx, qy, count, listed, rounds, first, sides)
            if shape >= 0:
                levels[i, j] = levels[j, i] = top[shape] + 1
    return levels


@entry
def seen_from(targets: F8, points: F8, rounds: F8, first: I8, sides: F8) -> U1:
    """Return which points see which targets.

    Parameters
    ----------
    targets, points
        `(n_targets, 2)` and `(n, 2)`, m.
    rounds, first, sides
        Outlines, as in `hiding_levels`.

    Returns
    -------
    ndarray
        `(n_targets, n)`: 1 where nothing stands between.
    """
    seen = np.empty((targets.shape[0], points.shape[0]), dtype=np.uint8)
    count = np.zeros(SECTORS, dtype=np.int64)
    listed = np.zeros((SECTORS, rounds.shape[0]), dtype=np.int64)
    for i in range(targets.shape[0]):
        px, py = targets[i, 0], targets[i, 1]
        list_by_sector(px, py, rounds, count, listed)
        for j in range(points.shape[0]):
            qx, qy = points[j, 0], points[j, 1]
            seen[i, j] = first_met(px, py, qx, qy, count, listed, rounds, first, sides) < 0
    return seen


@jit
def past(corner: int, tx: float, ty: float, length: float, corners: F8, after: I8) -> XY:
    """Return the point (m) that lies `length` (m) past a corner on its way to a target at t."""
    x, y = corners[corner, 0], corners[corner, 1]
    while True:
        corner = after[corner]
        nx, ny = tx, ty
        if corner >= 0:
            nx, ny = corners[corner, 0], corners[corner, 1]
        dx, dy = nx - x, ny - y
        leg = math.sqrt(dx * dx + dy * dy)
        if leg > length:
            return x + dx / leg * length, y + dy / leg * length
        if corner < 0:
            return tx, ty
        x, y, length = nx, ny, length - leg


@entry
def swim_ways(
    points: F8,
    aside: F8,
    centres: F8,
    cell_m: float,
    targets: F8,
    far: F8,
    after: I8,
    corners: F8,
    rounds: F8,
    first: I8,
    sides: F8,
) -> tuple[F4, F4]:
    """Return how far it is from each point to each target, and where to head for first.

    Parameters
    ----------
    points
        `(n, 2)` free points, m.
    aside
        `(n,)`: m to get to each of them.
    centres, cell_m
        `(n, 2)` centres of the cells they stand for, and the side of a cell, m.
    targets
        `(n_targets, 2)` free points, m.
    far
        `(n_targets, n_corners)`: m from each corner to each target, infinite for no way.
    after
        `(n_targets, n_corners)`: the next corner on that way, -1 for the target.
    corners
        `(n_corners, 6)`, as in `sim.ways`.
    rounds, first, sides
        Outlines that stop a way, as in `hiding_levels`.

    Returns
    -------
    tuple of ndarray
        `(n_targets, n)` m, infinite for no way; `(n_targets, n, 2)` next way point, the point
        itself for no way. A corner in the cell itself, or within an eighth of a cell of it, is
        passed over for a point farther on, outside it: who stands on the corner is led on.
    """
    n_targets, n_corners, n = targets.shape[0], corners.shape[0], points.shape[0]
    dist = np.empty((n_targets, n), dtype=np.float32)
    way = np.empty((n_targets, n, 2), dtype=np.float32)
    near = np.empty(n_corners, dtype=np.int64)
    reach = np.empty(n_corners, dtype=np.float64)
    count = np.zeros(SECTORS, dtype=np.int64)
    listed = np.zeros((SECTORS, rounds.shape[0]), dtype=np.int64)
    for j in range(n):
        px, py = points[j, 0], points[j, 1]
        list_by_sector(px, py, rounds, count, listed)
        n_near = 0
        for c in range(n_corners):
            x, y = corners[c, 0], corners[c, 1]
            dx, dy = x - px, y - py
            one = dx * (corners[c, 3] - y) - dy * (corners[c, 2] - x)
            other = dx * (corners[c, 5] - y) - dy * (corners[c, 4] - x)
            if one * other < -1e-15:
                continue  # a shortest way does not bend here
            if first_met(px, py, x, y, count, listed, rounds, first, sides) < 0:
                near[n_near] = c
                reach[n_near] = math.sqrt(dx * dx + dy * dy)
                n_near += 1
        for k in range(n_targets):
            tx, ty = targets[k, 0], targets[k, 1]
            best = np.inf
            bx, by = px, py
            if first_met(px, py, tx, ty, count, listed, rounds, first, sides) < 0:
                best = math.sqrt((tx - px) * (tx - px) + (ty - py) * (ty - py))
                bx, by = tx, ty
            else:
                by_way_of = -1
                for m in range(n_near):
                    length = reach[m] + far[k, near[m]]
                    if length < best:
                        best, by_way_of = length, near[m]
                if by_way_of >= 0:
                    bx, by = corners[by_way_of, 0], corners[by_way_of, 1]
                    for ahead in range(1, AHEAD + 1):
                        away_x, away_y = abs(bx - centres[j, 0]), abs(by - centres[j, 1])
                        if max(away_x, away_y) > 0.625 * cell_m:
                            break
                        length = 0.5 * ahead * cell_m
                        bx, by = past(by_way_of, tx, ty, length, corners, after[k])
            dist[k, j] = best + aside[j]
            way[k, j, 0], way[k, j, 1] = bx, by
    return dist, way


@jit
def side_distance2(x: float, y: float, side: F8) -> float:
    """Return the squared distance (m2) from a point to a side."""
    dx, dy = side[2] - side[0], side[3] - side[1]
    length2 = dx * dx + dy * dy
    t = 0.0
    if length2 > 0.0:
        t = min(max(((x - side[0]) * dx + (y - side[1]) * dy) / length2, 0.0), 1.0)
    ex, ey = x - side[0] - t * dx, y - side[1] - t * dy
    return float(ex * ex + ey * ey)


@entry
def bin_sides(sides: F8, nx: int, ny: int, cell_m: float, reach_m: float) -> tuple[I4, I4]:
    """Return for each cell the sides within reach of its centre.

    Parameters
    ----------
    sides
        `(n_sides, 4)`, m.
    nx, ny, cell_m
        Cells along x and y, and their side (m).
    reach_m
        m.

    Returns
    -------
    tuple of ndarray
        `(nx * ny + 1,)` where each cell's sides start; the sides, cell by cell.
    """
    start = np.zeros(nx * ny + 1, dtype=np.int32)
    for fill in range(2):
        if fill == 1:
            for cell in range(nx * ny):
                start[cell + 1] += start[cell]
            found = np.empty(start[nx * ny], dtype=np.int32)
            put = start.copy()
        for i in range(sides.shape[0]):
            low_x = max(int((min(sides[i, 0], sides[i, 2]) - reach_m) / cell_m) - 1, 0)
            high_x = min(int((max(sides[i, 0], sides[i, 2]) + reach_m) / cell_m) + 1, nx - 1)
            low_y = max(int((min(sides[i, 1], sides[i, 3]) - reach_m) / cell_m) - 1, 0)
            high_y = min(int((max(sides[i, 1], sides[i, 3]) + reach_m) / cell_m) + 1, ny - 1)
            for iy in range(low_y, high_y + 1):
                for ix in range(low_x, high_x + 1):
                    x, y = (ix + 0.5) * cell_m, (iy + 0.5) * cell_m
                    if side_distance2(x, y, sides[i]) <= reach_m * reach_m:
                        if fill == 1:
                            found[put[iy * nx + ix]] = i
                            put[iy * nx + ix] += 1
                        else:
                            start[iy * nx + ix + 1] += 1
    return start, found
