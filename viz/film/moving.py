"""What moves in a tank: fish, the lines of chases, the marks of bites, names of who chases whom."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image, ImageDraw

from sim.rules.codes import FLEE, IN_TANK, PURSUE
from viz.film.look import ACCENT, INK, PALE, TURNS, bite_mark, fish_picture, font, turn_of
from viz.film.places import WIDE, Place

if TYPE_CHECKING:
    from sim.footage import Footage
    from sim.scenario import Member

LEAP_M = 0.35  # a fish that is farther off a tick later was put there, and does not swim between
TRAIL_S = 1.0  # of the tank, of the line behind a chase
BITE_S = 0.7  # of film, of the mark of a bite


class Moving:
    """What moves in one tank in one scene.

    Parameters
    ----------
    footage
        What was recorded of it.
    place
        Where the tank is on the screen.
    members
        The fish.
    colours
        Of the species, by key.
    speed
        How many times as fast as life it is shown.
    wide
        Pixels of the whole screen across.
    """

    def __init__(
        self, footage: Footage, *, place: Place, members: Sequence[Member],
        colours: Mapping[str, str], speed: float, wide: int,
    ) -> None:  # fmt: skip
        self.footage, self.place, self.members = footage, place, members
        self.colours, self.speed, self.unit = colours, speed, wide / WIDE

    def px(self, length: float) -> int:
        """Return a length on the wide screen as pixels of this one, at least 1."""
        return max(round(length * self.unit), 1)

    def draw(self, frame: Image.Image, time_s: float) -> None:
        """Draw all that moves.

        Parameters
        ----------
        frame
            Drawn on.
        time_s
            Since midnight of day 0.
        """
        footage, place = self.footage, self.place
        k, share = _between(footage.time_s, time_s)
        now, after = footage.frames[k], footage.frames[min(k + 1, len(footage.frames) - 1)]
        xy = _places_at(footage, k, share)
        chasing = [
            (i, int(now["target"][i]))
            for i in range(len(now))
            if now["act"][i] == PURSUE and now["presence"][i] == IN_TANK and now["target"][i] >= 0
        ]
        self._chases(frame, time_s, chasing)
        hunters = {i for i, _ in chasing}
        order = sorted(range(len(now)), key=lambda i: (int(now["layer"][i]), -now["length"][i]))
        for i in order:
            if now["presence"][i] != IN_TANK:
                continue
            head = [
                (1.0 - share) * float(now[way][i]) + share * float(after[way][i])
                for way in ("head_x", "head_y")
            ]
            long_px = max(round(place.scale * float(now["length"][i])), self.px(16))
            wide_px = max(round(place.scale * float(now["width"][i])), self.px(6))
            hidden = int(now["room"][i]) >= 0
            if hidden:
                x, y, turn = self._berth(now, i)
            else:
                (x, y), turn = place.at(*xy[i]), turn_of(*head)
            x, y = place.inside(x, y, long_px=long_px, wide_px=wide_px, turn=turn)
            picture = fish_picture(
                long_px, wide_px, turn, self.colours[self.members[i].species.key],
                ACCENT if i in hunters else PALE, i + 1, self.px(11), hidden,
            )  # fmt: skip
            at = (round(x - picture.width / 2), round(y - picture.height / 2))
            frame.paste(picture, at, picture)
        self._bites(frame, time_s)
        self._names(frame, xy, chasing)

    def _berth(self, now: np.ndarray, i: int) -> tuple[float, float, int]:
        """Where a fish in a hiding place is drawn: beside the others that are in there."""
        place = self.place
        inside = np.flatnonzero((now["room"] == now["room"][i]) & (now["presence"] == IN_TANK))
        rank = float(np.flatnonzero(inside == i)[0]) - 0.5 * (len(inside) - 1)
        x, y = place.at(float(now["x"][i]), float(now["y"][i]))
        step = min(self.px(17), 0.11 * place.scale / max(len(inside), 1))
        return x, y + rank * step, 0 if i % 2 else TURNS // 2

    def _chases(
        self, frame: Image.Image, time_s: float,
        chasing: Sequence[tuple[int, int]],
    ) -> None:  # fmt: skip
        """Draw where the pursuer and the pursued have just been, the older part the fainter."""
        if not chasing:
            return
        footage, place = self.footage, self.place
        k, share = _between(footage.time_s, time_s)
        first = int(np.searchsorted(footage.time_s, time_s - TRAIL_S))
        lines = []
        for pair in chasing:
            for i, colour in zip(pair, (ACCENT, INK), strict=True):
                acts = footage.frames["act"][first : k + 1, i]
                began = first + max(
                    (n + 1 for n, act in enumerate(acts) if act not in (PURSUE, FLEE)), default=0
                )
                xy = [
                    place.at(footage.frames["x"][n, i], footage.frames["y"][n, i])
                    for n in range(max(began - 1, first), k + 1)
                ]
                xy.append(place.at(*_places_at(footage, k, share)[i]))
                lines.append((xy, colour))
        _soft_lines(frame, lines, width=self.px(4))

    def _bites(self, frame: Image.Image, time_s: float) -> None:
        """Mark where bites have just fallen."""
        footage, place = self.footage, self.place
        speed = self.speed
        first = int(np.searchsorted(footage.time_s, time_s - BITE_S * speed))
        last = int(np.searchsorted(footage.time_s, time_s, side="right"))
        bites = footage.frames["bites_taken"]
        for n in range(max(first, 1), last):
            for i in np.flatnonzero(bites[n] > bites[n - 1]).tolist():
                age = (time_s - float(footage.time_s[n])) / (BITE_S * speed)
                mark = bite_mark(self.px(15), round(8 * (1.0 - age)))
                x, y = place.at(footage.frames["x"][n, i], footage.frames["y"][n, i])
                frame.paste(mark, (round(x - mark.width / 2), round(y - mark.height / 2)), mark)

    def _names(
        self, frame: Image.Image, xy: np.ndarray,
        chasing: Sequence[tuple[int, int]],
    ) -> None:  # fmt: skip
        place = self.place
        pen = ImageDraw.Draw(frame)
        letters = font(self.px(15), bold=True)
        taken: list[tuple[float, float]] = []
        for i in sorted({row for pair in chasing for row in pair}):
            x, y = place.at(*xy[i])
            wide = letters.getlength(self.members[i].name)
            x = min(max(x - wide / 2, place.left + 2), place.left + place.wide - wide - 2)
            above, below = y - self.px(34), y + self.px(16)
            crowded = any(abs(above - b) < self.px(17) and abs(x - a) < wide for a, b in taken)
            y = below if crowded or above < place.top else above
            taken.append((x, y))
            pen.text(
                (x, y), self.members[i].name, fill=PALE, font=letters, stroke_width=self.px(2),
                stroke_fill=INK,
            )  # fmt: skip


def _between(times: np.ndarray, time_s: float) -> tuple[int, float]:
    """Return the tick before a time, and the share of the way to the next."""
    k = int(np.clip(np.searchsorted(times, time_s, side="right") - 1, 0, len(times) - 1))
    if k + 1 >= len(times):
        return k, 0.0
    return k, float(np.clip((time_s - times[k]) / (times[k + 1] - times[k]), 0.0, 1.0))


def _places_at(footage: Footage, k: int, share: float) -> np.ndarray:
    """Return where the fish are between two ticks, m, shape (n_fish, 2)."""
    now, after = footage.frames[k], footage.frames[min(k + 1, len(footage.frames) - 1)]
    here = np.stack([now["x"], now["y"]], axis=1)
    there = np.stack([after["x"], after["y"]], axis=1)
    step = there - here
    step[np.hypot(*step.T) > LEAP_M] = 0.0
    found: np.ndarray = here + share * step
    return found


def _soft_lines(
    frame: Image.Image, lines: Sequence[tuple[list[tuple[float, float]], str]], *, width: int
) -> None:
    """Draw lines with smooth edges, each fading toward its beginning."""
    fine = 2
    for xy, colour in lines:
        if len(xy) < 2:
            continue
        x0 = math.floor(min(p[0] for p in xy)) - width
        y0 = math.floor(min(p[1] for p in xy)) - width
        x1 = math.ceil(max(p[0] for p in xy)) + width
        y1 = math.ceil(max(p[1] for p in xy)) + width
        mask = Image.new("L", ((x1 - x0) * fine, (y1 - y0) * fine), 0)
        pen = ImageDraw.Draw(mask)
        points = [((x - x0) * fine, (y - y0) * fine) for x, y in xy]
        for n in range(1, len(points)):
            light = round(40 + 170 * n / (len(points) - 1))
            pen.line([points[n - 1], points[n]], fill=light, width=width * fine)
        frame.paste(
            Image.new("RGB", (x1 - x0, y1 - y0), colour), (x0, y0),
            mask.resize((x1 - x0, y1 - y0), Image.Resampling.BOX),
        )  # fmt: skip
