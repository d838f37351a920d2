"""The response of a Latin plan in the page: every point against each key, and the fitted lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

import numpy as np

from viz.app.elements import Layer, tag
from viz.app.sweeping.figure import (
    WITH_INTERVALS,
    along,
    drawing,
    ground,
    interval_at,
    scale_of,
    shape_at,
    short,
    titled,
    tops_of,
)
from viz.checked import counted
from viz.sweep_page import step_cell

if TYPE_CHECKING:
    from viz.results import Number
    from viz.sweep_results import FactorResult, StepResult, SweepResults

MOST_LABELS = 9
Place = tuple[float, float]  # along in the unit of the key, and up as the results have it


@dataclass(frozen=True, slots=True)
class Cloud:
    """An outcome at all points, against a key.

    Parameters
    ----------
    outcome
        Name of `sim.figures.MEASURES`.
    factor
        The key along.
    at
        Where each point stands: its number in the unit of the key, or which value it has where
        these are no numbers.
    numbers
        One for each point.
    fitted
        The straight lines through them, from the least value to the greatest; empty without any.
    steps
        What they say.
    """

    outcome: str
    factor: FactorResult
    at: tuple[float, ...]
    numbers: tuple[Number | None, ...]
    fitted: tuple[Place, ...]
    steps: tuple[StepResult, ...]


def clouds_of(results: SweepResults) -> list[Cloud]:
    """Return what is drawn: each outcome against each key that varies.

    Parameters
    ----------
    results
        Of a Latin plan.
    """
    found = []
    for outcome in results.shown:
        numbers = tuple(point.outcomes.get(outcome) for point in results.points)
        for k, factor in enumerate(results.factors):
            if not factor.varies:
                continue
            mine = (factor.key, outcome)
            steps = tuple(one for one in results.steps if (one.factor, one.outcome) == mine)
            if factor.ordered:
                at = tuple(point.numbers[k] or 0.0 for point in results.points)
            else:
                at = tuple(float(factor.values.index(one.values[k])) for one in results.points)
            fitted = fitted_line(factor, at, numbers, steps)
            found.append(Cloud(outcome, factor, at, numbers, fitted, steps))
    return found


def fitted_line(
    factor: FactorResult,
    at: Sequence[float],
    numbers: Sequence[Number | None],
    steps: Sequence[StepResult],
) -> tuple[Place, ...]:
    """Return the straight lines of a key, for the middle of all others.

    They hang at the mean of the points: the fit is of the mean of all others there.

    Parameters
    ----------
    factor, at, numbers, steps
        As in `Cloud`.
    """
    changes = [step.estimate for step in steps if step.estimate is not None]
    there = [n.estimate for n in numbers if n is not None and n.estimate is not None]
    if not factor.ordered or not there or not changes or len(changes) != len(steps):
        return ()
    low, high = ends_of(factor)
    places = np.linspace(low, high, len(changes) + 1)
    level = np.array(list(accumulate(changes, initial=0.0)))
    hung = level + np.mean(there) - np.interp(np.mean(at), places, level)
    return tuple(zip(places.tolist(), hung.tolist(), strict=True))


def ends_of(factor: FactorResult) -> tuple[float, float]:
    """Return the least and the greatest number of a key, in its unit.

    Parameters
    ----------
    factor
        Its values are numbers.
    """
    numbers = [number for number in factor.numbers if number is not None]
    return min(numbers), max(numbers)


def cloud_figure(cloud: Cloud) -> None:
    """Draw an outcome at all points against a key.

    Parameters
    ----------
    cloud
        Of `clouds_of`.
    """
    tops = [*tops_of(cloud.numbers), *(up for _, up in cloud.fitted)]
    parts, up = ground(
        tops, scale=scale_of(cloud.outcome), labels=labels_of(cloud.factor), key=cloud.factor.key
    )
    there = [
        (x, number)
        for x, number in zip(_places(cloud.factor, cloud.at), cloud.numbers, strict=True)
        if number is not None and number.estimate is not None
    ]
    # one stroke for all: a page of a few hundred elements for each key would be slow
    marks = "".join(shape_at(x, up(number.estimate or 0.0), 0) for x, number in there)
    intervals = "".join(interval_at(x, number, up) for x, number in there)
    line = "".join(
        f"M{short(x)} {up(y)}L{short(end)} {up(top)}"
        for (x, y), (end, top) in _above(_drawn(cloud))
    )
    for classes, d in (
        ("hw-interval hw-line-0", intervals),
        ("hw-mark-at hw-line-0", marks),
        ("hw-line hw-line-1", line),
    ):
        if d:
            parts.append(tag("path", classes=classes, attributes={"d": d}))
    with Layer("figure", classes="hw-figure hw-response"):
        note = f"{WITH_INTERVALS}; lines as fitted for the middle of all other factors"
        tag("figcaption", f"{titled(cloud.outcome)}, {note if cloud.fitted else WITH_INTERVALS}")
        words = cloud_words(cloud)
        drawing(parts, outcome=cloud.outcome, key=cloud.factor.key, words=words)


def labels_of(factor: FactorResult) -> list[tuple[float, str]]:
    """Return what stands along a key, and where: its values, of a range the ends and the middle.

    Parameters
    ----------
    factor
        The key.
    """
    places = along(factor)
    labels = list(zip(places, factor.values, strict=True))
    if factor.ranges:
        middle = 0.5 * sum(ends_of(factor))
        labels.insert(1, (short(0.5 * sum(places)), f"{middle:.4g} {factor.unit}".strip()))
    return labels if len(labels) <= MOST_LABELS else [labels[0], labels[-1]]


def cloud_words(cloud: Cloud) -> str:
    """Return what is drawn in words, for who cannot see it.

    Parameters
    ----------
    cloud
        Of `clouds_of`.
    """
    values = cloud.factor.values
    between = f"from {values[0]} to {values[-1]}" if cloud.factor.ordered else ", ".join(values)
    said = [f"{one.start} to {one.end}, all else alike: {step_cell(one)}" for one in cloud.steps]
    return (
        f"{titled(cloud.outcome)}, against {cloud.factor.key}. "
        f"{counted(len(cloud.numbers), 'point')}, {between}; the table has each of them."
        + (f" {'; '.join(said)}." if said else "")
    )


def _places(factor: FactorResult, at: Sequence[float]) -> list[float]:
    """Return where numbers of a key stand on the drawing."""
    places = along(factor)
    ends = ends_of(factor) if factor.ordered else (0.0, len(factor.values) - 1.0)
    return [short(float(x)) for x in np.interp(at, ends, (min(places), max(places)))]


def _drawn(cloud: Cloud) -> list[Place]:
    """Return the corners of the fitted lines, along on the drawing."""
    places = _places(cloud.factor, [x for x, _ in cloud.fitted])
    return [(x, y) for x, (_, y) in zip(places, cloud.fitted, strict=True)]


def _above(corners: Sequence[Place]) -> list[tuple[Place, Place]]:
    """Return the pieces of a line that are above nothing: there is no room below it."""
    found = []
    for (x, y), (end, top) in pairwise(corners):
        if y < 0.0 and top < 0.0:
            continue
        crossing = x if y == top else x + (end - x) * y / (y - top)
        found.append(
            ((crossing, 0.0) if y < 0.0 else (x, y), (crossing, 0.0) if top < 0.0 else (end, top))
        )
    return found
