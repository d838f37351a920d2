"""Results as plain values: what the words, the tables and the JSON file all read.

Made once from what `sim` computed. Every sentence and every cell is a number of this structure, so
that a reader of the JSON file can find what a sentence stands on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Verdict = Literal["better", "no difference", "worse", "too few to say"]


@dataclass(frozen=True, slots=True)
class Number:
    """An estimate and its 95 % interval.

    Parameters
    ----------
    estimate, low, high
        In `unit`; limits are None where too little was seen to give them.
    unit
        Unit of the three.
    n
        Independent observations it rests on: draws of fish, or runs.
    method
        How the interval was made.
    """

    estimate: float | None
    low: float | None
    high: float | None
    unit: str
    n: int
    method: str


@dataclass(frozen=True, slots=True)
class FishResult:
    """One fish of one design: its name, its species, and and what becomes of it.

    Parameters
    ----------
    name, species
        Its own name, and the scientific one of its species.
    first_day
        Middle day of the first serious injury over the runs that had one, d; None without.
    outcomes
        By the names of `sim.figures.FISH_MEASURES`.
    """

    name: str
    species: str
    first_day: float | None
    outcomes: dict[str, Number]


@dataclass(frozen=True, slots=True)
class AtRiskResult:
    """The fish that comes off worst, chosen in one half of the runs and counted in the other.

    Parameters
    ----------
    name
        The fish.
    by
        "serious": hurt seriously most often; "bites": none was, and this one took most bites.
    share
        Share of the runs that did not choose it.
    """

    name: str
    by: str
    share: Number


@dataclass(frozen=True, slots=True)
class SpareResult:
    """Spare places a keeper should have ready.

    Parameters
    ----------
    places
        Enough in nine of ten runs.
    day
        Day by which one run in ten has wanted the first; None where fewer have.
    enough, short
        Share of runs in which so many are enough, and in which the plan's did not suffice.
    died_first, moved_first
        By the end of each day, the chance that the first harm was a death, or a fish moved out.
    """

    places: int
    day: float | None
    enough: Number
    short: Number
    died_first: tuple[Number, ...]
    moved_first: tuple[Number, ...]


@dataclass(frozen=True, slots=True)
class HarmThird:
    """Runs of one third of the range of what a bite does.

    Parameters
    ----------
    low, high
        Least and greatest harm of a bite in it, injury.
    serious
        Share of its runs with a serious injury.
    """

    low: float
    high: float
    serious: Number


@dataclass(frozen=True, slots=True)
class OutgrownResult:
    """A hiding place that a fish grows too large for.

    Parameters
    ----------
    fish, place
        Names.
    from_day
        Median day from which it no longer fits, among the runs in which that comes.
    share
        Share of the runs in which it comes.
    """

    fish: str
    place: str
    from_day: float
    share: Number


@dataclass(frozen=True, slots=True)
class ObservedFishResult:
    """What one fish does and is done to in the sittings of one observation.

    Parameters
    ----------
    name
        The fish.
    outcomes
        By the names of `sim.observed.FISH_MEASURES`.
    """

    name: str
    outcomes: dict[str, Number]


@dataclass(frozen=True, slots=True)
class ObservedResult:
    """What somebody with a pad counts in the sittings of one observation.

    Parameters
    ----------
    name
        Of the observation.
    days, at_h, minutes
        The days on which it is made, the time of day and how long.
    meeting, until_decided
        Whether fish are put in for it, and whether it ends once somebody has won.
    outcomes
        By the names of `sim.observed.MEASURES` and, for a meeting, `MEETING_MEASURES`.
    fish
        Those that did anything, or to whom anything was done.
    """

    name: str
    days: tuple[int, ...]
    at_h: float
    minutes: float
    meeting: bool
    until_decided: bool
    outcomes: dict[str, Number]
    fish: tuple[ObservedFishResult, ...]


@dataclass(frozen=True, slots=True)
class DesignResult:
    """One tank and what became of its fish.

    Parameters
    ----------
    name, file, hash
        What it is called, where it was read, and the digest of the scenario as played.
    length_m, width_m, height_m, light_h, days
        The tank, its hours of light a day, and the length of a run.
    pair
        Names of grown cichlids of one species that may be a pair, empty without one.
    runs, draws
        Runs played, and draws of fish among them.
    outcomes
        By the names of `sim.figures.MEASURES`.
    without
        Mechanisms switched off.
    interrupted
        Whether it was stopped before all runs were played.
    ends
        Share of the chases that ended in each way; empty without a chase.
    at_risk
        The fish that comes off worst; None when that cannot be said.
    spreads
        By outcome, the share of the variance between runs that comes from which fish one gets, the
        numbers held.
    doubts
        By outcome, the shares of the whole variance that come from what nobody has measured, from
        which fish one gets and from luck on the day; empty where the numbers were held.
    by_harm
        Share of runs with a serious injury where a bite does least, middling and most harm; empty
        where the harm of a bite was held.
    fish
        One by one.
    spare
        Spare places; None where no keeper looks.
    outgrown
        Hiding places that fish grow out of, the most frequent first.
    settling_days
        Days of settling before day 0; what happened in them counts nowhere.
    observed
        What somebody with a pad counts, by observation; empty where nobody does.
    """

    name: str
    file: str
    hash: str
    length_m: float
    width_m: float
    height_m: float
    light_h: float
    days: float
    pair: tuple[str, ...]
    runs: int
    draws: int
    outcomes: dict[str, Number]
    without: tuple[str, ...]
    interrupted: bool
    ends: dict[str, Number]
    at_risk: AtRiskResult | None
    spreads: dict[str, Number]
    doubts: dict[str, dict[str, float | None]]
    by_harm: tuple[HarmThird, ...]
    fish: tuple[FishResult, ...]
    spare: SpareResult | None = None
    outgrown: tuple[OutgrownResult, ...] = ()
    settling_days: float = 0.0
    observed: tuple[ObservedResult, ...] = ()


@dataclass(frozen=True, slots=True)
class DifferenceResult:
    """Second design less first in one outcome, over the same draws of fish.

    Parameters
    ----------
    first, second
        Indices of the designs.
    fish
        Name of the fish it speaks of; None for the whole tank.
    outcome, unit
        A name of `sim.figures.MEASURES`, and its unit.
    estimate, low, high, method
        Second less first, None where too little was seen, and how the interval was made.
    better, same, worse
        Draws of fish for which the second was better, alike and worse.
    ratio
        Second over first; None where it cannot be given.
    variance_gain
        Variance of the difference over that of unpaired runs; None where nothing varies.
    """

    first: int
    second: int
    fish: str | None
    outcome: str
    unit: str
    estimate: float | None
    low: float | None
    high: float | None
    method: str
    better: int
    same: int
    worse: int
    ratio: Number | None
    variance_gain: float | None


@dataclass(frozen=True, slots=True)
class VerdictResult:
    """What is said of the second design as against the first.

    Parameters
    ----------
    first, second
        Indices of the designs.
    verdict
        Of the second; "too few to say" where too few draws of fish were played.
    decided_by
        The outcome that decided; None when none did.
    criterion
        The criterion, stated beforehand.
    shares_refused
        Whether the share of runs was left out, because nearly no run or nearly every run of both
        has a serious injury.
    better, same, worse
        Draws of fish for which the second was better, alike and worse, all criteria together.
    """

    first: int
    second: int
    verdict: Verdict
    decided_by: str | None
    criterion: str
    shares_refused: bool
    better: int
    same: int
    worse: int


@dataclass(frozen=True, slots=True)
class Results:
    """Everything one command has to say.

    Parameters
    ----------
    provenance
        Versions, machine, settings, seed and what was changed.
    designs, differences, verdicts
        See there.
    runs_asked
        Runs of each design that were asked for; fewer were done when it was stopped.
    unmeasured
        Sentence on the spread that is not in the intervals.
    """

    provenance: dict[str, object]
    designs: tuple[DesignResult, ...]
    differences: tuple[DifferenceResult, ...]
    verdicts: tuple[VerdictResult, ...]
    runs_asked: int
    unmeasured: str
