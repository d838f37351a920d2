"""Days in the report: who is not seriously hurt yet, and the days round a spawning."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

from viz.markup import el
from viz.phrases import LETTERS, hundredths, share_words
from viz.report.charts import Frame, day_chart, legend
from viz.why_results import CourseResult

if TYPE_CHECKING:
    from viz.report.page import Sheet

MOST_SMALL = 15  # fish that get a picture of their own


def unhurt(sheet: Sheet) -> Iterator[Element | None]:
    """Yield the curves of "no serious injury yet" of the tanks.

    Parameters
    ----------
    sheet
        All that stands on the page.
    """
    letters = LETTERS if not sheet.alone else " "
    curves = [(letter.strip(), picture.unhurt)
              for letter, picture in zip(letters, sheet.pictures, strict=False)]  # fmt: skip
    if all(one.unhurt.numbers[-1].estimate == 1.0 for one in sheet.pictures):
        runs = sheet.results.designs[0].runs
        words = share_words(sheet.results.designs[0].outcomes["serious"], runs=runs)
        yield el(
            "section",
            el("h2", "No serious injury yet"),
            el("p", f"A fish was seriously hurt in {words}"
               f"{'' if sheet.alone else ', in each of the tanks'}."),
        )  # fmt: skip
        return
    frame = Frame(
        width=345, height=190, title="No serious injury yet", key="unhurt",
        words=" ".join(_ends_words(sheet, k) for k in range(len(sheet.pictures))),
        x_label="by day", y_label="of 100 runs", percent=True, top=1.0,
    )  # fmt: skip
    yield el(
        "section",
        el("h2", "No serious injury yet"),
        None if sheet.alone else legend([d.name for d in sheet.designs], letters=LETTERS),
        el("figure",
           day_chart(curves, frame=frame, steps=True),
           el("figcaption", "Runs without one by each day, of 100, and 95 % intervals. ",
              _moved(sheet))),
    )  # fmt: skip


def unhurt_fish(sheet: Sheet) -> Iterator[Element | None]:
    """Yield the same curve of every fish that is ever seriously hurt.

    Parameters
    ----------
    sheet
        All that stands on the page.
    """
    parts = _every_fish(sheet)
    if parts:
        yield el("section", el("h3", "No serious injury yet, fish by fish"), parts)


def _ends_words(sheet: Sheet, k: int) -> str:
    course = sheet.pictures[k].unhurt
    start = "" if sheet.alone else f"{LETTERS[k]}: "
    last = course.numbers[-1].estimate
    return f"{start}{hundredths(last or 0.0)} of 100 runs by day {course.days[-1]}."


def _moved(sheet: Sheet) -> str:
    told = []
    for letter, picture in zip(LETTERS, sheet.pictures, strict=False):
        if picture.moved is not None and picture.moved.numbers[-1].estimate is not None:
            share = 1.0 - picture.moved.numbers[-1].estimate
            start = "" if sheet.alone else f" in {letter}"
            told.append(f"{hundredths(share)} of 100 runs{start}")
    if not told:
        return ""
    return (
        f"The keeper has moved a fish out in {' and '.join(told)} by the end; a fish that is out "
        "can be hurt no more."
    )


def _every_fish(sheet: Sheet) -> list[Element]:
    names: dict[str, list[tuple[int, CourseResult]]] = {}
    for k, (design, picture) in enumerate(zip(sheet.designs, sheet.pictures, strict=True)):
        for member, course in zip(design.layout.members, picture.unhurt_fish, strict=True):
            names.setdefault(member.name, []).append((k, course))

    def least(name: str) -> float:
        return min(course.numbers[-1].estimate or 0.0 for _, course in names[name])

    order = sorted(names, key=least)
    shown = [name for name in order if least(name) < 1.0][:MOST_SMALL]
    made = []
    for place, name in enumerate(shown):
        there = dict(names[name])
        curves = [(LETTERS[k] if not sheet.alone else "", there.get(k, CourseResult((), ())))
                  for k in range(len(sheet.designs))]  # fmt: skip
        told = "; ".join(
            f"{'' if sheet.alone else LETTERS[k] + ' '}"
            f"{hundredths(course.numbers[-1].estimate or 0.0)}"
            for k, course in names[name]
        )
        frame = Frame(
            width=170, height=86, title=f"{name}: no serious injury yet", key=f"fish-{place}",
            words=f"Of 100 runs by the last day: {told}.", x_label="", y_label="", percent=True,
            top=1.0,
        )  # fmt: skip
        made.append(
            el("figure", el("figcaption", name),
               day_chart(curves, frame=frame, steps=True, small=True))
        )  # fmt: skip
    if not shown:
        return []
    rest = len(order) - len(shown)
    words = ""
    if rest and len(shown) == MOST_SMALL:
        words = f"{rest} more fish are hurt less often than these."
    elif rest:
        words = f"The other {rest} {'fish was' if rest == 1 else 'fish were'} never seriously hurt."
    found = [el("div", made, class_="many")]
    return [*found, el("p", words, class_="small")] if words else found


def round_spawning(sheet: Sheet) -> Iterator[Element | None]:
    """Yield injury and chases by the day from the first spawning, where there is one.

    Parameters
    ----------
    sheet
        All that stands on the page.
    """
    if not any(picture.injury_round.days for picture in sheet.pictures):
        return
    charts = []
    for name, label, title in (
        ("injury_round", "injury a day, all fish", "Injury round the spawning"),
        ("chases_round", "chases a day", "Chases round the spawning"),
    ):
        courses = [
            ("" if sheet.alone else letter, getattr(picture, name))
            for letter, picture in zip(LETTERS, sheet.pictures, strict=False)
        ]
        frame = Frame(
            width=345, height=150, title=title, key=name,
            words=f"{label}, by the day from the first spawning. {_peak(courses)}",
            x_label="days from the eggs", y_label=label,
        )  # fmt: skip
        charts.append(el("figure", day_chart(courses, frame=frame, zero_line="eggs laid")))
    yield el(
        "section",
        el("h2", "The days round the spawning"),
        el("div", charts, class_="pair two"),
        el("p", _peak([("" if sheet.alone else letter, picture.injury_round)
                       for letter, picture in zip(LETTERS, sheet.pictures, strict=False)]),
           " Mean over the runs that reach such a day, with its 95 % interval.", class_="small"),
    )  # fmt: skip


def _peak(courses: list[tuple[str, CourseResult]]) -> str:
    told = []
    for letter, course in courses:
        values = [number.estimate or 0.0 for number in course.numbers]
        if not values:
            continue
        day = course.days[values.index(max(values))]
        when = (
            "on the day of the eggs"
            if day == 0
            else f"{abs(day)} {'day' if abs(day) == 1 else 'days'} "
            f"{'after' if day > 0 else 'before'} the eggs"
        )
        told.append(f"{f'in {letter} ' if letter else ''}most comes {when}")
    words = "; ".join(told)
    return f"{words[:1].upper()}{words[1:]}." if words else ""
