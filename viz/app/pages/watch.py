"""Watch: the tank as it lives, how fast it goes on, hands on it, what a picked fish is about."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import solara

from sim.formats import format_area
from viz.app.columns import Company
from viz.app.elements import Button, Choice, Layer, Switch, tag
from viz.app.events import Told
from viz.app.first_visit import FirstVisit
from viz.app.floor.widget import BITES, SIGHT, TERRITORIES, TRACKS
from viz.app.live import SPEEDS, LiveTank
from viz.app.living import begin, live_of
from viz.app.moment import FishNow, Moment
from viz.app.session import Session
from viz.app.using import use_session
from viz.app.watching.branch_panel import BranchHere
from viz.app.watching.film_panel import FilmAndPicture
from viz.app.watching.hands import HandsPanel
from viz.cautions import CAUTIONS
from viz.progress import compiled_before

OVERLAYS = (
    (TERRITORIES, "territories", "Ground that is held, hatched by its holder"),
    (SIGHT, "what it sees", "What the picked fish sees from where it is"),
    (TRACKS, "tracks", "The last ten seconds of each fish"),
    (BITES, "bites", "Where the last bites fell"),
)
SPEED_WORDS = {
    0.5: "half",
    1.0: "real",
    10.0: "10 \N{MULTIPLICATION SIGN}",
    100.0: "100 \N{MULTIPLICATION SIGN}",
}
MOST_EVENTS = 8
GENTLE = {"seriously hurt": "moved out", "dead": "moved out", "torn fins": ""}
WOUNDS = ("hurt", "serious", "dead")  # kinds of events that a gentle display leaves out
QUIET_SPEED = 1.0  # faster than that, not every chase is told
QUIET_S = 4.0  # but one, once so long nothing else has been


def moment_now(session: Session) -> Moment | None:
    """Return how the living tank stands, and follow it."""
    moment: Moment | None = use_session(
        session, lambda session: session.live.moment if session.live is not None else None
    )
    return moment


@solara.component
def Watch(session: Session) -> None:
    """The middle column: how it goes on, hands, overlays, and what happened.

    Parameters
    ----------
    session
        The session of the page.
    """
    live = live_of(session)
    moment = moment_now(session)
    fault = use_session(session, lambda session: session.live and session.live.fault)
    first_time = use_session(session, lambda session: session.first_time)
    Sentences(session)
    if fault is not None and live is not None:
        Stopped(live)
        return
    if first_time and session.tank.checked is not None:
        FirstVisit(session)
        return
    if live is None or moment is None:
        waiting(session)
        return
    Controls(session, live, moment)
    HandsPanel(session, live, moment)
    Overlays(session)
    Happened(moment, gentle=session.look.gentle)
    BranchHere(session, live, moment)
    FilmAndPicture(session, live)


def waiting(session: Session) -> None:
    """Say why there is nothing to be seen yet."""
    if session.tank.checked is None:
        tag("h2", "This tank cannot be played yet")
        for problem in session.tank.problems:
            tag("p", str(problem))
        return
    tag("h2", "The tank is being filled")
    if not compiled_before():
        tag("p", "The rules are compiled for this machine, once: about a minute.")


@solara.component
def Stopped(live: LiveTank) -> None:
    """What is shown when the tank's thread has failed.

    Parameters
    ----------
    live
        The tank.
    """
    with Layer("div", role="alert"):
        tag("h2", "This tank has stopped")
        tag(
            "p",
            "A fault of the program ended this run; the tank itself is kept as it was. What went "
            "wrong stands where the program was started.",
        )
        Button("Begin this run again", live.restart, kind="main")


@solara.component
def Controls(session: Session, live: LiveTank, moment: Moment) -> None:
    """Play, speeds, and skipping.

    Parameters
    ----------
    session, live, moment
        The page, its tank, and how it stands.
    """
    run = session.shown
    tag(
        "h2",
        f"{moment.when[:1].upper()}{moment.when[1:]}"
        + (f", run {run.run}" if run is not None else ""),
        classes="hw-when",
    )
    with Layer("div", classes="hw-row"):
        if moment.finished:
            Button("Begin again", lambda: again(session), kind="main")
        elif moment.playing:
            Button("Pause", live.pause, kind="main")
        else:
            Button("Play", live.play, kind="main")
        Choice(
            "How fast",
            [(f"{speed:g}", SPEED_WORDS[speed]) for speed in SPEEDS],
            f"{moment.speed:g}",
            lambda key: live.speed(float(key)),
            show_label=False,
        )
        Button("Next event", live.next_event, disabled=moment.finished)
        Button("Next day", live.next_day, disabled=moment.finished)
    if moment.asleep:
        tag("p", "The tank sleeps until this page is looked at again.", classes="hw-soft")
    if run is not None:
        with Layer("div", classes="hw-row"):
            tag("p", f"This is run {run.run} of the batch, exactly as it was played there.")
            Button("Watch a run of its own", lambda: own_run(session), kind="quiet")


def again(session: Session) -> None:
    """Begin the run that is shown from its first moment."""
    live, session.live = session.live, None
    if live is not None:
        live.close()
    begin(session)


def own_run(session: Session) -> None:
    """Leave the run of a batch and watch one of the tank's own."""
    session.shown = None
    again(session)


