"""From what `sim` computed to the plain values that the words, the tables and the files read."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from viz.results import (
    AtRiskResult,
    DesignResult,
    DifferenceResult,
    FishResult,
    HarmThird,
    Number,
    ObservedFishResult,
    ObservedResult,
    OutgrownResult,
    Results,
    SpareResult,
    VerdictResult,
)
from viz.sure_words import unmeasured_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sim.comparison import Comparison, Design
    from sim.figures import Figure
    from sim.observed import Observed
    from sim.pairing import Difference
    from sim.scenario import Member
    from sim.statistics import Estimate
    from sim.summary import Summary
    from sim.survival import Curve
    from sim.verdict import Verdict


def number_of(estimate: Estimate, *, unit: str) -> Number:
    """Return an estimate as plain numbers, what is not finite as None.

    Parameters
    ----------
    estimate
        Of `sim.statistics`.
    unit
        Its unit.
    """
    low, high = finite(estimate.low), finite(estimate.high)
    if unit.startswith("share"):  # limits of a mean of shares may stick out
        low = None if low is None else max(low, 0.0)
        high = None if high is None else min(high, 1.0)
    return Number(
        finite(estimate.value),
        low,
        high,
        unit,
        int(estimate.n),
        estimate.method,
    )


def finite(value: float) -> float | None:
    """Return a number, or None where it is none.

    Parameters
    ----------
    value
        Any float.
    """
    return float(value) if math.isfinite(value) else None


def design_result(summary: Summary, *, name: str, file: str, hash_: str) -> DesignResult:
    """Return what one batch says as plain values.

    Parameters
    ----------
    summary
        Of the batch.
    name, file
        What the design is called, and where it was read.
    hash_
        Digest of the scenario as played.
    """
    scenario = summary.batch.scenario
    tank = scenario.tank
    risk = summary.at_risk
    return DesignResult(
        name=name,
        file=file,
        hash=hash_,
        length_m=tank.length_m,
        width_m=tank.width_m,
        height_m=tank.height_m,
        light_h=tank.light_hours,
        days=scenario.days,
        pair=may_pair(summary.members),
        runs=summary.runs,
        draws=summary.draws,
        outcomes=_numbers(summary.figures),
        without=tuple(scenario.without),
        interrupted=summary.batch.interrupted,
        ends={
            words: number_of(share, unit="share of chases") for words, share in summary.ends.items()
        },
        at_risk=None
        if risk is None
        else AtRiskResult(risk.member.name, risk.by, number_of(risk.share, unit="share of runs")),
        spreads={
            spread.measure.name: number_of(spread.split.share, unit="share of variance")
            for spread in summary.spreads
        },
        doubts={
            spread.measure.name: {
                "unmeasured": finite(spread.nested.unmeasured),
                "fish": finite(spread.nested.fish),
                "luck": finite(spread.nested.luck),
            }
            for spread in summary.spreads
            if spread.nested is not None
        },
        by_harm=tuple(
            HarmThird(low, high, number_of(share, unit="share of runs"))
            for low, high, share in summary.serious_by_harm
        ),
        fish=tuple(
            FishResult(
                name=fish.name,
                species=fish.member.species.key,
                first_day=finite(fish.median_day),
                outcomes=_numbers(fish.figures),
            )
            for fish in summary.fish
        ),
        spare=spare_result(summary),
        outgrown=tuple(
            OutgrownResult(
                one.member.name, one.place, one.day, number_of(one.share, unit="share of runs")
            )
            for one in summary.outgrown
        ),
        settling_days=scenario.settling_days,
        observed=tuple(observed_result(one, summary=summary) for one in summary.observed),
    )


def observed_result(one: Observed, *, summary: Summary) -> ObservedResult:
    """Return what is counted in one observation as plain values.

    Parameters
    ----------
    one
        Of `sim.observed`.
    summary
        Of the batch it was counted in.
    """
    told = {found.name: found for found in summary.batch.scenario.observe}
    return ObservedResult(
        name=one.name,
        days=one.days,
        at_h=one.at_h,
        minutes=one.minutes,
        meeting=one.meeting,
        until_decided=told[one.name].until_decided,
        outcomes=_numbers(one.figures),
        fish=tuple(
            ObservedFishResult(summary.members[fish.row].name, _numbers(fish.figures))
            for fish in one.fish
        ),
    )


def spare_result(summary: Summary) -> SpareResult | None:
    """Return the spare places as plain values, None where no keeper looks.

    Parameters
    ----------
    summary
        Of a batch.
    """
    spare = summary.spare
    if spare is None:
        return None
    unit = "share of runs"
    ends = range(1, math.ceil(summary.batch.scenario.days) + 1)

    def by_day(curve: Curve | None) -> tuple[Number, ...]:
        if curve is None:
            return ()
        return tuple(number_of(curve.by(float(day)), unit=unit) for day in ends)

    return SpareResult(
        places=spare.places,
        day=spare.day,
        enough=number_of(spare.enough, unit=unit),
        short=number_of(spare.short, unit=unit),
        died_first=by_day(spare.died),
        moved_first=by_day(spare.moved),
    )


def may_pair(members: tuple[Member, ...]) -> tuple[str, ...]:
    """Return the fish that may be a pair: grown, of one cichlid species, not all of one sex.

    Parameters
    ----------
    members
        Fish of a scenario.
    """
    grown: dict[str, list[Member]] = {}
    for fish in members:
        kind = fish.species
        if kind.kind != "cichlid" or kind.site == "none":
            continue
        if fish.length_m is None or fish.length_m >= kind.maturity_m:
            grown.setdefault(kind.key, []).append(fish)
    return tuple(
        fish.name
        for found in grown.values()
        if len(found) > 1 and {fish.sex for fish in found} not in ({"male"}, {"female"})
        for fish in found
    )


def _numbers(figures: dict[str, Figure]) -> dict[str, Number]:
    return {name: number_of(figure.estimate, unit=figure.unit) for name, figure in figures.items()}


def results_of_comparison(comparison: Comparison, *, provenance: Mapping[str, object]) -> Results:
    """Return everything a comparison says as plain values.

    Parameters
    ----------
    comparison
        With one run done or more.
    provenance
        Of `viz.record.provenance`.
    """
    return _results(
        comparison.summaries,
        comparison.designs,
        provenance=provenance,
        differences=tuple(
            difference_result(row)
            for row in (*comparison.differences, *comparison.fish_differences)
        ),
        verdicts=tuple(verdict_result(row) for row in comparison.verdicts),
    )


def results_of_one(
    summary: Summary, *, design: Design, provenance: Mapping[str, object]
) -> Results:
    """Return everything one batch says as plain values.

    Parameters
    ----------
    summary
        Of the batch.
    design
        What it played.
    provenance
        Of `viz.record.provenance`.
    """
    return _results((summary,), (design,), provenance=provenance, differences=(), verdicts=())


def _results(
    summaries: Sequence[Summary],
    designs: Sequence[Design],
    *,
    provenance: Mapping[str, object],
    differences: tuple[DifferenceResult, ...],
    verdicts: tuple[VerdictResult, ...],
) -> Results:
    return Results(
        provenance=dict(provenance),
        designs=tuple(
            design_result(summary, name=design.name, file=str(design.path or ""), hash_=design.hash)
            for summary, design in zip(summaries, designs, strict=True)
        ),
        differences=differences,
        verdicts=verdicts,
        runs_asked=summaries[0].batch.asked,
        unmeasured=unmeasured_words(summaries[0].drawn),
    )


def difference_result(row: Difference) -> DifferenceResult:
    """Return a difference as plain values.

    Parameters
    ----------
    row
        Of `sim.comparison`.
    """
    return DifferenceResult(
        first=row.reference,
        second=row.other,
        fish=row.member.name if row.member is not None else None,
        outcome=row.outcome,
        unit=row.unit,
        estimate=finite(row.estimate),
        low=finite(row.low),
        high=finite(row.high),
        method=row.method,
        better=row.better,
        same=row.same,
        worse=row.worse,
        ratio=None if row.ratio is None else number_of(row.ratio, unit="times"),
        variance_gain=finite(row.variance_gain),
    )


def verdict_result(row: Verdict) -> VerdictResult:
    """Return a verdict as plain values.

    Parameters
    ----------
    row
        Of `sim.verdict`.
    """
    from sim.verdict import CRITERION

    return VerdictResult(
        first=row.reference,
        second=row.other,
        verdict=row.word,
        decided_by=row.decided_by or None,
        criterion=CRITERION,
        shares_refused=row.shares_refused,
        better=row.better,
        same=row.same,
        worse=row.worse,
    )
