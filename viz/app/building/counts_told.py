"""What counts tell, in the drawer: sentences, what was counted, tempers, and all of it as files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from viz.app.elements import Layer, tag
from viz.app.given import Given, file_stem
from viz.app.repeating.keeping import pack

if TYPE_CHECKING:
    from viz.app.building.knowing import KnowingJob, KnowingNow
    from viz.observe_results import NarrowedResult, WatchedResults


def told(found: WatchedResults) -> None:
    """What the counts tell, in the sentences and numbers of the command.

    Parameters
    ----------
    found
        What was found.
    """
    from viz.observe_words import answer_words, apart_words, fish_words, method_words
    from viz.words import in_words

    tag("h3", "What they tell of the answer")
    for said in answer_words(found):
        tag("p", said.words)
    tag("h3", "What they tell of the fish")
    for said in (*fish_words(found), *apart_words(found)):
        tag("p", said.words)
    with Layer(
        "div", classes="hw-table-room", name="What was counted", role="region", tabindex="0"
    ):
        counted_table(found)
    with Layer(
        "div", classes="hw-table-room", name="Tempers of the fish", role="region", tabindex="0"
    ):
        tempers_table(found)
    tag("p", method_words(found).words, classes="hw-soft")
    tag("h3", "The tank with these fish")
    for said in in_words(found.results):
        tag("p", said.words)


def tempers_table(found: WatchedResults) -> None:
    """The temper of each fish, before and now."""
    with Layer("table", classes="hw-points hw-tempers"):
        tag("caption", "Nine in ten: times as aggressive as its kind, and % bold")
        with Layer("thead"), Layer("tr"):
            for words in ("Fish", "Aggressive, before", "now", "Bold, before", "now"):
                tag("th", words, attributes={"scope": "col"})
        with Layer("tbody"):
            for fish in found.fish:
                with Layer("tr"):
                    tag("th", fish.name, attributes={"scope": "row"})
                    for row, factor in ((fish.aggression, 1.0), (fish.boldness, 100.0)):
                        for words in cells(row, factor):
                            tag("td", words)


def cells(row: NarrowedResult | None, factor: float) -> tuple[str, str]:
    """Return a range before and now as the cells of a table.

    Parameters
    ----------
    row
        Of a fish; None where the file states it.
    factor
        To the unit that is shown.
    """
    from viz.observe_page import temper_cells

    return ("as stated", "as stated") if row is None else temper_cells(row, factor)


def counted_table(found: WatchedResults) -> None:
    """What was counted, beside what the model counts for any such fish."""
    from viz.observe_page import USUAL_COUNTS, counts_cells, kinds_counted

    kinds = kinds_counted(found)
    with Layer("table", classes="hw-points hw-tempers"):
        tag("caption", f"What was counted; {USUAL_COUNTS}")
        with Layer("thead"), Layer("tr"):
            for words in ("Fish", *kinds.values()):
                tag("th", words.capitalize(), attributes={"scope": "col"})
        with Layer("tbody"):
            for who, cells_of_who in counts_cells(found):
                with Layer("tr"):
                    tag("th", who, attributes={"scope": "row"})
                    for words in cells_of_who:
                        tag("td", words)


def tables_of_watched(job: KnowingJob, now: KnowingNow) -> bytes:
    """Return what `holdwater observe --csv` writes, as a zip archive.

    Parameters
    ----------
    job, now
        What learnt, at its end.
    """
    from pathlib import Path

    from viz.csv_tables import csv_files
    from viz.observe_record import draws_csv, tempers_csv

    assert now.found is not None
    assert now.known is not None
    folder = Path("tables")
    names = [design.name for design in job.designs]
    files = dict(csv_files(folder, names=names, batches=now.batches))
    files[folder / "tempers.csv"] = [tempers_csv(now.found)]
    files[folder / "temper_draws.csv"] = [draws_csv(now.known)]
    return pack(files)


def KeepWatched(job: KnowingJob, now: KnowingNow) -> None:
    """Hand over as files what counts tell.

    Parameters
    ----------
    job, now
        What learnt, at its end.
    """
    from viz.observe_record import observe_json

    found = now.found
    if found is None:
        return
    stem = f"{file_stem(job.designs[0].name)}-watched"
    with Layer("div", classes="hw-row"):
        Given(
            "What they tell, JSON",
            f"{stem}.json",
            lambda: observe_json(found),
            kind="application/json",
            hint="As holdwater observe --json writes it",
        )
        Given(
            "Tables, CSV",
            f"{stem}.zip",
            lambda: tables_of_watched(job, now),
            kind="application/zip",
            hint="As --csv writes them: tempers, and the runs with these fish",
        )
