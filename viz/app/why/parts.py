"""Shares in tables: each with its interval in figures and, for the eye, as a line on one scale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from viz.app.elements import Layer, tag
from viz.phrases import hundredths
from viz.report.charts import figure
from viz.results import Number

LONG, HIGH = 100.0, 12.0


def share_table(
    caption: str,
    rows: Sequence[tuple[str, Number | None]],
    *,
    of: str,
    beside: tuple[str, Sequence[float | None]] | None = None,
) -> None:
    """Show shares, a row for each.

    Parameters
    ----------
    caption
        What they are shares by.
    rows
        Name and share of each; None where there is none of it.
    of
        What they are shares of.
    beside
        Heading and values of a further share, marked on the scale by an open tick.
    """
    with Layer("table", classes="hw-parts"):
        tag("caption", caption)
        words = [of] if beside is None else [of, beside[0]]
        heads = [tag("th", one, attributes={"scope": "col"}) for one in words]
        bars = tag("td", attributes={"aria-hidden": "true"})
        tag("thead", tag("tr", tag("td"), *heads, bars))
        with Layer("tbody"):
            for k, (name, number) in enumerate(rows):
                more = None if beside is None else beside[1][k]
                cells = [
                    tag("th", name, attributes={"scope": "row"}),
                    tag("td", share_figure(number), classes="hw-figure-cell"),
                ]
                if beside is not None:
                    told = "" if more is None else f"{hundredths(more)} %"
                    cells.append(tag("td", told, classes="hw-figure-cell"))
                bar = share_bar(number, tick=more)
                cells.append(tag("td", bar, classes="hw-bar", attributes={"aria-hidden": "true"}))
                tag("tr", *cells)


def share_figure(number: Number | None) -> str:
    """Return a share and its interval in hundredths: "67 % (38 to 87)"."""
    if number is None or number.estimate is None:
        return "none"
    if 0.0 < number.estimate < 0.005:
        return "under 1 %"
    estimate, _, limits = figure(number, percent=True).partition(" ")
    return f"{estimate} % {limits}".rstrip()


def share_bar(number: Number | None, *, tick: float | None = None) -> Any:
    """Return a share as a dot on a scale from nothing to all, its interval as a line."""
    parts: list[Any] = [line(0.0, 1.0, "hw-bar-scale")]
    if number is not None and number.estimate is not None:
        if number.low is not None and number.high is not None:
            parts.append(line(number.low, number.high, "hw-bar-interval"))
        parts.append(dot(number.estimate))
    if tick is not None:
        x = round(LONG * tick, 2)
        shape = {"x1": x, "x2": x, "y1": 1, "y2": HIGH - 1}
        parts.append(tag("line", classes="hw-bar-tick", attributes=shape))
    return picture(parts)


def change_bar(low: float, estimate: float, high: float, *, end: float) -> Any:
    """Return a change as a dot with its interval, on a scale from less to more of it.

    Parameters
    ----------
    low, estimate, high
        The change and its interval.
    end
        What the right end stands for; the left stands for as much less.
    """

    def at(value: float) -> float:
        return 0.5 + 0.5 * min(max(value / end, -1.0), 1.0)

    zero = {"x1": 0.5 * LONG, "x2": 0.5 * LONG, "y1": 0, "y2": HIGH}
    return picture(
        [
            line(0.0, 1.0, "hw-bar-scale"),
            tag("line", classes="hw-bar-zero", attributes=zero),
            line(at(low), at(high), "hw-bar-interval"),
            dot(at(estimate)),
        ]
    )


def picture(parts: Sequence[Any]) -> Any:
    """Return a bar as a picture that screen readers pass over: its figures stand beside it."""
    return tag(
        "svg",
        *parts,
        classes="hw-bar-picture",
        attributes={
            "viewBox": f"-3 0 {LONG + 6:g} {HIGH:g}",
            "preserveAspectRatio": "none",
            "aria-hidden": "true",
            "focusable": "false",
        },
    )


def line(low: float, high: float, classes: str) -> Any:
    """Return a level line between two shares of the scale."""
    shape = {"x1": round(LONG * low, 2), "x2": round(LONG * high, 2), "y1": 6, "y2": 6}
    return tag("line", classes=classes, attributes=shape)


def dot(at: float) -> Any:
    """Return a dot; a line without length, so that it stays round however wide the bar is."""
    x = round(LONG * at, 2)
    return tag("line", classes="hw-bar-dot", attributes={"x1": x, "x2": x, "y1": 6, "y2": 6})
