"""The tanks of the report from above: who holds what, and where the injury is taken."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

from sim.check import Checked
from viz.drawing import Sheet as Drawing
from viz.drawing import draw_tank, hatches
from viz.film.picture import words_of
from viz.hurt_spots import disc_words, hurt_where_words, worst_spots
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


def tanks(sheet: Sheet) -> Iterator[Element | None]:
    """Yield every tank from above, all to one scale, with the territories of a moment.

    Parameters
    ----------
    sheet
        All that stands on the page.
    """
    scale = WIDE_PX / max(design.layout.length_m for design in sheet.designs)
    yield hatches([one.fish[0] for p in sheet.pictures for one in p.moment.ground])
    figures, drawn = [], []
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
        drawn.append(
            draw_tank(moment.stage, sheet=drawing, ground=moment.ground, fish=moment.fish)
        )
        figures.append(
            el(
                "figure",
                scrolling(drawn[-1], label=drawing.title),
                el("figcaption", _caption(sheet, picture)),
                class_="beside" if sheet.alone else "beside several",
            )
        )
    to_one_scale(drawn)
    yield el(
        "section",
        el("h2", "The tank from above" if sheet.alone else "The tanks from above"),
        figures,
        _company(sheet),
    )


def to_one_scale(drawings: Sequence[Element]) -> None:
    """Let drawings to one scale be shown so, the widest over all the room there is.

    Parameters
    ----------
    drawings
        Pictures, each as wide as its `viewBox` says.
    """
    wide = [float(one.attrib["viewBox"].split()[2]) for one in drawings]
    for one, px in zip(drawings, wide, strict=True):
        one.set("style", f"width:{100.0 * px / max(wide):.1f}%")


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
    most = max(picture.spots.most for picture in sheet.pictures)
    if most <= 0.0:
        yield el("section", el("h2", "Where they are hurt"), el("p", "Nobody was hurt."))
        return
    scale = MAP_PX / max(design.layout.length_m for design in sheet.designs)
    figures, drawn = [], []
    for design, picture in zip(sheet.designs, sheet.pictures, strict=True):
        told = hurt_where_words(picture.spots, layout=design.layout)
        drawing = Drawing(
            px_per_m=scale,
            title=f"Where the fish of {design.name} are hurt",
            words=told,
            key=f"map-{picture.letter}",
            over=marks(picture, design, most=most),
            names=False,
            bar=False,
        )
        drawn.append(draw_tank(design.layout, sheet=drawing))
        figures.append(
            el(
                "figure",
                drawn[-1],
                el("figcaption", None if sheet.alone else el("b", f"{picture.letter} "), told),
            )
        )
    to_one_scale(drawn)
    yield el(
        "section",
        el("h2", "Where they are hurt"),
        el("div", figures, class_="pair two" if len(figures) > 1 else "pair"),
        el("p", disc_words(picture.spots.block_m, most=most), class_="small"),
    )


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
        for spot in worst_spots(picture.spots, layout=design.layout):
            x, y = to(spot.x, spot.y)
            r = BIG_PX * math.sqrt(spot.dose / most)
            if r < 0.4:
                continue
            made.append(el("circle", cx=x, cy=y, r=r, fill="#b4591f", fill_opacity=0.55,
                           stroke="#7c3a10", stroke_width=0.7))  # fmt: skip
        return made

    return draw
