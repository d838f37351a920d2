"""The figures of the report: each outcome of each tank with its interval."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from viz.markup import el
from viz.phrases import LETTERS
from viz.report.charts import figure, scrolling
from viz.results import Number, Results
from viz.tables import SHOWN

LEFT_OUT = "held_share"  # all that is not open


def figures(results: Results) -> Element:
    """Return the table of outcomes, a row for each and a column for each tank.

    Parameters
    ----------
    results
        What was found.
    """
    rows = []
    for name, words, factor, _ in SHOWN:
        if name == LEFT_OUT:
            continue
        numbers = [design.outcomes.get(name) for design in results.designs]
        if not any(numbers):
            continue
        rows.append(
            el("tr", el("th", words, scope="row"), (_cell(one, factor) for one in numbers))
        )
    several = len(results.designs) > 1
    head = el("tr", el("th", "what", scope="col"), (
        el("th", letter if several else "estimate", scope="col")
        for letter, _ in zip(LETTERS, results.designs, strict=False)
    ))  # fmt: skip
    return el(
        "section",
        el("h2", "In figures"),
        scrolling(
            el("table",
               el("caption", "Estimate and, in brackets as everywhere, its 95 % interval."),
               el("thead", head),
               el("tbody", rows)),
            label="In figures",
        ),
    )  # fmt: skip


def _cell(number: Number | None, factor: float) -> Element:
    if number is None or number.estimate is None:
        return el("td", "too little seen")
    percent = factor == 100.0
    words = figure(number, percent=percent)
    value, _, rest = words.partition(" ")
    return el("td", el("b", value), " ", el("span", rest, class_="small") if rest else None)

