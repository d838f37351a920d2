"""The first visit: who lives here, and three things to try; the tank moves from the first second.

Where the rules are not compiled yet, a recording of a real run of this very tank moves on the floor
until they are (`viz.app.recorded`), and the page says so.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import solara

from sim.errors import Refused
from viz.app.elements import Button, Layer, tag
from viz.app.introducing import introductions
from viz.app.live import Hand
from viz.app.recorded import recorded_for
from viz.app.using import use_session

if TYPE_CHECKING:
    from viz.app.session import Session

RECORDED = (
    "What moves is a recording of this tank. The rules are compiled for this machine, once: about "
    "a minute. Then it lives, and does what you do to it."
)


@solara.component
def FirstVisit(session: Session) -> None:
    """The middle column of the first visit.

    Parameters
    ----------
    session
        The session of the page.
    """
    tank = use_session(session, lambda session: session.tank)
    waiting = use_session(session, lambda session: session.live and session.live.moment is None)
    refused, set_refused = solara.use_state("")
    recorded = solara.use_memo(lambda: recorded_for(tank.scenario) is not None, [tank.scenario])
    if tank.checked is None:
        return

    def spawn() -> None:
        session.greeted()
        if session.live is not None:
            session.live.do(Hand("spawn", {}, words="The pair spawns"))

    def vary(key: str, page: str, said: str) -> Callable[[], None]:
        def made() -> None:
            try:
                open_variant(session, key)
            except Refused as refusal:
                set_refused(" ".join(problem.sentence for problem in refusal.problems))
                return
            session.greeted()
            session.go(page)
            session.say(said)

        return made

    with Layer("div", classes="hw-first"):
        tag("h2", "What shall happen?")
        with Layer("div", classes="hw-large"):
            Large(
                "They spawn now",
                "The pair lays its eggs this minute. Watch what becomes of its neighbours.",
                spawn,
            )
            Large(
                "Add a hiding place",
                "A second tank beside this one, with one more hiding place for the smaller fish.",
                vary("hiding", "build", "One more hiding place. Drag it where you want it."),
            )
            Large(
                "Make it six feet",
                "A second tank beside this one: the same fish, the same pieces, spread out.",
                vary("longer", "watch", "The same fish in a longer tank. Both are open above."),
            )
        if refused:
            tag("p", refused, attributes={"role": "alert"})
        if waiting and recorded:
            tag("p", RECORDED, classes="hw-note", attributes={"role": "status"})
        with Layer("div", classes="hw-row"):
            Button("Just watch", session.greeted, kind="quiet")
        tag("h2", "Who lives here")
        with Layer("ul", classes="hw-introduced"):
            for one in introductions(tank.scenario, tank.checked.layout):
                with Layer("li"):
                    tag("span", one.numbers, classes="hw-number")
                    tag("span", one.name, classes="hw-name")
                    tag("span", one.words, classes="hw-state")


@solara.component
def Large(label: str, words: str, press: Callable[[], None]) -> None:
    """A large choice: what is done, and what comes of it.

    Parameters
    ----------
    label, words
        What stands on it.
    press
        Called when it is pressed.
    """
    with Layer("div", classes="hw-choice-large"):
        Button(label, press, kind="main")
        tag("p", words)


def open_variant(session: Session, key: str) -> None:
    """Open a second tank that differs in one thing.

    Parameters
    ----------
    session
        The session of the page.
    key
        Of one of `viz.app.editing.variants.one_things`.

    Raises
    ------
    Refused
        If this tank does not allow it, or there are too many open.
    """
    from sim.errors import Problem
    from viz.app.editing.variants import one_things

    found = next((one for one in one_things(session.tank.scenario) if one.key == key), None)
    if found is None:
        raise Refused(Problem("", "There is no room for that in this tank. Build can make some."))
    session.add_variant(found.scenario, name=found.scenario.title)
