"""Challenges: a tank each, what may be changed in it, when it is passed, and what it teaches.

Each is one file in `scenarios/challenges/`. Its ``[start]`` is a tank in the language of scenario
files; its ``[[answers]]`` are variants of that tank, of which `viz.app.challenge_check` plays every
one: the right ones must pass, the tempting ones and the tank as it stands must fail.
"""

from __future__ import annotations

import tempfile
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

if TYPE_CHECKING:
    from sim.check import Checked

FOLDER = "scenarios.challenges"
START = "start.toml"


class _Part(BaseModel):
    """A table of a challenge file: frozen, no unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class May(_Part):
    """One thing that may be changed.

    Parameters
    ----------
    words
        What it is, for the player.
    part
        The list or table of the scenario: "pieces", "fish", "events", "observe", "keeper_plan",
        "tank", "breeding"; "" for a key at the top of the file.
    names
        Entries of the start that may be changed, or removed where ``remove``; "*" for all.
    keys
        Keys, as in a file, that may differ in those entries, or be said of added ones.
    add
        So many entries may be added; of fish, so many fish.
    remove
        Whether those entries may be taken out.
    values
        What a key may be, where not everything.
    bounds
        Least and greatest a number may be; of a list, how long it may be; "sittings" of an
        observation, on how many days it may be made.
    """

    words: str
    part: Literal["pieces", "fish", "events", "observe", "keeper_plan", "tank", "breeding", ""]
    names: tuple[str, ...] = ()
    keys: tuple[str, ...] = ()
    add: int = Field(default=0, ge=0)
    remove: bool = False
    values: dict[str, tuple[str | float, ...]] = {}
    bounds: dict[str, tuple[float, float]] = {}


class Condition(_Part):
    """What must hold in a run.

    Parameters
    ----------
    words
        It as a part of a sentence; ``{number}`` is filled in.
    measure
        A column of `sim.outcome.RUN_ROW`; with ``fish`` a measure of fish; "told by the sitting".
    fish
        Names of fish or groups.
    most, least
        Bounds of the value.
    of_start
        Greatest share of the value in the tank of the start, with the same fish and numbers.
    days_after
        Name of an event, and a number of days: the value is of those days, from the day of the
        event on, a column of `sim.outcome.DAY_ROW` summed.
    """

    words: str
    measure: str
    fish: tuple[str, ...] = ()
    most: float | None = None
    least: float | None = None
    of_start: float | None = None
    days_after: tuple[str, int] | None = None

    @model_validator(mode="after")
    def _one_bound(self) -> Self:
        bounds = [b for b in (self.most, self.least, self.of_start) if b is not None]
        if self.measure != SITTING and len(bounds) != 1:
            raise ValueError(f"{self.measure}: expected one of most, least and of_start.")
        return self

    @property
    def said(self) -> str:
        """The words with the number in them."""
        if self.of_start is not None:
            return self.words.format(number=f"{100.0 * self.of_start:.0f} %")
        number = self.most if self.most is not None else self.least
        return self.words.format(number="" if number is None else f"{number:g}")


SITTING = "told by the sitting"


class Passed(_Part):
    """When a challenge is passed.

    Parameters
    ----------
    runs
        How many are played, once.
    line
        What the lower end of the interval must reach, a share of the runs.
    when
        What must all hold in a run.
    """

    runs: int = Field(ge=40, le=1000)
    line: float = Field(gt=0.0, lt=1.0)
    when: tuple[Condition, ...] = Field(min_length=1)


class Answer(_Part):
    """One way to answer, played by the check.

    Parameters
    ----------
    name
        What it is, in a few words.
    right
        Whether it must pass.
    why
        Why it does or does not.
    change
        What differs from the start, as a variant says it.
    """

    name: str
    right: bool
    why: str
    change: dict[str, Any]


class _File(_Part):
    """A challenge file as it is written."""

    number: int = Field(ge=1)
    title: str
    goal: str
    story: str
    teaches: str
    rests_on: tuple[str, ...]
    nothing: str = ""
    passed: Passed
    may: tuple[May, ...] = Field(min_length=1)
    answers: tuple[Answer, ...]
    start: dict[str, Any]


@dataclass(frozen=True)
class Challenge:
    """One challenge.

    Parameters
    ----------
    key
        Name of its file without the ending.
    number, title, goal, story, teaches
        Its place in the list and its words; ``teaches`` is shown afterwards.
    rests_on
        Pages and sources that bear the lesson.
    nothing
        Why nothing that may be changed passes; empty where something does.
    passed, may, answers
        When it is passed, what may be changed, and answers that were played.
    start
        The tank, checked.
    """

    key: str
    number: int
    title: str
    goal: str
    story: str
    teaches: str
    rests_on: tuple[str, ...]
    nothing: str
    passed: Passed
    may: tuple[May, ...]
    answers: tuple[Answer, ...]
    start: Checked

    @property
    def line_words(self) -> str:
        """When it is passed, in a sentence."""
        must = "; and ".join(one.said for one in self.passed.when)
        line, runs = self.passed.line, self.passed.runs
        return (
            f"In a run it must hold that {must}. {runs} fresh runs are played, once. Passed when "
            f"even the lower end of the interval reaches {100.0 * line:.0f} in 100 runs."
        )

    def answered(self, answer: Answer) -> Checked:
        """Return the tank of an answer, checked.

        Parameters
        ----------
        answer
            One of ``answers``.

        Raises
        ------
        Refused
            If it cannot be played.
        """
        return _checked(_start_of(self.key), answer.change)


@cache
def load_challenges() -> tuple[Challenge, ...]:
    """Return all challenges, by number.

    Raises
    ------
    ValueError
        If a file is not as it must be: they are part of the program.
    """
    found = []
    for entry in files(FOLDER).iterdir():
        if entry.name.endswith(".toml"):
            key = entry.name.removesuffix(".toml")
            file = _File.model_validate(tomllib.loads(entry.read_text("utf-8")))
            start = _checked(file.start)
            words = {name: getattr(file, name) for name in _WORDS}
            found.append(Challenge(key=key, start=start, **words))
    return tuple(sorted(found, key=lambda one: one.number))


_WORDS = (
    "number", "title", "goal", "story", "teaches", "rests_on", "nothing", "passed", "may",
    "answers",
)  # fmt: skip


def find_challenge(key: str) -> Challenge:
    """Return the challenge of a key.

    Parameters
    ----------
    key
        Name of its file without the ending.

    Raises
    ------
    KeyError
        If there is none.
    """
    return {one.key: one for one in load_challenges()}[key]


def _start_of(key: str) -> dict[str, Any]:
    text = files(FOLDER).joinpath(f"{key}.toml").read_text("utf-8")
    return dict(tomllib.loads(text)["start"])


def _checked(start: dict[str, Any], change: dict[str, Any] | None = None) -> Checked:
    """Check a tank, or a variant of it; either may be based on a shipped one."""
    import tomli_w

    from sim.check import check_file

    with tempfile.TemporaryDirectory(prefix="holdwater-") as folder:
        inner = Path(folder) / "tanks"
        inner.mkdir()
        for base in files("scenarios").iterdir():
            if base.name.endswith(".toml"):
                (inner / base.name).write_text(base.read_text("utf-8"), encoding="utf-8")
        path = inner / START
        path.write_text(tomli_w.dumps(start), encoding="utf-8")
        if change is not None:
            path = inner / "answer.toml"
            path.write_text(tomli_w.dumps({"based_on": START, **change}), encoding="utf-8")
        return check_file(path)
