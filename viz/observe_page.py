"""The page that `observe` prints: what was counted, what it tells, and the tanks again."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Group, RenderableType
from rich.table import Table

from viz.checked import counted
from viz.ink import bullet, heading, safe
from viz.observe_results import NarrowedResult, RangeResult, WatchedResults
from viz.observe_words import (
    answer_words,
    apart_words,
    fish_words,
    method_words,
    untold,
    watched_words,
)
from viz.phrases import rounded
from viz.printed import results_page

MOST_ROWS = 16
USUAL_COUNTS = (
    "in brackets: nine in ten of what the model counts for fish of these kinds of which nothing is "
    "known"
)
KINDS = {
    "chases_given": "chases given",
    "chases_taken": "chases taken",
    "minutes_hidden": "minutes hidden",
}


def observe_page(found: WatchedResults) -> RenderableType:
    """Return everything that is told of a tank that was watched.

    Parameters
    ----------
    found
        What was found.
    """
    return Group(
        counts_table(found),
        heading("What it tells of the answer", beside="tempers alone; nine in ten"),
        *(bullet(one.words) for one in answer_words(found)),
        heading("What it tells of the fish"),
        *(bullet(one.words) for one in (*fish_words(found), *apart_words(found))),
        tempers_table(found),
        bullet(method_words(found).words),
        heading("These fish", beside="played with tempers as they are now likely"),
        results_page(found.results),
    )


def counts_table(found: WatchedResults) -> RenderableType:
    """Return what was counted, beside what the model counts for any such fish."""
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("  fish", overflow="fold", min_width=12)
    for words in kinds_counted(found).values():
        table.add_column(words, justify="right")
    for who, cells in counts_cells(found):
        table.add_row(safe(f"  {who}"), *cells)
    when = "; ".join(found.sittings[:4])
    if len(found.sittings) > 4:
        when += f"; and {counted(len(found.sittings) - 4, 'sitting')} more"
    return Group(
        heading("What was counted", beside=f"in {watched_words(found.minutes)}"),
        bullet(when, mark=" ", style="slate"),
        table,
        bullet(USUAL_COUNTS, mark=" ", style="slate"),
    )


def kinds_counted(found: WatchedResults) -> dict[str, str]:
    """Return what was counted of any fish, each kind with its words."""
    return {kind: words for kind, words in KINDS.items()
            if any(one.kind == kind for one in found.counted)}  # fmt: skip


def counts_cells(found: WatchedResults) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield who was counted with its cells, of the kinds of `kinds_counted`."""
    rows = {(one.who, one.kind): one for one in found.counted}
    for who in dict.fromkeys(one.who for one in found.counted):
        cells = (rows.get((who, kind)) for kind in kinds_counted(found))
        yield (
            who,
            tuple("-" if one is None else f"{one.count:g}  ({_span(one.usual)})" for one in cells),
        )


def _span(one: RangeResult) -> str:
    return f"{rounded(one.low)} to {rounded(one.high)}"


def tempers_table(found: WatchedResults) -> RenderableType:
    """Return the temper of each fish, before and now."""
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("  fish", overflow="fold", min_width=12)
    table.add_column("times as aggressive: before", justify="right")
    table.add_column("now", justify="right")
    table.add_column("% bold: before", justify="right")
    table.add_column("now", justify="right")
    for fish in found.fish[:MOST_ROWS]:
        table.add_row(
            safe(f"  {fish.name}"),
            *(
                temper_cells(fish.aggression, 1.0)
                if fish.aggression
                else ("as the file has it", "")
            ),
            *temper_cells(fish.boldness, 100.0),
        )
    left = len(found.fish) - MOST_ROWS
    if left > 0:
        return Group(table, bullet(f"and {counted(left, 'more fish', 'more fish')}", style="slate"))
    return table


def temper_cells(row: NarrowedResult, factor: float) -> tuple[str, str]:
    """Return a range before and now as the cells of a table.

    Parameters
    ----------
    row
        What was narrowed.
    factor
        To the unit that is shown.
    """
    before, now = (
        f"{rounded(factor * one.low)} to {rounded(factor * one.high)}"
        for one in (row.before, row.now)
    )
    return before, "the same" if untold(row) else now
