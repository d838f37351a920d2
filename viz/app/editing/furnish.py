"""Furnish: pieces put in, moved, turned, made larger, named and taken out."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sim.errors import Problem, Refused
from sim.fields import shown
from sim.formats import INCH_M
from sim.pieces import Kind, Size, find_kind, find_size, place_piece
from sim.placing import TOUCH_M
from sim.scenario import MOST_PIECES, Piece, Scenario
from viz.app.editing.changing import free_name, named, rebuilt, remade, replaced
from viz.app.editing.mentions import pieces_followed

STEP_M = INCH_M / 4.0  # what a drag snaps to: a quarter of an inch
TURN_STEP_RAD = math.radians(15.0)


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a piece stands: its middle from the front left corner, m, and its turn, rad."""

    x_m: float
    y_m: float
    turn_rad: float


def snapped(length_m: float) -> float:
    """Return a place on the quarter inch, m.

    Parameters
    ----------
    length_m
        From the glass.
    """
    return round(round(length_m / STEP_M) * STEP_M, 9)


def move_piece(
    scenario: Scenario,
    name: str,
    *,
    x_m: float,
    y_m: float,
    turn_rad: float | None = None,
) -> Scenario:
    """Return a tank with a piece in another place.

    Parameters
    ----------
    scenario
        The tank.
    name
        Of the piece.
    x_m, y_m
        New place of its middle, m; put inside the glass where the middle would be outside.
    turn_rad
        How it is turned then; None for as it was.

    Raises
    ------
    Refused
        If there is no such piece.
    """
    index = named(scenario.pieces, name, what="piece")
    tank, piece = scenario.tank, scenario.pieces[index]
    spot = {
        "x_m": min(max(x_m, 0.0), tank.length_m),
        "y_m": min(max(y_m, 0.0), tank.width_m),
        "turn_rad": piece.turn_rad if turn_rad is None else _plain_turn(turn_rad),
    }
    return rebuilt(scenario, pieces=replaced(scenario.pieces, index, remade(piece, **spot)))


def _plain_turn(turn_rad: float) -> float:
    """A turn from just above -180 degrees up to 180, so that turning on and on stays readable."""
    return round(math.pi - (math.pi - turn_rad) % (2.0 * math.pi), 12)


def turn_piece(scenario: Scenario, name: str, *, by_rad: float) -> Scenario:
    """Return a tank with a piece turned on its place.

    Parameters
    ----------
    scenario
        The tank.
    name
        Of the piece.
    by_rad
        Counter-clockwise seen from above.

    Raises
    ------
    Refused
        If there is no such piece.
    """
    piece = scenario.pieces[named(scenario.pieces, name, what="piece")]
    turn = piece.turn_rad + by_rad
    return move_piece(scenario, name, x_m=piece.x_m, y_m=piece.y_m, turn_rad=turn)


def size_piece(scenario: Scenario, name: str, *, size: str) -> Scenario:
    """Return a tank with a piece in another size of the catalogue; what was cut to measure goes.

    Parameters
    ----------
    scenario
        The tank.
    name
        Of the piece.
    size
        For example `"8 in"`.

    Raises
    ------
    Refused
        If there is no such piece, or its kind has no such size.
    """
    index = named(scenario.pieces, name, what="piece")
    piece = scenario.pieces[index]
    found = find_size(size, kind=find_kind(piece.kind), where="")
    own = dict.fromkeys(("length_m", "width_m", "height_m", "shape", "outline"))
    update = {**own, "size": found.name, "doors": piece.doors if is_divider(piece) else ()}
    return rebuilt(scenario, pieces=replaced(scenario.pieces, index, remade(piece, **update)))


def is_divider(piece: Piece) -> bool:
    """Return whether a piece is a sheet that parts the tank.

    Parameters
    ----------
    piece
        Of a scenario.
    """
    return find_kind(piece.kind).group == "divider"


def add_piece(
    scenario: Scenario, *, kind: str, size: str, x_m: float | None = None, y_m: float | None = None
) -> tuple[Scenario, str]:
    """Return a tank with one more piece, and what it is called.

    A divider is cut to the width of the tank and set across it.

    Parameters
    ----------
    scenario
        The tank.
    kind, size
        Of the catalogue.
    x_m, y_m
        Where its middle is to be, m; None for the free place nearest to the middle of the floor.

    Raises
    ------
    Refused
        If the catalogue has no such piece, or there is no room for it.
    """
    if len(scenario.pieces) >= MOST_PIECES:
        raise Refused(
            Problem("", f"got {MOST_PIECES} pieces already; expected no more. Take one out.")
        )
    sort = find_kind(kind, where="")
    made = _made(scenario, sort, find_size(size, kind=sort, where=""))
    if x_m is not None and y_m is not None:
        spots = [(x_m, scenario.tank.width_m / 2 if sort.group == "divider" else y_m)]
    else:
        spots = _spots(scenario, made)
    for x, y in spots:
        piece = remade(made, x_m=_inside(x, scenario.tank.length_m), y_m=_inside(y, 20.0))
        found = rebuilt(scenario, pieces=(*scenario.pieces, piece))
        if x_m is not None or _stands_free(found):
            return found, piece.name
    raise Refused(
        Problem(
            "",
            f"there is no free floor for {shown(made.name)}; expected some. Take a piece out, or "
            "choose a smaller one.",
        )
    )


