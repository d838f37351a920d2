"""Picked: what a fish that is looked at sees, wants, and why it last attacked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.chronicle import place_name
from sim.rules.codes import IN_TANK, TO_CORNER, TO_DOOR, TO_FOOD
from viz.phrases import listed
from viz.replay_page import attack_words, moment, reason_words

if TYPE_CHECKING:
    from sim.engine import History


@dataclass(frozen=True)
class Picked:
    """What is told of the fish that is picked.

    Parameters
    ----------
    row
        Which fish.
    at
        Where it is, m, rounded to a few cm: what it sees is drawn from there.
    sees, wants, attacked, suffered
        Sentences; empty where there is nothing to tell.
    """

    row: int
    at: tuple[float, float]
    sees: str
    wants: str
    attacked: tuple[str, ...]
    suffered: tuple[str, ...]


@dataclass(frozen=True)
class Likeness:
    """What tells a fish of one's own kind from others, in the log."""

    own_kind: float
    similar: float


def picked_of(history: History, i: int, names: tuple[str, ...], log: np.ndarray) -> Picked:
    """Return what is told of one fish.

    Parameters
    ----------
    history
        The run.
    i
        Its row.
    names
        Of all fish.
    log
        The last attacks, from `viz.app.events.recent`.
    """
    from sim.rules.see import seen_by

    state = history.state
    row = state.fish[i]
    if row.presence != IN_TANK:
        return Picked(i, (-1.0, -1.0), "", "", (), ())
    saw = np.zeros(len(state.fish), dtype=np.uint8)
    seen_by(state, history.floor, i, saw)
    seen = [names[j] for j in np.flatnonzero(saw).tolist()]
    kinds = Likeness(float(state.par.like_own_kind[0]), float(state.par.like_similar[0]))

    def told(field: str) -> tuple[str, ...]:
        which = np.flatnonzero(log[field] == i)
        if not len(which):
            return ()
        last = log[which[-1]]
        return (
            f"{moment(float(last['time']))}: {attack_words(last, names)}.",
            f"Because: {reason_words(last, kinds)}.",
        )

    return Picked(
        row=i,
        at=(round(float(row.x) * 20.0) / 20.0, round(float(row.y) * 20.0) / 20.0),
        sees=f"Sees {listed(seen)}." if seen else "Sees nobody.",
        wants=_wants(history, i, names),
        attacked=told("attacker"),
        suffered=told("victim"),
    )


def _wants(history: History, i: int, names: tuple[str, ...]) -> str:
    state = history.state
    row = state.fish[i]
    layout = history.layout.stages[int(state.tank.furniture[0])]
    fear = f" Fear {float(row.fear):.2f} of 1." if row.fear >= 0.05 else ""
    if row.goal == TO_DOOR or row.room >= 0:
        return f"Wants to stay out of sight.{fear}"
    if row.goal == TO_CORNER or row.hiding == 1:
        return f"Wants to get away, into a top corner.{fear}"
    if row.goal == TO_FOOD:
        return f"Wants to eat.{fear}"
    shunned = [
        names[j] for j in np.flatnonzero(state.pair.avoid[i] > 0.3).tolist()
        if state.fish.presence[j] == IN_TANK
    ]  # fmt: skip
    parts = []
    if row.site >= 0:
        parts.append(f"Keeps near {place_name(layout, int(row.site))}.")
    if shunned:
        parts.append(f"Keeps away from {listed(shunned)}.")
    if row.shoaling > 0.3:
        parts.append("Swims with its own.")
    return (" ".join(parts) or "Roams.") + fear
