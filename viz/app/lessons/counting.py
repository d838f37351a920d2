"""Lesson: seeing and counting. Ten minutes with a pad, then what there was to be counted.

From above one sees chases and fights, so these are what the pad counts. The true counts are those
of `sim.observed`, counted while the very tank was watched; so are the acts within the fights, which
a trained observer beside the glass counts one by one and which published counts consist of.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from sim.observed import ACTS

if TYPE_CHECKING:
    from sim.check import Checked

MINUTES = (2, 5, 10)
AT_H = 10.0  # an hour after the light has come on
DAYS = 5  # on which somebody might have sat down
SITTING = "pad"

KINDS = ("chases", "contests")
WORDS = {"chases": "Chases", "contests": "Fights"}
SEEN_AS = {
    "chases": "One flees, the other is after it. However far it goes, it is one mark.",
    "contests": "Two stand close, circle and push. One mark when they part.",
}


@dataclass(frozen=True, slots=True)
class Pad:
    """A counting pad; a mark makes a new one.

    Parameters
    ----------
    marks
        Kinds in the order they were marked.
    """

    marks: tuple[str, ...] = ()

    def mark(self, kind: str) -> Pad:
        """Return the pad with a mark more.

        Parameters
        ----------
        kind
            One of `KINDS`.

        Raises
        ------
        KeyError
            If it is none of them.
        """
        if kind not in KINDS:
            raise KeyError(kind)
        return Pad((*self.marks, kind))

    def undo(self) -> Pad:
        """Return the pad without its last mark."""
        return Pad(self.marks[:-1])

    def count(self, kind: str) -> int:
        """Return how many marks there are of a kind.

        Parameters
        ----------
        kind
            One of `KINDS`.
        """
        return self.marks.count(kind)

    @property
    def counts(self) -> dict[str, int]:
        """Marks by kind, in the order of `KINDS`."""
        return {kind: self.count(kind) for kind in KINDS}


@cache
def sitting_tank(minutes: int) -> Checked:
    """Return the tank of the lesson: twelve youngsters, watched at one hour on five days.

    Parameters
    ----------
    minutes
        One of `MINUTES`.

    Raises
    ------
    KeyError
        If it is another number.
    """
    from sim.care import Observation
    from sim.check import check_scenario
    from viz.app.opening import open_path, shipped

    if minutes not in MINUTES:
        raise KeyError(minutes)
    base = open_path(shipped("juveniles-crowd.toml")).scenario
    pad = Observation.model_validate(
        {
            "name": SITTING,
            "from_day": 0,
            "to_day": DAYS - 1,
            "at": f"{int(AT_H):02d}:00",
            "minutes": minutes,
        }
    )
    return check_scenario(
        base.model_copy(
            update={
                "title": "Twelve youngsters to count",
                "question": "How many chases and fights are there in ten minutes?",
                "days": float(DAYS),
                "observe": (pad,),
            }
        )
    )


@dataclass(frozen=True, slots=True)
class Counted:
    """One kind: what was marked, and what there was.

    Parameters
    ----------
    kind
        One of `KINDS`.
    marked, there
        Numbers.
    """

    kind: str
    marked: int
    there: int

    @property
    def words(self) -> str:
        """The two numbers in a sentence."""
        name = WORDS[self.kind]
        if self.there == self.marked:
            return f"{name}: {self.there}, and you marked as many."
        apart = abs(self.there - self.marked)
        side = "too few" if self.marked < self.there else "too many"
        return f"{name}: {self.there}. You marked {self.marked}, {apart} {side}."


@dataclass(frozen=True, slots=True)
class Reveal:
    """What there was to be counted in a sitting.

    Parameters
    ----------
    rows
        By kind.
    chased
        Chases by each fish, shape (n_fish,).
    acts
        Acts of all kinds that a trained observer would have counted, by `sim.observed.ACTS`.
    """

    rows: tuple[Counted, ...]
    chased: tuple[int, ...]
    acts: tuple[int, ...]

    @property
    def chases(self) -> int:
        """Chases in all."""
        return self.rows[0].there

    def sentences(self, names: Sequence[str], *, guess: int | None) -> tuple[str, ...]:
        """Return what the reveal says.

        Parameters
        ----------
        names
            Of the fish.
        guess
            Row of the fish that was thought to chase most, or None.
        """
        said = [row.words for row in self.rows]
        if self.chases:
            most = int(np.argmax(self.chased))
            share = 100.0 * self.chased[most] / self.chases
            said.append(
                f"{names[most]} chased most: {self.chased[most]} of {self.chases}, {share:.0f} in "
                "100."
            )
            if guess is not None:
                right = self.chased[guess] == self.chased[most]
                said.append(
                    f"You thought so too: {names[guess]}."
                    if right
                    else f"You thought it was {names[guess]}, who chased {self.chased[guess]}."
                )
        shows, bites, wrestles, _ = self.acts
        said.append(
            f"Beside the glass a trained eye would have counted {sum(self.acts)} acts: "
            f"{shows} displays, {bites} bites, {wrestles} of mouth wrestling and the chases. "
            "Papers count those; from above they are not to be seen."
        )
        return tuple(said)


def reveal(pad: Pad, seen: np.ndarray) -> Reveal:
    """Return what there was to be counted, beside what was.

    Parameters
    ----------
    pad
        What was marked.
    seen
        Acts of the sitting in the very run that was watched, of `sim.records.SEEN`, row toward
        column, shape (n_fish, n_fish).
    """
    return Reveal(
        rows=tuple(Counted(kind, pad.count(kind), int(seen[kind].sum())) for kind in KINDS),
        chased=tuple(int(n) for n in seen["chases"].sum(axis=1)),
        acts=tuple(int(seen[kind].sum()) for kind in ACTS),
    )


def other_days(minutes: int, *, run: int, seed: int | None = None) -> tuple[int, ...]:
    """Return the chases that there were to count on each of the five days, in one run.

    Parameters
    ----------
    minutes
        Of a sitting.
    run, seed
        Of the run; the fish are those of the lesson.
    """
    from sim.batch import run_one

    tank = sitting_tank(minutes)
    outcome = run_one(tank.scenario, tank.layout, run=run, seed=seed)
    return tuple(int(seen["chases"].sum()) for seen in outcome.seen)


def days_words(chases: Sequence[int], *, minutes: int) -> str:
    """Return what sittings on several days say of one sitting.

    Parameters
    ----------
    chases
        Of each day.
    minutes
        Of a sitting.
    """
    each = ", ".join(str(n) for n in chases[:-1]) + f" and {chases[-1]}"
    return (
        f"The same fish, {minutes} minutes at the same hour on {len(chases)} days: {each} chases. "
        "One sitting is one number out of these."
    )
