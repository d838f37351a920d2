"""The tanks of the report from above: who holds what, and where the injury is taken."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

import numpy as np
import shapely

from sim.check import Checked
from viz.drawing import Sheet as Drawing
from viz.drawing import draw_tank, hatches
from viz.film.picture import words_of
from viz.markup import el
from viz.phrases import LETTERS, hundredths
from viz.report.charts import scrolling

if TYPE_CHECKING:
    from sim.comparison import Design
    from viz.report.gathered import Pictured
    from viz.report.page import Sheet

WIDE_PX = 700.0  # that the longest tank is drawn at
MAP_PX = 440.0
BIG_PX = 17.0  # radius of the largest mark of injury
HALF = 0.5


def tanks(sheet: Sheet) -> Iterator[Element | None]:
    """Yield every tank from above, all to one scale, with the territories of a moment.

    Parameters
    ----------
    sheet
        All that stands on the page.
    """
    scale = WIDE_PX / max(design.layout.length_m for design in sheet.designs)
    yield hatches([one.fish[0] for p in sheet.pictures for one in p.moment.ground])
    figures = []
    for design, picture in zip(sheet.designs, sheet.pictures, strict=True):
        moment = picture.moment
        held = [" and ".join(design_names(design)[k] for k in one.fish) for one in moment.ground
                if not one.outline.is_empty]  # fmt: skip
        words = words_of(
            Checked(scenario=design.scenario, layout=moment.stage, warnings=()), name=design.name
        )
        drawing = Drawing(
            px_per_m=scale,
            title=f"{design.name} from above",
            words=f"{words} Ground is held by {', '.join(held) if held else 'nobody'}.",
            key=f"tank-{picture.letter}",
        )
        figures.append(
            el(
                "figure",
                scrolling(
                    draw_tank(moment.stage, sheet=drawing, ground=moment.ground, fish=moment.fish),
                    label=drawing.title,
                ),
                el("figcaption", _caption(sheet, picture)),
                class_="beside",
            )
        )
    yield el(
        "section",
        el("h2", "The tank from above" if sheet.alone else "The tanks from above"),
        figures,
        _company(sheet),
    )


def design_names(design: Design) -> tuple[str, ...]:
    """Return the names of the fish of a tank."""
    return tuple(member.name for member in design.layout.members)


def _caption(sheet: Sheet, picture: Pictured) -> list[Element | str]:
    moment = picture.moment
    letter: list[Element | str] = []
    if not sheet.alone:
        letter = [el("b", f"{picture.letter} "), f"{picture.name}. "]
    return [
        *letter,
        f"Run {moment.run}, the middle one by injury, at noon of day {int(moment.day)}, when most "
        f"ground is held{_with_young(moment.young)}: {hundredths(moment.open_share)} % of the "
        "floor is nobody's. Hatched: territories. Dark: hiding places, open where their doors are; "
        "numbers in them are fish that hide.",
    ]


def _with_young(young: str) -> str:
    return f" while there are {young}" if young else ""


def _company(sheet: Sheet) -> list[Element]:
    """The numbers on the fish, once for all tanks where they are the same fish."""
    lists = []
    seen: dict[tuple[str, ...], list[str]] = {}
    for letter, design in zip(LETTERS, sheet.designs, strict=False):
        rows = tuple(
            f"{member.name}, {member.species.names[0]}" for member in design.layout.members
        )
        seen.setdefault(rows, []).append(letter)
    for rows, letters in seen.items():
        if len(seen) > 1:
            lists.append(el("h3", f"Fish of {' and '.join(letters)}"))
        lists.append(el("ol", (el("li", words) for words in rows), class_="company"))
    return lists


def hurt_where(sheet: Sheet) -> Iterator[Element | None]:
    """Yield where on the floor the injury is taken, all tanks to one scale.

    Parameters
    ----------
    sheet
        All that stands on the page.
    """
    most = max(float(picture.spots.max(initial=0.0)) for picture in sheet.pictures)
    if most <= 0.0:
        yield el("section", el("h2", "Where they are hurt"), el("p", "Nobody was hurt."))
        return
    scale = MAP_PX / max(design.layout.length_m for design in sheet.designs)
    figures = []
    for design, picture in zip(sheet.designs, sheet.pictures, strict=True):
        told = where_words(picture, design)
        drawing = Drawing(
            px_per_m=scale,
            title=f"Where the fish of {design.name} are hurt",
            words=told,
            key=f"map-{picture.letter}",
            over=marks(picture, design, most=most),
            names=False,
            bar=False,
        )
        figures.append(
            el(
                "figure",
                draw_tank(design.layout, sheet=drawing),
                el("figcaption", None if sheet.alone else el("b", f"{picture.letter} "), told),
            )
        )
    yield el(
        "section",
        el("h2", "Where they are hurt"),
        el("div", figures, class_="pair two" if len(figures) > 1 else "pair"),
        el("p", f"The area of a disc is the injury taken in a run on {picture.block_m * 100:.0f} "
           f"by {picture.block_m * 100:.0f} cm of floor, the largest {most:.2g}; 1 at one time "
           "kills a fish.", class_="small"),
    )  # fmt: skip


def marks(
    picture: Pictured, design: Design, *, most: float
) -> Callable[[Callable[[float, float], tuple[float, float]]], Sequence[Element]]:
    """Return what draws the injury of a tank as discs whose area is its amount.

    Parameters
    ----------
    picture, design
        Of the tank.
    most
        The greatest amount of all tanks, which gets the largest disc.
    """

    def draw(to: Callable[[float, float], tuple[float, float]]) -> list[Element]:
        made = []
        for iy, ix in zip(*np.nonzero(picture.spots > 0.0), strict=True):
            x, y = to(*_middle(picture, design, int(ix), int(iy)))
            r = BIG_PX * math.sqrt(float(picture.spots[iy, ix]) / most)
            if r < 0.4:
                continue
            made.append(el("circle", cx=x, cy=y, r=r, fill="#b4591f", fill_opacity=0.55,
                           stroke="#7c3a10", stroke_width=0.7))  # fmt: skip
        return made

    return draw


def _middle(picture: Pictured, design: Design, ix: int, iy: int) -> tuple[float, float]:
    """The middle of a block, or of what of it lies within the glass."""

    def middle(k: int, end: float) -> float:
        return 0.5 * (k * picture.block_m + min((k + 1) * picture.block_m, end))

    return middle(ix, design.layout.length_m), middle(iy, design.layout.width_m)


def where_words(picture: Pictured, design: Design) -> str:
    """Return on how little of the floor half of the injury is taken, and where most of it is."""
    from sim.units import format_length

    spots = picture.spots
    total = float(spots.sum())
    if total <= 0.0:
        return "Nobody was hurt."
    ordered = np.sort(spots, axis=None)[::-1]
    enough = int(np.searchsorted(np.cumsum(ordered), HALF * total)) + 1
    iy, ix = np.unravel_index(int(np.argmax(spots)), spots.shape)
    x, y = _middle(picture, design, int(ix), int(iy))
    place = f"{format_length(x)} from the left and {format_length(y)} from the front"
    near = shapely.Point(x, y).buffer(0.5 * picture.block_m)
    for room in design.layout.rooms:
        if design.layout.pieces[room.piece].outline.intersects(near):
            place = f"in the {room.name}"
    return (
        f"Half of the injury is taken on {hundredths(enough / spots.size)} % of the floor; the "
        f"most {place}."
    )


