"""The numbers of the rules as a person reads them: all of them, and one with everything known."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from sim.parameters import Parameter, load_parameters
from viz.ink import bullet


def parameters_table() -> RenderableType:
    """Return each parameter in a line, with what it rests on below."""
    parameters = load_parameters()
    wide = max(len(name) for name in parameters)
    parts: list[RenderableType] = [
        Text(f"{'number of the rules':<{wide}}  {'value':>8}  {'range':<14}  unit", "heading")
    ]
    for one in parameters.values():
        parts.append(
            Text.assemble(
                (f"{one.name:<{wide}}", "water"),
                f"  {one.value:>8g}  {_range(one):<14}  {one.unit}",
            )
        )
        parts.append(bullet(_source(one), mark="   ", style="slate"))
    assumed = sum(one.assumed for one in parameters.values())
    return Group(
        *parts,
        Text(
            f"\n{assumed} of {len(parameters)} rest on an assumption, whole or in part. A name "
            "with a year is an entry of docs/references.bib. `holdwater parameters NAME` "
            "shows one; `--set NAME=VALUE` of run and compare changes one within its range. "
            "Lesser ones that stand in the code are listed in docs/parameters.md.",
            style="slate",
        ),
    )


def parameter_card(parameter: Parameter) -> RenderableType:
    """Return everything known of one parameter.

    Parameters
    ----------
    parameter
        One of `sim.parameters.load_parameters`.
    """
    grid = Table.grid(padding=(0, 2))
    grid.add_column(style="slate", no_wrap=True)
    grid.add_column(overflow="fold")
    grid.add_row("value", Text(f"{parameter.value:g} {parameter.unit}".strip()))
    grid.add_row("range", Text(f"{range_words(parameter)} {parameter.unit}".strip()))
    grid.add_row("rests on", Text(_source(parameter)))
    grid.add_row("to change it", Text(f"--set {parameter.name}={parameter.value:g}"))
    return Group(Text(parameter.name, "heading"), grid)


def range_words(one: Parameter) -> str:
    """Return the range of a number, and what part of it runs draw if not all.

    Parameters
    ----------
    one
        Of the table.
    """
    if one.drawn is None:
        return _range(one)
    low, high = one.drawn
    return f"{_range(one)} (runs draw {low:g} to {high:g})"


def _range(one: Parameter) -> str:
    return f"{one.low:g} to {one.high:g}"


def _source(one: Parameter) -> str:
    return one.source.replace("`", "")
