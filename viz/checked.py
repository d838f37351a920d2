"""The answer of `check`: each file in a line or two, with what is wrong and what is unwise."""

from __future__ import annotations

import os
from collections.abc import Iterable
from typing import TYPE_CHECKING

from rich.text import Text

from sim.check import check_file
from sim.errors import Refused
from viz.complaints import complain
from viz.ink import bullet, console, safe

if TYPE_CHECKING:
    from sim.check import Checked
    from sim.scenario import Scenario


def show_checks(paths: Iterable[str | os.PathLike[str]]) -> bool:
    """Check files and print what is found: what can be played on the output, complaints beside it.

    Parameters
    ----------
    paths
        Scenario files.

    Returns
    -------
    bool
        Whether all of them can be played.
    """
    out = console()
    good = True
    for path in paths:
        try:
            found = check_file(path)
        except Refused as refusal:
            good = False
            complain(refusal.problems)
            complain(refusal.warnings, unwise=True)
            continue
        out.print(
            Text.assemble((safe(os.fspath(path)), "heading"), "  can be played", overflow="fold")
        )
        out.print(bullet(described(found), mark=" "))
        for warning in found.warnings:
            out.print(bullet(f"unwise: {warning}", mark="!"))
    return good


def described(found: Checked) -> str:
    """Return what a checked file holds, in one sentence.

    Parameters
    ----------
    found
        A checked scenario.
    """
    scenario = found.scenario
    fish = sum(group.count for group in scenario.fish)
    parts = [
        f"{scenario.title}: " if scenario.title else "",
        footprint(scenario),
        f", {counted(len(scenario.pieces), 'piece')}",
        f", {counted(len(found.layout.rooms), 'hiding place')}",
        f", {counted(fish, 'fish', 'fish')}",
        f", {days_words(scenario.days)}",
        f" after {scenario.settling_days:g} of settling." if scenario.settling_days else ".",
    ]
    return "".join(parts)


def footprint(scenario: Scenario) -> str:
    """Return the glass box in a keeper's units and in metric.

    Parameters
    ----------
    scenario
        A scenario.
    """
    tank = scenario.tank
    return box_words(tank.length_m, width_m=tank.width_m, height_m=tank.height_m)


def box_words(length_m: float, *, width_m: float, height_m: float) -> str:
    """Return the sides and the volume of a box: "48 x 18 x 21 in, 79 gal to the brim (...)".

    Parameters
    ----------
    length_m, width_m, height_m
        Its sides, m.
    """
    from sim.units import format_length, format_volume

    sides = (length_m, width_m, height_m)
    us = " x ".join(format_length(side).removesuffix(" in") for side in sides)
    metric = " x ".join(
        format_length(round(side, 2), system="metric").removesuffix(" cm") for side in sides
    )
    volume_m3 = length_m * width_m * height_m
    return (
        f"{us} in, {format_volume(volume_m3)} to the brim ({metric} cm, "
        f"{format_volume(volume_m3, system='metric')})"
    )


def days_words(days: float) -> str:
    """Return a number of days with its noun: "1 day", "0.5 days".

    Parameters
    ----------
    days
        How many.
    """
    return f"{days:g} {'day' if days == 1.0 else 'days'}"


def counted(number: int, one: str, many: str | None = None) -> str:
    """Return a number with its noun.

    Parameters
    ----------
    number
        How many.
    one, many
        The noun for one and for several.
    """
    return f"{number} {one if number == 1 else many or one + 's'}"
