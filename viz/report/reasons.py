"""Why, in the report: sentences, what was taken away, how the injury divides, the open floor."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

from viz.markup import el
from viz.phrases import LETTERS, listed
from viz.report.charts import Frame, day_chart, interval_chart
from viz.results import DifferenceResult, Number
from viz.why_page import not_taken
from viz.why_results import WhyResults
from viz.why_words import briefly, of_outcome, parts_of, without

if TYPE_CHECKING:
    from viz.report.page import Sheet


HOLDERS = "in whose territory"
IN_WORDS = ("how", "whose ground, as the bitten fish has it")  # told by sentences


def why(sheet: Sheet) -> Iterator[Element | None]:
    """Yield the reasons: in words, then as charts.

    Parameters
    ----------
    sheet
        All that stands on the page.
    """
    told = WhyResults(sheet.results, sheet.reasons)
    columns = [
        el(
            "div",
            None if sheet.alone else el("h3", f"{LETTERS[k]} {design.name}"),
            el("ul", (el("li", one.words) for one in briefly(told, number=k))),
        )
        for k, design in enumerate(sheet.designs)
    ]
    yield el(
        "section",
        el("h2", "Why"),
        el("div", columns, class_="pair" if sheet.alone else "pair two"),
        el("div", _taken(sheet), _divided(sheet), _open(sheet), class_="flow"),
    )


def _taken(sheet: Sheet) -> list[Element]:
    found: dict[str, list[tuple[int, Number | None]]] = {}
    for k, reasons in enumerate(sheet.reasons):
        for taken in reasons.taken:
            dose = of_outcome(taken, "dose")
            if dose is not None:
                found.setdefault(short(taken.key), []).append((k, _number(dose)))
    rows = list(found.items())
    notes = _not_played(sheet)
    if not rows:
        return [el("p", words, class_="small") for words in notes]
    frame = Frame(
        width=345, height=100, title="What taking one thing away changes", key="taken",
        words="; ".join(
            f"{name}: " + ", ".join(
                f"{'' if sheet.alone else LETTERS[k] + ' '}{_said(number)}" for k, number in numbers
            )
            for name, numbers in rows
        ) + ".",
        x_label="injury a run, more than as it is", y_label="",
    )  # fmt: skip
    return [
        el("figure",
           el("h3", "Taken away, one at a time, with the same fish"),
           interval_chart(rows, frame=frame),
           el("figcaption", "An interval that leaves the line free is a reason; one that crosses "
              "it shows none; left of it is less. ", " ".join(notes))),
    ]  # fmt: skip


def _not_played(sheet: Sheet) -> list[str]:
    """What was not played, the same said of several tanks said once."""
    tanks: dict[str, list[str]] = {}
    for letter, reasons in zip(LETTERS, sheet.reasons, strict=False):
        for one in reasons.not_played:
            tanks.setdefault(not_taken(one), []).append(letter)
    return [
        f"{words[:1].upper()}{words[1:]}." if sheet.alone else f"{listed(letters)}: {words}."
        for words, letters in tanks.items()
    ]


SHORT = {
    "brood": "no brood",
    "occlusion": "nobody hidden from view",
    "individuality": "average fish",
    "hiding": "hiding places unused",
    "learning": "nobody learns",
    "assessment": "size tells nothing",
}


def short(key: str) -> str:
    """Return a counterfactual in few words, as a label."""
    return SHORT.get(key, without(key).removeprefix("with "))


def _number(row: DifferenceResult) -> Number:
    return Number(row.estimate, row.low, row.high, row.unit, 0, row.method)


def _said(number: Number | None) -> str:
    if number is None or number.estimate is None:
        return "too little seen"
    if number.low is None or number.high is None:
        return f"{number.estimate:.2f}"
    return f"{number.estimate:.2f} ({number.low:.2f} to {number.high:.2f})"


def _divided(sheet: Sheet) -> list[Element]:
    charts = []
    parts = [(words, rows) for words, rows in parts_of(sheet.reasons) if words not in IN_WORDS]
    # A short one below what was taken away, then the tallest: so they fill both sides of a page.
    parts.sort(key=lambda part: (part[0] != HOLDERS, -len(part[1])))
    for place, (words, rows) in enumerate(parts):
        floors: list[float | None] | None = None
        caption = ""
        if words.startswith("to swim"):
            first = sheet.reasons[0].floor_by_cover
            floors = [first.get(name) for name, _ in rows]
            caption = (
                "Dashed: the share of the open floor that lies so far off"
                f"{'' if sheet.alone else ', in A'}."
            )
        if words == HOLDERS and any(d.scenario.breeding.mode != "off" for d in sheet.designs):
            caption = "What a pair holds counts for the mate that claims more there."
        frame = Frame(
            width=345, height=100, title=f"The injury divided: {words}", key=f"part-{place}",
            words="; ".join(
                f"{name}: " + ", ".join(_hundred(number) for number in numbers)
                for name, numbers in rows
            ) + ", in 100 parts.",
            x_label="of 100 parts of the injury", y_label="", percent=True, top=1.0,
        )  # fmt: skip
        chart = interval_chart(
            [(name, list(enumerate(numbers))) for name, numbers in rows],
            frame=frame,
            floors=floors,
            missing="none",
        )
        charts.append(
            el("figure", el("h3", f"{words[:1].upper()}{words[1:]}"), chart,
               el("figcaption", caption) if caption else None)
        )  # fmt: skip
    return charts


def _hundred(number: Number | None) -> str:
    if number is None or number.estimate is None:
        return "none"
    return f"{100.0 * number.estimate:.0f}"


def _open(sheet: Sheet) -> Element | None:
    courses = [
        ("" if sheet.alone else letter, reasons.open_by_day)
        for letter, reasons in zip(LETTERS, sheet.reasons, strict=False)
    ]
    if len(courses[0][1].days) < 2:
        return None
    frame = Frame(
        width=345, height=122, title="Floor that nobody holds, day by day", key="open",
        words="; ".join(
            f"{letter} {100 * (course.numbers[0].estimate or 0.0):.0f} % on the first day, "
            f"{100 * (course.numbers[-1].estimate or 0.0):.0f} % on the last"
            for letter, course in courses
        ) + ".",
        x_label="day", y_label="% of the floor", percent=True, top=1.0,
    )  # fmt: skip
    return el(
        "figure",
        el("h3", "Floor that nobody holds"),
        day_chart(courses, frame=frame),
    )
