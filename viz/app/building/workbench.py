"""Workbench: the floor under one's hands, drawn and moved in the browser, decided in Python."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import anywidget
import solara
import traitlets

from viz.app.building.bench import bench_of
from viz.app.building.hands import Hands
from viz.app.building.parts import use_bench
from viz.app.building.scene import scene_of
from viz.app.session import Session


def _source(*names: str) -> str:
    folder = files("viz.app.building")
    return "\n".join(folder.joinpath(name).read_text("utf-8") for name in names)


class WorkbenchWidget(anywidget.AnyWidget):
    """The half in Python of ``draw.js`` and ``hands.js``."""

    _esm = _source("draw.js", "hands.js")
    _css = _source("workbench.css", "building.css")
    scene = traitlets.Dict().tag(sync=True)
    heard = traitlets.Any(None, allow_none=True)

    def __init__(self, **values: Any) -> None:
        super().__init__(**values)
        self.on_msg(self._take)

    def _take(self, _widget: object, content: object, _buffers: object) -> None:
        if self.heard is not None:
            self.heard(content, self.send)


@solara.component
def Workbench(session: Session) -> None:
    """The tank from above, with its pieces and fish to be moved.

    Parameters
    ----------
    session
        The session of the page.
    """
    bench = bench_of(session)
    use_bench(bench)
    hands = solara.use_memo(lambda: Hands(bench), [bench])
    WorkbenchWidget.element(scene=scene_of(bench), heard=hands.hear)
