"""Known: what counts say of the tempers of these fish, and how far that narrows the answer.

The unknowns are the aggression and the boldness of each fish, in standard deviations about its
species. The answer as the tempers alone decide it (what luck and unmeasured numbers do averaged
out) is a line over the tempers, fitted to the same runs: the logarithm of the injury that is to be
expected, and of the odds that somebody is seriously hurt. Before, now, and after a further hour it
is told like any other unknown. The hour has not been watched: what it would leave is the mean over
hours that the model plays for fish that were counted most like these.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from sim.crew import Job
from sim.glm import log_mean, log_odds
from sim.likely import LEAST_RUNS, Learnt, learn, marginals, nearest_runs, posterior
from sim.scenario import Member, company
from sim.start import TEMPER, draw_of
from sim.watching import Watching, alike, bearing

if TYPE_CHECKING:
    from sim.comparison import Design
    from sim.scenario import Scenario
    from sim.settings import Settings
    from sim.start import Tempers

LEVEL = 0.9  # of all intervals here
WOULD_BE = 40  # hours that are played for fish like these
LEAST_HURT = 20  # runs with injury, with and without a serious one, below which nothing is told
TRAITS = ("aggression", "boldness")
WORD_CHANCE = 0.7  # above it a fish is given the word for its temper, assumed

USUAL = np.array([-1.6449, 0.0, 1.6449])  # sd; holds nine in ten fish of a species

Answer = Literal["dose", "serious", "ratio"]
Scale = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True, slots=True)
class Range:
    """A range that holds nine in ten, and its middle.

    Parameters
    ----------
    low, middle, high
        In the unit of what it is of.
    """

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class Narrowed:
    """One unknown before and after watching.

    Parameters
    ----------
    before, now
        Nine in ten of what was likely before, and of what is likely now.
    hour
        How wide such a range is after a further hour, on average: high over low where `factor`,
        else high less low; None where no hour can be watched.
    told
        Share of its variance that counts like these tell, 0 to 1.
    factor
        Whether widths are told as high over low.
    """

    before: Range
    now: Range
    hour: float | None
    told: float
    factor: bool

    def width(self, of: Range) -> float:
        """Return how wide a range is, as `hour` is told."""
        return of.high / max(of.low, 1e-9) if self.factor else of.high - of.low


@dataclass(frozen=True, slots=True)
class KnownAnswer:
    """The answer for these fish, as far as their tempers decide it.

    Parameters
    ----------
    what
        "dose": injury to be expected in a run, summed over fish; "serious": the chance that
        somebody is seriously hurt; "ratio": the injury in this tank over that in the first.
    design
        Number of the tank.
    narrowed
        Before and now.
    lower
        For a ratio, the chance that it is below 1, before and now; None else.
    """

    what: Answer
    design: int
    narrowed: Narrowed
    lower: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownFish:
    """One fish and what is known of its temper.

    Parameters
    ----------
    member
        The fish.
    aggression
        As a multiple of its species' average; None where the scenario states it.
    boldness
        0 to 1.
    """

    member: Member
    aggression: Narrowed | None
    boldness: Narrowed


@dataclass(frozen=True, kw_only=True)
class Known:
    """What watching says of the fish of a tank.

    Parameters
    ----------
    fish
        One by one.
    answers
        What can be told of it.
    draws
        Tempers that are as likely as one another, in standard deviations, aggression and
        boldness, shape (n_draws, n_fish, 2).
    learned_from
        Runs of each tank.
    """

    fish: tuple[KnownFish, ...]
    answers: tuple[KnownAnswer, ...]
    draws: np.ndarray
    learned_from: int

    def tempers(self, draw: int) -> Tempers:
        """Return the tempers of one draw of these fish, for `sim.start.draw_fish`.

        Parameters
        ----------
        draw
            Number of the draw; beyond the last they begin anew.
        """
        row = self.draws[draw % len(self.draws)]
        return {
            (one.member.group, one.member.index): (float(row[i, 0]), float(row[i, 1]))
            for i, one in enumerate(self.fish)
        }

    def fiercer(self, i: int, j: int) -> float:
        """Return the chance that one fish is the more aggressive of two, for its kind.

        Parameters
        ----------
        i, j
            Their places.
        """
        return float(np.mean(self.draws[:, i, 0] > self.draws[:, j, 0]))

    def words(self) -> dict[int, str]:
        """Return the word for the temper of each fish of which it is likely enough, by its place.

        A fish counts as mild, typical or fierce by the word whose place, in standard deviations,
        is nearest. Left out are fish whose temper the scenario states.
        """
        names = list(TEMPER)
        places = np.array([TEMPER[name] for name in names])
        found = {}
        for i, one in enumerate(self.fish):
            if one.aggression is None or one.aggression.told == 0.0:
                continue
            nearest = np.abs(self.draws[:, i, 0, None] - places).argmin(axis=1)
            chances = np.bincount(nearest, minlength=len(names)) / len(nearest)
            if chances.max() >= WORD_CHANCE:
                found[i] = names[int(chances.argmax())]
        return found


def known_of(watching: Watching) -> Known | None:
    """Return what was learnt; None where too few runs were played.

    Parameters
    ----------
    watching
        With its runs taken in.
    """
    if watching.done < LEAST_RUNS:
        return None
    z = watching.tempers_drawn()
    stated = np.array([fish.temper in TEMPER for fish in watching.members])
    for k in np.flatnonzero(stated).tolist():
        z[:, k, 0] = TEMPER[watching.members[k].temper]
    n_runs, n_fish = z.shape[:2]
    lines = _answers(watching, z)
    learnt = learn(
        z.reshape(n_runs, -1),
        _bearing(watching, watching.counted()),
        pools=_pools(watching),
        lines=np.array([line.weights for line in lines]).reshape(-1, 2 * n_fish).T,
        levels=np.array([line.level for line in lines]),
    )
    counts = _bearing(watching, np.array([one.count for one in watching.columns]))
    draws = posterior(learnt, counts)
    hours = _hours(watching, learnt, learnt.expect(counts))
    fish = []
    for i, member in enumerate(watching.members):
        pair = []
        for trait in range(2):
            p = 2 * i + trait
            scale = _scale_of(member, trait)
            pair.append(_narrowed(learnt, draws, hours, p, scale, factor=trait == 0, usual=True))
        fish.append(
            KnownFish(member=member, aggression=None if stated[i] else pair[0], boldness=pair[1])
        )
    answers = []
    for k, line in enumerate(lines):
        p = 2 * n_fish + k
        lower = None
        if line.what == "ratio":
            before = learnt.unknowns[:, p]
            lower = (float(np.mean(before < 0.0)), float(np.mean(draws[:, p] < 0.0)))
        factor = line.what != "serious"
        narrowed = _narrowed(learnt, draws, hours, p, line.natural, factor=factor)
        answers.append(KnownAnswer(line.what, line.design, narrowed, lower))
    return Known(
        fish=tuple(fish),
        answers=tuple(answers),
        draws=draws[:, : 2 * n_fish].reshape(n_runs, n_fish, 2),
        learned_from=n_runs,
    )


def _bearing(watching: Watching, counts: np.ndarray) -> list[np.ndarray]:
    """Return for each unknown what may bear on it."""
    each = [bearing(counts, watching.columns, fish=i) for i in range(len(watching.members))]
    return [one for one in each for _ in TRAITS]


def _pools(watching: Watching) -> list[list[int]]:
    """Return the unknowns that are learnt together."""
    return [
        [2 * i + trait for i in rows]
        for rows in alike(watching.members, watching.columns)
        for trait in range(len(TRAITS))
    ]


@dataclass(frozen=True, slots=True)
class _Line:
    """An answer as a line over the tempers, and what a place on it means."""

    what: Answer
    design: int
    weights: np.ndarray
    level: float
    offsets: np.ndarray | None = None  # of a share, what the unmeasured numbers add in each run

    def natural(self, eta: np.ndarray) -> np.ndarray:
        """Return the answer that places on the line mean."""
        if self.offsets is None:
            return np.asarray(np.exp(eta))
        odds = np.exp(np.ravel(eta)[:, None] + self.offsets)
        return np.asarray(np.mean(odds / (1.0 + odds), axis=1))


def _answers(watching: Watching, z: np.ndarray) -> list[_Line]:
    """Return the answers of which enough was seen, each as a line over the tempers."""
    flat = z.reshape(len(z), -1)
    harm = np.log(watching.harm)
    # What never differs (a stated temper, a harm that is held) is kept at no effect by the ridge.
    x = np.column_stack([np.ones(len(z)), flat - flat.mean(axis=0), harm - harm.mean()])
    found: list[_Line] = []
    first = watching.designs[0].scenario
    whole = tuple(range(len(watching.members)))
    for place, design in enumerate(watching.designs):
        here, there = (whole, whole) if place == 0 else _shared(first, design.scenario)
        if not there:
            continue
        dose, hurt = watching.dose(place, there), watching.serious(place, there)
        line = _dose_line(x, dose, flat, design=place)
        if line is not None:
            found.append(line)
        if LEAST_HURT <= hurt.sum() <= len(hurt) - LEAST_HURT:
            weights = log_odds(x, hurt.astype(np.float64))
            level = weights[0] - flat.mean(axis=0) @ weights[1:-1]
            offsets = weights[-1] * x[:, -1]
            found.append(_Line("serious", place, weights[1:-1], float(level), offsets))
        own = _dose_line(x, watching.dose(0, here), flat, design=0) if place else None
        if line is not None and own is not None:
            ratio = line.weights - own.weights
            found.append(_Line("ratio", place, ratio, line.level - own.level))
    return found


def _dose_line(x: np.ndarray, dose: np.ndarray, flat: np.ndarray, *, design: int) -> _Line | None:
    """Return the injury to be expected for given tempers; None where too few were hurt."""
    if np.count_nonzero(dose) < LEAST_HURT:
        return None
    weights = log_mean(x, dose)
    level = np.log(np.mean(np.exp(weights[0] + weights[-1] * x[:, -1])))
    level -= flat.mean(axis=0) @ weights[1:-1]
    return _Line("dose", design, weights[1:-1], float(level))


def _shared(first: Scenario, other: Scenario) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Rows of the fish that live in both tanks."""
    mine = {(fish.group, fish.index): i for i, fish in enumerate(company(first))}
    both = [
        (mine[fish.group, fish.index], j)
        for j, fish in enumerate(company(other))
        if (fish.group, fish.index) in mine
    ]
    return tuple(i for i, _ in both), tuple(j for _, j in both)


