"""What the program says when it cannot do what it was asked.

Everything a person can cause (a wrong key, a missing file, a fish that does not fit) ends in one
`Refused`, which carries every problem found, each a sentence that can be acted on. Anything else
that is raised is a fault of the program.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

LONGEST_NAME = 60  # characters of what a file holds that a sentence quotes


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong, or unwise, and where.

    Parameters
    ----------
    where : file and key, as the reader would look for them, for example
        ``"my-tank.toml, tank.length"``; empty when there is no place to point at.
    sentence : what is wrong, what was given, what was expected, and what to do.
    """

    where: str
    sentence: str

    def __str__(self) -> str:
        return f"{self.where}: {self.sentence}" if self.where else self.sentence


class Refused(Exception):  # noqa: N818  (read as a sentence: "except Refused")
    """The request cannot be carried out, for reasons the person who made it can mend.

    Parameters
    ----------
    problems : every problem found, at least one; a single `Problem` may be given bare.
    warnings : what is merely unwise and was found on the way.
    """

    def __init__(
        self, problems: Problem | Iterable[Problem], *, warnings: Iterable[Problem] = ()
    ) -> None:
        found = (problems,) if isinstance(problems, Problem) else tuple(problems)
        if not found:
            raise ValueError("Refused without a problem: got none; expected at least one.")
        self.problems: tuple[Problem, ...] = found
        self.warnings: tuple[Problem, ...] = tuple(warnings)
        super().__init__("\n".join(str(problem) for problem in found))

    def __reduce__(self) -> tuple[object, ...]:
        """Let it cross from a worker process, which an `__init__` with a keyword would prevent."""
        return (_rebuild, (self.problems, self.warnings))


def _rebuild(problems: tuple[Problem, ...], warnings: tuple[Problem, ...]) -> Refused:
    return Refused(problems, warnings=warnings)


def printable(text: str) -> str:
    """A text with what would move a cursor or hide replaced by question marks, and cut short.

    Parameters
    ----------
    text : anything read from a file.

    Returns
    -------
    text of at most 60 characters.
    """
    safe = "".join(letter if letter.isprintable() else "?" for letter in text[: LONGEST_NAME + 1])
    return safe if len(text) <= LONGEST_NAME else safe[: LONGEST_NAME - 3] + "..."


def shown(value: object) -> str:
    """A value as a sentence quotes it: short, printable, and never a whole table.

    Parameters
    ----------
    value : anything read from a file.

    Returns
    -------
    text of at most about 60 characters.
    """
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{printable(value)}"'
    return printable(str(value))
