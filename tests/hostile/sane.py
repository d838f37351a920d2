"""What must hold of a run at every tick and every stride, whatever tank it is played in."""

from __future__ import annotations

from functools import cache

import numpy as np
import shapely

from sim.engine import History
from sim.layout import Layout
from sim.outcome import Outcome
from sim.rules.codes import AWAY, DEAD, IN_TANK, MOVED_OUT, NOT_YET

TOUCH_M = 1e-6  # a fish may swim along a side
# Who is in the tank may be taken out or die; who is dead stays dead.
GOES_TO = {
    NOT_YET: (NOT_YET, IN_TANK, DEAD),  # it may be put in and swallowed in one stride
    IN_TANK: (IN_TANK, DEAD, AWAY, MOVED_OUT),
    AWAY: (AWAY, IN_TANK, DEAD, MOVED_OUT),
    MOVED_OUT: (MOVED_OUT, IN_TANK, DEAD, AWAY),
    DEAD: (DEAD,),
}


class Watch:
    """Looks at a run after every stride.

    Parameters
    ----------
    history
        At its first moment.
    """

    def __init__(self, history: History) -> None:
        self.history = history
        self.stones = cache(self._stones)
        self.before = history.state.fish["presence"].copy()
        self.looks = 0
        self.look()

    def _stones(self, stage: int, layer: int) -> shapely.Geometry:
        """What nobody is inside of, outside a room, in a layer of a stage of the furniture."""
        layout: Layout = self.history.layout.stages[stage]
        outlines = [piece.outline.buffer(-TOUCH_M) for piece in layout.solid(layer)]
        whole = shapely.union_all(outlines)
        shapely.prepare(whole)
        return whole

    def look(self) -> None:
        """Raise where something does not hold."""
        self.looks += 1
        self._numbers()
        self._everybody_is_there()
        self._nobody_is_where_no_fish_can_be()

    def _numbers(self) -> None:
        state = self.history.state
        for name, array in zip(state._fields, state, strict=True):
            odd = np.isnan(floats_of(array))
            assert not odd.any(), f"{name} holds what is not a number"
        fish, tally = state.fish.view(np.ndarray), state.tally.view(np.ndarray)
        injury = fish["skin"] + fish["scales"]
        assert (fish["skin"] >= 0.0).all(), "injury below 0"
        assert (fish["scales"] >= 0.0).all(), "injury below 0"
        alive = fish["presence"] != DEAD
        assert (injury[alive] <= 1.0).all(), "injury above 1"
        assert ((tally["worst"] >= 0.0) & (tally["worst"] <= 1.0)).all(), "worst injury"
        for field in ("fear", "stamina", "cover", "boldness"):
            assert ((fish[field] >= 0.0) & (fish[field] <= 1.0)).all(), field

    def _everybody_is_there(self) -> None:
        state = self.history.state
        now = state.fish["presence"]
        assert len(now) == sum(group.count for group in self.history.scenario.fish)
        for before, after in zip(self.before.tolist(), now.tolist(), strict=True):
            assert after in GOES_TO[before], f"a fish went from {before} to {after}"
        self.before = now.copy()

    def _nobody_is_where_no_fish_can_be(self) -> None:
        state = self.history.state
        stage = int(state.tank.furniture[0])
        layout = self.history.layout.stages[stage]
        everyone = state.fish.view(np.ndarray)
        fish = everyone[everyone["presence"] == IN_TANK]
        x, y = fish["x"], fish["y"]
        inside = (x >= 0.0) & (x <= layout.length_m) & (y >= 0.0) & (y <= layout.width_m)
        assert inside.all(), f"outside the glass: {x[~inside]}, {y[~inside]}"
        for layer in range(3):
            here = (fish["layer"] == layer) & (fish["room"] < 0)
            stone = shapely.contains_xy(self.stones(stage, layer), x[here], y[here])
            assert not stone.any(), f"inside a stone at {x[here][stone]}, {y[here][stone]}"
        for one in fish[fish["room"] >= 0]:
            room = layout.rooms[int(one["room"])]
            piece = layout.pieces[room.piece].outline.buffer(TOUCH_M)
            assert shapely.contains_xy(piece, one["x"], one["y"]), "outside its hiding place"


def floats_of(array: np.ndarray) -> np.ndarray:
    """Return all floating numbers of an array or of the fields of its records, shape (n, k)."""
    plain = array.view(np.ndarray).reshape(-1)
    if len(plain) == 0:
        return np.empty((0, 1))
    if plain.dtype.names is None:
        return plain.reshape(-1, 1) if plain.dtype.kind == "f" else np.empty((0, 1))
    columns = _columns(plain.dtype)
    if columns is None:
        parts = [plain[name].reshape(len(plain), -1) for name in plain.dtype.names
                 if plain.dtype[name].base.kind == "f"]  # fmt: skip
        return np.hstack(parts) if parts else np.empty((0, 1))
    words = np.ascontiguousarray(plain).view(np.float64).reshape(len(plain), -1)
    return words[:, columns]


@cache
def _columns(dtype: np.dtype) -> list[int] | None:
    """Return which words of eight bytes are numbers, or None where a record is of other words."""
    kinds = [dtype[name] for name in dtype.names or ()]
    if any(kind.itemsize != 8 for kind in kinds) or dtype.itemsize % 8:
        return None
    return [dtype.fields[name][1] // 8 for name in dtype.names or () if dtype[name].kind == "f"]


def check_outcome(outcome: Outcome) -> None:
    """Raise where the rows of a run hold what cannot be.

    Parameters
    ----------
    outcome
        Of a run that has ended.
    """
    row = outcome.row[0]
    n = len(outcome.fish)
    for name in outcome.row.dtype.names or ():
        if name.endswith("_share") and name not in ("least_food_share",):  # of its need
            share = float(row[name])
            assert np.isnan(share) or -1e-9 <= share <= 1.0 + 1e-9, f"{name} is {share}"
    assert 0 <= int(row["deaths"]) <= n
    assert np.isfinite(row["dose"])
    assert row["dose"] >= 0.0
