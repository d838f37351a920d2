"""The response of a sweep as a figure: each outcome against each factor, with its intervals.

Told by marker and line as well as by colour; the colours are told apart by colour-blind eyes.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from sim.figures import MEASURES
from viz.results import Number
from viz.sweep_results import FactorResult, SweepResults

if TYPE_CHECKING:
    from matplotlib.axes import Axes

COLOURS = ("#0f5a78", "#c8743c", "#4d8a3a", "#7b4a9e", "#8a6d1f", "#444b50", "#b0476b", "#2a9aa8")
MARKERS = "osD^vPX*"
LINES: tuple[Any, ...] = ("-", "--", ":", "-.", (0, (5, 1, 1, 1)), (0, (3, 3)), (0, (1, 2)), "-")
MOST_LINES = 8
PANEL_IN = (4.3, 2.9)
KINDS = ("png", "svg", "pdf")


def figure_bytes(results: SweepResults, *, kind: str) -> bytes:
    """Return the response figure.

    With one or two factors that vary, a panel for each outcome: the first factor along, a line for
    each value of the second. With more, a panel for each outcome and factor, the mean over the
    values of the others. Of a Latin hypercube every point is drawn in every panel, with the fitted
    straight lines.

    Parameters
    ----------
    results
        What was found.
    kind
        ``"png"``, ``"svg"`` or ``"pdf"``.
    """
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    varied = [k for k, factor in enumerate(results.factors) if factor.varies]
    together = results.plan == "full" and len(varied) <= 2
    if together and len(varied) == 2 and len(results.factors[varied[1]].values) > MOST_LINES:
        together = False
    columns = [varied[0]] if together else varied
    rows = len(results.shown)
    wide = len(columns) == 1
    width = 7.2 if wide else PANEL_IN[0] * len(columns)
    style: Any = {
        "font.size": 10,
        "svg.hashsalt": "holdwater",
        "axes.spines.top": False,
        "axes.spines.right": False,
    }
    with matplotlib.rc_context(style):
        figure = Figure(figsize=(width, 0.7 + PANEL_IN[1] * rows), layout="constrained")
        FigureCanvasAgg(figure)
        panels = figure.subplots(rows, len(columns), squeeze=False, sharey="row")
        for outcome, row in zip(results.shown, panels, strict=True):
            for k, axes in zip(columns, row, strict=True):
                _panel(axes, results, outcome, k, varied if together else [k])
                if k == columns[0]:
                    axes.set_ylabel(_label(outcome))
        figure.suptitle(_title(results, together=together), fontsize=10, x=0.01, ha="left")
        stream = io.BytesIO()
        metadata: dict[str, Any] = {
            "png": {"Software": None}, "svg": {"Date": None}, "pdf": {"CreationDate": None},
        }[kind]  # fmt: skip
        figure.savefig(stream, format=kind, dpi=150, metadata=metadata)
    return stream.getvalue()


def _title(results: SweepResults, *, together: bool) -> str:
    name = results.title or results.file
    runs = [point.runs for point in results.points]
    each = f"{min(runs)}" if min(runs) == max(runs) else f"{min(runs)} to {max(runs)}"
    words = f"{name}\n{each} runs at each of {len(results.points)} points, 95 % intervals"
    if results.plan == "latin":
        return f"{words}; lines as fitted for the middle of all other factors"
    return words if together else f"{words}; mean over the values of the other factors"


def _label(outcome: str) -> str:
    measure = MEASURES[outcome]
    unit = "in 100" if measure.kind == "share" else measure.unit
    unit = "%" if measure.kind == "mean" and unit.startswith("share") else unit
    text = f"{measure.text}, {unit}"
    middle = text.rfind(" ", 0, len(text) // 2 + 6)
    return text if len(text) < 30 else f"{text[:middle]}\n{text[middle + 1 :]}"


def _panel(axes: Axes, results: SweepResults, outcome: str, k: int, varied: Sequence[int]) -> None:
    factor = results.factors[k]
    scale = 100.0 if MEASURES[outcome].unit.startswith("share") else 1.0
    if results.plan == "latin":
        _scatter(axes, results, outcome, k, scale)
    elif len(varied) == 2:
        other = varied[1]
        named = results.factors[other]
        count = len(named.values)
        for line, value in enumerate(named.values):
            numbers = [
                point.outcomes.get(outcome)
                for point in results.points
                if point.values[other] == value
            ]
            _line(axes, factor, numbers, line, scale, label=value, of=count)
        axes.legend(title=named.key, fontsize=8, title_fontsize=8, ncols=2 if count > 4 else 1,
                    frameon=False, loc="center left", bbox_to_anchor=(1.0, 0.5))  # fmt: skip
    else:
        _line(axes, factor, results.levels[outcome][factor.key], 0, scale)
    _axis(axes, factor, latin=results.plan == "latin")
    nothing = not axes.dataLim.y1 > 0.0
    axes.set_ylim(bottom=0.0, top=1.0 if nothing else None)
    axes.grid(axis="y", color="#dfe6ea", lw=0.7)
    axes.set_axisbelow(True)


def _places(factor: FactorResult) -> list[float]:
    numbers = [number for number in factor.numbers if number is not None]
    if factor.ordered and len(numbers) == len(factor.values):
        return numbers
    return [float(k) for k in range(len(factor.values))]


def _axis(axes: Axes, factor: FactorResult, *, latin: bool) -> None:
    axes.set_xlabel(f"{factor.key}{f', {factor.unit}' if factor.ordered and factor.unit else ''}")
    axes.margins(x=0.12)
    if not factor.ordered:
        axes.set_xticks(_places(factor), factor.values)
    elif not latin and len(factor.values) <= 9:
        axes.set_xticks(_places(factor), [f"{number:g}" for number in _places(factor)])


def _line(
    axes: Axes,
    factor: FactorResult,
    numbers: Sequence[Number | None],
    line: int,
    scale: float,
    *,
    label: str | None = None,
    of: int = 1,
) -> None:
    x = _places(factor)
    step = min((b - a for a, b in zip(sorted(x), sorted(x)[1:], strict=False)), default=1.0)
    shift = 0.09 * step * (line - 0.5 * (of - 1)) * min(1.0, 7.0 / max(of, 1))
    y = [math.nan if n is None or n.estimate is None else scale * n.estimate for n in numbers]
    below, above = _sides(numbers, scale)
    axes.errorbar(
        [place + shift for place in x],
        y,
        yerr=[below, above],
        color=COLOURS[line % MOST_LINES],
        marker=MARKERS[line % MOST_LINES],
        ls=LINES[line % MOST_LINES] if factor.ordered else "",
        ms=5.5,
        lw=1.3,
        capsize=2.5,
        elinewidth=1.0,
        label=label,
    )


def _sides(numbers: Sequence[Number | None], scale: float) -> tuple[list[float], list[float]]:
    below, above = [], []
    for number in numbers:
        if number is None or None in (number.estimate, number.low, number.high):
            below.append(math.nan)
            above.append(math.nan)
            continue
        assert number.estimate is not None
        assert number.low is not None
        assert number.high is not None
        below.append(scale * max(number.estimate - number.low, 0.0))
        above.append(scale * max(number.high - number.estimate, 0.0))
    return below, above


def _scatter(axes: Axes, results: SweepResults, outcome: str, k: int, scale: float) -> None:
    factor = results.factors[k]
    numbers = [point.outcomes.get(outcome) for point in results.points]
    if factor.ordered:
        x = [point.numbers[k] or 0.0 for point in results.points]
    else:
        x = [float(factor.values.index(point.values[k])) for point in results.points]
    y = [math.nan if n is None or n.estimate is None else scale * n.estimate for n in numbers]
    below, above = _sides(numbers, scale)
    axes.errorbar(x, y, yerr=[below, above], fmt="o", ms=4.5, color=COLOURS[0], elinewidth=0.9,
                  capsize=2, alpha=0.85)  # fmt: skip
    mine = [s for s in results.steps if (s.factor, s.outcome) == (factor.key, outcome)]
    changes = [step.estimate for step in mine if step.part != "" and step.estimate is not None]
    if not factor.ordered or len(changes) != len(mine) or not changes:
        return
    ends = [number for number in factor.numbers if number is not None]
    low, high = min(ends), max(ends)
    places = [low, high] if len(changes) == 1 else [low, 0.5 * (low + high), high]
    level = [0.0]
    for change in changes:
        level.append(level[-1] + scale * change)
    # The fitted line hangs at the mean of the points, where the fit is of the mean of all others.
    middle = float(_at(sum(x) / len(x), places, level))
    there = [value for value in y if value == value]
    mean = sum(there) / len(there) if there else 0.0
    axes.plot(places, [value - middle + mean for value in level], color=COLOURS[1], lw=1.6)


def _at(x: float, places: Sequence[float], level: Sequence[float]) -> float:
    import numpy as np

    return float(np.interp(x, places, level))
