"""Two living tanks one above the other: the same run of both, to one scale, under one day line."""

from __future__ import annotations

from functools import partial

import solara

from viz.app.elements import Layer, tag
from viz.app.floor.widget import Floor, FloorOf
from viz.app.live import LiveTank
from viz.app.living import follow_beside, follow_tank
from viz.app.session import Session
from viz.app.using import use_session
from viz.phrases import LETTERS


@solara.component
def StackedFloors(session: Session) -> None:
    """The floor of Compare: the picked tank and another, or the one that is open.

    Parameters
    ----------
    session
        The session of the page.
    """
    tanks, picked = use_session(session, lambda session: (session.tanks, session.picked))
    other = beside_of(len(tanks), picked)
    if other is None or tanks[picked].checked is None or tanks[other].checked is None:
        Floor(session)
    else:
        Two(session, min(picked, other), max(picked, other))


def beside_of(count: int, picked: int) -> int | None:
    """Return which tank stands beside the picked one: the reference, or for it the second.

    Parameters
    ----------
    count
        How many are open.
    picked
        The one that is worked on.
    """
    if count < 2:
        return None
    return 0 if picked else 1


def living_in(session: Session, index: int) -> LiveTank | None:
    """Return the living tank of one of the two, or None before it lives."""
    living: LiveTank | None = session.live if index == session.picked else session.beside
    return living


@solara.component
def Two(session: Session, first: int, second: int) -> None:
    """Two tanks that can be played, one of them the picked one.

    Parameters
    ----------
    session
        The session of the page.
    first, second
        Which tanks, from above.
    """
    picked = use_session(session, lambda session: session.picked)
    follow_tank(session)
    follow_beside(session, second if picked == first else first)
    tanks = [session.tanks[first], session.tanks[second]]
    layouts = [tank.checked.layout for tank in tanks if tank.checked is not None]
    measure = (
        max(layout.length_m for layout in layouts),
        max(layout.width_m for layout in layouts),
    )
    with Layer("div", classes="hw-stacked"):
        for index, tank in zip((first, second), tanks, strict=True):
            with Layer("div", classes="hw-one-of-two"):
                FloorOf(session, tank, partial(living_in, session, index), measure=measure)
                tag("span", LETTERS[index], classes="hw-floor-letter")
