"""Hurt spots: where on the floor the injury of a batch is taken, block by block, and in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from sim.formats import INCH_M
from viz.phrases import hundredths

if TYPE_CHECKING:
    from sim.batch import Batch
    from sim.layout import Layout

HALF = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """Where on the floor of one tank the injury is taken.

    Parameters
    ----------
    dose
        Injury received in a run by block of the floor, shape (blocks along y, blocks along x).
    block_m
        Side of a block, m.
    """

    dose: np.ndarray
    block_m: float

    @property
    def most(self) -> float:
        """The greatest injury of one block."""
        return float(self.dose.max(initial=0.0))

    def middle(self, ix: int, iy: int, *, layout: Layout) -> tuple[float, float]:
        """Return the middle (m) of a block, or of what of it lies within the glass.

        Parameters
        ----------
        ix, iy
            Of the block.
        layout
            Of the tank.
        """

        def middle(k: int, end: float) -> float:
            return 0.5 * (k * self.block_m + min((k + 1) * self.block_m, end))

        return middle(ix, layout.length_m), middle(iy, layout.width_m)


@dataclass(frozen=True, slots=True)
class Spot:
    """One block of the floor on which somebody was hurt.

    Parameters
    ----------
    x, y
        Its middle, m.
    dose
        Injury received there in a run.
    share
        Of all injury, 0 to 1.
    place
        Where that is, in words.
    """

    x: float
    y: float
    dose: float
    share: float
    place: str


def spots_of(batch: Batch) -> Spots:
    """Return where the injury of a batch is taken.

    Parameters
    ----------
    batch
        With a run at least.
    """
    from sim.state import HARM_BLOCK

    assert batch.harm_spots is not None  # there is a run
    return Spots(
        batch.harm_spots.sum(axis=0) / batch.done,
        HARM_BLOCK * float(batch.layout.floor().dims[3]),
    )


def worst_spots(spots: Spots, *, layout: Layout) -> tuple[Spot, ...]:
    """Return every block on which somebody was hurt, the one with the most injury first.

    Parameters
    ----------
    spots
        Of a batch.
    layout
        Of its tank.
    """
    total = float(spots.dose.sum())
    found = []
    for iy, ix in zip(*np.nonzero(spots.dose > 0.0), strict=True):
        x, y = spots.middle(int(ix), int(iy), layout=layout)
        dose = float(spots.dose[iy, ix])
        found.append(Spot(x, y, dose, dose / total, _place(x, y, spots, layout)))
    return tuple(sorted(found, key=lambda one: -one.dose))


def hurt_where_words(spots: Spots, *, layout: Layout) -> str:
    """Return on how little of the floor half of the injury is taken, and where most of it is.

    Parameters
    ----------
    spots
        Of a batch.
    layout
        Of its tank.
    """
    total = float(spots.dose.sum())
    if total <= 0.0:
        return "Nobody was hurt."
    ordered = np.sort(spots.dose, axis=None)[::-1]
    enough = int(np.searchsorted(np.cumsum(ordered), HALF * total)) + 1
    iy, ix = np.unravel_index(int(np.argmax(spots.dose)), spots.dose.shape)
    x, y = spots.middle(int(ix), int(iy), layout=layout)
    return (
        f"Half of the injury is taken on {hundredths(enough / spots.dose.size)} % of the floor; "
        f"the most {_place(x, y, spots, layout)}."
    )


def disc_words(block_m: float, *, most: float) -> str:
    """Return what the area of a disc on the floor stands for.

    Parameters
    ----------
    block_m
        Side of a block, m.
    most
        The injury of the largest disc.
    """
    cm, inch = f"{100.0 * block_m:.0f}", f"{block_m / INCH_M:.0f}"
    return (
        f"The area of a disc is the injury taken in a run on {cm} by {cm} cm ({inch} by {inch} in) "
        f"of floor, the largest {most:.2g}; 1 at one time kills a fish."
    )


def _place(x: float, y: float, spots: Spots, layout: Layout) -> str:
    from sim.units import format_length

    place = f"{format_length(x)} from the left and {format_length(y)} from the front"
    near = shapely.Point(x, y).buffer(0.5 * spots.block_m)
    for room in layout.rooms:
        if layout.pieces[room.piece].outline.intersects(near):
            place = f"in the {room.name}"
    return place
