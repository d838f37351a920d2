"""Build: everything is done to the tank, on the tank.

The floor is the workbench; the left column holds what is in hand and lists the fish, the middle has
the drawers, the right says what `check` says and the rough odds.
"""

from __future__ import annotations

import solara

from viz.app.building.bench import Bench, bench_of
from viz.app.building.counts_drawer import CountsDrawer
from viz.app.building.days_drawer import DaysDrawer
from viz.app.building.files_drawer import FilesDrawer
from viz.app.building.fish_drawer import FishDrawer, Groups, PickedFish
from viz.app.building.parts import use_bench
from viz.app.building.pieces_drawer import PickedPiece, PiecesDrawer
from viz.app.building.tank_drawer import TankDrawer
from viz.app.building.toolbar import Toolbar
from viz.app.building.variant_drawer import VariantDrawer
from viz.app.elements import Layer
from viz.app.layouts.panel import LayoutDrawer
from viz.app.session import Session


@solara.component
def Build(session: Session) -> None:
    """The middle column of Build.

    Parameters
    ----------
    session
        The session of the page.
    """
    bench = bench_of(session)
    use_bench(bench)
    Toolbar(bench)
    now = bench.now
    with Layer("div", classes="hw-drawer"):
        match bench.drawer:
            case "fish":
                FishDrawer(bench, now)
            case "tank":
                TankDrawer(bench, now)
            case "days":
                DaysDrawer(bench)
            case "variant":
                VariantDrawer(bench)
            case "layout":
                LayoutDrawer(bench)
            case "counts":
                CountsDrawer(bench)
            case "files":
                FilesDrawer(bench)
            case _:
                PiecesDrawer(bench, now)


def Hand(bench: Bench) -> None:
    """What is under the hand.

    Parameters
    ----------
    bench
        What is worked on.
    """
    picked = bench.picked
    if picked is None:
        return
    for piece in bench.scenario.pieces:
        if (picked.what, picked.name) == ("piece", piece.name):
            PickedPiece(bench, piece)
            return
    for group in bench.scenario.fish:
        if (picked.what, picked.name) == ("fish", group.name):
            PickedFish(bench, group)
            return


@solara.component
def BuildCompany(session: Session) -> None:
    """The left column of Build.

    Parameters
    ----------
    session
        The session of the page.
    """
    bench = bench_of(session)
    use_bench(bench)
    Hand(bench)
    Groups(bench)
