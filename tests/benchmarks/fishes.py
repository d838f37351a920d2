"""Fishes: how much hangs on what is assumed of each species of the main comparison.

``python -m tests.benchmarks fishes`` moves the assumed numbers of each of its species one at a
time, plays both tanks with either value over the same fish, and writes docs/species-numbers.md.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np

import sim.species
from sim.comparison import Comparison, compare, paired_columns
from sim.figures import by_draw
from sim.paired import ratio_interval
from sim.settings import Settings
from sim.species import Species
from sim.statistics import Estimate, Rare, mean_interval
from tests.benchmarks.enough import shipped_design
from tests.benchmarks.machine import describe, load, table, write_page

PAGE = Path(__file__).parents[2] / "docs" / "species-numbers.md"
TANKS = ("convict-four-foot", "convict-six-foot")
RUNS = 40
WORKERS = 2
DASH = "-"


@dataclass(frozen=True, slots=True)
class Moved:
    """A number of a species, and how far it is moved.

    Parameters
    ----------
    words
        What it is called on the page.
    fields
        Those of a species that make it up, by their names in the data file.
    less, more
        Its two ends: what each value is multiplied by and, after that, what is added to it.
    most
        Above this it is cut off.
    """

    words: str
    fields: tuple[str, ...]
    less: tuple[float, float]
    more: tuple[float, float]
    most: float = math.inf

    def end(self, species: Species, scale: tuple[float, float]) -> Species:
        """Return the species with the number at one of its ends."""
        times, plus = scale
        changes: dict[str, Any] = {
            field: min(max(getattr(species, field) * times + plus, 0.0), self.most)
            for field in self.fields
        }
        return replace(species, **changes)

    def shown(self, species: Species) -> str:
        """Return the two values between which it was moved."""
        ends = (self.end(species, scale) for scale in (self.less, self.more))
        return " to ".join(f"{getattr(end, self.fields[0]):.3g}" for end in ends)


MOVED = (
    Moved("aggression, x the convict's", ("aggression",), (1 / 1.5, 0.0), (1.5, 0.0)),
    Moved("spread of aggression", ("aggression_sd",), (0.5, 0.0), (1.5, 0.0)),
    Moved("boldness", ("boldness",), (1.0, -0.2), (1.0, 0.2), 1.0),
    Moved("spread of boldness", ("boldness_sd",), (0.5, 0.0), (1.5, 0.0)),
    Moved("activity by day", ("day",), (1.0, -0.3), (1.0, 0.3), 1.0),
    Moved("shoaling", ("shoaling",), (1.0, -0.3), (1.0, 0.3), 1.0),
    Moved("armour", ("armour",), (1.0, -0.2), (1.0, 0.2), 0.9),
    Moved("depth and width of the body", ("depth_ratio", "width_ratio"), (0.85, 0.0), (1.15, 0.0)),
)


@dataclass(frozen=True, slots=True)
class Played:
    """What came of one end: outcomes of both tanks by draw of fish."""

    dose: tuple[np.ndarray, np.ndarray]
    hidden: tuple[np.ndarray, np.ndarray]

    @classmethod
    def of(cls, comparison: Comparison) -> Played:
        """Gather it from a comparison."""
        first, second = comparison.summaries
        found = {}
        for name in ("dose", "hidden_h_per_day"):
            columns = paired_columns(name, first, second)
            found[name] = tuple(by_draw(column, draw=first.draw) for column in columns)
        return cls(*found.values())

    @property
    def longer(self) -> Estimate | None:
        """Injury in the six-foot tank over that in the four-foot tank."""
        return ratio_interval(self.dose[1], b=self.dose[0])


def play(
    changed: Species | None = None,
    *,
    runs: int = RUNS,
    changes: Mapping[str, float] | None = None,
) -> Played:
    """Play the main comparison, with one species in the place of the shipped one or with numbers.

    Parameters
    ----------
    changed
        The species.
    runs
        Of either tank.
    changes
        Parameters that differ from the defaults.
    """
    shipped = sim.species.load_species()
    told = shipped if changed is None else {**shipped, changed.key: changed}
    with patch("sim.species._shipped", lambda: told):
        return Played.of(
            compare(
                [shipped_design(name) for name in TANKS],
                runs=runs,
                workers=WORKERS,
                settings=Settings(vary=True),
                changes=changes,
            )
        )


def company() -> tuple[Species, ...]:
    """Return the species of the main comparison, in the order of its file."""
    shipped = sim.species.load_species()
    keys = dict.fromkeys(group.species for group in shipped_design(TANKS[0]).scenario.fish)
    return tuple(shipped[key] for key in keys)


def in_words(found: Estimate | Rare | None, digits: str = ".2f") -> str:
    """Return an estimate with its interval."""
    if not isinstance(found, Estimate):
        return DASH
    return f"{found.value:{digits}} ({found.low:{digits}} to {found.high:{digits}})"


def apart(found: Estimate | Rare | None, same: float) -> bool:
    """Return whether an interval leaves out what says that there is no difference."""
    return isinstance(found, Estimate) and not found.low <= same <= found.high


@dataclass(frozen=True, slots=True)
class Effect:
    """What moving a number from its lower to its upper end did.

    Parameters
    ----------
    species, moved
        Whose number it is, and which.
    dose
        Injury in the four-foot tank, upper end over lower.
    hidden
        Hours hidden a day in the four-foot tank, upper end less lower.
    longer
        Injury in six feet over that in four, at either end.
    """

    species: Species
    moved: Moved
    dose: Estimate | None
    hidden: Estimate | Rare
    longer: tuple[Estimate | None, Estimate | None]

    @classmethod
    def of(cls, species: Species, moved: Moved, less: Played, more: Played) -> Effect:
        """Reckon it from what was played at either end."""
        return cls(
            species=species,
            moved=moved,
            dose=ratio_interval(more.dose[0], b=less.dose[0]),
            hidden=mean_interval(more.hidden[0] - less.hidden[0]),
            longer=(less.longer, more.longer),
        )

    @property
    def cells(self) -> tuple[str, ...]:
        """Its row of the table."""
        return (
            self.moved.words,
            self.moved.shown(self.species),
            in_words(self.dose),
            in_words(self.hidden),
            *(in_words(one) for one in self.longer),
        )


def effects() -> Iterator[Effect]:
    """Play both ends of each number that is not 0 whatever is done to it."""
    for species in company():
        for moved in MOVED:
            less, more = (moved.end(species, scale) for scale in (moved.less, moved.more))
            if less == more:
                continue
            print(f"{species.names[0]}: {moved.words} {moved.shown(species)}", flush=True)
            yield Effect.of(species, moved, play(less), play(more))


def sentence(found: Sequence[Effect]) -> str:
    """Return in a few words what the answers hang on."""
    hurt = [one for one in found if apart(one.dose, 1.0)]
    hurt.sort(key=lambda one: -abs(math.log(one.dose.value if one.dose else 1.0)))
    hidden = [one for one in found if apart(one.hidden, 0.0)]
    worse = [one for one in found if any(end is not None and end.low > 1.0 for end in one.longer)]
    named = ", ".join(f"{one.moved.words} of the {one.species.names[0]}" for one in hurt)
    parts = [
        f"Of {len(found)} numbers {len(hurt)} change the injury received in the four-foot tank by "
        f"more than luck explains{': ' + named if hurt else ''}; {len(hidden)} change the hours "
        "hidden.",
        "At "
        + ("no" if not worse else f"{len(worse)}")
        + " end of any of them is the six-foot tank shown to be worse by injury.",
    ]
    return " ".join(parts)


def measure() -> None:
    """Play everything and write the page."""
    before = load()
    as_shipped = play().longer
    found = list(effects())
    head = ("number", "from and to", "injury, upper / lower", "hours hidden, upper less lower")
    parts = [
        "# Numbers of the species",
        "Written by `python -m tests.benchmarks fishes`. Most of what is said of a species is "
        "assumed (`holdwater species NAME` tells which of it), and "
        "[sensitivity.md](sensitivity.md) moves only the numbers that all species share. How much "
        "hangs on these?",
        "Each number of the species of the main comparison is moved alone between two ends, as "
        "far as we would not be surprised to be wrong (assumed), and both tanks are played "
        f"{RUNS} times for 30 days with either, over the same fish, with the unmeasured numbers as "
        "in any batch. Injury and hours hidden are those of all fish in the four-foot tank; the "
        "last two columns are the injury in six feet over that in four, at the lower and at the "
        "upper end. Brackets: 95 % intervals over draws of fish, each by itself: of so many, one "
        "in twenty leaves out the truth. As shipped, six feet over four is "
        f"{in_words(as_shipped)}.",
        sentence(found),
    ]
    for species in company():
        parts += [
            f"## {species.names[0].capitalize()}",
            table(
                (*head, "six / four, lower end", "six / four, upper end"),
                [one.cells for one in found if one.species.key == species.key],
            ),
        ]
    write_page(PAGE, parts=[*parts, describe(load_before=before)])
