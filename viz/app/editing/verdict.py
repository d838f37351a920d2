"""What `check` says of a draft, tied to the piece or the fish it concerns."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sim.check import Checked, check_scenario
from sim.errors import Problem, Refused
from sim.fields import shown
from sim.scenario import Scenario

MADE_HERE = "scenario"  # what `check_scenario` calls a tank that stands in no file
LISTS = {"pieces": "piece", "fish": "fish", "events": "event", "observe": "sitting"}


@dataclass(frozen=True, slots=True)
class Message:
    """One sentence of `check`, and what it stands beside.

    Parameters
    ----------
    sentence
        What is wrong or unwise, and the mend.
    about
        "piece", "fish", "event" or "sitting", else the key of the file, such as "tank.length".
    name
        Of the piece and so on; empty where it is about none.
    unwise
        It can be played, but one would not.
    """

    sentence: str
    about: str
    name: str
    unwise: bool

    @property
    def words(self) -> str:
        """The sentence as it stands beside what it concerns."""
        return self.sentence[:1].upper() + self.sentence[1:]


@dataclass(frozen=True, slots=True)
class Judged:
    """A draft as `check` sees it.

    Parameters
    ----------
    scenario
        The tank.
    checked
        With its layout, where it can be played; else None.
    problems, warnings
        What is wrong, and what is unwise.
    """

    scenario: Scenario
    checked: Checked | None
    problems: tuple[Problem, ...]
    warnings: tuple[Problem, ...]

    @property
    def messages(self) -> tuple[Message, ...]:
        """Every sentence with what it stands beside, problems first."""
        return messages_of(self.scenario, problems=self.problems, warnings=self.warnings)


def judge(scenario: Scenario) -> Judged:
    """Return what `check` says of a tank.

    Parameters
    ----------
    scenario
        A draft, right part by part.
    """
    try:
        found = check_scenario(scenario)
    except Refused as refusal:
        return Judged(scenario, None, refusal.problems, refusal.warnings)
    return Judged(scenario, found, (), found.warnings)


def messages_of(
    scenario: Scenario, *, problems: Iterable[Problem] = (), warnings: Iterable[Problem] = ()
) -> tuple[Message, ...]:
    """Return sentences with what each stands beside.

    Parameters
    ----------
    scenario
        Names the pieces and fish.
    problems, warnings
        Of `check`.
    """
    return tuple(
        _message(scenario, problem, unwise=unwise)
        for unwise, found in ((False, problems), (True, warnings))
        for problem in found
    )


def _message(scenario: Scenario, problem: Problem, *, unwise: bool) -> Message:
    where = problem.where.removeprefix(MADE_HERE).removeprefix(", ")
    for key, what in LISTS.items():
        for entry in getattr(scenario, key):
            start = f"{key} {shown(entry.name)}"
            if where == start or where.startswith((f"{start}.", f"{start},")):
                return Message(problem.sentence, what, entry.name, unwise)
    return Message(problem.sentence, where, "", unwise)


def new_problems(before: Judged, after: Judged) -> tuple[Problem, ...]:
    """Return what is wrong after an edit that was not wrong before it.

    Parameters
    ----------
    before, after
        The draft on either side of the edit.
    """
    known = {(problem.where, _kind(problem)) for problem in before.problems}
    return tuple(p for p in after.problems if (p.where, _kind(p)) not in known)


def _kind(problem: Problem) -> str:
    """What a sentence complains of, whatever was got."""
    return problem.sentence.split(", got ", 1)[0]
