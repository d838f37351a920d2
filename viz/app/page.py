"""The one page of the app, as Solara is pointed at it: a session, what it shows, and its errors."""

from __future__ import annotations

import logging
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import reacton.core
import solara

from viz.app.browser import KeptInBrowser
from viz.app.elements import Button, Layer, tag
from viz.app.frame import Frame
from viz.app.kept_runs import folder_of_pages
from viz.app.session import Session
from viz.app.using import use_session

FILE_VARIABLE = "HOLDWATER_APP_FILE"  # set by `holdwater app`, which never takes it from outside

_log = logging.getLogger("holdwater.app")


def new_session() -> Session:
    """Return the session of a page that was opened just now."""
    file = os.environ.get(FILE_VARIABLE)
    return Session(Path(file) if file else None, keep=folder_of_pages())


@solara.component
def Page() -> None:
    """The page of one visitor."""
    session = solara.use_memo(new_session, [])
    # One change of the session is one pass over the page, however many components follow it.
    session.together = reacton.core.get_render_context()

    def closing() -> Callable[[], None]:
        return session.close

    solara.use_effect(closing, [])
    with Layer("div", classes="hw"):
        KeptInBrowser(session)
        if use_session(session, lambda session: session.arrived):
            Guarded(session)


@solara.component
def Guarded(session: Session) -> None:
    """The frame; when it fails, a sentence in its place, and the reasons in the log.

    Parameters
    ----------
    session
        The session of the page.
    """
    error, clear = solara.use_exception()
    reported: Any = solara.use_ref(None)
    if error is None:
        Frame(session)
        return
    if reported.current is not error:
        reported.current = error
        _log.error("the page failed", exc_info=error)

    def again() -> None:
        clear()

    with Layer("main", classes="hw-failed", role="alert"):
        tag("h1", "That did not work")
        tag(
            "p",
            "A fault of the program stopped this page. Your tank is kept as it was: go on, or "
            "reload the page. What went wrong stands where the program was started.",
        )
        Button("Go on", again, kind="main")


@solara.component
def Layout(children: list[Any]) -> None:
    """Nothing around the page.

    Parameters
    ----------
    children
        The page.
    """
    tag("div", *children)
