"""Which living tank a page has: made when it is needed, anew when another is to be shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

import solara

from sim.hands import Played
from sim.settings import Settings
from viz.app.live import LiveTank
from viz.app.using import use_session

if TYPE_CHECKING:
    from viz.app.open_tank import OpenTank
    from viz.app.session import Session


def live_of(session: Session) -> LiveTank | None:
    """Return the living tank of a page, and follow when it is another.

    Parameters
    ----------
    session
        The session of the page.
    """
    live: LiveTank | None = use_session(session, lambda session: session.live)
    return live


def follow_tank(session: Session) -> None:
    """Make the living tank of a page while it is shown, for the tank and the run that are asked.

    Parameters
    ----------
    session
        The session of the page.
    """
    tank, shown = use_session(session, lambda session: (session.tank, session.shown))
    live = live_of(session)

    def make() -> None:
        if session.live is None and session.tank.checked is not None:
            begin(session)

    solara.use_effect(make, [tank, shown, live])


def begin(session: Session) -> LiveTank:
    """Let the picked tank live: the run of a batch that is asked for, else one watched throughout.

    Parameters
    ----------
    session
        The session of the page; its picked tank can be played.
    """
    shown = session.shown
    at_day = None if shown is None else shown.at_day
    live = LiveTank(played_in(session, session.tank), told=session.tell, at_day=at_day)
    session.live = live
    session.tell()
    return live


def follow_beside(session: Session, tank: int) -> None:
    """Let a second tank live beside the first: the same run of it, from the same moment on.

    Parameters
    ----------
    session
        The session of the page.
    tank
        Which tank, not the one that is picked; it can be played.
    """
    live = live_of(session)
    begun: bool = use_session(
        session, lambda session: session.live is not None and session.live.moment is not None
    )
    beside = use_session(session, lambda session: session.beside)

    def make() -> None:
        if begun and session.beside_tank != tank and session.page == "compare":
            begin_beside(session, tank)

    solara.use_effect(make, [begun, live, beside, tank])


def begin_beside(session: Session, tank: int) -> LiveTank:
    """Let a second tank live from the moment on to which the first has come, as fast as it.

    Parameters
    ----------
    session
        The session of the page; its living tank has begun.
    tank
        Which tank; it can be played.
    """
    moment = session.live.moment
    beside = LiveTank(
        played_in(session, session.tanks[tank]), told=session.tell, at_day=moment.day
    )
    beside.speed(moment.speed)
    if not moment.playing:
        beside.pause()
    session.put_beside(beside, tank)
    return beside


def played_in(session: Session, tank: OpenTank) -> Played:
    """Return what a tank plays while it is watched: the run that is asked for, or one of its own.

    Parameters
    ----------
    session
        The session of the page.
    tank
        One of its tanks; it can be played.
    """
    checked, shown = tank.checked, session.shown
    assert checked is not None
    if shown is None:
        return Played(
            scenario=checked.scenario, layout=checked.layout, settings=Settings(watch_all=True)
        )
    return Played(
        scenario=checked.scenario,
        layout=checked.layout,
        run=shown.run,
        seed=shown.seed,
        settings=shown.settings,
        changes=shown.changes,
    )
