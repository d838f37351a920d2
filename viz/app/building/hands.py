"""Hands: what the workbench in the browser says is done, taken as it comes and done on the bench.

Whatever comes is checked first: a message of another shape, or with a number that is none, does
nothing. What is refused is answered with the sentence, and goes back where it was.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from sim.errors import Problem, Refused
from sim.scenario import Scenario
from sim.units import format_length
from viz.app.building.bench import Bench, Picked
from viz.app.editing.furnish import (
    add_piece,
    move_piece,
    remove_piece,
    snapped,
)
from viz.app.editing.stock import group_of, put_fish, remove_fish

MOST_M = 21.0  # no tank is longer, and nothing is dropped farther away
LONGEST = 200  # letters of a name

Send = Callable[[dict[str, Any]], None]


class Hands:
    """The hands of one browser on a bench.

    Parameters
    ----------
    bench
        What they work on.
    """

    def __init__(self, bench: Bench) -> None:
        self.bench = bench

    def hear(self, message: object, send: Send) -> None:
        """Do what a message asks.

        Parameters
        ----------
        message
            As it came from the browser.
        send
            Answers it.
        """
        if not isinstance(message, Mapping):
            return
        kind = message.get("kind")
        does = {
            "pick": self._pick,
            "try": self._try,
            "drop": self._drop,
            "put": self._put,
            "remove": self._remove,
            "look": self._look,
            "undo": self._undo,
            "redo": self._redo,
        }.get(kind if isinstance(kind, str) else "")
        if does is not None:
            with self.bench.session.together:
                does(message, send)

    def _pick(self, message: Mapping[str, Any], send: Send) -> None:
        self.bench.pick(_thing(message))

    def _try(self, message: Mapping[str, Any], send: Send) -> None:
        move = self._move(message)
        number = _whole(message.get("n"))
        if move is not None and number is not None:
            problems = self.bench.would_refuse(move[0])
            send({"kind": "tried", "n": number, "sentence": _said(problems)})

    def _drop(self, message: Mapping[str, Any], send: Send) -> None:
        move = self._move(message)
        number = _whole(message.get("n"))
        if move is None or number is None:
            return
        edit, about = move
        problems = self.bench.would_refuse(edit)
        # Answered before it is done: the page takes longer to draw anew than to know.
        said = f"Not there: {problems[0].sentence} It is back where it was." if problems else ""
        send({"kind": "answer", "n": number, "ok": not problems, "sentence": said})
        if problems:
            self.bench.refuse(problems, about)
            self.bench.session.say(said)
            return
        before = self.bench.scenario
        joins = f"{about.what} {about.name}" if message.get("keys") is True else ""
        self.bench.do(edit, did=f"{about.name} moved", about=about, joins=joins)
        if self.bench.scenario != before:
            self.bench.session.say(where_words(self.bench.scenario, about))

    def _move(
        self, message: Mapping[str, Any]
    ) -> tuple[Callable[[Scenario], Scenario], Picked] | None:
        """The edit a drop asks for, and what it is about; None if it makes no sense."""
        thing = _thing(message)
        x_m, y_m = _number(message.get("x")), _number(message.get("y"))
        if thing is None or x_m is None or y_m is None:
            return None
        if thing.what == "fish":
            try:
                name = group_of(self.bench.scenario, thing.name).name
            except Refused:
                return None
            spot = (snapped(x_m), snapped(y_m))
            return lambda s: put_fish(s, name, x_m=spot[0], y_m=spot[1]), Picked("fish", name)
        if thing.what != "piece":
            return None
        found = [p for p in self.bench.scenario.pieces if p.name == thing.name]
        turn = _number(message.get("turn"), most=1e3)
        if not found or turn is None:
            return None
        piece = found[0]
        turned = math.cos(turn - piece.turn_rad) < 1.0 - 1e-6
        same = math.hypot(x_m - piece.x_m, y_m - piece.y_m) < 1e-3
        at = (piece.x_m, piece.y_m) if same else (snapped(x_m), snapped(y_m))
        to = turn if turned else None
        return lambda s: move_piece(s, piece.name, x_m=at[0], y_m=at[1], turn_rad=to), thing

    def _put(self, message: Mapping[str, Any], send: Send) -> None:
        kind, size = message.get("piece"), message.get("size")
        x_m, y_m = _number(message.get("x")), _number(message.get("y"))
        if not (isinstance(kind, str) and isinstance(size, str)) or x_m is None or y_m is None:
            return
        put_in(
            self.bench, kind=kind[:LONGEST], size=size[:LONGEST], at=(snapped(x_m), snapped(y_m))
        )

    def _undo(self, message: Mapping[str, Any], send: Send) -> None:
        undo(self.bench)

    def _redo(self, message: Mapping[str, Any], send: Send) -> None:
        redo(self.bench)

    def _remove(self, message: Mapping[str, Any], send: Send) -> None:
        thing = _thing(message)
        if thing is not None:
            take_out(self.bench, thing)

    def _look(self, message: Mapping[str, Any], send: Send) -> None:
        x_m, y_m = _number(message.get("x")), _number(message.get("y"))
        if x_m is not None and y_m is not None:
            self.bench.looking.show(self.bench.looking.overlay, at=(x_m, y_m))


def put_in(bench: Bench, *, kind: str, size: str, at: tuple[float, float] | None = None) -> None:
    """Put a piece of the catalogue in, and say so.

    Parameters
    ----------
    bench
        What is worked on.
    kind, size
        Of the catalogue.
    at
        Where, m; None for a free place.
    """
    made: list[str] = []

    def edit(scenario: Scenario) -> Scenario:
        spot = {} if at is None else {"x_m": at[0], "y_m": at[1]}
        found, name = add_piece(scenario, kind=kind, size=size, **spot)
        made[:] = [name]
        return found

    done = bench.do(edit, did=f"{size} {kind.replace('-', ' ')} put in", by_hand=True)
    if done:
        bench.pick(Picked("piece", made[0]))
        bench.session.say(f"{cap(made[0])} is put in.")
    elif bench.refusal is not None:
        bench.session.say(bench.refusal.words)


def undo(bench: Bench) -> None:
    """Go back one step, and say which.

    Parameters
    ----------
    bench
        What is worked on.
    """
    did = bench.draft.undoes
    if did is not None:
        bench.undo()
        bench.session.say(f"Gone back: {did}.")


def redo(bench: Bench) -> None:
    """Do again what was gone back, and say which.

    Parameters
    ----------
    bench
        What is worked on.
    """
    did = bench.draft.redoes
    if did is not None:
        bench.redo()
        bench.session.say(f"Done again: {did}.")


def take_out(bench: Bench, thing: Picked) -> None:
    """Take a piece or a group of fish out, and say so.

    Parameters
    ----------
    bench
        What is worked on.
    thing
        What is taken out.
    """
    if thing.what not in ("piece", "fish"):
        return
    remove = remove_piece if thing.what == "piece" else remove_fish
    done = bench.do(lambda s: remove(s, thing.name), did=f"{thing.name} taken out")
    if done:
        bench.session.say(f"{cap(thing.name)} {'is' if thing.what == 'piece' else 'are'} out.")
    elif bench.refusal is not None:
        bench.session.say(bench.refusal.words)


def where_words(scenario: Scenario, thing: Picked) -> str:
    """Return where something stands now, in a sentence that is read out.

    Parameters
    ----------
    scenario
        The tank.
    thing
        A piece or a group of fish.
    """
    if thing.what == "piece":
        piece = next(p for p in scenario.pieces if p.name == thing.name)
        degrees = round(math.degrees(piece.turn_rad))
        turned = f", turned {degrees} degrees" if degrees else ""
        return (
            f"{cap(piece.name)}: {format_length(piece.x_m)} from the left, "
            f"{format_length(piece.y_m)} from the front{turned}."
        )
    group = group_of(scenario, thing.name)
    if group.joins_place is None:
        return f"{cap(group.name)}: put in anywhere."
    x_m, y_m = group.joins_place
    whole = "" if group.count == 1 else f", all {group.count}"
    return (
        f"{cap(group.name)}{whole}: put in {format_length(x_m)} from the left, "
        f"{format_length(y_m)} from the front."
    )


def cap(words: str) -> str:
    """Return words with a capital."""
    return words[:1].upper() + words[1:]


def _said(problems: tuple[Problem, ...]) -> str:
    return cap(problems[0].sentence) if problems else ""


def _thing(message: Mapping[str, Any]) -> Picked | None:
    what, name = message.get("what"), message.get("name")
    if not isinstance(what, str) or not isinstance(name, str) or not what or len(name) > LONGEST:
        return None
    return Picked(what, name)


def _number(value: object, *, most: float = MOST_M) -> float | None:
    """A finite number, held within bounds; None for anything else."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    number = float(value) if abs(value) < 1e15 else math.nan
    return min(max(number, -most), most) if math.isfinite(number) else None


def _whole(value: object) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) else None
