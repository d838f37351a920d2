"""The drawer of pieces, and the piece under the hand."""

from __future__ import annotations

import math

import solara

from sim.pieces import find_kind
from sim.scenario import Piece, Scenario
from sim.units import format_length, parse_angle, parse_length
from viz.app.building.bench import Bench, Picked
from viz.app.building.hands import cap, put_in, take_out
from viz.app.building.parts import Input, Messages
from viz.app.editing.drawer import Offered, room_words, shelves
from viz.app.editing.furnish import (
    TURN_STEP_RAD,
    is_divider,
    move_piece,
    rename_piece,
    size_piece,
    turn_piece,
)
from viz.app.elements import Button, Layer, tag


@solara.component
def PiecesDrawer(bench: Bench, now: object) -> None:
    """Every piece of the catalogue in sizes keepers know; pressed or dragged onto the floor.

    Parameters
    ----------
    bench
        What is worked on.
    now
        `Bench.now`, so that it is rendered again when that has changed.
    """
    found = solara.use_memo(lambda: shelves(bench.scenario), [id(bench.scenario)])
    open_shelf, set_open = solara.use_state(found[0].title)
    tag("p", "Press a piece to put it in, or drag it onto the floor.", classes="hw-field-hint")
    for shelf in found:
        is_open = shelf.title == open_shelf

        def turn(title: str = shelf.title, was_open: bool = is_open) -> None:
            set_open("" if was_open else title)

        with Layer("div", classes="hw-shelf"):
            Button(
                shelf.title,
                turn,
                kind="shelf",
                attributes={"aria-expanded": "true" if is_open else "false"},
            )
            if is_open:
                with Layer("div", classes="hw-offers"):
                    for piece in shelf.pieces:
                        Offer(bench, piece)


def Offer(bench: Bench, piece: Offered) -> None:
    """One piece in one size.

    Parameters
    ----------
    bench
        What is worked on.
    piece
        As it lies in the drawer.
    """
    with Layer("div", classes="hw-offer"):
        Outline(piece)
        Button(
            piece.title,
            lambda: put_in(bench, kind=piece.kind, size=piece.size),
            kind="offer-name",
            hint="Put it in",
            attributes={
                "data-hw-piece": f"{piece.kind}|{piece.size}",
                "data-hw-title": piece.title,
            },
        )
        tag("p", piece.measures, classes="hw-measures")
        if piece.doors:
            tag("p", cap(piece.doors) + ".", classes="hw-measures")
            tag("p", piece.fits, classes="hw-fits")


def Outline(piece: Offered) -> None:
    """A piece seen from above, all of them to one scale as far as they fit.

    Parameters
    ----------
    piece
        As it lies in the drawer.
    """
    half = max(0.17, *(abs(side) for corner in piece.outline for side in corner)) + 0.01

    def path(points: tuple[tuple[float, float], ...], end: str) -> str:
        return "M" + "L".join(f"{x:.4f} {-y:.4f}" for x, y in points) + end

    shapes = [tag("path", attributes={"d": path(piece.outline, "Z")})]
    shapes += [
        tag("path", classes="hw-way-in", attributes={"d": path(ends, "")}) for ends in piece.ways_in
    ]
    box = f"{-half:.3f} {-half:.3f} {2 * half:.3f} {2 * half:.3f}"
    tag("svg", *shapes, classes="hw-outline", attributes={"viewBox": box, "aria-hidden": "true"})


def PickedPiece(bench: Bench, piece: Piece) -> None:
    """The piece under the hand: its name, size, place and turn, and who fits in it.

    Parameters
    ----------
    bench
        What is worked on.
    piece
        Which.
    """
    name = piece.name
    kind = find_kind(piece.kind)
    with Layer("div", classes="hw-picked", role="group", name=f"Picked: {name}"):
        tag("h2", name)
        tag("p", what_it_is(piece), classes="hw-measures")
        Messages(m for m in bench.messages if (m.about, m.name) == ("piece", name))
        checked = bench.tank.checked
        if checked is not None:
            for room in checked.layout.rooms:
                if room.name == name:
                    tag("p", room_words(bench.scenario, room), classes="hw-fits")
        with Layer("div", classes="hw-form"):
            Input(
                bench,
                "Name",
                name,
                lambda scenario, text: rename_piece(scenario, name, new=text),
                did=f"{name} named anew",
            )
            if not is_divider(piece):
                sizes = [(size.name, size.name) for size in kind.sizes]
                own = [] if piece.size is not None else [("", "its own")]
                Input(
                    bench,
                    "Size",
                    piece.size or "",
                    lambda scenario, text: size_piece(scenario, name, size=text),
                    did=f"{name} in another size",
                    options=[*own, *sizes],
                )
            Input(
                bench,
                "From the left",
                format_length(piece.x_m),
                lambda scenario, text: placed(scenario, name, x=text),
                did=f"{name} moved",
            )
            Input(
                bench,
                "From the front",
                format_length(piece.y_m),
                lambda scenario, text: placed(scenario, name, y=text),
                did=f"{name} moved",
            )
            Input(
                bench,
                "Turned",
                f"{math.degrees(piece.turn_rad):.4g} deg",
                lambda scenario, text: placed(scenario, name, turn=text),
                did=f"{name} turned",
            )
        about = Picked("piece", name)
        with Layer("div", classes="hw-row"):
            for words, sign in (("Turn left", 1.0), ("Turn right", -1.0)):

                def turn(by: float = sign * TURN_STEP_RAD) -> None:
                    bench.do(
                        lambda scenario: turn_piece(scenario, name, by_rad=by),
                        did=f"{name} turned",
                        about=about,
                        joins=f"turn {name}",
                        by_hand=True,
                    )

                Button(words, turn)
            Button("Take it out", lambda: take_out(bench, about))
            Button("Let go", lambda: bench.pick(None), kind="quiet")
        tag(
            "p",
            "On the floor: arrow keys move it, r turns it, Delete takes it out.",
            classes="hw-field-hint",
        )
        refusal = bench.refusal
        if refusal is not None and refusal.about == about:
            tag("p", refusal.words, classes="hw-field-error", attributes={"role": "alert"})


def what_it_is(piece: Piece) -> str:
    """Return what a piece is: "Flower pot on its side, 6 in".

    Parameters
    ----------
    piece
        Of a scenario.
    """
    title = find_kind(piece.kind).title
    return f"{title}, {piece.size}" if piece.size and not is_divider(piece) else title


def placed(scenario: Scenario, name: str, *, x: str = "", y: str = "", turn: str = "") -> Scenario:
    """Return a tank with a piece where it was typed to be.

    Parameters
    ----------
    scenario
        The tank.
    name
        Of the piece.
    x, y, turn
        Text with a unit; empty for as it is.

    Raises
    ------
    Refused
        If it is no length, or no angle.
    """
    from sim.errors import Problem, Refused
    from sim.units import UnitError

    piece = next(p for p in scenario.pieces if p.name == name)
    try:
        return move_piece(
            scenario,
            name,
            x_m=parse_length(x) if x else piece.x_m,
            y_m=parse_length(y) if y else piece.y_m,
            turn_rad=parse_angle(turn) if turn else None,
        )
    except UnitError as error:
        raise Refused(Problem("", str(error))) from None
