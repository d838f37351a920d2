"""The report as text: what was played, put on one page without anything from elsewhere."""

from __future__ import annotations

from importlib.resources import files
from typing import TYPE_CHECKING

from viz.markup import el, html_text
from viz.phrases import LETTERS

if TYPE_CHECKING:
    from viz.played import Played
    from viz.report.page import Sheet
    from viz.results import Results
    from viz.why_results import Reasons

# What the browser may load for this file: nothing.
POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"


def report_of(
    played: Played,
    *,
    results: Results,
    command: str,
    reasons: tuple[Reasons, ...] | None = None,
) -> str:
    """Return the report on what was played as one HTML file.

    Parameters
    ----------
    played
        Tanks, their batches with the days kept.
    results
        What was found.
    command
        The command that plays it again.
    reasons
        Why, with what was taken away; where None, what the batches themselves tell of it.

    Returns
    -------
    str
        It loads nothing, and the same question gives the same bytes.
    """
    from viz.report.gathered import pictured
    from viz.report.page import Sheet
    from viz.why_results import reasons_of

    summaries = played.summaries()
    if reasons is None:
        reasons = tuple(reasons_of(one, number=k) for k, one in enumerate(summaries))
    return html_of(
        Sheet(
            results=results,
            reasons=reasons,
            pictures=tuple(
                pictured(one, letter=letter, name=design.name)
                for one, letter, design in zip(summaries, LETTERS, played.designs, strict=False)
            ),
            designs=played.designs,
            command=command,
        )
    )


def html_of(sheet: Sheet) -> str:
    """Return a sheet as one HTML file.

    Parameters
    ----------
    sheet
        All that stands on the page.
    """
    from viz.report.page import page

    style = files("viz.report").joinpath("style.css").read_text(encoding="utf-8")
    root = el(
        "html",
        el(
            "head",
            el("meta", charset="utf-8"),
            el("meta", name="viewport", content="width=device-width, initial-scale=1"),
            el("meta", http_equiv="Content-Security-Policy", content=POLICY),
            el("title", sheet.title),
            el("style", style),
        ),
        el("body", el("main", page(sheet))),
        lang="en",
    )
    return html_text(root)
