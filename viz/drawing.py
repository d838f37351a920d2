"""Drawing: a tank from above to scale, as SVG: pieces, rooms and doors, territories, fish.

The front glass is below, as one stands before the tank. Owners are told apart by hatching and by
their name as well as by colour.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

import numpy as np
import shapely

from sim.rooms import DOOR_STEP_M, Door
from viz.film.look import FLOOR, GLASS, INK, PIECE_COLOURS, PROFILE, ROOM, holder_style
from viz.markup import clean, el, put

if TYPE_CHECKING:
    from sim.ground import Territory
    from sim.layout import Layout

SILL_M = 0.003  # that a gap in a wall is drawn past it
HATCH_TURNS = {"//": 45.0, "\\\\": -45.0, "--": 0.0, "||": 90.0}
SEEN = 0.15  # share of a fish's length that its mark is drawn larger by, so that it prints
SMALL = 11.0  # px, letters
BAR_M = 0.3048  # the scale bar


@dataclass(frozen=True, slots=True)
class DrawnFish:
    """A fish to be drawn.

    Parameters
    ----------
    row
        Its place among the fish.
    x, y
        Of its middle, m.
    head_x, head_y
        Where it looks.
    length_m, width_m
        Of the body.
    room
        Hiding place it is in, -1 outside.
    """

    row: int
    x: float
    y: float
    head_x: float
    head_y: float
    length_m: float
    width_m: float
    room: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """How a drawing is put on paper.

    Parameters
    ----------
    px_per_m
        Scale: the same for tanks that are to be compared.
    title, words
        What it is called, and the picture in words for who cannot see it.
    key
        Tells its ids from those of other drawings on a page.
    over
        Draws more above the pieces and below the letters; gets a function from m to px.
    names
        Whether pieces are named.
    bar
        Whether a scale bar stands below.
    """

    px_per_m: float
    title: str
    words: str
    key: str
    over: Callable[[Callable[[float, float], tuple[float, float]]], Sequence[Element]] | None = (
        field(default=None)
    )
    names: bool = True
    bar: bool = True


def hatches(rows: Sequence[int]) -> Element:
    """Return the hatchings of owners, to be put once on a page before the drawings.

    Parameters
    ----------
    rows
        Of the fish that hold ground.
    """
    patterns = []
    for row in sorted(set(rows)):
        colour, hatch = holder_style(row)
        turns = HATCH_TURNS.get(hatch[:2], 45.0)
        parts = [el("rect", width=7, height=7, fill=colour, fill_opacity=0.16)]
        if hatch == "..":
            parts.append(el("circle", cx=3.5, cy=3.5, r=1.1, fill=colour, fill_opacity=0.8))
        else:
            line = {"stroke": colour, "stroke_width": 1.1, "stroke_opacity": 0.75}
            parts.append(el("path", d="M0 3.5H7", **line))
            if hatch == "xx":
                parts.append(el("path", d="M3.5 0V7", **line))
        patterns.append(
            el("pattern", *parts, id=f"holder-{row}", width=7, height=7,
               patternUnits="userSpaceOnUse", patternTransform=f"rotate({turns:g})")
        )  # fmt: skip
    return el("svg", el("defs", patterns), width=0, height=0, aria_hidden="true",
              style="position:absolute")  # fmt: skip


def draw_tank(
    layout: Layout,
    *,
    sheet: Sheet,
    ground: Sequence[Territory] = (),
    fish: Sequence[DrawnFish] = (),
) -> Element:
    """Return a tank from above.

    Parameters
    ----------
    layout
        What stands in it; of the stage of the furniture that is to be shown.
    sheet
        How it is put on paper.
    ground
        Who holds what; `hatches` of them must be on the page.
    fish
        Fish in it.

    Returns
    -------
    Element
        An `svg` with title and description.
    """
    s = sheet.px_per_m
    wide, high = layout.length_m * s, layout.width_m * s
    below = 26.0 if sheet.bar else 3.0

    def to(x: float, y: float) -> tuple[float, float]:
        return x * s, (layout.width_m - y) * s

    names = [f"{sheet.key}-title", f"{sheet.key}-words"]
    svg = el(
        "svg",
        el("title", sheet.title, id=names[0]),
        el("desc", sheet.words, id=names[1]),
        viewbox=f"-3 -3 {wide + 6:.1f} {high + 3 + below:.1f}",
        role="img", aria_labelledby=names[0], aria_describedby=names[1], class_="tank",
        style=f"max-width:{wide + 6:.0f}px",
    )  # fmt: skip
    put(svg, el("rect", width=wide, height=high, fill=FLOOR))
    put(svg, (_territory(one, layout, to) for one in ground if not one.outline.is_empty))
    put(svg, _pieces(layout, to))
    if sheet.over is not None:
        put(svg, sheet.over(to))
    clip = f"{sheet.key}-glass"
    put(svg, el("clipPath", el("rect", width=wide, height=high), id=clip))
    outside = (_fish(one, to, s) for one in fish if one.room < 0)
    put(svg, el("g", outside, clip_path=f"url(#{clip})"))
    put(svg, _hidden(fish, layout, to))
    put(svg, (_owner(one, layout, to, s) for one in ground if not one.outline.is_empty))
    if sheet.names:
        put(svg, _piece_names(layout, to, s))
    put(svg, el("rect", width=wide, height=high, fill="none", stroke=GLASS, stroke_width=3))
    if sheet.bar:
        put(svg, _bar(wide, high, s))
    return svg


def path_of(shape: shapely.Geometry, to: Callable[[float, float], tuple[float, float]]) -> str:
    """Return a polygon or several as the data of an SVG path, holes among it."""
    parts = []
    for polygon in shapely.get_parts(shape):
        if polygon.geom_type != "Polygon":
            continue
        for ring in (polygon.exterior, *polygon.interiors):
            points = [to(x, y) for x, y in shapely.get_coordinates(ring)[:-1]]
            parts.append("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + "Z")
    return "".join(parts)


def opening(door: Door) -> shapely.Polygon:
    """Return the gap that a door leaves in the wall, as wide as the door."""
    (x0, y0), (x1, y1) = door.inside, door.outside
    far = math.hypot(x1 - x0, y1 - y0)
    share = max(far - DOOR_STEP_M + SILL_M, 0.0) / far if far > 0.0 else 0.0
    line = shapely.LineString([(x0, y0), (x0 + share * (x1 - x0), y0 + share * (y1 - y0))])
    return line.buffer(0.5 * door.width_m, cap_style="flat")


def _pieces(layout: Layout, to: Callable[[float, float], tuple[float, float]]) -> list[Element]:
    made = []
    for piece in sorted(layout.pieces, key=lambda one: one.height_m):
        plant = piece.kind.group == "plant"
        made.append(
            el("path", d=path_of(piece.outline, to), fill=PIECE_COLOURS[piece.kind.group],
               fill_opacity=0.6 if plant else 1, stroke=INK, stroke_width=0.9,
               fill_rule="evenodd")
        )  # fmt: skip
        if piece.room is not None:
            made.append(el("path", d=path_of(piece.room, to), fill=ROOM))
    for door in layout.doors:
        wall = layout.pieces[layout.rooms[door.room].piece].outline.buffer(SILL_M)
        made.append(el("path", d=path_of(opening(door).intersection(wall), to), fill=ROOM))
    return made


def _territory(
    held: Territory, layout: Layout, to: Callable[[float, float], tuple[float, float]]
) -> Element:
    row = held.fish[0]
    names = " and ".join(layout.members[k].name for k in held.fish)
    return el(
        "path", el("title", f"Territory of {names}, {held.area_m2 * 1e4:.0f} cm2"),
        d=path_of(held.outline, to), fill=f"url(#holder-{row})", stroke=holder_style(row)[0],
        stroke_width=1.6, fill_rule="evenodd",
    )  # fmt: skip


def _owner(
    held: Territory, layout: Layout, to: Callable[[float, float], tuple[float, float]], s: float
) -> Element:
    solid = shapely.union_all([piece.outline for piece in layout.pieces])
    free = held.outline.difference(solid.buffer(8.0 / s))
    shape = held.outline if free.is_empty else free
    at = shapely.maximum_inscribed_circle(shape).coords[0]
    names = " and ".join(layout.members[k].name for k in held.fish)
    half = 0.29 * 12.0 * len(names) / s
    x = min(max(at[0], half), max(layout.length_m - half, half))
    return _words(names, *to(x, at[1]), size=12.0, colour=holder_style(held.fish[0])[0], bold=True)


def _words(
    words: str, x: float, y: float, *, size: float, colour: str, bold: bool = False
) -> Element:
    return el(
        "text", words, x=x, y=y, fill=colour, font_size=size, text_anchor="middle",
        dominant_baseline="central", font_weight="bold" if bold else None, paint_order="stroke",
        stroke="#ffffff", stroke_width=2.6, stroke_opacity=0.75, stroke_linejoin="round",
    )  # fmt: skip


def _piece_names(
    layout: Layout, to: Callable[[float, float], tuple[float, float]], s: float
) -> list[Element]:
    made: list[Element] = []
    taken: list[tuple[float, float, float, float]] = []
    for piece in layout.pieces:
        at = piece.outline.representative_point()
        words = clean(piece.name)
        half, tall = 0.28 * SMALL * len(words), 0.6 * SMALL
        x, y = to(at.x, at.y)
        if piece.room is not None:  # beside it, where no door is: fish are drawn within
            x0, y0, x1, y1 = piece.outline.bounds
            doors = [d.outside for d in layout.doors]
            below = not any(x0 < dx < x1 and dy < y0 for dx, dy in doors) and y0 * s > 2.4 * tall
            x, y = to(0.5 * (x0 + x1), y0 - 1.4 * tall / s if below else y1 + 1.4 * tall / s)
        x = min(max(x, half + 2.0), max(layout.length_m * s - half - 2.0, half + 2.0))
        box = (x - half, y - tall, x + half, y + tall)
        if any(a < box[2] and c > box[0] and b < box[3] and d > box[1] for a, b, c, d in taken):
            continue  # a name that would lie on another is left to the words beside the picture
        taken.append(box)
        made.append(_words(words, x, y, size=SMALL, colour=INK))
    return made


def _fish(one: DrawnFish, to: Callable[[float, float], tuple[float, float]], s: float) -> Element:
    grown = 1.0 + SEEN
    length, width = grown * one.length_m * s, grown * max(one.width_m, 0.22 * one.length_m) * s
    half = [(x * length, y * width) for x, y in PROFILE]
    outline = np.array([*half, *((x, -y) for x, y in reversed(half))])
    angle = math.degrees(math.atan2(-one.head_y, one.head_x))
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in outline)
    x, y = to(one.x, one.y)
    return el(
        "g",
        el("polygon", points=points, fill="#22404f", stroke="#ffffff", stroke_width=0.8,
           transform=f"rotate({angle:.0f})"),
        _number(one.row),
        transform=f"translate({x:.1f} {y:.1f})",
    )  # fmt: skip


def _hidden(
    fish: Sequence[DrawnFish], layout: Layout, to: Callable[[float, float], tuple[float, float]]
) -> list[Element]:
    """The numbers of those that are in hiding places, in rows of three within the place."""
    made = []
    for room in sorted({one.room for one in fish if one.room >= 0}):
        there = [one for one in fish if one.room == room]
        x0, y0 = to(*layout.rooms[room].point)
        rows = [there[k : k + 3] for k in range(0, len(there), 3)]
        for down, row in enumerate(rows):
            for across, one in enumerate(row):
                x = x0 + 14.0 * (across - 0.5 * (len(row) - 1))
                y = y0 + 14.0 * (down - 0.5 * (len(rows) - 1))
                made.append(
                    el("g", _number(one.row), transform=f"translate({x:.1f} {y:.1f})")
                )
    return made


def _number(row: int) -> list[Element]:
    return [
        el("circle", r=6.2, fill="#22404f", stroke="#ffffff", stroke_width=0.8),
        el("text", str(row + 1), fill="#ffffff", font_size=8.5, font_weight="bold",
           text_anchor="middle", dominant_baseline="central"),
    ]  # fmt: skip


def _bar(wide: float, high: float, s: float) -> list[Element]:
    """A foot and thirty centimetres differ by 5 mm: one bar, a tick for each."""
    foot = BAR_M * s
    y = high + 13.0
    return [
        el("path", d=f"M0 {y:.1f}h{foot:.1f}M0 {y - 4:.1f}v8M{foot:.1f} {y - 4:.1f}v8",
           stroke=INK, stroke_width=1.8, fill="none"),
        el("text", "12 in (30 cm)", x=foot + 7.0, y=y, fill=INK, font_size=SMALL,
           dominant_baseline="central"),
        el("text", "front glass", x=wide, y=y, fill=INK, font_size=SMALL, text_anchor="end",
           dominant_baseline="central"),
    ]  # fmt: skip
