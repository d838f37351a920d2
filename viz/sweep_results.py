"""A sweep as plain values: what the sentences, the tables, the figure and the files read."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sim.figures import MEASURES
from viz.gathered import finite, number_of
from viz.results import Number

if TYPE_CHECKING:
    from sim.statistics import Estimate
    from sim.sweep import Precision, Step, Sweep
    from sim.varied import Varied


@dataclass(frozen=True, slots=True)
class FactorResult:
    """A key of the scenario and its values.

    Parameters
    ----------
    key
        As it was given.
    values, numbers
        As written, and in `unit`; None for what is no number.
    unit
        Of the numbers.
    varies, ordered
        Whether it takes more than one value, and whether its values are different numbers.
    ranges
        Whether the values are the ends of a range that the points lie in.
    """

    key: str
    values: tuple[str, ...]
    numbers: tuple[float | None, ...]
    unit: str
    varies: bool
    ordered: bool
    ranges: bool


@dataclass(frozen=True, slots=True)
class CaveResult:
    """A cave of a point: its own that is kept or taken out, or one that was added.

    Parameters
    ----------
    name, kind, size
        Kind and size are empty for a piece of the file.
    what
        "kept", "taken out" or "added".
    x_m, y_m, turn_deg
        Where an added one stands: its middle from the left and the front glass, m, and how it is
        turned; None for a piece of the file.
    """

    name: str
    what: str
    kind: str = ""
    size: str = ""
    x_m: float | None = None
    y_m: float | None = None
    turn_deg: float | None = None


@dataclass(frozen=True, slots=True)
class PointResult:
    """One point and what became of its fish.

    Parameters
    ----------
    values, numbers
        One for each factor.
    hash
        Digest of the scenario as played.
    runs, draws
        Played, and draws of fish among them.
    narrow
        Whether its interval became as narrow as was asked; None where none was.
    outcomes
        By the names of `sim.figures.MEASURES`.
    caves
        Where their number is a factor.
    """

    values: tuple[str, ...]
    numbers: tuple[float | None, ...]
    hash: str
    runs: int
    draws: int
    narrow: bool | None
    outcomes: dict[str, Number]
    caves: tuple[CaveResult, ...]


@dataclass(frozen=True, slots=True)
class StepResult:
    """What a change of one factor does to an outcome, for the same fish, all else alike.

    Parameters
    ----------
    factor, start, end
        Its key and two of its values; of a hypercube the ends of a part of its range.
    part
        Of a hypercube: which part; else empty.
    outcome, unit
        A name of `sim.figures.MEASURES`, and its unit.
    estimate, low, high, n, method
        At the end less at the start, with the 95 % interval, over how many draws of fish, and how
        it was made.
    says
        "gain" or "loss" where the interval leaves out no difference, "none" where it does not,
        "" where there is none.
    """

    factor: str
    start: str
    end: str
    part: str
    outcome: str
    unit: str
    estimate: float | None
    low: float | None
    high: float | None
    n: int
    method: str
    says: str


@dataclass(frozen=True, slots=True)
class PastResult:
    """Past which value of a factor no further gain is shown.

    Parameters
    ----------
    factor, outcome
        Its key, and a name of `sim.figures.MEASURES`.
    value
        None where some interval cannot be given.
    last
        Whether it is the last value: the gain goes on as far as was looked.
    onward
        From it to the last value; None where it is the last.
    before
        A change that shows a gain from the value before it on, to the first value that does; None
        where it is the first.
    """

    factor: str
    outcome: str
    value: str | None
    last: bool
    onward: StepResult | None
    before: StepResult | None = None


@dataclass(frozen=True, slots=True)
class SweepResults:
    """Everything a sweep has to say.

    Parameters
    ----------
    provenance
        Versions, machine, settings, seed and what was changed.
    file, title, days
        Of the scenario.
    plan
        "full" or "latin".
    shown
        Outcomes that are told, names of `sim.figures.MEASURES`.
    precision
        Outcome, half width and most runs, where points were played until an interval was narrow.
    factors, points, steps, past
        See there.
    levels
        By outcome and factor, the outcome at each of its values, the mean over the others.
    explained
        Of a hypercube: by outcome, the share of the variance between points that two straight
        lines a factor explain; None where there were too few points.
    """

    provenance: dict[str, object]
    file: str
    title: str
    days: float
    plan: str
    shown: tuple[str, ...]
    precision: dict[str, object] | None
    factors: tuple[FactorResult, ...]
    points: tuple[PointResult, ...]
    steps: tuple[StepResult, ...]
    past: tuple[PastResult, ...]
    levels: dict[str, dict[str, tuple[Number | None, ...]]]
    explained: dict[str, float | None]


def results_of_sweep(
    sweep: Sweep,
    *,
    file: str,
    shown: Sequence[str],
    precision: Precision | None,
    provenance: Mapping[str, object],
) -> SweepResults:
    """Return a sweep as plain values.

    Parameters
    ----------
    sweep
        What was played.
    file
        Where the scenario was read.
    shown
        Outcomes to tell.
    precision
        Until when points were played, or None.
    provenance
        Of `viz.record.provenance`.
    """
    from sim.response import response_of
    from sim.varied import own_title

    steps: list[StepResult] = []
    past: list[PastResult] = []
    levels: dict[str, dict[str, tuple[Number | None, ...]]] = {}
    explained: dict[str, float | None] = {}
    for outcome in shown:
        if sweep.plan == "full":
            steps += [_step(sweep, step) for step in sweep.steps(outcome)]
            past += [_past(sweep, k, outcome) for k in sweep.varied if sweep.factors[k].ordered]
            levels[outcome] = {
                sweep.factors[k].key: tuple(
                    _number(sweep.mean_at(k, value, outcome), outcome)
                    for value in range(len(sweep.factors[k].values))
                )
                for k in sweep.varied
            }
            continue
        response = response_of(sweep, outcome)
        explained[outcome] = finite(response.explained)
        for one in response.stretches:
            factor = sweep.factors[one.factor]
            ends = (
                (f"{one.start:.4g} {factor.unit}".strip(), f"{one.end:.4g} {factor.unit}".strip())
                if math.isfinite(one.start)
                else (factor.values[0].text, one.part)
            )
            steps.append(_change(factor.key, *ends, one.part, outcome, one.change, says=one.gain))
    scenario = sweep.tanks[0].scenario
    return SweepResults(
        provenance=dict(provenance),
        file=file,
        title=own_title(sweep.factors, sweep.tanks[0]),
        days=scenario.days,
        plan=sweep.plan,
        shown=tuple(shown),
        precision=None
        if precision is None
        else {
            "outcome": precision.outcome,
            "half_width": precision.half_width,
            "most_runs": precision.most,
        },
        factors=tuple(
            FactorResult(
                key=factor.key,
                values=tuple(value.text for value in factor.values),
                numbers=tuple(finite(value.number) for value in factor.values),
                unit=factor.unit,
                varies=factor.varies,
                ordered=factor.ordered,
                ranges=factor.span is not None,
            )
            for factor in sweep.factors
        ),
        points=tuple(_points(sweep, precision)),
        steps=tuple(steps),
        past=tuple(past),
        levels=levels,
        explained=explained,
    )


def _points(sweep: Sweep, precision: Precision | None) -> list[PointResult]:
    from sim.scenario_file import scenario_hash
    from sim.sweep import narrow_enough

    return [
        PointResult(
            values=tuple(value.text for value in tank.values),
            numbers=tuple(finite(value.number) for value in tank.values),
            hash=scenario_hash(tank.scenario),
            runs=summary.runs,
            draws=summary.draws,
            narrow=None if precision is None else narrow_enough(batch, precision),
            outcomes={
                name: number_of(figure.estimate, unit=figure.unit)
                for name, figure in summary.figures.items()
            },
            caves=caves_of_point(tank),
        )
        for tank, batch, summary in zip(sweep.tanks, sweep.batches, sweep.summaries, strict=True)
    ]


def caves_of_point(tank: Varied) -> tuple[CaveResult, ...]:
    """Return the caves of a point; empty where their number is the file's."""
    if tank.caves is None:
        return ()
    return (
        *(CaveResult(name, "kept") for name in tank.caves.kept),
        *(
            CaveResult(
                piece.name,
                "added",
                piece.kind,
                piece.size or "",
                piece.x_m,
                piece.y_m,
                round(math.degrees(piece.turn_rad), 6),
            )
            for piece in tank.caves.added
        ),
        *(CaveResult(name, "taken out") for name in tank.caves.taken_out),
    )


