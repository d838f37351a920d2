"""How does it go with other values: played, drawn and told, within the page Compare."""

from __future__ import annotations

from typing import TYPE_CHECKING

import solara

from sim.errors import Refused
from viz.app.elements import Button, Layer, tag
from viz.app.kept_runs import unkept_words
from viz.app.session import MOST_TANKS, Session
from viz.app.sweeping.asking import LATIN, words_in_page
from viz.app.sweeping.choosing import SWEEP, WhatToVary, hindered
from viz.app.sweeping.cloud import cloud_figure, clouds_of
from viz.app.sweeping.figure import panels_of, response_figure
from viz.app.sweeping.files import KeepSweep
from viz.app.sweeping.job import SweepJob, SweepNow
from viz.app.using import use_session
from viz.cautions import ABSOLUTE_SWEEP
from viz.checked import counted
from viz.progress import compiled_before, spoken_seconds
from viz.sweep_page import SAYS, cave_places, cell, head, step_cell
from viz.sweep_words import sure_sentences, sweep_sentences

if TYPE_CHECKING:
    from viz.sweep_results import SweepResults

MOST_ROWS = 60
MOST_PLACES = 4  # of tanks whose caves are told without being asked for


@solara.component
def SweepSection(session: Session) -> None:
    """Vary a few things of the tank that is worked on, and see how it goes with them.

    Parameters
    ----------
    session
        The session of the page.
    """

    def read(session: Session) -> tuple[SweepJob | None, SweepNow | None]:
        job: SweepJob | None = session.behind.get(SWEEP)
        return job, None if job is None else job.now

    job, now = use_session(session, read)
    tank = use_session(session, lambda session: session.tank)
    with Layer("section", classes="hw-sweep", name="How does it go with other values?"):
        tag("h2", "How does it go with other values?")
        tag(
            "p",
            f"Vary up to four things of {tank.name} and play every point with the same fish: what "
            "each step gains, and past which value no further gain is shown.",
            classes="hw-soft",
        )
        if tank.checked is None:
            tag("p", "This tank cannot be played yet; Build says why.")
        else:
            # a key of its own for each tank, so that another begins with its own values
            playing = now is not None and not now.over
            WhatToVary(session, playing).key(f"vary-{session.picked}-{tank.name}")
        if job is not None and now is not None:
            SweepStands(session, job, now)


@solara.component
def SweepStands(session: Session, job: SweepJob, now: SweepNow) -> None:
    """How far a sweep has come, and what it says.

    Parameters
    ----------
    session, job, now
        The page, its sweep, and how that stands.
    """
    with Layer("div", classes="hw-row"):
        if not now.over:
            Button("Stop here", job.cancel, kind="main")
        elif now.cancelled:
            Button("Play the rest", lambda: go_on(session, job), kind="main")
    hindered(now.refused)
    if now.refused:
        return
    if now.planned:
        tag(
            "progress",
            classes="hw-progress",
            name="Runs of all points played",
            attributes={"max": now.planned, "value": now.done},
        )
    tag("p", far_words(job, now), classes="hw-soft")
    for problem in now.unkept:
        tag("p", unkept_words(problem), classes="hw-field-error", attributes={"role": "status"})
    if now.results is None:
        return
    tag("h3", varied_words(now.results))
    if now.whole:
        for said in sweep_sentences(now.results):
            tag("p", words_in_page(said.words))
    else:
        tag(
            "p",
            "So far. Past which value no further gain is shown is told when all is played.",
            classes="hw-soft",
        )
    if now.results.plan == LATIN:
        for cloud in clouds_of(now.results):
            cloud_figure(cloud)
    else:
        for panel in panels_of(now.results):
            response_figure(panel)
    Points(session, job, now.results, whole=now.whole)
    if now.whole:
        Steps(now.results)
        More(job, now)
        KeepSweep(job)


def go_on(session: Session, job: SweepJob) -> None:
    """Play the rest of a sweep that was stopped."""
    job.start()
    session.tell()


def far_words(job: SweepJob, now: SweepNow) -> str:
    """Return how far a sweep has come, in words.

    Parameters
    ----------
    job, now
        The sweep, and how it stands.
    """
    if now.building:
        return "Stopped." if now.over else "The tank is built with every value, and checked."
    words = f"{now.done} of {now.planned} runs, of {counted(now.points, 'point')}"
    kept = f"; {counted(now.found, 'run')} had been kept" if now.found else ""
    if job.until_narrow and not now.over:
        words += " until the next look at how wide the intervals are"
    if now.whole:
        return f"{words}, in {spoken_seconds(now.took_s)}{kept}"
    if now.cancelled:
        return f"{words}, stopped{kept}"
    if now.done == 0 and not compiled_before():
        return "The rules are compiled for this machine, once: about a minute."
    if now.done and not job.until_narrow:
        left = now.took_s * (now.planned / now.done - 1.0)
        return f"{words}, about {spoken_seconds(left)} left{kept}"
    return f"{words}{kept}"


