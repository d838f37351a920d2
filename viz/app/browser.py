"""What the browser keeps for a page: how it is to look, and its tanks over a reload.

How it looks (dark or light, large type, gentle) is kept for good in the browser and never sent
anywhere else. Tanks are kept as long as the tab lives, so that a reload loses nothing.
"""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

import anywidget
import solara
import traitlets

from viz.app.repeating.beginning import plain_batch
from viz.app.session import Look, Session

MOST_KEPT = 4_000_000  # letters that are taken back from the browser


class Browser(anywidget.AnyWidget):
    """The half in Python of ``browser.js``; it draws nothing."""

    _esm = files("viz.app").joinpath("browser.js").read_text("utf-8")
    look = traitlets.Dict().tag(sync=True)
    keep = traitlets.Unicode("").tag(sync=True)
    been = traitlets.Bool(False).tag(sync=True)
    found = traitlets.Unicode("").tag(sync=True)


@solara.component
def KeptInBrowser(session: Session) -> None:
    """Take up what the browser has kept, then keep there what the session holds.

    Parameters
    ----------
    session
        The session of the page; ``arrived`` becomes true once the browser has answered.
    """
    keep, set_keep = solara.use_state("")
    look, set_look = solara.use_state(session.look)
    been, set_been = solara.use_state(False)

    def take(text: object) -> None:
        if session.arrived or not isinstance(text, str) or not text:
            return
        arrive(session, text)

    written: Any = solara.use_ref(None)

    def follow() -> Any:
        def look_again() -> None:
            if not session.arrived:
                return
            held = (session.tanks, session.picked, session.page, plain_batch(session.batch))
            if held != written.current:  # a running tank tells twice a second, and keeps nothing
                written.current = held
                set_keep(json.dumps(session.kept()))
            set_look(session.look)
            set_been(not session.first_time)

        return session.listen(look_again)

    solara.use_effect(follow, [session])
    Browser.element(look=look.plain(), keep=keep, been=been, on_found=take)


def arrive(session: Session, text: str) -> None:
    """Take up what came from the browser; what makes no sense is as if nothing had come.

    Parameters
    ----------
    session
        The session of the page.
    text
        JSON: ``look``, ``kept`` and whether this browser has ``been`` here before.
    """
    found: Any = {}
    if len(text) <= MOST_KEPT:
        try:
            found = json.loads(text)
        except (ValueError, RecursionError):
            found = {}
    if not isinstance(found, dict):
        found = {}
    session.arrive(
        look=Look.of(found.get("look")), kept=found.get("kept"), been=found.get("been") is True
    )
