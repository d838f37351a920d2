"""The look of a film: colours, the fish from above as a small picture, letters."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from viz.ink import COPPER

DEEP, SOFT, PALE = "#12242d", "#9db0b8", "#eef2f2"  # behind the tank, small words, large words
FLOOR, GLASS, INK, ROOM = "#e4dac2", "#3f7f9c", "#2b3338", "#4a4038"
PIECE_COLOURS = {
    "rock": "#7d8286",
    "wood": "#7a5b42",
    "slate": "#a3adb1",
    "cave": "#a8694a",
    "plant": "#6f8f5f",
    "divider": "#5f87a0",
    "equipment": "#5a5f66",
}
HOLDER_COLOURS = ("#1f6f9c", "#b4591f", "#5f4b8b", "#8a7a1f", "#2f7d6b", "#8c3f5f")
HATCHES = ("//", "\\\\", "..", "--", "||", "xx")
SPECIES_COLOURS = ("#22404f", "#8a5a12", "#5a4a72", "#3f5f3a", "#7a3a3a", "#4a4a4a")
ACCENT = COPPER
TURNS = 72  # pictures of a fish, all round
FINE = 4  # times as large as needed while it is drawn

PALETTE = (
    DEEP, SOFT, PALE, FLOOR, GLASS, INK, ROOM, COPPER, "#ffffff", "#e39a63",
    *PIECE_COLOURS.values(), *HOLDER_COLOURS, *SPECIES_COLOURS,
)  # fmt: skip

# Half the width at shares of the length, nose to tail: a body from above and its tail fin.
PROFILE = (
    (0.50, 0.00), (0.46, 0.22), (0.36, 0.40), (0.20, 0.50), (0.00, 0.46), (-0.20, 0.28),
    (-0.34, 0.12), (-0.42, 0.20), (-0.50, 0.34), (-0.47, 0.00),
)  # fmt: skip


def holder_style(row: int) -> tuple[str, str]:
    """Return the colour and the hatching of a holder's ground, by the row of the fish."""
    again, colour = divmod(row, len(HOLDER_COLOURS))  # a colour that comes again is hatched anew
    return HOLDER_COLOURS[colour], HATCHES[(colour + again) % len(HATCHES)]


@cache
def font(size: int, *, bold: bool = False) -> ImageFont.FreeTypeFont:
    """Return the letters of a size in pixels; they come with matplotlib."""
    import matplotlib

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    return ImageFont.truetype(str(Path(matplotlib.get_data_path(), "fonts", "ttf", name)), size)


@cache
def fish_picture(
    length_px: int, width_px: int, turn: int, colour: str, edge: str, number: int,
    letters_px: int, faint: bool,
) -> Image.Image:  # fmt: skip
    """Return a fish from above, with its number on its back.

    Parameters
    ----------
    length_px, width_px
        Of the body.
    turn
        Which of `TURNS` directions it looks, counter-clockwise from the right.
    colour, edge
        Of the body and of its edge.
    number
        Written on it.
    letters_px
        How large.
    faint
        Whether it is seen through the roof of a hiding place.
    """
    angle = 2.0 * math.pi * turn / TURNS
    c, s = math.cos(angle), math.sin(angle)
    disc = max(0.8 * letters_px, 0.5 * width_px)
    half = math.ceil(0.5 * length_px + disc) + 3
    size = 2 * half * FINE
    picture = Image.new("RGBA", (size, size), (0, 0, 0, 0))
    pen = ImageDraw.Draw(picture)
    left = [(x * length_px, y * width_px) for x, y in PROFILE]
    outline = [*left, *((x, -y) for x, y in reversed(left))]
    middle = half * FINE
    points = [
        (middle + FINE * (c * x - s * y), middle - FINE * (s * x + c * y)) for x, y in outline
    ]
    pen.polygon(points, fill=colour)
    line = round(FINE * (1.0 + min(width_px / 20.0, 1.0)))
    pen.line([*points, points[0]], fill=edge, width=line, joint="curve")
    pen.ellipse(
        [middle - FINE * disc, middle - FINE * disc, middle + FINE * disc, middle + FINE * disc],
        fill=colour, outline=edge, width=FINE,
    )  # fmt: skip
    pen.text(
        (middle, middle), str(number), fill="white", anchor="mm",
        font=font(letters_px * FINE, bold=True),
    )  # fmt: skip
    small = picture.resize((2 * half, 2 * half), Image.Resampling.BOX)
    if faint:
        small.putalpha(small.getchannel("A").point(lambda a: a * 45 // 100))
    return small


def turn_of(head_x: float, head_y: float) -> int:
    """Return which of `TURNS` directions a heading is."""
    return round(math.atan2(head_y, head_x) / (2.0 * math.pi) * TURNS) % TURNS


@cache
def bite_mark(radius_px: int, strength: int) -> Image.Image:
    """Return the mark of a bite: short rays round a place, fainter with its strength (0 to 8)."""
    size = 2 * radius_px * FINE
    picture = Image.new("RGBA", (size, size), (0, 0, 0, 0))
    pen = ImageDraw.Draw(picture)
    middle = size / 2
    for k in range(8):
        c, s = math.cos(k * math.pi / 4 + 0.2), math.sin(k * math.pi / 4 + 0.2)
        ends = [middle + part * radius_px * FINE * way for part in (0.55, 0.98) for way in (c, s)]
        pen.line(ends, fill=ACCENT, width=round(0.16 * radius_px * FINE))
    small = picture.resize((2 * radius_px, 2 * radius_px), Image.Resampling.BOX)
    small.putalpha(small.getchannel("A").point(lambda a: a * max(min(strength, 8), 0) // 8))
    return small
