"""The page that `sweep` prints, from top to bottom."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from sim.figures import MEASURES
from sim.formats import format_length
from viz.cautions import ABSOLUTE_SWEEP, CAUTIONS
from viz.checked import counted, days_words
from viz.ink import bullet, heading, safe
from viz.phrases import rounded
from viz.results import Number
from viz.sweep_results import CaveResult, StepResult, SweepResults
from viz.sweep_words import interval_words, sure_sentences, sweep_sentences

MOST_ROWS = 60
SAYS = {"gain": "gain", "loss": "worse", "none": "none shown", "": "cannot say"}


def sweep_page(results: SweepResults) -> RenderableType:
    """Return everything a person is told about a sweep.

    Parameters
    ----------
    results
        What was found.
    """
    parts: list[RenderableType] = [
        *_varied(results),
        heading("In short"),
        *(bullet(one.words) for one in sweep_sentences(results)),
        heading("At each point", beside="estimate, 95 % interval; an injury of 1 is death"),
        _points(results),
        *_cut(results),
        heading("From value to value", beside="same fish, all else alike"),
        _steps(results),
    ]
    places = list(cave_places(results))
    if places:
        parts += [heading("Where the caves stand"), *(bullet(words) for words in places)]
    parts.append(heading("How sure"))
    parts += [bullet(words) for words in (*sure_sentences(results), ABSOLUTE_SWEEP)]
    parts.append(heading("Before you build it"))
    parts += [bullet(words, mark="!", style="sand") for words in CAUTIONS]
    return Group(*parts)


def _varied(results: SweepResults) -> Iterator[RenderableType]:
    yield heading("What was varied")
    yield bullet(Text.assemble((safe(results.title), "bold"), "  ", (safe(results.file), "slate")))
    for factor in results.factors:
        if factor.ranges:
            words = f"{factor.key}: {factor.values[0]} to {factor.values[1]}"
        else:
            words = f"{factor.key}: {', '.join(factor.values)}"
        yield bullet(words + ("" if factor.varies else ", at every point"), mark=" ")
    runs = [point.runs for point in results.points]
    each = f"{min(runs)}" if min(runs) == max(runs) else f"{min(runs)} to {max(runs)}"
    yield bullet(
        f"{counted(len(results.points), 'point')}, "
        f"{'all combinations' if results.plan == 'full' else 'a Latin hypercube'}, "
        f"{each} runs of {days_words(results.days)} each, the same fish at every point; seed "
        f"{results.provenance['seed']}",
        mark=" ",
        style="slate",
    )
    keys = [factor.key.lower() for factor in results.factors]
    if {"tank.length", "tank.width", "tank.size"} & set(keys) and "pieces_when_resized" not in keys:
        yield bullet(
            "the file's own pieces are spread over the footprint in proportion; --vary "
            "pieces_when_resized=keep leaves them where they are",
            mark=" ",
            style="slate",
        )
    changed = results.provenance.get("parameters_changed")
    if isinstance(changed, dict) and changed:
        words = ", ".join(f"{name} = {value:g}" for name, value in changed.items())
        yield bullet(f"changed: {words}", mark="!", style="accent")


def cell(number: Number | None) -> str:
    """Return a number with its interval for a cell: "0.42 (0.3-0.55)", shares in 100.

    Parameters
    ----------
    number
        None where there is none.
    """
    if number is None or number.estimate is None:
        return "-"
    scale = 100.0 if number.unit.startswith("share") else 1.0
    if number.low is None or number.high is None:
        return rounded(scale * number.estimate)
    low, high = (rounded(scale * side) for side in (max(number.low, 0.0), number.high))
    return f"{rounded(scale * number.estimate)} ({low}-{high})"


def head(outcome: str) -> str:
    """Return the heading of a column of an outcome, with its unit."""
    measure = MEASURES[outcome]
    if measure.unit.startswith("share"):
        return f"{measure.text}, in 100" if measure.kind == "share" else f"{measure.text}, %"
    return f"{measure.text}, {measure.unit}"


def _points(results: SweepResults) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    varied = [k for k, factor in enumerate(results.factors) if factor.varies]
    for k in varied:
        table.add_column(safe(results.factors[k].key).replace(".", ".\n"), justify="right")
    table.add_column("runs", justify="right")
    for outcome in results.shown:
        table.add_column(head(outcome), justify="right", min_width=16)
    for point in results.points[:MOST_ROWS]:
        wide = "" if point.narrow is not False else " wide"
        table.add_row(
            *(safe(point.values[k]) for k in varied),
            f"{point.runs}{wide}",
            *(cell(point.outcomes.get(outcome)) for outcome in results.shown),
        )
    return table


def _cut(results: SweepResults) -> Iterator[RenderableType]:
    more = len(results.points) - MOST_ROWS
    if more > 0:
        yield bullet(f"{counted(more, 'more point')}: --csv or -o writes them all", style="slate")


def _steps(results: SweepResults) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("from", justify="right")
    table.add_column("to", justify="right")
    table.add_column("change")
    table.add_column("further gain")
    shown = ("", "")
    for step in results.steps:
        if (step.factor, step.outcome) != shown:
            shown = (step.factor, step.outcome)
            table.add_row()
            words = f"{step.factor}: {head(step.outcome)}"
            table.add_row("", "", Text(safe(words), "bold"), "")
        table.add_row(safe(step.start), safe(step.end), step_cell(step), SAYS[step.says])
    return table


def step_cell(step: StepResult) -> str:
    """Return a change for a cell: "0.08 less (0.01 to 0.16 less)", shares in 100.

    Parameters
    ----------
    step
        Of any outcome.
    """
    if step.estimate is None:
        return "-"
    scale = 100.0 if step.unit.startswith("share") else 1.0
    value = scale * step.estimate
    side = "more" if value > 0.0 else "less"
    number = "none" if value == 0.0 else f"{rounded(abs(value))} {side}"
    return number + interval_words(step)


def cave_places(results: SweepResults) -> Iterator[str]:
    """Yield for each tank where its caves stand, told once for all numbers of caves.

    Parameters
    ----------
    results
        Of a sweep; the caves of a point with fewer are among those of a point with more.
    """
    keys = [factor.key.lower() for factor in results.factors]
    if "hardscape.caves" not in keys:
        return
    apart = [k for k, f in enumerate(results.factors) if f.varies and keys[k] != "hardscape.caves"]
    most: dict[tuple[str, ...], tuple[CaveResult, ...]] = {}
    for point in results.points:
        where = tuple(point.values[k] for k in apart)
        there = [cave for cave in point.caves if cave.what != "taken out"]
        if len(there) >= len([c for c in most.get(where, ()) if c.what != "taken out"]):
            most[where] = point.caves
    for where, caves in most.items():
        labels = [
            f"{results.factors[k].key} = {value}" for k, value in zip(apart, where, strict=True)
        ]
        own = ", ".join(f'"{cave.name}"' for cave in caves if cave.what != "added")
        start = f"{', '.join(labels)}: " if labels else ""
        added = [cave for cave in caves if cave.what == "added"]
        yield (
            f"{start}its own in this order, {own or 'none'}"
            + "".join(f"; then {_place_words(cave)}" for cave in added)
            + "."
        )


def _place_words(cave: CaveResult) -> str:
    assert cave.x_m is not None
    assert cave.y_m is not None
    turn = f", turned {cave.turn_deg:g} degrees" if cave.turn_deg else ""
    kind = cave.kind.replace("-", " ")
    return (
        f"{kind} {cave.size} ({format_length(cave.x_m)} from the left glass, "
        f"{format_length(cave.y_m)} from the front{turn})"
    )