def varied_words(results: SweepResults) -> str:
    """Return what was varied: "tank.length: 4 ft, 5 ft; hardscape.caves: 0, 1"."""
    return "; ".join(
        f"{factor.key}: {(' to ' if factor.ranges else ', ').join(factor.values)}"
        for factor in results.factors
        if factor.varies
    )


def Points(session: Session, job: SweepJob, results: SweepResults, *, whole: bool) -> None:
    """A table of the points; each can be opened as a tank of its own.

    Parameters
    ----------
    session, job
        The page, and its sweep.
    results
        What it says.
    whole
        Whether all is played.
    """
    varied = [k for k, factor in enumerate(results.factors) if factor.varies]
    room = len(session.tanks) < MOST_TANKS
    with (
        Layer("div", classes="hw-table-room", name="At each point", role="region", tabindex="0"),
        Layer("table", classes="hw-counts hw-points"),
    ):
        tag("caption", "At each point: estimate and 95 % interval")
        with Layer("thead"), Layer("tr"):
            for k in varied:
                tag("th", broken(results.factors[k].key), attributes={"scope": "col"})
            tag("th", "runs", attributes={"scope": "col"})
            for outcome in results.shown:
                tag("th", head(outcome), attributes={"scope": "col"})
            if whole:
                tag("th", "as a tank", attributes={"scope": "col"})
        with Layer("tbody"):
            for number, point in enumerate(results.points[:MOST_ROWS]):
                with Layer("tr"):
                    for k in varied:
                        tag("th", point.values[k], attributes={"scope": "row"})
                    tag("td", f"{point.runs}{'' if point.narrow is not False else ' wide'}")
                    for outcome in results.shown:
                        tag("td", cell(point.outcomes.get(outcome)))
                    if whole:
                        with Layer("td"):
                            OpenPoint(session, job, number, room)
    more = len(results.points) - MOST_ROWS
    if more > 0:
        tag("p", f"{counted(more, 'more point')}: the tables have them all.", classes="hw-soft")
    if whole and not room:
        tag("p", f"{MOST_TANKS} tanks are open; close one in Build to open a point.")


def broken(key: str) -> str:
    """Return a key that may be broken into lines after its dots.

    Parameters
    ----------
    key
        Of a scenario.
    """
    return key.replace(".", ".\N{ZERO WIDTH SPACE}")


@solara.component
def OpenPoint(session: Session, job: SweepJob, number: int, room: bool) -> None:
    """Open a point as a tank of its own, beside the others.

    Parameters
    ----------
    session, job, number
        The page, its sweep, and which point.
    room
        Whether there is room for one more tank.
    """
    tank = job.tank_at(number)

    def press() -> None:
        try:
            session.add_variant(tank.scenario, name=tank.scenario.title or job.tank.name)
        except Refused as refusal:
            session.say(str(refusal.problems[0]))
            return
        session.say(f"{session.tank.name} is open beside the others.")

    Button(
        "Open",
        press,
        name=f"Open {', '.join(value.text for value in tank.values)} as a tank of its own",
        disabled=not room,
    )


def Steps(results: SweepResults) -> None:
    """A table of what each step from value to value changes.

    Parameters
    ----------
    results
        Of a sweep that is whole.
    """
    with Layer("details"):
        tag("summary", "From value to value")
        with (
            Layer("div", classes="hw-table-room", name="Steps", role="region", tabindex="0"),
            Layer("table", classes="hw-counts hw-points"),
        ):
            tag("caption", "The same fish, all else alike")
            with Layer("thead"), Layer("tr"):
                for words in ("from", "to", "change", "further gain"):
                    tag("th", words, attributes={"scope": "col"})
            for factor, outcome in dict.fromkeys((s.factor, s.outcome) for s in results.steps):
                with Layer("tbody"):
                    whole_row = {"scope": "rowgroup", "colspan": "4"}
                    with Layer("tr"):
                        tag("th", f"{factor}: {head(outcome)}", attributes=whole_row)
                    for step in results.steps:
                        if (step.factor, step.outcome) == (factor, outcome):
                            with Layer("tr"):
                                for words in (step.start, step.end, step_cell(step)):
                                    tag("td", words)
                                tag("td", SAYS[step.says])


def More(job: SweepJob, now: SweepNow) -> None:
    """How sure it is, where caves stand, and what is unwise at the points.

    Parameters
    ----------
    job, now
        A sweep that is whole.
    """
    assert now.results is not None
    places = list(cave_places(now.results))
    if len(places) > MOST_PLACES:
        with Layer("details"):
            tag("summary", "Where the caves stand")
            for words in places:
                tag("p", words)
    elif places:
        tag("h4", "Where the caves stand")
        for words in places:
            tag("p", words)
    if now.unwise:
        with Layer("details"):
            tag("summary", "What is unwise about these tanks")
            with Layer("ul", classes="hw-said"):
                for one in now.unwise:
                    tag("li", str(one), classes="hw-warning")
    tag("h4", "How sure")
    for words in (*sure_sentences(now.results), ABSOLUTE_SWEEP):
        tag("p", words)
