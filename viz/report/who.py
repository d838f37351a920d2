"""Who chases whom in the report: the fish by rank, and the chases of each of each."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

import numpy as np

from viz.markup import el
from viz.phrases import limits, rounded
from viz.report.charts import INK, scrolling

if TYPE_CHECKING:
    from sim.comparison import Design
    from viz.report.gathered import Pictured
    from viz.report.page import Sheet

MOST_ROWS = 14
SIDE_BY_SIDE = 10  # fish up to which two tables stand beside each other
SHADE = (15, 90, 120)  # of the darkest cell
LIGHT = 0.62  # share of the darkest above which letters are white


def who_chases(sheet: Sheet) -> Iterator[Element | None]:
    """Yield a matrix of chases for each tank, the fish in the order of their ranks.

    Parameters
    ----------
    sheet
        All that stands on the page.
    """
    if not any(picture.per_day.any() for picture in sheet.pictures):
        return
    narrow = not sheet.alone and all(len(one.order) <= SIDE_BY_SIDE for one in sheet.pictures)
    yield el(
        "section",
        el("h2", "Who chases whom"),
        el("p", "Chases a day, the row after the column. Elo: each fish begins with 1000 points, "
           "and at every chase the chased one gives some to the other, more where that was not to "
           "be expected; it is the mean over runs when they end, and the order of the rows. "
           "Landau's h, of contests: 1 where each beats all below it, 0 where none beats more "
           "than the others.",
           class_="small"),
        el("div",
           (scrolling(_matrix(design, picture, alone=sheet.alone), label=f"Chases, {design.name}")
            for design, picture in zip(sheet.designs, sheet.pictures, strict=True)),
           class_="pair two" if narrow else "pair"),
    )  # fmt: skip


def _matrix(design: Design, picture: Pictured, *, alone: bool) -> Element:
    names = [member.name for member in design.layout.members]
    per_day = picture.per_day
    busy = per_day.sum(axis=0) + per_day.sum(axis=1)
    order = [k for k in picture.order if busy[k] > 0.0]
    if len(order) > MOST_ROWS:
        kept = set(np.argsort(-busy, kind="stable")[:MOST_ROWS].tolist())
        order = [k for k in order if k in kept]
    most = float(per_day.max()) or 1.0
    chased = (el("th", el("abbr", str(k + 1), title=names[k]), scope="col") for k in order)
    head = el("tr", el("th", "fish", scope="col"), el("th", "Elo", scope="col"), chased)
    rows = [
        el("tr",
           el("th", f"{k + 1} {names[k]}", scope="row"),
           el("td", f"{picture.elo[k]:.0f}"),
           (_cell(float(per_day[k, j]), most) if k != j else el("td", "·", class_="self")
            for j in order))
        for k in order
    ]  # fmt: skip
    rest = len(names) - len(order)
    have = "fish has" if rest == 1 else "fish have"
    words = f"{rest} more {have} less part in it." if rest else ""
    return el(
        "table",
        el("caption", "" if alone else el("b", f"{picture.letter} "),
           f"{design.name}. {words}{_linear(picture)}"),
        el("thead", head),
        el("tbody", rows),
        class_="matrix" if alone else "matrix tight",
    )  # fmt: skip


def _cell(value: float, most: float) -> Element:
    share = min(value / most, 1.0) ** 0.5
    ground = ",".join(f"{255 - share * (255 - part):.0f}" for part in SHADE)
    colour = "#ffffff" if share > LIGHT else INK
    words = f"{value:.0f}" if value >= 9.95 else f"{value:.1f}" if value >= 0.05 else "<0.1"
    words = "" if value == 0.0 else words
    return el("td", words, style=f"background:rgb({ground});color:{colour}")


def _linear(picture: Pictured) -> str:
    found = picture.linear
    if found is None or found.estimate is None:
        return ""
    return f" h {rounded(found.estimate)}{limits(found)}."
