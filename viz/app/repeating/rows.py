"""Rows: every run of a batch in a line, as a widget."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from importlib.resources import files
from typing import Any

import anywidget
import traitlets

from viz.app.batches import RunRow, in_order

MOST_ROWS = 200  # of a larger batch every so many, from the worst to the best


class RowsWidget(anywidget.AnyWidget):
    """The half in Python of ``rows.js``."""

    _esm = files("viz.app.repeating").joinpath("rows.js").read_text("utf-8")
    rows: Any = traitlets.List().tag(sync=True)
    days = traitlets.Float(30.0).tag(sync=True)
    pressed = traitlets.Any(None, allow_none=True)

    def __init__(self, **values: Any) -> None:
        super().__init__(**values)
        self.on_msg(self._take)

    def _take(self, _widget: object, content: object, _buffers: object) -> None:
        run = content.get("run") if isinstance(content, dict) else None
        known = {row["run"] for row in self.rows}
        if self.pressed is not None and isinstance(run, int) and run in known:
            self.pressed(run)


def rows_element(rows: Sequence[RunRow], *, days: float, press: Callable[[int], None]) -> Any:
    """Return the rows of a tank, from the worst run to the best.

    Parameters
    ----------
    rows
        Its runs.
    days
        Of a run.
    press
        Called with the number of the run that is to be watched.
    """
    ordered = in_order(rows)
    step = max(1, math.ceil(len(ordered) / MOST_ROWS))
    shown = [plain(row) for row in ordered[::step]]
    return RowsWidget.element(rows=shown, days=float(days), pressed=press)


def plain(row: RunRow) -> dict[str, Any]:
    """Return a row as plain values, with what it shows in words."""

    def day(value: float) -> float | None:
        return round(value, 3) if math.isfinite(value) else None

    return {
        "run": row.run,
        "hurt": day(row.hurt_day),
        "serious": day(row.serious_day),
        "moved": day(row.moved_day),
        "death": day(row.death_day),
        "words": row_words(row),
    }


def row_words(row: RunRow) -> str:
    """Return a row as a sentence."""
    told = [
        f"{words} on day {day:.1f}"
        for words, day in (
            ("torn fins", row.hurt_day),
            ("a serious injury", row.serious_day),
            ("a fish moved out", row.moved_day),
            ("a death", row.death_day),
        )
        if math.isfinite(day)
    ]
    return f"Run {row.run}: {', '.join(told) if told else 'nobody hurt'}. Watch it."
