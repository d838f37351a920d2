"""The frame: what stands on every page, always at the same place.

From above a tank is a band, so the floor takes the whole width. Under it the day line, and one line
that says the last event in a sentence and is read out. Below, three columns: the fish, the work of
the page, and in words what it all says. On a narrow screen the tank stands upright at the left
edge, the words beside it, the tabs below; that is left to ``look/theme.css``.
"""

from __future__ import annotations

import solara

from viz.app import pages
from viz.app.columns import Company, InWords
from viz.app.day_line import DayLine
from viz.app.elements import Button, Layer, tag
from viz.app.floor.widget import Floor
from viz.app.look_menu import LookMenu
from viz.app.session import Session
from viz.app.using import use_session


@solara.component
def Frame(session: Session) -> None:
    """The whole page.

    Parameters
    ----------
    session
        The session of the page.
    """
    key = use_session(session, lambda session: session.page)
    page = pages.page_shown(key)
    with Layer("div", classes=f"hw-frame hw-page-{page.key if page else key}"):
        Head(session)
        with Layer("main", classes="hw-body"):
            with Layer("section", classes="hw-floor", name="The tank from above"):
                ((page.floor if page else None) or Floor)(session)
            with Layer("section", classes="hw-day-line", name="The days"):
                ((page.day_line if page else None) or DayLine)(session)
            Sentence(session)
            Columns(session, page)
        Tabs(session)


@solara.component
def Head(session: Session) -> None:
    """The mark, the tanks that are open, and how it looks.

    Parameters
    ----------
    session
        The session of the page.
    """
    tanks, picked = use_session(session, lambda session: (session.tanks, session.picked))
    solara.Title(f"{tanks[picked].name} - Holdwater")  # type: ignore[no-untyped-call]
    with Layer("header", classes="hw-head"):
        tag("span", "Holdwater", classes="hw-mark")
        if len(tanks) == 1:
            tag("h1", tanks[0].name, classes="hw-title")
        else:
            tag("h1", tanks[picked].name, classes="hw-unseen")
            with Layer("div", classes="hw-tanks", name="Open tanks", role="group"):
                for index, tank in enumerate(tanks):

                    def pick(index: int = index) -> None:
                        session.pick(index)

                    Button(tank.name, pick, kind="tank", hint=tank.name, pressed=index == picked)
        if tanks[picked].changed:
            tag("span", "not saved", classes="hw-unsaved")
        LookMenu(session)


@solara.component
def Tabs(session: Session) -> None:
    """The pages.

    Parameters
    ----------
    session
        The session of the page.
    """
    here = pages.page_shown(use_session(session, lambda session: session.page))
    with Layer("nav", classes="hw-tabs", name="Pages"):
        for page in pages.PAGES:

            def go(key: str = page.key) -> None:
                session.go(key)

            current = {"aria-current": "page"} if page is here else {}
            Button(page.name, go, kind="tab", hint=page.hint, attributes=current)


@solara.component
def Sentence(session: Session) -> None:
    """The last event, in a sentence that a screen reader reads out.

    Parameters
    ----------
    session
        The session of the page.
    """
    words = use_session(session, lambda session: session.sentence)
    words = words[:1].upper() + words[1:]  # it may begin with the name of a fish
    tag("p", words, classes="hw-sentence", attributes={"role": "status", "aria-live": "polite"})


@solara.component
def Columns(session: Session, page: pages.PageOf | None) -> None:
    """The three columns.

    Parameters
    ----------
    session
        The session of the page.
    page
        Which page is shown; None where there is none.
    """
    left, right = (page.left, page.right) if page else (None, None)
    with Layer("div", classes="hw-columns"):
        with Layer("section", classes="hw-column hw-left", name="The fish"):
            (left or Company)(session)
        if page is not None:
            with Layer("section", classes="hw-column hw-middle", name=page.name):
                page.middle(session)
        with Layer("section", classes="hw-column hw-right", name="In words"):
            (right or InWords)(session)
