"""Repeat: the tank many times over, one row per run; a row opens that very run in Watch."""

from __future__ import annotations

from collections.abc import Callable

import solara

from viz.app.batches import (
    RUNS,
    BatchJob,
    BatchNow,
    RunRow,
    asked_for,
    best,
    designs_of_tanks,
    typical,
    worst,
)
from viz.app.columns import Cautions
from viz.app.elements import Button, Choice, Layer, tag
from viz.app.repeating.rows import rows_element
from viz.app.session import Session
from viz.app.using import use_session

COMMON_WORDS = ((20, "20, rough"), (100, "100"), (400, "400"))
LEGEND = (
    ("hurt", "a stroke: first torn fins"),
    ("serious", "a block: a serious injury, until the fish is moved out or the run ends"),
    ("moved", "a notch: a fish is moved out"),
    ("dead", "a cross: a fish dies"),
)


def job_of(session: Session) -> BatchJob | None:
    """Return the batch of the page, and follow it."""
    job: BatchJob | None = use_session(session, lambda session: session.batch)
    return job


def now_of(session: Session) -> BatchNow | None:
    """Return how far the batch of the page has come, and follow it."""
    now: BatchNow | None = use_session(
        session, lambda session: session.batch.now if session.batch is not None else None
    )
    return now


def begin(session: Session, runs: int) -> None:
    """Play a batch of all open tanks in the place of the one that is there.

    Parameters
    ----------
    session
        The session of the page; its tanks can be played.
    runs
        Of each tank.
    """
    if session.batch is not None:
        session.batch.close()
    designs = designs_of_tanks(session.tanks)
    session.batch = BatchJob(designs, asked=asked_for(runs), told=session.tell).start()
    session.tell()


@solara.component
def Asking(session: Session, doing: str) -> None:
    """How many runs, play, cancel, and how far it is.

    Parameters
    ----------
    session
        The session of the page.
    doing
        What stands on the button.
    """
    runs, set_runs = solara.use_state(100)
    tanks = use_session(session, lambda session: session.tanks)
    now = now_of(session)
    job = job_of(session)
    playing = now is not None and not now.over
    hindered = [tank.name for tank in tanks if tank.checked is None]
    with Layer("div", classes="hw-row"):
        Choice(
            "Runs of each tank",
            [(str(n), words) for n, words in COMMON_WORDS],
            str(runs),
            lambda key: set_runs(int(key) if int(key) in RUNS else 100),
        )
        if playing and job is not None:
            Button("Stop here", job.cancel, kind="main")
        else:
            Button(doing, lambda: begin(session, runs), kind="main", disabled=bool(hindered))
    for name in hindered:
        tag("p", f"{name} cannot be played yet; Build says what hinders it.", classes="hw-refused")
    if now is not None:
        Progress(now)


def Progress(now: BatchNow) -> None:
    """How far a batch has come, in words and as a line of water."""
    for problem in now.refused:
        tag("p", str(problem), classes="hw-refused", attributes={"role": "alert"})
    words = f"{now.done} of {now.asked} runs of each tank"
    if now.over:
        words += " played" + (", then stopped" if now.cancelled else "") + f" in {now.took_s:g} s."
    else:
        words += " so far."
    tag(
        "progress",
        classes="hw-progress",
        name="Runs played",
        attributes={"max": now.asked, "value": now.done},
    )
    tag("p", words, classes="hw-soft")


@solara.component
def Repeat(session: Session) -> None:
    """The middle column: the batch, and a row for each run.

    Parameters
    ----------
    session
        The session of the page.
    """
    tanks, picked = use_session(session, lambda session: (session.tanks, session.picked))
    now = now_of(session)
    job = job_of(session)
    tag("h2", "The same tank, many times over")
    Asking(session, "Play them")
    if now is None or job is None or picked >= len(now.rows) or not now.rows[picked]:
        tag(
            "p",
            "Each run has the same tank, but other fish of the kinds you asked for and other luck. "
            "How much they differ is what one tank can never tell.",
        )
        return
    rows = now.rows[picked]
    days = tanks[picked].scenario.days

    def press(run: int) -> None:
        open_run(session, job, picked, run)

    with Layer("div", classes="hw-row", name="Runs worth watching", role="group"):
        for words, row in (
            ("Watch a typical run", typical(rows)),
            ("the best", best(rows)),
            ("the worst", worst(rows)),
        ):
            Button(words, opener(press, row), hint=f"Run {row.run}")
    tag("h3", f"{len(rows)} runs, the worst first; press one to watch it")
    with Layer("ul", classes="hw-legend"):
        for kind, words in LEGEND:
            tag("li", words, classes=f"hw-legend-{kind}")
    rows_element(rows, days=days, press=press)
    tag("p", f"From day 0 at the left to day {days:g} at the right.", classes="hw-soft")


def opener(press: Callable[[int], None], row: RunRow) -> Callable[[], None]:
    """Return what opens one run."""

    def go() -> None:
        press(row.run)

    return go


def open_run(session: Session, job: BatchJob, tank: int, run: int) -> None:
    """Have Watch play one run of a batch, from shortly before somebody was first hurt.

    Parameters
    ----------
    session
        The session of the page.
    job
        The batch.
    tank, run
        Which tank, and which of its runs.
    """
    row = next(row for row in job.now.rows[tank] if row.run == run)
    hurt = [day for day in (row.hurt_day, row.serious_day, row.death_day) if day == day]
    first = min(hurt) if hurt else 0.0
    session.show_run(
        tank,
        run,
        at_day=max(first - 0.05, 0.0),
        seed=job.seed,
        settings=job.settings,
        changes=job.changes,
    )


@solara.component
def RepeatWords(session: Session) -> None:
    """The right column: what the runs say, in the words of `holdwater run`.

    Parameters
    ----------
    session
        The session of the page.
    """
    now = now_of(session)
    tag("h2", "In words")
    if now is None or now.results is None:
        tag("p", "Play some runs, and what they say stands here.")
    else:
        Answer(now)
    Cautions()


@solara.component
def Answer(now: BatchNow) -> None:
    """The sentences of a batch, and how sure they are.

    Parameters
    ----------
    now
        It has results.
    """
    from viz.app.editing.odds import how_sure_words
    from viz.words import in_words

    results = now.results
    assert results is not None
    if not now.over:
        tag("p", f"After {results.designs[0].runs} runs of {now.asked}:", classes="hw-soft")
    with Layer("div", classes="hw-answer"):
        for said in in_words(results):
            tag("p", said.words)
    tag("h3", "How sure")
    for words in how_sure_words(results):
        if words:
            tag("p", words)
