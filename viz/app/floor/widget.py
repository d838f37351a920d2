"""The floor as a widget: what stands still, frames as bytes, and what is picked."""

from __future__ import annotations

from collections.abc import Callable
from importlib.resources import files
from typing import Any

import anywidget
import solara
import traitlets

from viz.app.floor.scene import scene_of, sight_rings
from viz.app.live import LiveTank
from viz.app.living import follow_tank
from viz.app.moment import Moment
from viz.app.motion import Frame
from viz.app.open_tank import OpenTank
from viz.app.recorded import play, recorded_for
from viz.app.session import Session
from viz.app.using import use_session

TERRITORIES, SIGHT, TRACKS, BITES = "territories", "sight", "tracks", "bites"
NOT_SHOWN = ("seriously hurt", "dead")  # by a gentle display, which says they were moved out


def _source(folder: str, *names: str) -> str:
    return "\n".join(files(folder).joinpath(name).read_text("utf-8") for name in names)


class FloorWidget(anywidget.AnyWidget):
    """The half in Python of ``floor.js``."""

    _esm = "\n".join(
        (
            _source("viz.app.building", "draw.js"),
            _source("viz.app.floor", "motion.js", "fish.js", "floor.js"),
        )
    )
    _css = "\n".join(
        (_source("viz.app.building", "workbench.css"), _source("viz.app.floor", "floor.css"))
    )
    scene = traitlets.Dict().tag(sync=True)
    ground: Any = traitlets.List().tag(sync=True)
    sight: Any = traitlets.List().tag(sync=True)
    bites: Any = traitlets.List().tag(sync=True)
    food: Any = traitlets.List().tag(sync=True)
    nests: Any = traitlets.List().tag(sync=True)
    options = traitlets.Dict().tag(sync=True)
    picked = traitlets.Int(-1).tag(sync=True)
    heard = traitlets.Any(None, allow_none=True)

    def __init__(self, **values: Any) -> None:
        super().__init__(**values)
        self.on_msg(self._take)

    def _take(self, _widget: object, content: object, _buffers: object) -> None:
        if self.heard is not None and isinstance(content, dict):
            self.heard(content, self)

    def send_frame(self, frame: Frame) -> None:
        """Send where the fish are now.

        Parameters
        ----------
        frame
            Of `viz.app.motion`.
        """
        self.send(
            {
                "what": "frame",
                "number": frame.number,
                "day": frame.day,
                "speed": frame.speed,
                "acts": frame.acts,
                "targets": frame.targets,
                "shown": frame.shown,
                "layers": frame.layers,
                "ends": frame.ends,
            },
            buffers=[frame.motion.tobytes()],
        )


class Listener:
    """Joins one widget to the tank that is living at the moment.

    Parameters
    ----------
    living
        Returns the tank that is living now, or None.
    """

    def __init__(self, living: Callable[[], LiveTank | None]) -> None:
        self.living = living
        self.widget: FloorWidget | None = None
        self._stop: Callable[[], None] | None = None

    def hear(self, content: dict[str, Any], widget: FloorWidget) -> None:
        """Take a message of the browser; one that makes no sense is as if it had not come."""
        live = self.living()
        match content.get("what"):
            case "ready":
                self.widget = widget
                self.join()
            case "alive" if live is not None:
                live.alive()
            case "pick" if live is not None:
                fish = content.get("fish")
                if isinstance(fish, int) and not isinstance(fish, bool) and -1 <= fish < 10_000:
                    live.pick(fish)

    def join(self) -> None:
        """Have the frames of the living tank sent to the widget."""
        live = self.living()
        self.leave()
        if live is not None and self.widget is not None:
            self._stop = live.on_frame(self.widget.send_frame)

    def send(self, frame: Frame) -> None:
        """Send a frame, if there is a widget that can take it."""
        if self.widget is not None:
            self.widget.send_frame(frame)

    def leave(self) -> None:
        """Have no more frames sent."""
        if self._stop is not None:
            self._stop()
            self._stop = None


