"""Draft: a tank under one's hands, every state of which can be gone back to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from sim.scenario import Scenario

MOST_STEPS = 200


@dataclass(frozen=True, slots=True)
class Step:
    """One state of a draft.

    Parameters
    ----------
    scenario
        The tank then.
    did
        What was done to come there, in words; empty for the first.
    joins
        Steps of one name that follow each other at once are gone back in one.
    """

    scenario: Scenario
    did: str = ""
    joins: str = ""


@dataclass(frozen=True, slots=True)
class Draft:
    """A tank under one's hands.

    Parameters
    ----------
    steps
        Its states, the oldest first.
    at
        Which of them is the present one.
    kept
        The tank as it was opened or saved.
    file
        Where, or None.
    """

    steps: tuple[Step, ...]
    kept: Scenario | None
    at: int = 0
    file: Path | None = None

    @classmethod
    def of(cls, scenario: Scenario, *, file: Path | None = None, saved: bool = True) -> Draft:
        """Return a draft of a tank that nothing has been done to.

        Parameters
        ----------
        scenario
            The tank.
        file
            Where it was opened.
        saved
            Whether it is on disk, or loses nothing when it is closed.
        """
        return cls(steps=(Step(scenario),), kept=scenario if saved else None, file=file)

    @property
    def scenario(self) -> Scenario:
        """The tank as it is now."""
        return self.steps[self.at].scenario

    @property
    def changed(self) -> bool:
        """Whether it differs from what was opened or saved."""
        return self.kept is None or self.scenario != self.kept

    def done(self, scenario: Scenario, *, did: str, joins: str = "") -> Draft:
        """Return the draft after an edit; what had been undone is forgotten.

        Parameters
        ----------
        scenario
            The tank after it.
        did
            What was done, in words.
        joins
            An edit of the same name as the one before it makes one step with it, as when a stone
            is moved by one arrow key after the other; empty for a step of its own.
        """
        if scenario == self.scenario:
            return self
        past = self.steps[: self.at + 1]
        if joins and past[-1].joins == joins:
            past = past[:-1]
        steps = (*past, Step(scenario, did, joins))[-MOST_STEPS:]
        return replace(self, steps=steps, at=len(steps) - 1)

    @property
    def undoes(self) -> str | None:
        """What `undone` would take back, in words; None where there is nothing."""
        return self.steps[self.at].did if self.at > 0 else None

    @property
    def redoes(self) -> str | None:
        """What `redone` would do again, in words; None where there is nothing."""
        return self.steps[self.at + 1].did if self.at + 1 < len(self.steps) else None

    def undone(self) -> Draft:
        """Return the draft before the last edit; itself where there was none."""
        return replace(self, at=max(self.at - 1, 0))

    def redone(self) -> Draft:
        """Return the draft with the edit done again that was undone last; itself without one."""
        return replace(self, at=min(self.at + 1, len(self.steps) - 1))

    def saved(self, file: Path) -> Draft:
        """Return the draft as one that stands in a file just so.

        Parameters
        ----------
        file
            Where it was written.
        """
        return replace(self, kept=self.scenario, file=file)
