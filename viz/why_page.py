"""The page that `why` prints: the answer, the reasons in sentences, then as tables."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from viz.cautions import ABSOLUTE, ABSOLUTE_ALONE, CAUTIONS
from viz.ink import bullet, heading, safe
from viz.phrases import LETTERS, hundredths, more_or_less
from viz.results import Number
from viz.sure_words import spread_words
from viz.tables import compared, strip
from viz.why_results import NotPlayedResult, Reasons, WhyResults
from viz.why_words import TAKEN, of_outcome, parts_of, why_words, without
from viz.words import design_words, none_of_these, verdict_words

DAYS_SHOWN = 6


def why_page(why: WhyResults) -> RenderableType:
    """Return everything that is told of an answer and its reasons.

    Parameters
    ----------
    why
        What was found.
    """
    results = why.results
    alone = len(results.designs) == 1
    answer = [
        *none_of_these(results),
        *(verdict_words(results, number) for number in range(len(results.verdicts))),
        *(design_words(d, number=k, alone=alone)[0] for k, d in enumerate(results.designs)),
    ]
    parts: list[RenderableType] = [
        compared(results),
        heading("In short"),
        *(bullet(one.words) for one in answer),
        heading("Why"),
        *(bullet(one.words) for one in why_words(why)),
        taken_away(why),
        divided(why),
        open_floor(why),
        heading("How sure"),
        *(bullet(one.words) for one in spread_words(results)),
        bullet(ABSOLUTE_ALONE if alone else ABSOLUTE),
        heading("Before you build it"),
        *(bullet(words, mark="!", style="sand") for words in CAUTIONS),
    ]
    return Group(*parts)


def taken_away(why: WhyResults) -> RenderableType:
    """Return what was taken away, and what changes, as a table with intervals.

    Parameters
    ----------
    why
        What was found.
    """
    alone = len(why.reasons) == 1
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("the same fish", overflow="fold")
    table.add_column("injury a run", overflow="fold")
    table.add_column("seriously hurt, of 100 runs", overflow="fold")
    for letter, reasons in zip(LETTERS, why.reasons, strict=False):
        start = "" if alone else f"{letter}: "
        for taken in reasons.taken:
            cells = []
            for outcome, factor in (("dose", 1.0), ("serious", 100.0)):
                row = of_outcome(taken, outcome)
                cells.append(_change(row.estimate, row.low, row.high, factor) if row else "?")
            table.add_row(safe(f"{start}{without(taken.key)}"), *cells)
    left = [
        bullet(f"{'' if alone else f'{letter}: '}{not_taken(one)}.", style="slate")
        for letter, reasons in zip(LETTERS, why.reasons, strict=False)
        for one in reasons.not_played
    ]
    beside = "less the tank as it is, 95 %; an injury of 1 is death"
    return Group(heading("Taken away", beside=beside), table, *left)


def _change(estimate: float | None, low: float | None, high: float | None, factor: float) -> str:
    if estimate is None:
        return "?"
    words = more_or_less(factor * estimate)
    if low is None or high is None:
        return f"{words} (too rare to bound)"
    return f"{words} ({more_or_less(factor * low)} to {more_or_less(factor * high)})"


def not_taken(one: NotPlayedResult) -> str:
    """Return why a thing was not taken away."""
    name = f"the fish of {one.key.removeprefix('fish of ')}" if one.key not in TAKEN else one.key
    return f"not played, {name}: {one.why}"


def divided(why: WhyResults) -> RenderableType:
    """Return how the injury divides, a block for each way of dividing it.

    Parameters
    ----------
    why
        What was found.
    """
    parts: list[RenderableType] = [
        heading("Where the injury is taken", beside="of 100 parts; o estimate, ~ its 95 % interval")
    ]
    for words, rows in parts_of(why.reasons):
        parts.append(Text(words, style="water"))
        parts += _rows(rows)
    return Group(*parts)


def _rows(rows: Sequence[tuple[str, Sequence[Number | None]]]) -> list[RenderableType]:
    width = max((len(name) for name, _ in rows), default=0)
    lines: list[RenderableType] = []
    for name, numbers in rows:
        for k, number in enumerate(numbers):
            mark = "" if len(numbers) == 1 else f"{LETTERS[k]} "
            start = (name if k == 0 else "").ljust(width)
            if number is None or number.estimate is None:
                none = ("none", "slate")
                lines.append(Text.assemble("  ", safe(start), "  ", (mark, "sand"), none))
                continue
            low = number.low if number.low is not None else number.estimate
            high = number.high if number.high is not None else number.estimate
            lines.append(
                Text.assemble(
                    "  ", safe(start), "  ", (mark, "sand"),
                    strip(number.estimate, low=low, high=high, end=1.0), "  ",
                    (hundredths(number.estimate).rjust(7), "bold"),
                    f"   {100 * low:.0f} to {100 * high:.0f}",
                )
            )  # fmt: skip
    return lines


def open_floor(why: WhyResults) -> RenderableType:
    """Return how much floor nobody holds on some of the days.

    Parameters
    ----------
    why
        What was found.
    """
    alone = len(why.reasons) == 1
    days = why.reasons[0].open_by_day.days
    step = max(1, round((len(days) - 1) / (DAYS_SHOWN - 1))) if len(days) > 1 else 1
    picked = sorted({*range(0, len(days), step), len(days) - 1})
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("" if alone else "tank")
    for k in picked:
        table.add_column(f"day {days[k]}", justify="right")
    for letter, reasons in zip(LETTERS, why.reasons, strict=False):
        table.add_row("" if alone else letter, *(_open(reasons, k) for k in picked))
    return Group(heading("Floor that nobody holds", beside="% of it, mean over the runs"), table)


def _open(reasons: Reasons, k: int) -> str:
    if k >= len(reasons.open_by_day.numbers):
        return "-"
    found = reasons.open_by_day.numbers[k].estimate
    return "?" if found is None else hundredths(found)