@solara.component
def Overlays(session: Session) -> None:
    """What lies over the floor.

    Parameters
    ----------
    session
        The session of the page.
    """
    shown = use_session(session, lambda session: session.overlays)
    gentle = use_session(session, lambda session: session.look.gentle)
    with Layer("div", classes="hw-row", name="Over the floor", role="group"):
        for key, words, hint in OVERLAYS:
            if key == BITES and gentle:
                continue

            def turn(on: bool, key: str = key) -> None:
                session.overlay(key, on)

            Switch(words, key in shown, turn, hint=hint)


def Happened(moment: Moment, *, gentle: bool) -> None:
    """The last events, the newest first."""
    told = [one for one in moment.events if not (gentle and one.kind in WOUNDS)]
    tag("h3", "What happened")
    if not told:
        tag("p", "Nothing yet but swimming about.", classes="hw-soft")
        return
    with Layer("ol", classes="hw-events"):
        for one in reversed(told[-MOST_EVENTS:]):
            with Layer("li"):
                tag("span", f"day {max(one.day, 0.0):.2f}", classes="hw-event-day")
                tag("span", f"{one.words}.")


@solara.component
def Sentences(session: Session) -> None:
    """Put the last event under the floor, where it is read out.

    Parameters
    ----------
    session
        The session of the page.
    """

    said: Any = solara.use_ref(None)

    def last(session: Session) -> tuple[str, Told | None]:
        moment = session.live.moment if session.live is not None else None
        if moment is None or moment.last is None:
            return "", None
        one = moment.last
        if one.kind == "attack" and moment.speed > QUIET_SPEED:
            told = (event for event in reversed(moment.events) if event.kind != "leap")
            news = next(told, None)
            if news is not None and news != said.current:
                one = news
            elif not session.quiet_for(QUIET_S):
                return session.sentence, said.current
        if session.look.gentle and one.kind in WOUNDS:
            return "", one
        return f"{one.words}.", one

    words, event = use_session(session, last)

    def say() -> None:
        session.say(words)
        if event is not None and event.kind != "attack":
            said.current = event

    solara.use_effect(say, [words, event])


@solara.component
def WatchCompany(session: Session) -> None:
    """The fish, one line each, with what it does; a press picks it.

    Parameters
    ----------
    session
        The session of the page.
    """
    live = live_of(session)
    moment = moment_now(session)
    gentle = use_session(session, lambda session: session.look.gentle)
    if live is None or moment is None:
        Company(session)
        return
    picked = moment.picked.row if moment.picked is not None else -1
    tag("h2", "The fish")
    with Layer("ol", classes="hw-fish-list"):
        for row, fish in enumerate(moment.fish):
            with Layer("li", classes="hw-fish-now"):
                FishLine(row, fish, row == picked, picker(live, row, picked), gentle)


def picker(live: LiveTank, row: int, picked: int) -> Callable[[], None]:
    """Return what a press on a fish does: pick it, or let it go."""

    def press() -> None:
        live.pick(-1 if row == picked else row)

    return press


@solara.component
def FishLine(
    row: int, fish: FishNow, picked: bool, press: Callable[[], None], gentle: bool
) -> None:
    """One fish in a line.

    Parameters
    ----------
    row
        Its row; its number is one more.
    fish
        How it stands.
    picked, press
        Whether it is picked, and what a press does.
    gentle
        Whether wounds are not described.
    """
    hurt = GENTLE.get(fish.hurt, fish.hurt) if gentle else fish.hurt
    state = ", ".join(words for words in (fish.doing, hurt) if words) or "in the tank"
    with Layer("div", classes="hw-fish-line"):
        Button(
            f"{row + 1}  {fish.name}",
            press,
            kind="pick",
            name=f"{row + 1}, {fish.name}: {state}",
            pressed=picked,
        )
        tag("span", fish.doing, classes="hw-state")
        if hurt:
            tag("span", hurt, classes="hw-hurt")


@solara.component
def WatchWords(session: Session) -> None:
    """The right column: the picked fish, the ground, and the cautions.

    Parameters
    ----------
    session
        The session of the page.
    """
    moment = moment_now(session)
    gentle = use_session(session, lambda session: session.look.gentle)
    if moment is None:
        return
    if moment.picked is None:
        tag("h2", "In words")
        tag(
            "p", "Pick a fish, on the floor or in the list, to see what it sees and why it attacks."
        )
    else:
        one = moment.picked
        tag("h2", moment.fish[one.row].name)
        for words in (one.sees, one.wants):
            tag("p", words)
        if one.attacked:
            tag("h3", "Why it last attacked")
            for words in one.attacked:
                tag("p", words)
        if one.suffered and not gentle:
            tag("h3", "When it was last attacked")
            for words in one.suffered:
                tag("p", words)
        if not one.attacked and not one.suffered:
            tag("p", "It has attacked nobody and was attacked by nobody yet.")
    tag("h3", "The ground")
    for ground in moment.ground:
        names = " and ".join(moment.fish[i].name for i in ground.fish)
        verb = "hold" if len(ground.fish) > 1 else "holds"
        share = 100.0 * ground.area_m2 / moment.floor_m2
        tag("p", f"{names} {verb} {format_area(ground.area_m2)}, {share:.0f} % of the floor.")
    tag("p", f"{100 * moment.open_share:.0f} % of the floor is open ground.")
    tag("h3", "Bear in mind")
    tag("p", "This is one run of a model. How often it goes so is what many runs together say.")
    with Layer("div", classes="hw-row"):
        Button("Why are they hurt? Ask many runs", lambda: session.go("why"))
    for words in CAUTIONS[:1]:
        tag("p", words)
