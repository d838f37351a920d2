"""Hands on the tank while it runs: what can be done now, and what was in the way of it."""

from __future__ import annotations

import math
from typing import Any

import solara

from sim.scenario import Piece
from viz.app.elements import Button, Layer, tag
from viz.app.live import Hand, LiveTank
from viz.app.moment import Moment
from viz.app.session import Session

SHEET_M = 0.006  # thickness of a divider
STEP_M = 0.05  # a stone is moved by this much
OUT = ("moved out", "taken out")
STEPS = (
    ("left", -STEP_M, 0.0),
    ("right", STEP_M, 0.0),
    ("back", 0.0, STEP_M),
    ("front", 0.0, -STEP_M),
)


@solara.component
def HandsPanel(session: Session, live: LiveTank, moment: Moment) -> None:
    """Everything that can be done to the tank now.

    Parameters
    ----------
    session, live, moment
        The page, its tank, and how it stands.
    """
    more, set_more = solara.use_state(False)
    over = moment.finished
    with Layer("div", classes="hw-row hw-hands", name="Hands on the tank", role="group"):
        guarded = any(fish.doing.startswith("guards") for fish in moment.fish)
        Button(
            "They spawn now",
            lambda: live.do(Hand("spawn", {}, words="The pair spawns")),
            kind="main" if not guarded else "plain",
            hint="The pair spawns at this moment; watch its ground",
            disabled=over or guarded,
        )
        for side in ("left", "right"):

            def feed(side: str = side) -> None:
                live.do(Hand(f"feed {side}", {}, words=f"Food falls at the {side}"))

            Button(f"Feed {side}", feed, disabled=over)
        Button(
            "Fewer hands" if more else "More hands",
            lambda: set_more(not more),
            kind="quiet",
            attributes={"aria-expanded": "true" if more else "false"},
        )
        fish_button(live, moment)  # last, so that no other moves away from under the pointer
    if more:
        with Layer("div", classes="hw-row hw-hands", name="Further hands", role="group"):
            further(live, moment)
        Stones(live, moment)
    for words in moment.refused:
        tag("p", words, classes="hw-refused", attributes={"role": "alert"})


def fish_button(live: LiveTank, moment: Moment) -> None:
    """Move the picked fish out, or put it back."""
    if moment.picked is None:
        return
    fish = moment.fish[moment.picked.row]
    if fish.hurt == "dead" or fish.hurt == "not in yet":
        return
    if fish.hurt in OUT:

        def back() -> None:
            live.do(Hand("bring back", {"fish": (fish.name,)}, words=f"{fish.name} is put back"))

        Button(f"Put {fish.name} back", back)
        return

    def out() -> None:
        live.do(Hand("take out", {"fish": (fish.name,)}, words=f"{fish.name} is moved out"))

    Button(f"Move {fish.name} out", out)


def further(live: LiveTank, moment: Moment) -> None:
    """Light, water, divider, fry."""
    tank = live.played.scenario.tank
    hour = 24.0 * (moment.day % 1.0)
    off = tank.lights_on_h + tank.light_hours

    def dark() -> None:
        hours = max(hour - tank.lights_on_h, 0.0) + 0.02
        keys = {"lights_on_h": tank.lights_on_h, "light_hours": round(hours, 3)}
        live.do(Hand("lights", keys, words="The light goes off"))

    def light() -> None:
        keys = {"lights_on_h": tank.lights_on_h, "light_hours": tank.light_hours}
        live.do(Hand("lights", keys, words="The light keeps its hours again"))

    changed = any(event.do == "lights" for event in live.played.scenario.events)
    if changed:
        Button("Light as before", light)
    else:
        Button("Light off", dark, disabled=not tank.lights_on_h + 0.5 < hour < off)
    Button(
        "Change a quarter of the water",
        lambda: live.do(
            Hand("water change", {"share": 0.25}, words="A quarter of the water is changed")
        ),
    )
    Button(
        "Take the fry",
        lambda: live.do(Hand("take the fry", {}, words="The young are taken out")),
        disabled=not any(fish.doing.startswith("guards") for fish in moment.fish),
    )
    standing = [
        piece.name for piece in live.played.layout.stages[moment.stage].pieces if piece.is_divider
    ]
    if standing:
        name = standing[0]
        Button(
            "Take the divider out",
            lambda: live.do(Hand("divider out", {"divider": name}, words="The divider is lifted")),
        )
    else:
        for kind, words in (("divider", "opaque"), ("clear-divider", "clear")):

            def sheet(kind: str = kind, words: str = words) -> None:
                live.do(divider(live, kind, words))

            Button(f"Put in a divider ({words})", sheet)


