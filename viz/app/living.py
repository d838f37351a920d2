"""Which living tank a page has: made when it is needed, anew when another is to be shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

import solara

from sim.hands import Played
from sim.settings import Settings
from viz.app.live import LiveTank
from viz.app.using import use_session

if TYPE_CHECKING:
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
    checked = session.tank.checked
    assert checked is not None
    shown = session.shown
    if shown is None:
        played = Played(
            scenario=checked.scenario, layout=checked.layout, settings=Settings(watch_all=True)
        )
        live = LiveTank(played, told=session.tell)
    else:
        played = Played(
            scenario=checked.scenario,
            layout=checked.layout,
            run=shown.run,
            seed=shown.seed,
            settings=shown.settings,
            changes=shown.changes,
        )
        live = LiveTank(played, told=session.tell, at_day=shown.at_day)
    session.live = live
    session.tell()
    return live
