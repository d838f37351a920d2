"""How does it go with other values: chosen, played, drawn and told, within the page Compare."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import solara

from sim.errors import Problem, Refused
from sim.figures import MEASURES
from viz.app.elements import Button, Choice, Layer, Refusals, tag
from viz.app.kept_runs import unkept_words
from viz.app.session import MOST_TANKS, Session
from viz.app.sweeping.figure import panels_of, response_figure
from viz.app.sweeping.files import KeepSweep
from viz.app.sweeping.job import SweepAsked, SweepJob, SweepNow, first_values
from viz.app.sweeping.offers import Offer, offers
from viz.app.typed import Chosen, Typed
from viz.app.using import use_session
from viz.cautions import ABSOLUTE_SWEEP
from viz.checked import counted
from viz.progress import compiled_before, spoken_seconds
from viz.sweep_asked import USUAL_OUTCOMES
from viz.sweep_page import SAYS, cave_places, cell, head, step_cell
from viz.sweep_words import sure_sentences, sweep_sentences

if TYPE_CHECKING:
    from viz.app.open_tank import OpenTank
    from viz.sweep_results import SweepResults

SWEEP = "sweep"  # in `Session.behind`
RUNS: tuple[tuple[str, str], ...] = (
    ("20", "20, rough"),
    ("100", "100"),
    ("400", "400"),
    ("", "until it is known to 5 in 100"),
)
ALSO = (
    "death", "hurt_fish", "hidden_h_per_day", "corner_h_per_day", "chases_per_h", "bites_per_h",
    "held_share", "open_share",
)  # fmt: skip
NO_SECOND = "no"
OTHER = "other"
MOST_ROWS = 60
MOST_SAID = 4  # of what hinders the points


@solara.component
def SweepSection(session: Session) -> None:
    """Vary one or two things of the tank that is worked on, and see how it goes with them.

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
            f"Vary one or two things of {tank.name} and play every value with the same fish: what "
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
def WhatToVary(session: Session, playing: bool) -> None:
    """Choose what is varied and how often each point is played, and begin.

    Parameters
    ----------
    session
        The session of the page; its picked tank can be played.
    playing
        Whether values are being played, so that no others can be.
    """
    tank = use_session(session, lambda session: session.tank)
    offered = solara.use_memo(lambda: offers(tank.scenario), [id(tank.scenario)])
    wanted, set_first = solara.use_state("")
    besides, set_second = solara.use_state(NO_SECOND)
    nothing: dict[str, str] = {}
    typed, set_typed = solara.use_state(nothing)
    runs, set_runs = solara.use_state("100")
    also, set_also = solara.use_state("")
    none: tuple[Problem, ...] = ()
    wrong, set_wrong = solara.use_state(none)

    known = {one.key or OTHER: one for one in offered}
    first = wanted if wanted in known else next(iter(known))
    second = besides if besides in known else NO_SECOND
    filled = solara.use_memo(
        lambda: {key: with_values(tank, known[key]) for key in {first, second} if key != NO_SECOND},
        [id(tank.scenario), first, second],
    )

    def put(place: str, text: str) -> None:
        set_typed(lambda before: {**before, place: text.strip()})

    def begin() -> None:
        asked = SweepAsked(
            vary=tuple(
                vary_of(filled[place], typed, place=f"{number}-{place}")
                for number, place in enumerate((first, second))
                if place != NO_SECOND
            ),
            runs=int(runs) if runs else None,
            outcomes=(*USUAL_OUTCOMES, *([also] if also else [])),
        )
        try:
            job = SweepJob(tank, asked, told=session.tell, keep=session.keep)
        except Refused as refusal:
            set_wrong(refusal.problems)
            return
        set_wrong(())
        session.put_behind(SWEEP, job)
        job.start()
        session.tell()

    choices = [(key, one.words) for key, one in known.items()]
    with Layer("div", classes="hw-vary"):
        Chosen("What is varied", choices, first, set_first)
        ValuesOf(filled[first], typed, f"0-{first}", put, label="Its values")
        Chosen("And besides", [(NO_SECOND, "nothing else"), *choices], second, set_second)
        if second != NO_SECOND:
            ValuesOf(filled[second], typed, f"1-{second}", put, label="Values of the second")
        Chosen(
            "Also told, beside injury and serious injuries",
            [("", "nothing else"), *((name, MEASURES[name].text) for name in ALSO)],
            also,
            set_also,
        )
    with Layer("div", classes="hw-row"):
        Choice("Runs of each point", list(RUNS), runs, set_runs)
    with Layer("div", classes="hw-row"):
        Button("Play the values", begin, kind="main", disabled=playing)
    hindered(wrong)


def hindered(problems: tuple[Problem, ...]) -> None:
    """Say why something cannot be played; of many points the first ones.

    Parameters
    ----------
    problems
        The sentences.
    """
    Refusals(problems, words="That cannot be played:", most=MOST_SAID, rest="of other points")


def ValuesOf(offer: Offer, typed: dict[str, str], place: str, put: object, *, label: str) -> None:
    """The inputs for the values of something, and for its key where it is another.

    Parameters
    ----------
    offer
        What is varied.
    typed
        What was typed, by place.
    place
        Of this one.
    put
        Called with the place and what was typed.
    label
        Of the values.
    """

    def of(which: str) -> object:
        return lambda text: put(which, text)  # type: ignore[operator]

    if not offer.key:
        Typed(
            "Its key",
            typed.get(f"key-{place}", ""),
            of(f"key-{place}"),  # type: ignore[arg-type]
            example="fish.Basalt.length",
            hint="as in a scenario file: table.key, or list.name.key",
        )
    Typed(
        label,
        typed.get(place, offer.values),
        of(place),  # type: ignore[arg-type]
        example="1, 2, 3",
        hint=offer.hint,
    )


def with_values(tank: OpenTank, offer: Offer) -> Offer:
    """Return something that can be varied with values with which this tank can be built.

    Parameters
    ----------
    tank
        That can be played.
    offer
        What is varied.
    """
    return replace(offer, values=first_values(tank, offer)) if offer.key else offer


def vary_of(offer: Offer, typed: dict[str, str], *, place: str) -> str:
    """Return what was chosen or typed as `--vary` takes it.

    Parameters
    ----------
    offer, typed, place
        As in `ValuesOf`.
    """
    key = offer.key or typed.get(f"key-{place}", "")
    return f"{key}={typed.get(place) or offer.values}"


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
            tag("p", said.words)
    else:
        tag(
            "p",
            "So far. Past which value no further gain is shown is told when all is played.",
            classes="hw-soft",
        )
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
    if job.runs is None and not now.over:
        words += " until the next look at how wide the intervals are"
    if now.whole:
        return f"{words}, in {spoken_seconds(now.took_s)}{kept}"
    if now.cancelled:
        return f"{words}, stopped{kept}"
    if now.done == 0 and not compiled_before():
        return "The rules are compiled for this machine, once: about a minute."
    if now.done and job.runs is not None:
        left = now.took_s * (now.planned / now.done - 1.0)
        return f"{words}, about {spoken_seconds(left)} left{kept}"
    return f"{words}{kept}"


def varied_words(results: SweepResults) -> str:
    """Return what was varied: "tank.length: 4 ft, 5 ft; days of the tank"."""
    return "; ".join(
        f"{factor.key}: {', '.join(factor.values)}" for factor in results.factors if factor.varies
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
    if places:
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
