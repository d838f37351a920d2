"""Moving: which pieces and feeding spots may be put elsewhere, and why the others stay."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from sim.errors import Problem, Refused
from sim.fields import shown
from sim.furniture import named_pieces
from sim.layout import Layout
from sim.more_caves import GLASS_M
from sim.pieces import PlacedPiece, place_piece
from sim.scenario import Scenario

PIECES, CAVES, FEEDING = "pieces", "caves", "feeding"
TURN_STEP_DEG = 5
WHERE = "--move"


@dataclass(frozen=True, slots=True)
class Moving:
    """What may be put elsewhere.

    Parameters
    ----------
    pieces
        Rows of the scenario's pieces.
    spots
        Whether the feeding spots may.
    fixed
        Names of the pieces that stay, each with the reason.
    """

    pieces: tuple[int, ...]
    spots: bool
    fixed: tuple[tuple[str, str], ...]


def moving_of(scenario: Scenario, layout: Layout, asked: Iterable[str] = ()) -> Moving:
    """Return what may move in a tank.

    What can be put elsewhere and is not held already moves; what is held only where it is named.

    Parameters
    ----------
    scenario, layout
        Checked.
    asked
        ``"pieces"``, ``"caves"``, ``"feeding"`` or names of pieces; everything that can where
        none is given.

    Raises
    ------
    Refused
        If there is no such piece, one that is named cannot move, or nothing is left that may.
    """
    words = tuple(asked)
    stays, held = what_stays(scenario, layout)
    loose = [index for index in range(len(scenario.pieces)) if index not in stays | held]
    spots = bool(scenario.feeding and scenario.feeding.spots)
    wanted: set[int] = set()
    feeding = False
    problems = []
    names = {piece.name.lower(): index for index, piece in enumerate(scenario.pieces)}
    for word in words or (PIECES, *((FEEDING,) if spots else ())):
        plain = word.strip().lower()
        if plain in names:
            index = names[plain]
            if index in stays:
                sentence = (
                    f"got {shown(word)}, which stays: {stays[index]}; expected a loose piece."
                )
                problems.append(Problem(WHERE, sentence))
            wanted.add(index)
        elif plain == PIECES:
            wanted.update(loose)
        elif plain == CAVES:
            wanted.update(k for k in loose if place_of(scenario, layout, k).room is not None)
        elif plain == FEEDING:
            feeding = True
            if not spots:
                sentence = (
                    "got feeding, but the file gives no spots; expected [feeding] with spots."
                )
                problems.append(Problem(WHERE, sentence))
        else:
            offered = ", ".join([PIECES, CAVES, FEEDING, *(p.name for p in scenario.pieces)])
            problems.append(Problem(WHERE, f"got {shown(word)}; expected one of: {offered}."))
    kept = stays | {k: f"{reason}; name it if it may move too" for k, reason in held.items()}
    if not problems and not wanted and not feeding:
        why = "; ".join(f"{scenario.pieces[k].name} stays: {reason}" for k, reason in kept.items())
        sentence = (
            f"nothing in the tank may move{f' ({why})' if why else ''}; expected a loose piece, or "
            "feeding spots. Ask for another tank."
        )
        problems.append(Problem(WHERE, sentence))
    if problems:
        raise Refused(problems)
    fixed = tuple(
        (piece.name, kept.get(index, "not asked to move"))
        for index, piece in enumerate(scenario.pieces)
        if index not in wanted
    )
    return Moving(tuple(sorted(wanted)), feeding, fixed)


def what_stays(scenario: Scenario, layout: Layout) -> tuple[dict[int, str], dict[int, str]]:
    """Return the pieces that cannot be put elsewhere, and those that stay unless they are named.

    Parameters
    ----------
    scenario, layout
        Checked.

    Returns
    -------
    dict, dict
        The reason of each, by the row of the piece.
    """
    rows = range(len(scenario.pieces))
    stays = {k: why for k in rows if (why := why_fixed(scenario, layout, k))}
    return stays, {k: why for k in rows if k not in stays and (why := why_held(scenario, k))}


def place_of(scenario: Scenario, layout: Layout, index: int) -> PlacedPiece:
    """Return a piece of a scenario in its place."""
    return place_piece(scenario.pieces[index], tank_height_m=layout.height_m)


def why_held(scenario: Scenario, index: int) -> str:
    """Return what fish have made of a piece by the file, so that it stays unless it is named.

    Parameters
    ----------
    scenario
        Checked.
    index
        Row of the piece.

    Returns
    -------
    str
        The reason; empty where the file says nothing of it.
    """
    name = scenario.pieces[index].name.lower()
    for group in scenario.fish:
        owns = group.established.owns if group.established is not None else None
        if isinstance(owns, str) and owns.lower() == name:
            return f"{group.name} holds it from the start"
    site = scenario.breeding.site
    if scenario.breeding.mode != "off" and isinstance(site, str) and site.lower() == name:
        return "the pair spawns there"
    return ""


def why_fixed(scenario: Scenario, layout: Layout, index: int) -> str:
    """Return why a piece cannot be put elsewhere; empty where it can.

    Parameters
    ----------
    scenario, layout
        Checked.
    index
        Row of the piece.
    """
    piece = scenario.pieces[index]
    placed = place_of(scenario, layout, index)
    if placed.is_divider:
        return "a divider parts the tank where it stands"
    if placed.kind.group == "equipment":
        return "equipment stands where its cords and pipes are"
    for event in scenario.events:
        moved = {move.piece.lower() for move in event.moves}
        if piece.name.lower() in named_pieces(event) | moved:
            return "an event of the file puts it in its place"
    room = (layout.length_m - 2 * GLASS_M, layout.width_m - 2 * GLASS_M)
    for step in range(0, 180, TURN_STEP_DEG):
        turned = piece.model_copy(update={"x_m": 0.0, "y_m": 0.0, "turn_rad": math.radians(step)})
        x0, y0, x1, y1 = place_piece(turned, tank_height_m=layout.height_m).outline.bounds
        if x1 - x0 <= room[0] and y1 - y0 <= room[1]:
            return ""
    return "it is too large to stand clear of the glass"
