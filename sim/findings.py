"""Findings: what a summary says of a fish, of a hiding place, of the spread and of the ranks."""

from __future__ import annotations

from dataclasses import dataclass

from sim.figures import Figure, Measure, Vector
from sim.scenario import Member
from sim.spread import NestedSplit, VarianceSplit
from sim.statistics import Estimate


@dataclass(frozen=True, slots=True)
class FishSummary:
    """What one fish goes through in a batch.

    Parameters
    ----------
    member
        The fish of the scenario.
    figures
        By name of measure, those of `sim.figures.FISH_MEASURES`; rates are per waking hour of
        the run, whether or not the fish still lived.
    median_day
        Median day of its first serious injury, among the runs in which it had one; nan if none.
    """

    member: Member
    figures: dict[str, Figure]
    median_day: float

    @property
    def name(self) -> str:
        """Name of the fish."""
        return self.member.name


@dataclass(frozen=True, slots=True)
class Outgrown:
    """A hiding place that a fish grows too large for.

    Parameters
    ----------
    member
        The fish.
    place
        Name of the hiding place.
    day
        Median day from which it no longer passes a door, among the runs in which that comes.
    share
        Share of the runs in which it comes.
    """

    member: Member
    place: str
    day: float
    share: Estimate


@dataclass(frozen=True, slots=True)
class AtRisk:
    """The fish that comes off worst, chosen in one half of the runs and measured in the other.

    Parameters
    ----------
    member
        The fish.
    by
        "serious": hurt seriously most often; "bites": no fish ever was, and this one was most
        often the one that took most bites.
    share
        Share of the runs that did not choose it.
    """

    member: Member
    by: str
    share: Estimate


@dataclass(frozen=True, slots=True)
class Spread:
    """Where the spread of a measure between runs comes from.

    Parameters
    ----------
    measure
        What was measured.
    split
        Variance from which fish one gets, and from luck on the day, the numbers held.
    nested
        The shares of unmeasured numbers, fish and luck; None where the numbers are held, or there
        are fewer than two whole sets of them.
    """

    measure: Measure
    split: VarianceSplit
    nested: NestedSplit | None = None


@dataclass(frozen=True, slots=True)
class Dominance:
    """Who stands above whom, measured in each run and averaged over runs.

    Parameters
    ----------
    landau_h, de_vries_h
        Linearity of the contests of a run, 0 to 1.
    david
        Normalised David's score of each fish, from contests, shape (n_fish,).
    elo
        Elo rating of each fish, points, from the last chases of a run, shape (n_fish,).
    """

    landau_h: Estimate
    de_vries_h: Estimate
    david: Vector
    elo: Vector