def _past(sweep: Sweep, factor: int, outcome: str) -> PastResult:
    values = sweep.factors[factor].values
    at = sweep.last_gain(factor, outcome)
    last = len(values) - 1
    onward = None if at is None or at == last else sweep.step(factor, at, last, outcome)
    return PastResult(
        factor=sweep.factors[factor].key,
        outcome=outcome,
        value=None if at is None else values[at].text,
        last=at == last,
        onward=None if onward is None else _step(sweep, onward),
        before=None if not at else _gain_from(sweep, factor, at - 1, outcome),
    )


def _gain_from(sweep: Sweep, factor: int, value: int, outcome: str) -> StepResult | None:
    """The change from a value to the first later one that shows a gain."""
    for later in range(value + 1, len(sweep.factors[factor].values)):
        step = sweep.step(factor, value, later, outcome)
        if step is not None and step.gain == "gain":
            return _step(sweep, step)
    return None


def _step(sweep: Sweep, step: Step) -> StepResult:
    factor = sweep.factors[step.factor]
    return _change(
        factor.key,
        factor.values[step.start].text,
        factor.values[step.end].text,
        "",
        step.outcome,
        step.change,
        says=step.gain,
    )


def _change(
    key: str, start: str, end: str, part: str, outcome: str, change: Estimate, *, says: str
) -> StepResult:
    return StepResult(
        factor=key,
        start=start,
        end=end,
        part=part,
        outcome=outcome,
        unit=MEASURES[outcome].unit,
        estimate=finite(change.value),
        low=finite(change.low),
        high=finite(change.high),
        n=int(change.n),
        method=change.method,
        says=says,
    )


def _number(estimate: Estimate | None, outcome: str) -> Number | None:
    return None if estimate is None else number_of(estimate, unit=MEASURES[outcome].unit)
