"""Repeat: many runs of a tank, a line for each across its days; any of them can be watched."""

from __future__ import annotations

import solara

from viz.app.batches import BatchJob, BatchNow
from viz.app.elements import Button, Choice, Layer, tag
from viz.app.repeating.keeping import KeepFiles
from viz.app.repeating.playing import Playing, batch_of, before_any, names_of, place_of
from viz.app.repeating.rows import (
    CRITERION,
    ORDERS,
    Order,
    RunRow,
    begins_at,
    gentled,
    picks_of,
    row_words,
)
from viz.app.repeating.rows_shown import RunRows
from viz.app.session import Session
from viz.app.using import use_session


@solara.component
def Repeat(session: Session) -> None:
    """The middle column: play many runs, and their rows.

    Parameters
    ----------
    session
        The session of the page.
    """
    job, now = batch_of(session)
    picked, tank = use_session(session, lambda session: (session.picked, session.tank))
    place = place_of(job, picked)
    tag("h2", "Many runs of this tank")
    if job is None:
        before_any()
    Playing(session, together=False)
    if job is None or now is None:
        return
    if place is None:
        tag("p", f"These runs are of another tank; {tank.name} is not among them.")
        return
    if now.rows[place]:
        Runs(session, job, now, place)
    if now.whole:
        with Layer("div", classes="hw-row"):
            Button("Why they are hurt", lambda: session.go("why"))
        KeepFiles(job)


@solara.component
def Runs(session: Session, job: BatchJob, now: BatchNow, place: int) -> None:
    """The rows of one tank, and the three of them to begin with.

    Parameters
    ----------
    session
        The session of the page.
    job, now
        Its batch, and how that stands.
    place
        Of the tank in the batch.
    """
    order, set_order = solara.use_state("worst")
    gentle = use_session(session, lambda session: session.look.gentle)
    rows, names = now.rows[place], names_of(job, place)
    days = job.designs[place].scenario.days
    kinds: tuple[Order, ...] = tuple(key for key, _ in ORDERS)
    sorted_by = next(key for key in kinds if key == order)

    def opened(row: RunRow) -> None:
        open_run(session, job, place, row)

    if now.whole:
        Three(rows, names=names, days=days, gentle=gentle, opened=opened)
    Choice("Sorted", list(ORDERS), order, set_order)
    RunRows(
        rows,
        names=names,
        days=days,
        order=sorted_by,
        gentle=gentle,
        whole=now.whole,
        opened=opened,
    )
    tag("p", CRITERION, classes="hw-soft")


def Three(
    rows: tuple[RunRow, ...],
    *,
    names: tuple[str, ...],
    days: float,
    gentle: bool,
    opened: object,
) -> None:
    """The worst, the typical and the best run, each to be opened.

    Parameters
    ----------
    rows, names, days, gentle
        As in `RunRows`.
    opened
        Called with the row of the one that is pressed.
    """
    picks = picks_of(rows)
    if picks is None:
        return
    with Layer("ul", classes="hw-three", name="Three runs to begin with"):
        for words, row in (
            ("worst", picks.worst),
            ("typical", picks.typical),
            ("best", picks.best),
        ):

            def press(row: RunRow = row) -> None:
                opened(row)  # type: ignore[operator]

            with Layer("li"):
                Button(f"Watch the {words} run", press)
                seen = gentled(row) if gentle else row
                tag("span", row_words(seen, names=names, days=days))


def open_run(session: Session, job: BatchJob, place: int, row: RunRow) -> None:
    """Turn to Watch, and play one run of a batch there, exactly.

    Parameters
    ----------
    session, job, place
        The page, its batch, and the place of the tank in it.
    row
        The run.
    """
    batch = job.batches[place]
    session.show_run(
        job.tanks[place],
        row.run,
        at_day=begins_at(row),
        seed=batch.seed,
        settings=batch.settings,
        changes=batch.changes,
    )
