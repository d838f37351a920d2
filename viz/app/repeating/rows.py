"""Rows: one line for each run of a batch, who was hurt when, and their order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from viz.checked import days_words

if TYPE_CHECKING:
    from sim.outcome import Outcome

Order = Literal["worst", "soonest", "number"]

BEFORE_D = 0.02  # half an hour

ORDERS: tuple[tuple[Order, str], ...] = (
    ("worst", "worst first"),
    ("soonest", "soonest hurt first"),
    ("number", "as numbered"),
)
CRITERION = (
    "Worse is the run with more fish dead, then the one with more fish seriously hurt, then the "
    "one with more injury taken by all fish together. Typical is the one in the middle of that "
    "order."
)


@dataclass(frozen=True, slots=True)
class When:
    """Something that came to one fish.

    Parameters
    ----------
    day
        Since day 0.
    fish
        Its place in all tables.
    """

    day: float
    fish: int


@dataclass(frozen=True, slots=True)
class RunRow:
    """What one run is to be drawn and sorted by.

    Parameters
    ----------
    run, draw
        Its number, and which draw of fish lived in it.
    first
        The first that anybody was hurt at all, or died; None where nobody was.
    serious, moved, dead
        Each fish that was seriously hurt, that was moved out, that died, the first in time first.
    dose
        Injury received, of all fish.
    """

    run: int
    draw: int
    first: When | None
    serious: tuple[When, ...]
    moved: tuple[When, ...]
    dead: tuple[When, ...]
    dose: float

    @property
    def badness(self) -> tuple[int, int, float]:
        """What the order by `CRITERION` goes by, more is worse."""
        hurt = {one.fish for one in (*self.serious, *self.dead)}
        return len(self.dead), len(hurt), self.dose

    @property
    def soonest(self) -> tuple[float, float]:
        """First day of a serious injury or a death, then of any injury; inf where there is none."""
        bad = min((one.day for one in (*self.serious, *self.dead)), default=math.inf)
        return bad, self.first.day if self.first is not None else math.inf


@dataclass(frozen=True, slots=True)
class Picks:
    """Three runs of a batch.

    Parameters
    ----------
    best, typical, worst
        By `CRITERION`.
    """

    best: RunRow
    typical: RunRow
    worst: RunRow


def row_of(outcome: Outcome) -> RunRow:
    """Return the row of one run.

    Parameters
    ----------
    outcome
        Of the run.
    """
    fish = outcome.fish
    hurt = np.minimum(np.minimum(fish["minor_day"], fish["serious_day"]), fish["death_day"])
    any_hurt = _whens(hurt)
    return RunRow(
        run=int(outcome.run),
        draw=int(outcome.row["draw"][0]),
        first=any_hurt[0] if any_hurt else None,
        serious=_whens(fish["serious_day"]),
        moved=_whens(fish["moved_day"]),
        dead=_whens(fish["death_day"]),
        dose=float(outcome.row["dose"][0]),
    )


def _whens(days: np.ndarray) -> tuple[When, ...]:
    found = [When(float(day), i) for i, day in enumerate(days) if math.isfinite(day)]
    return tuple(sorted(found, key=lambda one: (one.day, one.fish)))


def in_order(rows: Sequence[RunRow], order: Order) -> tuple[RunRow, ...]:
    """Return rows sorted; of equals the one with the lower number comes first.

    Parameters
    ----------
    rows
        Of one batch.
    order
        "worst": by `CRITERION`, the worst first; "soonest": by the first serious injury or death;
        "number": as they are numbered.
    """
    by_number = sorted(rows, key=lambda row: row.run)
    if order == "worst":
        return tuple(sorted(by_number, key=lambda row: row.badness, reverse=True))
    if order == "soonest":
        return tuple(sorted(by_number, key=lambda row: row.soonest))
    return tuple(by_number)


def picks_of(rows: Sequence[RunRow]) -> Picks | None:
    """Return the best, the typical and the worst run; None without a run.

    Parameters
    ----------
    rows
        Of one batch.
    """
    if not rows:
        return None
    order = in_order(rows, "worst")
    return Picks(best=order[-1], typical=order[len(order) // 2], worst=order[0])


def gentled(row: RunRow) -> RunRow:
    """Return a row without wounds: who was seriously hurt or died is shown as moved out.

    Parameters
    ----------
    row
        The run.
    """
    first: dict[int, When] = {}
    for one in sorted((*row.serious, *row.moved, *row.dead), key=lambda one: one.day):
        first.setdefault(one.fish, one)
    return replace(row, first=None, serious=(), moved=tuple(first.values()), dead=())


def begins_at(row: RunRow) -> float | None:
    """Return where to begin to watch a run: a little before what its row is sorted by.

    Parameters
    ----------
    row
        The run.

    Returns
    -------
    days since midnight of day 0; None for the start, where nobody was hurt.
    """
    days = [day for day in row.soonest if math.isfinite(day)]
    return max(days[0] - BEFORE_D, 0.0) if days else None


def row_words(row: RunRow, *, names: Sequence[str], days: float) -> str:
    """Return what a row shows, for those who cannot see it.

    Parameters
    ----------
    row
        The run.
    names
        Of the fish.
    days
        Length of the run.
    """
    parts = [
        f"{_named(whens, names=names)} {words}"
        for whens, words in (
            (row.serious, "seriously hurt"),
            (row.moved, "moved out"),
            (row.dead, "dead"),
        )
        if whens
    ]
    if row.first is None:
        parts = parts or ["nobody hurt"]
    elif not row.serious and not row.dead:
        first = f"first hurt on day {row.first.day:.1f}, {names[row.first.fish]}, nobody seriously"
        parts = [first, *parts]
    return f"Run {row.run}, {days_words(days)}: {'; '.join(parts)}."


def _named(whens: Sequence[When], *, names: Sequence[str]) -> str:
    return ", ".join(f"{names[one.fish]} on day {one.day:.1f}" for one in whens)
