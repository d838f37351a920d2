"""The rows of a batch on the page: a line for each run across its days, to be opened by a press."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import solara

from viz.app.repeating.rows import Order, Picks, RunRow, gentled, in_order, picks_of, row_words
from viz.checked import days_words


@solara.component_vue("rows.vue")
def _Rows(
    rows: list[Any] = [],  # noqa: B006  (becomes a trait, and is not changed)
    days: float = 1.0,
    order: str = "",
    label: str = "",
    hint: str = "",
    gentle: bool = False,
    event_opened: Any = None,
) -> None:
    """The element behind `RunRows`."""


def RunRows(
    rows: Sequence[RunRow],
    *,
    names: Sequence[str],
    days: float,
    order: Order,
    gentle: bool,
    whole: bool,
    opened: Callable[[RunRow], None],
) -> Any:
    """Return the rows of one tank.

    Parameters
    ----------
    rows
        The runs that are finished.
    names
        Of the fish.
    days
        Length of a run.
    order
        How they are sorted.
    gentle
        Whether a hurt fish is shown as moved out.
    whole
        Whether no more are to come; only then is one of them the worst.
    opened
        Called with the row that is pressed.
    """
    by_number = {row.run: row for row in rows}

    def took(run: object) -> None:
        if isinstance(run, int) and run in by_number:
            opened(by_number[run])

    return _Rows(
        rows=plain_rows(rows, names=names, days=days, order=order, gentle=gentle, whole=whole),
        days=days,
        order=order,
        label=f"{len(rows)} runs across {days_words(days)}. Arrow keys choose one, Enter plays it.",
        hint="Choose a run, and the floor plays it.",
        gentle=gentle,
        event_opened=took,
    )


def plain_rows(
    rows: Sequence[RunRow],
    *,
    names: Sequence[str],
    days: float,
    order: Order,
    gentle: bool,
    whole: bool,
) -> list[dict[str, Any]]:
    """Return rows in their order as plain values for the browser.

    Parameters
    ----------
    rows, names, days, order, gentle, whole
        As in `RunRows`.
    """
    tags = tags_of(picks_of(rows)) if whole else {}
    return [
        {
            "run": row.run,
            "first": None if seen.first is None else seen.first.day,
            "serious": [one.day for one in seen.serious],
            "moved": [one.day for one in seen.moved],
            "dead": [one.day for one in seen.dead],
            "words": row_words(seen, names=names, days=days),
            "tag": tags.get(row.run, ""),
        }
        for row in in_order(rows, order)
        for seen in (gentled(row) if gentle else row,)
    ]


def tags_of(picks: Picks | None) -> dict[int, str]:
    """Return which runs are called worst, typical and best, by number.

    Parameters
    ----------
    picks
        Of the batch, or None.
    """
    if picks is None:
        return {}
    return {picks.best.run: "best", picks.typical.run: "typical", picks.worst.run: "worst"}
