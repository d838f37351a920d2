"""The floor with the injuries on it, in the place of the living tank."""

from __future__ import annotations

from collections.abc import Callable
from importlib.resources import files
from typing import Any

import anywidget
import solara
import traitlets

from viz.app.floor.scene import scene_of
from viz.app.floor.widget import Floor
from viz.app.session import Session
from viz.app.using import use_session
from viz.app.why.asking import why_of
from viz.app.why.reasoning import AS_IT_IS, Reasoning, WhyNow
from viz.hurt_spots import Spot, hurt_where_words, worst_spots
from viz.phrases import hundredths, rounded
from viz.why_words import without


def _source(folder: str, *names: str) -> str:
    return "\n".join(files(folder).joinpath(name).read_text("utf-8") for name in names)


class HurtWidget(anywidget.AnyWidget):
    """The half in Python of ``hurt.js``."""

    _esm = "\n".join((_source("viz.app.building", "draw.js"), _source("viz.app.why", "hurt.js")))
    _css = "\n".join(
        (_source("viz.app.building", "workbench.css"), _source("viz.app.why", "hurt.css"))
    )
    scene = traitlets.Dict().tag(sync=True)
    spots: Any = traitlets.List().tag(sync=True)
    most = traitlets.Float(1.0).tag(sync=True)
    block = traitlets.Float(0.1).tag(sync=True)
    label = traitlets.Unicode("").tag(sync=True)
    gentle = traitlets.Bool(False).tag(sync=True)


@solara.component
def HurtFloor(session: Session) -> None:
    """Where on the floor they are hurt; the living tank as long as nothing is known of that.

    Parameters
    ----------
    session
        The session of the page.
    """
    why, now, place = why_of(session)
    if why is None or now is None or place is None or not now.spots:
        Floor(session)
        return
    Hurt(session, why, now, place)


@solara.component
def Hurt(session: Session, why: Reasoning, now: WhyNow, place: int) -> None:
    """The floor of one tank with the discs on it.

    Parameters
    ----------
    session
        The session of the page.
    why, now, place
        What is known, and the place of the tank in it.
    """
    gentle = use_session(session, lambda session: session.look.gentle)
    design, spots = why.designs[place], now.spots[place][now.shown[place]]
    scene = solara.use_memo(lambda: scene_of(design.scenario, design.layout), [why, place])
    found = solara.use_memo(lambda: worst_spots(spots, layout=design.layout), [spots])
    words = floor_words(now, place, why)

    def say() -> Callable[[], None]:
        session.say(words)

        def leave() -> None:
            if session.sentence == words:
                session.say("")

        return leave

    solara.use_effect(say, [words])
    HurtWidget.element(
        scene=scene,
        spots=[
            {"x": one.x, "y": one.y, "dose": one.dose, "words": spot_words(one)} for one in found
        ],
        most=now.most or 1.0,
        block=spots.block_m,
        label=f"{design.name} from above. {words}",
        gentle=gentle,
    )


def floor_words(now: WhyNow, place: int, why: Reasoning) -> str:
    """Return where on the floor they are hurt, of what lies on it.

    Parameters
    ----------
    now, place, why
        What is known, of which tank.
    """
    key = now.shown[place]
    words = hurt_where_words(now.spots[place][key], layout=why.designs[place].layout)
    if key == AS_IT_IS:
        return words
    start = without(key)
    return f"{start[:1].upper()}{start[1:]}: {words[:1].lower()}{words[1:]}"


def spot_words(spot: Spot) -> str:
    """Return the injury of one block and its place."""
    return (
        f"{spot.place}: {rounded(spot.dose)} injury a run, {hundredths(spot.share)} % of all of it"
    )