def divider(live: LiveTank, kind: str, words: str) -> Hand:
    """Return the hand that puts a divider across the middle, or as near to it as it can stand.

    Parameters
    ----------
    live
        The tank.
    kind, words
        Of the catalogue, and how it is called.
    """
    scenario = live.played.scenario
    tank = scenario.tank
    x = free_across(live)
    name = f"divider {len(scenario.pieces) + 1}"
    sheet = Piece(
        name=name,
        kind=kind,
        length_m=tank.width_m,
        width_m=SHEET_M,
        x_m=x,
        y_m=0.5 * tank.width_m,
        turn_rad=0.5 * math.pi,
    )
    return Hand(
        "divider in", {"divider": name}, (sheet,), words=f"A divider ({words}) parts the tank"
    )


def free_across(live: LiveTank) -> float:
    """Return where, as near to the middle as can be, a sheet can stand across the tank, m."""
    import numpy as np
    from shapely import LineString

    layout = live.played.layout.stages[live.moment.stage if live.moment is not None else 0]
    middle = 0.5 * layout.length_m
    tries = sorted(np.linspace(0.15, 0.85, 71) * layout.length_m, key=lambda x: abs(x - middle))
    for x in tries:
        line = LineString([(x, 0.0), (x, layout.width_m)])
        if all(piece.outline.distance(line) > SHEET_M for piece in layout.pieces):
            return float(x)
    return middle


@solara.component
def Stones(live: LiveTank, moment: Moment) -> None:
    """Move one piece by a hand's breadth.

    Parameters
    ----------
    live, moment
        The tank, and how it stands.
    """
    pieces = [
        piece for piece in live.played.layout.stages[moment.stage].pieces if not piece.is_divider
    ]
    first = pieces[0].name if pieces else ""
    wanted, choose = solara.use_state(first)
    chosen = wanted if any(piece.name == wanted for piece in pieces) else first
    if not pieces:
        return
    with Layer("div", classes="hw-row", name="Move a piece", role="group"):
        for piece in pieces:

            def this(name: str = piece.name) -> None:
                choose(name)

            Button(piece.name, this, kind="option", pressed=piece.name == chosen)
    with Layer("div", classes="hw-row", name=f"Where to move {chosen}", role="group"):
        for words, dx, dy in STEPS:

            def move(words: str = words, dx: float = dx, dy: float = dy) -> None:
                shape = next((one for one in pieces if one.name == chosen), None)
                if shape is not None:
                    live.do(moved(shape, dx, dy, f"{chosen} is moved to the {words}"))

            Button(f"To the {words}", move)


def moved(shape: Any, dx: float, dy: float, words: str) -> Hand:
    """Return the hand that moves a placed piece by so much.

    Parameters
    ----------
    shape
        Of `sim.pieces.PlacedPiece`.
    dx, dy
        m.
    words
        What is said of it.
    """
    middle = shape.outline.centroid
    move = {"piece": shape.name, "x_m": float(middle.x) + dx, "y_m": float(middle.y) + dy}
    return Hand("re-arrange", {"moves": (move,)}, words=words)
