"""Search: which candidate costs least on average, within so many runs.

Three parts share the runs. Candidates from everywhere are raced, the given one among them. About
the best of them an evolution strategy (CMA-ES, Hansen2001, from the library `cma`) proposes
generations, each ranked by a race. At last the best of all that were seen run against each other
and the given one. Nothing here knows what a candidate is.

References
----------
Hansen2001
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

import numpy as np
import numpy.typing as npt

from sim.better.race import F8, C, Ledger, OutOfRuns, halving

FROM_EVERYWHERE = 0.30  # share of the runs
AT_LAST = 0.25
FIRST = 4  # runs in the first rung of a race
MOST_AT_ONCE = 16  # runs of the last ones of a generation
MOST_AT_LAST = 64
FINALISTS = 8
STEP = 0.15  # of the whole range, the first step of the strategy
TRIES = 40  # at a candidate that is allowed, before the strategy does without
LEAST_PER_CANDIDATE = 8.0  # runs that a race from everywhere takes for each, about


class Space(Protocol[C]):
    """All candidates, as the search sees them."""

    @property
    def dims(self) -> int:
        """Numbers that say a candidate, each 0 to 1."""

    @property
    def given(self) -> C:
        """The candidate to be bettered."""

    def numbers(self, candidate: C) -> F8:
        """Return the numbers of a candidate, shape (dims,)."""

    def anywhere(self, rng: np.random.Generator) -> C | None:
        """Return a candidate from anywhere; None where none was found."""

    def near(self, numbers: F8) -> C | None:
        """Return the allowed candidate nearest to some numbers; None where none is near."""


T = TypeVar("T", bound=Hashable)

EVERYWHERE, ROUND, LAST, JUDGED = "everywhere", "round", "last", "judged"


@dataclass(frozen=True, slots=True)
class Stage:
    """How far a search has come.

    Parameters
    ----------
    part
        `EVERYWHERE`, `ROUND` of the strategy, `LAST` race; `JUDGED` when the winner is played on
        fresh runs.
    number
        Of the round, from 1.
    candidates
        That have been played so far.
    """

    part: str
    number: int
    candidates: int


Told = Callable[[Stage], None]


@dataclass(frozen=True, slots=True)
class Found(Generic[T]):
    """What a search has come to.

    Parameters
    ----------
    best
        What cost least; the given one where nothing cost less.
    ledger
        All that was played.
    generations
        Of the strategy.
    finalists
        The last race, the best first.
    """

    best: T
    ledger: Ledger[T]
    generations: int
    finalists: tuple[T, ...]


def search(space: Space[C], ledger: Ledger[C], *, seed: int, told: Told | None = None) -> Found[C]:
    """Look for the candidate that costs least.

    Parameters
    ----------
    space
        The candidates.
    ledger
        Has them played, and says how many runs are left.
    seed
        Of what is drawn in the search itself.
    told
        Told when another part of the search begins, or goes on; what it raises ends it.

    Returns
    -------
    Found
        The same for the same space, budget and seed, if nothing else ended it.

    Raises
    ------
    OutOfRuns
        If there are too few runs even for a first race of two.
    """

    def tell(part: str, number: int = 0) -> None:
        if told is not None:
            told(Stage(part, number, len(ledger.candidates)))

    rng = np.random.Generator(np.random.PCG64(seed))
    kept = math.floor(AT_LAST * ledger.budget)
    count = max(int(FROM_EVERYWHERE * ledger.budget / LEAST_PER_CANDIDATE), 2)
    pool = [space.given]
    for _ in range(count - 1):
        tell(EVERYWHERE)  # each takes a while where the floor is full
        one = space.anywhere(rng)
        if one is not None:
            pool.append(one)
    leaders = halving(ledger, pool, first=FIRST, most=MOST_AT_ONCE)
    generations = 0
    if space.dims:
        generations = _evolve(
            space, ledger, start=leaders[0], keep=kept, rng=rng,
            told=lambda number: tell(ROUND, number),
        )  # fmt: skip
    tell(LAST)
    finalists = _last_race(ledger, given=space.given)
    return Found(finalists[0], ledger, generations, tuple(finalists))


def _evolve(
    space: Space[C],
    ledger: Ledger[C],
    *,
    start: C,
    keep: int,
    rng: np.random.Generator,
    told: Callable[[int], None],
) -> int:
    """Let the strategy propose generations while runs are left; return how many there were."""
    import cma

    strategy = cma.CMAEvolutionStrategy(
        np.clip(space.numbers(start), 0.0, 1.0),
        STEP,
        {
            "bounds": [0.0, 1.0],
            "verbose": -9,
            "seed": math.nan,  # nothing is drawn from, or done to, the generator of numpy itself
            "randn": lambda *shape: rng.standard_normal(shape),
        },
    )
    generations = 0
    while not strategy.stop():
        told(generations + 1)
        asked, candidates = _proposed(space, strategy)
        if len(set(candidates)) < 2:
            break
        if ledger.left - FIRST * len(set(candidates)) < keep:
            break
        try:
            order = halving(ledger, candidates, first=FIRST, most=MOST_AT_ONCE)
        except OutOfRuns:
            break
        place = {candidate: k for k, candidate in enumerate(order)}
        strategy.tell(asked, [float(place[one]) for one in candidates])
        generations += 1
    return generations


def _proposed(space: Space[C], strategy: object) -> tuple[list[F8], list[C]]:
    """Return a generation: numbers asked for, and the allowed candidate nearest to each."""
    size: int = strategy.popsize  # type: ignore[attr-defined]
    asked: list[F8] = []
    found: list[C] = []
    for _ in range(TRIES):
        proposals: list[npt.NDArray[np.float64]] = strategy.ask(size - len(found))  # type: ignore[attr-defined]
        for numbers in proposals:
            one = space.near(np.asarray(numbers))
            if one is not None:
                asked.append(numbers)
                found.append(one)
        if len(found) == size:
            return asked, found
    return [], []


def _last_race(ledger: Ledger[C], *, given: C) -> list[C]:
    """Race the best that were seen against the given one, with all runs that are left."""
    others = [one for one in ledger.candidates if one != given]
    others.sort(key=lambda one: _hopeful(ledger, one, given=given))
    for first in (MOST_AT_ONCE, MOST_AT_ONCE // 2, FIRST):
        for count in (FINALISTS - 1, FINALISTS // 2 - 1, 1):
            try:
                order = halving(ledger, [given, *others[:count]], first=first, most=MOST_AT_LAST)
            except OutOfRuns:
                continue
            return _none_behind(ledger, order, given=given)
    return [given]


def _none_behind(ledger: Ledger[C], order: list[C], *, given: C) -> list[C]:
    """Return the order of a race, the given one first if the winner did not do better than it."""
    runs = min(len(ledger.costs(one)) for one in (order[0], given))
    if ledger.mean(order[0], runs=runs) >= ledger.mean(given, runs=runs):
        return [given, *(one for one in order if one != given)]
    return order


def _hopeful(ledger: Ledger[C], one: C, *, given: C) -> float:
    """Mean paired difference to the given candidate, shrunk toward none where runs are few."""
    runs = min(len(ledger.costs(one)), len(ledger.costs(given)))
    if runs == 0:
        return math.inf
    gap = ledger.costs(one)[:runs] - ledger.costs(given)[:runs]
    return float(gap.sum() / (runs + FIRST))
