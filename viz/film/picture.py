"""What `picture` does: one tank from above, to scale, with names, doors, sides and a scale bar."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from sim.formats import INCH_M, format_both
from viz.asked import quoted, writable_file

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from sim.check import Checked
    from sim.layout import Layout
    from sim.scenario import Scenario

WIDEST_IN = 10.0  # of paper, so that a page takes it lying
SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 100)
MARGIN_IN, HEAD_IN, FOOT_IN = 0.55, 0.6, 1.0
SMALLEST_PT = 6.5


def show_picture(path: Path, *, out: Path) -> None:
    """Draw a scenario's tank and write the picture.

    Parameters
    ----------
    path
        The scenario file.
    out
        The picture, .png or .svg.

    Raises
    ------
    Refused
        If the scenario is wrong, or the picture cannot be written.
    """
    from sim.check import check_file
    from viz.complaints import complain
    from viz.film.encode import made_whole
    from viz.ink import bullet, console

    if out.suffix.lower() not in (".png", ".svg"):
        sentence = f"got {quoted(out)}; expected a name ending in .png or .svg."
        raise Refused(Problem("--out", sentence))
    writable_file(out, option="--out")
    checked = check_file(path)
    complain(checked.warnings, unwise=True)
    name = checked.scenario.title or path.stem
    kept = picture_bytes(checked, name=name, kind=out.suffix.lower()[1:])
    with made_whole(out) as passing:
        passing.write_bytes(kept)
    console().print(bullet(words_of(checked, name=name), mark=" "))
    console().print(bullet(f"{quoted(out)} is written.", mark=" "))


def scale_of(length_m: float) -> int:
    """Return by how much a tank is made smaller on paper, 1 : so much.

    Parameters
    ----------
    length_m
        Of the tank, m.
    """
    fits = (one for one in SCALES if length_m / INCH_M / one <= WIDEST_IN)
    return next(fits, SCALES[-1])


def picture_bytes(checked: Checked, *, name: str, kind: str) -> bytes:
    """Return the picture of a tank as a file.

    Parameters
    ----------
    checked
        The scenario and its layout.
    name
        What the tank is called.
    kind
        ``"png"`` or ``"svg"``.
    """
    import matplotlib

    with matplotlib.rc_context({"svg.hashsalt": "holdwater", "svg.fonttype": "none"}):
        figure = drawn(checked, name=name)
        kept = io.BytesIO()
        words = words_of(checked, name=name)
        more = {"Title": name, "Description": words}
        if kind == "svg":
            figure.savefig(kept, format="svg", metadata={**more, "Date": None})
        else:
            figure.savefig(kept, format="png", dpi=160, metadata=more)
    return kept.getvalue()


def drawn(checked: Checked, *, name: str) -> Figure:
    """Return the figure of a tank; printed at full size it is to the scale it says.

    Parameters
    ----------
    checked, name
        As `picture_bytes`.
    """
    from matplotlib.figure import Figure

    from viz.checked import footprint
    from viz.film.still import draw_tank

    layout = checked.layout
    scale = scale_of(layout.length_m)
    wide, high = layout.length_m / INCH_M / scale, layout.width_m / INCH_M / scale
    size = (max(wide, 6.0) + 2 * MARGIN_IN, high + HEAD_IN + FOOT_IN)
    figure = Figure(figsize=size)
    left = 0.5 * (size[0] - wide)
    box = (left / size[0], FOOT_IN / size[1], wide / size[0], high / size[1])
    ax = figure.add_axes(box)
    draw_tank(ax, layout, None, letters=10.0)
    _label(ax, layout, scale=scale)
    down = 1.0 / size[1]
    figure.text(left / size[0], 1.0 - 0.28 * down, name, size=13, weight="bold", va="center")
    figure.text(left / size[0], 1.0 - 0.48 * down, footprint(checked.scenario), size=8, va="center")
    figure.text(
        left / size[0], 0.16 * down, "Seen from above, the front glass below. Dark: hiding places, "
        f"open where their doors are. 1 : {scale} printed at full size.", size=7.5, va="center",
    )  # fmt: skip
    return figure


def _label(ax: Axes, layout: Layout, *, scale: int, sides: bool = True) -> None:
    import textwrap

    from sim.units import format_length

    per_m = 72.0 / INCH_M / scale  # points
    doors = [door.outside for door in layout.doors]
    for piece in layout.pieces:
        at = piece.outline.centroid
        if not piece.outline.contains(at):
            at = piece.outline.representative_point()
        x0, y0, x1, y1 = piece.outline.bounds
        words = textwrap.fill(piece.name, max(round((x1 - x0) * per_m / 4.4), 7))
        dark = piece.room is not None or piece.kind.group in ("rock", "wood", "equipment")
        ax.text(
            at.x, at.y, words, size=max(SMALLEST_PT, 7.0), ha="center", va="center", zorder=10,
            color="white" if dark else "#2b3338", linespacing=0.95,
        )  # fmt: skip
        tall = format_length(piece.height_m)
        below = not any(y < y0 and x0 < x < x1 for x, y in doors) and y0 * per_m > 12.0
        ax.annotate(
            f"{tall} high", (0.5 * (x0 + x1), y0 if below else y1),
            xytext=(0, -2 if below else 2), textcoords="offset points", size=SMALLEST_PT,
            ha="center", va="top" if below else "bottom", color="#4c565c", zorder=10,
        )  # fmt: skip
    for number, (x, y) in enumerate(layout.feeding_spots, start=1):
        ax.plot([x], [y], marker="v", ms=6, color="#c8743c", mec="#2b3338", mew=0.6, zorder=11)
        ax.annotate(f"food {number}", (x, y), xytext=(5, 0), textcoords="offset points",
                    size=SMALLEST_PT, va="center", color="#2b3338", zorder=11)  # fmt: skip
    if not sides:
        return
    for start, end, words, where in (
        ((0, 0), (layout.length_m, 0), format_length(layout.length_m), (0, -16)),
        ((0, 0), (0, layout.width_m), format_length(layout.width_m), (-14, 0)),
    ):
        middle = (0.5 * (start[0] + end[0]), 0.5 * (start[1] + end[1]))
        ax.annotate(
            words, middle, xytext=where, textcoords="offset points", size=8, ha="center",
            va="center", rotation=90 if where[0] else 0, annotation_clip=False,
        )  # fmt: skip
    foot_m = 12 * INCH_M
    down = -30.0 / per_m
    ax.plot([0, foot_m], [down, down], color="#2b3338", lw=2.5, clip_on=False)
    ax.annotate("12 in (30 cm)", (foot_m, down), xytext=(5, 0), textcoords="offset points", size=8,
                va="center", annotation_clip=False)  # fmt: skip


def words_of(checked: Checked, *, name: str) -> str:
    """Return the picture in words, for who cannot see it.

    Parameters
    ----------
    checked, name
        As `picture_bytes`.
    """
    from viz.checked import footprint

    stands = []
    layout = checked.layout
    for piece, placed in zip(layout.furniture.stages[0], layout.pieces, strict=True):
        stands.append(
            f"{piece.name} ({placed.kind.title.lower()}) {format_both(piece.x_m)} from the left "
            f"and {format_both(piece.y_m)} from the front"
        )
    what = "; ".join(stands) if stands else "nothing in it"
    return f"{name}, {footprint(checked.scenario)}, from above: {what}."


def before_and_after(
    before: Layout, after: Layout, *, scenario: Scenario, name: str, kind: str
) -> bytes:
    """Return two layouts of one tank, one above the other, as a file.

    Parameters
    ----------
    before, after
        The layouts; where pieces stood before is dotted in the second.
    scenario
        Says what the tank is.
    name
        What the tank is called.
    kind
        ``"png"`` or ``"svg"``.
    """
    import matplotlib
    from matplotlib.figure import Figure
    from matplotlib.patches import PathPatch

    from viz.checked import footprint
    from viz.film.still import draw_tank, path_of

    scale = scale_of(before.length_m)
    wide, high = before.length_m / INCH_M / scale, before.width_m / INCH_M / scale
    size = (max(wide, 6.0) + 2 * MARGIN_IN, 2 * (high + HEAD_IN) + FOOT_IN)
    with matplotlib.rc_context({"svg.hashsalt": "holdwater", "svg.fonttype": "none"}):
        figure = Figure(figsize=size)
        left = 0.5 * (size[0] - wide)
        for k, (layout, words) in enumerate(((before, "Before"), (after, "After"))):
            low = FOOT_IN + (1 - k) * (high + HEAD_IN)
            ax = figure.add_axes((left / size[0], low / size[1], wide / size[0], high / size[1]))
            draw_tank(ax, layout, None, letters=10.0)
            if k == 1:
                for piece in before.pieces:
                    ax.add_patch(PathPatch(path_of(piece.outline), fc="none", ec="#4c565c",
                                           lw=0.9, ls=":", zorder=2))  # fmt: skip
            _label(ax, layout, scale=scale, sides=k == 1)
            head = f"{words}: {name}" if k == 0 else words
            figure.text(left / size[0], (low + high + 0.18) / size[1], head, size=12, weight="bold",
                        va="center")  # fmt: skip
        figure.text(left / size[0], 0.16 / size[1], f"{footprint(scenario)}. Dotted: where pieces "
                    f"stood before. 1 : {scale} printed at full size.", size=7.5, va="center",
                    )  # fmt: skip
        kept = io.BytesIO()
        more = {"Title": name, "Description": f"{name}, from above, before and after."}
        if kind == "svg":
            figure.savefig(kept, format="svg", metadata={**more, "Date": None})
        else:
            figure.savefig(kept, format="png", dpi=160, metadata=more)
    return kept.getvalue()
