"""Where the tanks are on the screen, all to one scale, and where their words stand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from viz.film.look import TURNS

if TYPE_CHECKING:
    from sim.layout import Layout

WIDE = 1280  # pixels of a screen for which all lengths are meant
SIDE_PX = 380  # least room for words beside a tank


@dataclass(frozen=True, slots=True)
class Place:
    """Where one tank is on the screen: pixels of its upper left corner and of a metre."""

    left: int
    top: int
    scale: float
    wide: int
    high: int
    words_left: int
    words_top: int
    words_wide: int

    def at(self, x_m: float, y_m: float) -> tuple[float, float]:
        """Return the pixel of a place on the floor; the back is up."""
        return self.left + self.scale * x_m, self.top + self.high - self.scale * y_m

    def inside(
        self, x: float, y: float, *, long_px: float, wide_px: float, turn: int
    ) -> tuple[float, float]:
        """Return where a body is drawn so that nose and tail stay within the glass.

        In the model a fish is a point, and that may come closer to the glass than a body can.
        """
        angle = 2.0 * math.pi * turn / TURNS
        c, s = abs(math.cos(angle)), abs(math.sin(angle))
        dx, dy = 0.5 * (c * long_px + s * wide_px), 0.5 * (s * long_px + c * wide_px)
        return (
            min(max(x, self.left + dx), self.left + self.wide - dx),
            min(max(y, self.top + dy), self.top + self.high - dy),
        )


def px(length: float, *, size: tuple[int, int]) -> int:
    """Return a length that is meant for a wide screen as pixels of this one, at least 1.

    Parameters
    ----------
    length
        Pixels of a screen `WIDE` pixels wide.
    size
        Of this screen, pixels.
    """
    return max(round(length * size[0] / WIDE), 1)


def places_of(layouts: Sequence[Layout], *, size: tuple[int, int]) -> list[Place]:
    """Lay the tanks out, one above the other: words beside them or below, as is the larger.

    Parameters
    ----------
    layouts
        One for each tank.
    size
        Of the screen, pixels.
    """

    def own(length: float) -> int:
        return px(length, size=size)

    length = max(one.length_m for one in layouts)
    width = max(one.width_m for one in layouts)
    edge, top, bottom = own(24), own(72), own(84)
    block = (size[1] - top - bottom) // len(layouts)
    head = own(30) if len(layouts) > 1 else 0
    below = own(96 if len(layouts) == 1 else 62)
    room = size[0] - 2 * edge
    under = min(room / length, (block - head - below) / width)
    beside = min((room - own(SIDE_PX)) / length, (block - head - own(14)) / width)
    scale = max(under, beside)
    used = head + round(scale * width) + (0 if beside > under else below)
    spare = max(block - used, 0) // 2
    found = []
    for k, one in enumerate(layouts):
        wide, high = round(scale * one.length_m), round(scale * one.width_m)
        y = top + k * block + head + spare
        if beside > under:
            words = (edge + round(scale * length) + own(20), y)
            found.append(Place(edge, y, scale, wide, high, *words, room - words[0] + edge))
        else:
            left = (size[0] - round(scale * length)) // 2
            words_top = y + high + own(10)
            found.append(Place(left, y, scale, wide, high, left, words_top, size[0] - left - edge))
    return found
