"""How a component follows its session."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import solara

from viz.app.session import Session

T = TypeVar("T")


def use_session(session: Session, read: Callable[[Session], T]) -> T:
    """Return something of the session, and render the component again when it is another.

    Parameters
    ----------
    session
        The session of the page.
    read
        What the component shows, as a value that can be compared; for example
        ``lambda session: session.tank``. It is called after every change of the session, from
        whichever thread made it, so it is cheap and returns what does not change afterwards.

    Returns
    -------
    what ``read`` returns now.
    """
    _, show = solara.use_state(0)
    now = read(session)
    last = solara.use_ref(now)
    last.current = now
    reading = solara.use_ref(read)
    reading.current = read

    def follow() -> Callable[[], None]:
        def look() -> None:
            if reading.current(session) != last.current:
                show(lambda count: count + 1)

        stop = session.listen(look)
        look()  # it may have changed between the render and now
        return stop

    solara.use_effect(follow, [session])
    return now
