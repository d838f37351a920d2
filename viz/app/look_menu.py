"""The menu that says how the page looks; the browser keeps what is chosen."""

from __future__ import annotations

from dataclasses import replace

import solara

from viz.app.elements import Choice, Layer, Switch, tag
from viz.app.session import Session
from viz.app.using import use_session

SHADE_WORDS = (("device", "as the device"), ("light", "light"), ("dark", "dark"))


@solara.component
def LookMenu(session: Session) -> None:
    """Dark or light, large type, gentle display.

    Parameters
    ----------
    session
        The session of the page.
    """
    look = use_session(session, lambda session: session.look)
    with Layer("details", classes="hw-menu"):
        tag("summary", "Display", attributes={"title": "Dark or light, large type, gentle display"})
        with Layer("div", classes="hw-menu-body"):
            Choice(
                "Shade",
                SHADE_WORDS,
                look.shade,
                lambda shade: session.change_look(replace(look, shade=shade)),
            )
            Switch(
                "Large type",
                look.large,
                lambda on: session.change_look(replace(look, large=on)),
                hint="For a class, or tired eyes",
            )
            Switch(
                "Gentle",
                look.gentle,
                lambda on: session.change_look(replace(look, gentle=on)),
                hint="A hurt fish is shown as moved out, and no wound is drawn",
            )
