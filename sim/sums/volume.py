r"""Volume: the water in a tank, which is less than the tank.

.. math:: V = L W H - (1 - \phi)\, d\, L W - \sum_i f_i \big( A_i \min(h_i, H) - R_i \big)

:math:`L, W, H` the tank up to the surface, :math:`d` and :math:`\phi` depth and pores of the
substrate, :math:`A_i, h_i` outline and height of a piece, :math:`R_i` the room inside it, and
:math:`f_i` the share of its box that is matter. Fish are left out.

References
----------
None: geometry. What a piece fills of its box is assumed, in the data file of the sums.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sim.pieces import PlacedPiece


def matter_volume(piece: PlacedPiece, *, fills: float, water_height_m: float) -> float:
    """Return the water that a piece takes the place of, m3.

    Parameters
    ----------
    piece
        A placed piece.
    fills
        Share of its box, less its room, that is matter.
    water_height_m
        Floor to surface, m; what stands above it takes no water's place.
    """
    box = float(piece.outline.area) * min(piece.height_m, water_height_m)
    room = 0.0
    if piece.room is not None:
        room = float(piece.room.area) * max(min(piece.room_height_m, water_height_m), 0.0)
    return fills * max(box - room, 0.0)


def grain_volume(floor_m2: float, *, depth_m: float, pores: float) -> float:
    """Return the volume of the grains of a layer of sand or gravel, m3.

    Parameters
    ----------
    floor_m2
        The floor it covers, m2.
    depth_m
        Its depth, m.
    pores
        Share of it that is water, 0 to 1.
    """
    return floor_m2 * depth_m * (1.0 - pores)


def water_volume(brim_m3: float, *, grains_m3: float = 0.0, pieces_m3: float = 0.0) -> float:
    """Return the water in a tank, m3.

    Parameters
    ----------
    brim_m3
        Length x width x height to the surface, m3.
    grains_m3, pieces_m3
        What takes its place, m3.

    Raises
    ------
    ValueError
        If nothing is left.
    """
    left = brim_m3 - grains_m3 - pieces_m3
    if not left > 0.0:
        raise ValueError(
            f"got {grains_m3 + pieces_m3:.3g} m3 of matter in {brim_m3:.3g} m3; expected room for "
            "water."
        )
    return left
