"""The still layer of a picture: the floor, what stands on it, and who holds it."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import numpy as np
import shapely
from matplotlib.path import Path
from PIL import Image

from sim.rules.codes import FRY
from viz.drawing import SILL_M, opening
from viz.film.look import FLOOR, GLASS, INK, PIECE_COLOURS, ROOM, holder_style
from viz.ink import COPPER

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from sim.footage import Ground, Young
    from sim.layout import Layout


def draw_tank(ax: Axes, stage: Layout, ground: Ground | None, *, letters: float) -> None:
    """Draw one tank from above on axes in metres.

    Parameters
    ----------
    ax
        Axes; their limits and aspect are set.
    stage
        The layout with the furniture of the moment.
    ground
        Who holds what; None for an empty tank.
    letters
        Size of names, in pixels.
    """
    from matplotlib.patches import PathPatch, Rectangle

    length, width = stage.length_m, stage.width_m
    ax.set_xlim(0.0, length)
    ax.set_ylim(0.0, width)
    ax.set_aspect("equal")
    ax.axis("off")
    ax.add_patch(Rectangle((0, 0), length, width, fc=FLOOR, ec="none", zorder=0))
    for held in ground.territories if ground else ():
        if held.outline.is_empty:
            continue
        colour, hatch = holder_style(held.fish[0])
        path = path_of(held.outline)
        ax.add_patch(PathPatch(path, fc=colour, alpha=0.20, ec="none", zorder=1))
        edge = {"ec": colour, "lw": 1.6, "hatch": hatch, "alpha": 0.55}
        ax.add_patch(PathPatch(path, fc="none", zorder=2, **edge))
        at = shapely.maximum_inscribed_circle(held.outline).coords[0]
        names = " and ".join(stage.members[row].name for row in held.fish)
        ax.text(at[0], at[1], names, color=colour, size=letters * 0.72, weight="bold", ha="center",
                va="center", zorder=8)  # fmt: skip
    for young in ground.young if ground else ():
        _draw_young(ax, young)
    for piece in sorted(stage.pieces, key=lambda one: one.height_m):
        face = PIECE_COLOURS[piece.kind.group]
        alpha = 0.55 if piece.kind.group == "plant" else 1.0
        patch = PathPatch(path_of(piece.outline), fc=face, ec=INK, lw=0.9, alpha=alpha, zorder=3)
        ax.add_patch(patch)
        if piece.room is not None:
            ax.add_patch(PathPatch(path_of(piece.room), fc=ROOM, ec="none", zorder=4))
    for door in stage.doors:
        wall = stage.pieces[stage.rooms[door.room].piece].outline.buffer(SILL_M)
        gap = opening(door).intersection(wall)
        ax.add_patch(PathPatch(path_of(gap), fc=ROOM, ec="none", zorder=5))
    ax.add_patch(
        Rectangle((0, 0), length, width, fc="none", ec=GLASS, lw=3.0, zorder=9, clip_on=False)
    )


def _draw_young(ax: Axes, young: Young) -> None:
    """Eggs and wrigglers lie close together, fry are a cloud."""
    wide = 0.05 if young.stage == FRY else 0.018
    k = np.arange(36)
    r, turn = wide * np.sqrt((k + 0.5) / len(k)), 2.399963 * k  # a sunflower's seeds
    x, y = young.place[0] + r * np.cos(turn), young.place[1] + r * np.sin(turn)
    ax.scatter(x, y, s=7, c="#fff7df", edgecolors=COPPER, linewidths=0.7, zorder=6)


def path_of(shape: shapely.Geometry) -> Path:
    """Return a polygon or several as one path of matplotlib, holes among it."""
    parts = []
    for polygon in shapely.get_parts(shape):
        if polygon.geom_type != "Polygon":
            continue
        for ring in (polygon.exterior, *polygon.interiors):
            parts.append(Path(shapely.get_coordinates(ring), closed=True))
    return Path.make_compound_path(*parts) if parts else Path(np.zeros((0, 2)))


def still(
    stage: Layout, ground: Ground | None, *, size: tuple[int, int], letters: float
) -> Image.Image:
    """Return the still layer as pixels.

    Parameters
    ----------
    stage, ground
        As `draw_tank`.
    size
        Pixels of the floor.
    letters
        Size of names, in pixels.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(size[0] / 100, size[1] / 100), dpi=100)
    ax = figure.add_axes((0, 0, 1, 1))
    draw_tank(ax, stage, ground, letters=letters)
    ax.set_aspect("auto")
    kept = io.BytesIO()
    figure.savefig(kept, format="rgba", dpi=100)
    return Image.frombuffer("RGBA", size, kept.getvalue()).convert("RGB")