def _inside(value_m: float, most_m: float) -> float:
    return min(max(value_m, 0.0), most_m)


def _made(scenario: Scenario, sort: Kind, size: Size) -> Piece:
    """A piece of the catalogue with a name of its own, in the middle of the floor."""
    tank = scenario.tank
    taken = [piece.name for piece in scenario.pieces]
    values = {
        "name": free_name(f"{size.name} {sort.key.replace('-', ' ')}", taken),
        "kind": sort.key.replace("-", " "),
        "size": size.name,
        "x_m": tank.length_m / 2,
        "y_m": tank.width_m / 2,
    }
    if sort.group == "divider":
        values |= {"turn_rad": math.pi / 2, "length_m": tank.width_m}
    return Piece.model_validate(values)


def _spots(scenario: Scenario, piece: Piece) -> list[tuple[float, float]]:
    """Places to try, those nearest to the middle of the floor first."""
    tank = scenario.tank
    middle = (tank.length_m / 2, tank.width_m / 2)
    if is_divider(piece):
        rows = [middle[1]]
    else:
        rows = [k * STEP_M * 4 for k in range(1, int(tank.width_m / (STEP_M * 4)))]
    columns = [k * STEP_M * 4 for k in range(1, int(tank.length_m / (STEP_M * 4)))]
    spots = [(x, y) for x in columns for y in rows]
    return sorted(spots, key=lambda spot: (spot[0] - middle[0]) ** 2 + (spot[1] - middle[1]) ** 2)


def _stands_free(scenario: Scenario) -> bool:
    """Whether the last piece stands inside the glass, in the way of none, with its doors open."""
    from shapely.geometry import box

    from sim.layout import Layout

    placed = [place_piece(p, tank_height_m=scenario.tank.height_m) for p in scenario.pieces]
    new, others = placed[-1], placed[:-1]
    glass = box(0.0, 0.0, scenario.tank.length_m, scenario.tank.width_m)
    outline = new.outline.buffer(-TOUCH_M)
    if not glass.covers(outline) or any(outline.intersects(other.outline) for other in others):
        return False
    if not (new.doors or any(other.doors for other in others)):
        return True
    shut = {door.piece for door in Layout(scenario).blocked_doors}
    before = {door.piece for door in Layout(_but_last(scenario)).blocked_doors}
    return shut <= before


def _but_last(scenario: Scenario) -> Scenario:
    return scenario.model_copy(update={"pieces": scenario.pieces[:-1], "events": ()})


def remove_piece(scenario: Scenario, name: str) -> Scenario:
    """Return a tank without a piece, nor what spoke of it: events, an owner, a nest.

    Parameters
    ----------
    scenario
        The tank.
    name
        Of the piece.

    Raises
    ------
    Refused
        If there is no such piece.
    """
    index = named(scenario.pieces, name, what="piece")
    gone = scenario.pieces[index].name.lower()
    left = rebuilt(scenario, pieces=scenario.pieces[:index] + scenario.pieces[index + 1 :])
    return pieces_followed(left, lambda other: None if other.lower() == gone else other)


def rename_piece(scenario: Scenario, name: str, *, new: str) -> Scenario:
    """Return a tank in which a piece, and all that speaks of it, has another name.

    Parameters
    ----------
    scenario
        The tank.
    name, new
        Before and after.

    Raises
    ------
    Refused
        If there is no such piece, or another has that name.
    """
    index = named(scenario.pieces, name, what="piece")
    piece = remade(scenario.pieces[index], name=new)
    others = [p.name.lower() for k, p in enumerate(scenario.pieces) if k != index]
    if piece.name.lower() in others:
        raise Refused(
            Problem(
                "",
                f"got {shown(piece.name)}, which another piece is called; expected "
                "every name once. Choose another.",
            )
        )
    old = scenario.pieces[index].name.lower()
    found = rebuilt(scenario, pieces=replaced(scenario.pieces, index, piece))
    return pieces_followed(found, lambda other: piece.name if other.lower() == old else other)