def _scale_of(member: Member, trait: int) -> Scale:
    """Return what standard deviations of a trait mean for a fish."""
    kind = member.species
    if trait == 0:
        return lambda z: np.exp(kind.aggression_sd * z)
    return lambda z: np.clip(kind.boldness + kind.boldness_sd * z, 0.0, 1.0)


def _hours(watching: Watching, learnt: Learnt, expected: np.ndarray) -> np.ndarray | None:
    """Return limits of all unknowns after hours that might be watched, shape (n_hours, 2, n)."""
    if watching.hour is None:
        return None
    after = learn(
        learnt.unknowns[:, : len(learnt.lines)],
        _bearing(watching, watching.counted(with_hour=True)),
        pools=_pools(watching),
        lines=learnt.lines,
        levels=learnt.levels,
    )
    ends = [0.5 - 0.5 * LEVEL, 0.5 + 0.5 * LEVEL]
    return np.array(
        [
            np.quantile(marginals(after, after.expected[k], leave=int(k)), ends, axis=0)
            for k in nearest_runs(learnt, expected, number=WOULD_BE)
        ]
    )


def _narrowed(
    learnt: Learnt,
    draws: np.ndarray,
    hours: np.ndarray | None,
    p: int,
    scale: Scale,
    *,
    factor: bool,
    usual: bool = False,
) -> Narrowed:
    def range_of(values: np.ndarray) -> Range:
        low, middle, high = scale(values)
        return Range(float(low), float(middle), float(high))

    ends = [0.5 - 0.5 * LEVEL, 0.5, 0.5 + 0.5 * LEVEL]
    hour = None
    if hours is not None:
        low, high = scale(hours[:, 0, p]), scale(hours[:, 1, p])
        hour = (
            float(np.exp(np.mean(np.log(high / np.maximum(low, 1e-9)))))
            if factor
            else float(np.mean(high - low))
        )
    return Narrowed(
        before=range_of(USUAL if usual else np.quantile(learnt.unknowns[:, p], ends)),
        now=range_of(np.quantile(draws[:, p], ends)),
        hour=hour,
        told=float(learnt.told[p]),
        factor=factor,
    )


def jobs_of_known(
    designs: Sequence[Design],
    known: Known,
    *,
    runs: int,
    seed: int,
    settings: Settings,
    changes: Mapping[str, float],
) -> Iterator[Job]:
    """Return the runs of some tanks with these fish, each tank in turn.

    Parameters
    ----------
    designs
        The tanks.
    known
        What is known of the fish; each draw of fish has tempers as likely as the next.
    runs
        Of each tank.
    seed, settings, changes
        As `sim.batch.play_batch`.
    """
    for run in range(runs):
        for design in designs:
            yield Job(
                scenario=design.scenario,
                layout=design.layout,
                run=run,
                seed=seed,
                settings=settings,
                changes=changes,
                tempers=known.tempers(draw_of(run)),
            )
