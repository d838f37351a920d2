"""Toolbar: back, again, what lies over the floor, and which drawer is open."""

from __future__ import annotations

from viz.app.building.bench import DRAWERS, Bench
from viz.app.building.hands import redo, undo
from viz.app.building.looking import OVERLAYS
from viz.app.elements import Button, Choice, Layer, tag


def Toolbar(bench: Bench) -> None:
    """Back and again, the overlays, and the drawers.

    Parameters
    ----------
    bench
        What is worked on.
    """
    draft, looking = bench.draft, bench.looking
    back, again = draft.undoes, draft.redoes
    with Layer("div", classes="hw-row hw-bench-tools"):
        Button(
            "Undo",
            lambda: undo(bench),
            disabled=back is None,
            hint=f"{back} (Ctrl Z)" if back else "Nothing to go back to",
        )
        Button(
            "Redo",
            lambda: redo(bench),
            disabled=again is None,
            hint=f"{again} (Ctrl Shift Z)" if again else "Nothing was gone back",
        )
        Choice(
            "Show",
            [(key, words) for key, words in OVERLAYS],
            looking.overlay,
            lambda key: looking.show(next(k for k, _ in OVERLAYS if k == key)),
        )
    shown = looking.shown
    if shown.words:
        hint = (
            " Press another place of the floor to look from there."
            if shown.overlay in ("sight", "swim") and shown.at is not None
            else ""
        )
        tag("p", shown.words + hint, classes="hw-over-words", attributes={"role": "status"})
    with Layer("div", classes="hw-drawers"):
        Choice("Drawers", DRAWERS, bench.drawer, bench.open_drawer, show_label=False)