@solara.component
def Floor(session: Session) -> None:
    """The living tank that is worked on.

    Parameters
    ----------
    session
        The session of the page.
    """
    follow_tank(session)
    tank = use_session(session, lambda session: session.tank)
    FloorOf(session, tank, lambda: session.live)


@solara.component
def FloorOf(
    session: Session,
    tank: OpenTank,
    living: Callable[[], LiveTank | None],
    *,
    measure: tuple[float, float] | None = None,
) -> None:
    """The floor of one living tank.

    Parameters
    ----------
    session
        The session of the page.
    tank
        Which tank.
    living
        Returns its run, or None before it lives; asked anew after every change of the session.
    measure
        Length and width, m, of what is to fit on a floor of the same size, so that two tanks are
        drawn to one scale; None for the tank itself.
    """
    live: LiveTank | None = use_session(session, lambda _: living())
    moment: Moment | None = use_session(session, lambda _: moment_in(living()))
    gentle = use_session(session, lambda session: session.look.gentle)
    shown = use_session(session, overlays_of)
    listener = solara.use_memo(lambda: Listener(living), [])

    def joined() -> Callable[[], None]:
        listener.join()
        return listener.leave

    solara.use_effect(joined, [live])
    waiting = moment is None and (live is None or live.fault is None)

    def recorded() -> Callable[[], None] | None:
        recording = recorded_for(tank.scenario) if waiting else None
        return None if recording is None else play(recording, listener.send)

    solara.use_effect(recorded, [waiting, tank.scenario])
    stage = moment.stage if moment is not None else 0
    checked = live.played if live is not None else tank.checked
    hands = moment.hands if moment is not None else 0

    def still() -> dict[str, Any]:
        if checked is None:
            return {}
        scene = scene_of(checked.scenario, checked.layout.stages[stage])
        return scene if measure is None else {**scene, "measure": list(measure)}

    scene = solara.use_memo(still, [id(checked and checked.layout), stage, hands, measure])
    picked = moment.picked if moment is not None else None

    def seen() -> list[Any]:
        if checked is None or picked is None or SIGHT not in shown or picked.at[0] < 0.0:
            return []
        return sight_rings(checked.layout.stages[stage], picked.at)

    looked_from = picked.at if picked is not None else None
    sight = solara.use_memo(seen, [looked_from, SIGHT in shown, id(checked), stage])
    FloorWidget.element(
        scene=scene,
        ground=[
            {"fish": list(one.fish), "home": list(one.home), "rings": [list(r) for r in one.rings]}
            for one in (moment.ground if moment is not None else ())
        ],
        sight=sight,
        bites=[list(at) for at in moment.bites] if moment is not None else [],
        food=[list(at) for at in moment.food] if moment is not None else [],
        nests=[
            [*one.at, one.stage, one.left] for one in (moment.nests if moment is not None else ())
        ],
        options={
            TERRITORIES: TERRITORIES in shown,
            SIGHT: SIGHT in shown,
            TRACKS: TRACKS in shown,
            BITES: BITES in shown and not gentle,
            "ragged": [
                i
                for i, fish in enumerate(moment.fish if moment is not None else ())
                if fish.hurt and not gentle
            ],
            "gentle": gentle,
            "gone": [
                i
                for i, fish in enumerate(moment.fish if moment is not None else ())
                if gentle and fish.hurt in NOT_SHOWN
            ],
        },
        picked=picked.row if picked is not None else -1,
        heard=listener.hear,
    )


def moment_in(live: LiveTank | None) -> Moment | None:
    """Return how a living tank stands; None where there is none, or its run has not begun."""
    return None if live is None else live.moment


def overlays_of(session: Session) -> frozenset[str]:
    """Return which overlays lie over the floor of a page."""
    found: frozenset[str] = session.overlays
    return found
