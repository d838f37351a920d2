"""The page that `sums` prints, from top to bottom."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from sim.sums.tank import MOMENTS, Moment, TankSums
from sim.units import format_load, format_mass, format_volume
from viz.cautions import SUMS_CAUTIONS
from viz.checked import box_words
from viz.ink import bullet, heading, safe
from viz.phrases import LETTERS, rounded
from viz.sums_results import SumsResults
from viz.sums_words import moments_told, number_words, sums_in_words, when_words
from viz.tables import counted_species

Cell = Callable[[TankSums], str]
MomentCell = Callable[[Moment], str]
Rows = tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class SumsTable:
    """One table of the sums.

    Parameters
    ----------
    title, beside
        What it is of, and the day it holds for; the latter may be empty.
    rows
        What is told, and the cells of the tanks; US and metric units stand on two lines of one.
    """

    title: str
    beside: str
    rows: Rows


def _mass(kg: float) -> str:
    return f"{format_mass(kg)}\n{format_mass(kg, system='metric')}"


def _volume(volume_l: float) -> str:
    m3 = volume_l / 1000.0
    return f"{format_volume(m3)}\n{format_volume(m3, system='metric')}"


def _share(share: float | None) -> str:
    return "not by any" if share is None else f"{rounded(100.0 * share)} %"


FLOOR: tuple[tuple[str, Cell], ...] = (
    ("water", lambda s: _mass(s.water_kg)),
    ("sand or gravel", lambda s: _mass(s.substrate_kg)),
    ("pieces", lambda s: _mass(s.pieces_kg)),
    ("glass", lambda s: _mass(s.glass_kg)),
    ("stand, lamp, lid and filter", lambda s: _mass(s.stand_kg)),
    ("all together", lambda s: _mass(s.total_kg)),
    (
        "load under its footprint",
        lambda s: f"{format_load(s.load_kpa)}\n{format_load(s.load_kpa, system='metric')}",
    ),
    ("on each foot of a stand with four", lambda s: _mass(s.foot_kg)),
)
WATER: tuple[tuple[str, Cell], ...] = (
    ("up to the surface", lambda s: _volume(s.brim_l)),
    ("taken by sand or gravel", lambda s: _volume(s.grains_l)),
    ("taken by pieces", lambda s: _volume(s.pieces_l)),
    ("water", lambda s: _volume(s.water_l)),
    ("oxygen at saturation, mg/L", lambda s: f"{s.oxygen_mg_l:.2f}"),
    ("harmful share of all ammonia, %", lambda s: rounded(100.0 * s.unionised_share)),
    ("ammonia that harms, mg/L as nitrogen", lambda s: rounded(s.harm_total)),
    ("the same at one pH more", lambda s: rounded(s.harm_total_higher)),
)
FISH: tuple[tuple[str, MomentCell], ...] = (
    ("all fish weigh", lambda m: _mass(m.fish_g / 1000.0)),
    ("food a day, g", lambda m: rounded(m.food_g)),
    ("ammonia nitrogen a day, mg", lambda m: rounded(1000.0 * m.ammonia_g)),
    (
        "days until it harms, with no ripe filter",
        lambda m: rounded(m.hours_to_harm / 24.0),
    ),
    ("nitrate rises by, mg/L in a week", lambda m: rounded(7.0 * m.nitrate_rise)),
    ("nitrate before a change, mg/L", lambda m: rounded(m.nitrate_before)),
    ("nitrate after it, mg/L", lambda m: rounded(m.nitrate_after)),
)


def sums_page(results: SumsResults) -> RenderableType:
    """Return everything a person is told of the sums of one tank or several.

    Parameters
    ----------
    results
        What was reckoned.
    """
    parts: list[RenderableType] = [
        _asked(results),
        heading("In short"),
        *(bullet(one.words) for one in sums_in_words(results)),
    ]
    for table in tables_of(results):
        parts += [heading(table.title, beside=table.beside), _table(table.rows)]
    parts.append(heading("What is taken for granted", beside="what the files do not say"))
    parts += [bullet(words) for words in granted(results)]
    parts.append(
        bullet("A name with a year is an entry of docs/references.bib.", mark=" ", style="slate")
    )
    parts.append(heading("Before you build it"))
    parts += [bullet(words, mark="!", style="sand") for words in SUMS_CAUTIONS]
    return Group(*parts)


def granted(results: SumsResults, *, options: bool = True) -> list[str]:
    """Return what the sums rest on that the scenarios do not say, one line each.

    Parameters
    ----------
    results
        What was reckoned.
    options
        Whether the option that gives another number is named.
    """
    lines = []
    for one in results.numbers.values():
        how = ", given" if one.given else f" ({one.option})" if options and one.option else ""
        source = "" if one.given else f"; {one.source.replace('`', '')}"
        lines.append(f"{one.words}: {number_words(one)}{how}{source}")
    fed = {tank.sums.fed_by for tank in results.tanks}
    if "need" in fed:
        rule = " (`holdwater parameters need_share`)" if options else ""
        lines.append(
            "food, where a file does not say how much: what the rules say a fish needs"
            f"{rule}, all of it eaten"
        )
    if results.numbers["salinity"].value > 0.0:
        lines.append(
            "the harmful share of ammonia is that of fresh water; in salt water it is a little less"
        )
    return [
        *lines,
        "lengths: those of the files; an adult has the usual length of its sex, and one of unknown "
        "sex the mean of both; all fish are there together, on whatever day they join",
        "the sides of the tank are taken as the inside of the glass, filled to the surface",
        "all ammonia becomes nitrate, and plants take none",
    ]


def _asked(results: SumsResults) -> RenderableType:
    """Names, files, boxes and fish."""
    one = len(results.tanks) == 1
    parts: list[RenderableType] = [heading("What was reckoned")]
    for letter, tank in zip(LETTERS, results.tanks, strict=False):
        named = Text.assemble((safe(tank.name), "bold"), "  ", (safe(tank.file), "slate"))
        sums = tank.sums
        box = box_words(sums.length_m, width_m=sums.width_m, height_m=sums.height_m)
        parts.append(bullet(named, mark=" " if one else letter))
        parts.append(bullet(f"{box}; {counted_species(tank.company)}", mark=" "))
    return Group(*parts)


def tables_of(results: SumsResults) -> list[SumsTable]:
    """Return the tables of the sums, from top to bottom.

    Parameters
    ----------
    results
        What was reckoned.
    """
    tanks = [tank.sums for tank in results.tanks]
    tables = [
        SumsTable("What the floor carries", "", _rows(FLOOR, tanks)),
        SumsTable("The water", "", _rows(WATER, tanks)),
    ]
    told = [{sums.moments[index].name for index in moments_told(sums)} for sums in tanks]
    return tables + [
        _fish(results, name) for name in MOMENTS if any(name in names for names in told)
    ]


def _rows(cells: Sequence[tuple[str, Cell]], tanks: Sequence[TankSums]) -> Rows:
    return tuple((words, tuple(cell(sums) for sums in tanks)) for words, cell in cells)


def _fish(results: SumsResults, name: str) -> SumsTable:
    """The fish at one time: what they weigh, eat and do to the water."""
    numbers = results.numbers
    change = number_words(numbers["change_share"])
    every = number_words(numbers["change_days"])
    limit = f"{numbers['nitrate_limit'].value:g}"
    rows: tuple[tuple[str, MomentCell], ...] = (
        *FISH,
        (f"to stay under {limit}: change every {every}", lambda m: _share(m.change_needed)),
        (
            f"or {change} every so many days",
            lambda m: "not by any" if m.longest_days is None else rounded(m.longest_days),
        ),
    )
    found = [
        next((moment for moment in tank.sums.moments if moment.name == name), None)
        for tank in results.tanks
    ]
    when = dict.fromkeys(when_words(moment) for moment in found if moment is not None)
    return SumsTable(
        "The fish and their water",
        " or ".join(when),
        tuple(
            (words, tuple("-" if moment is None else cell(moment) for moment in found))
            for words, cell in rows
        ),
    )


def _table(rows: Rows) -> Table:
    tanks = len(rows[0][1])
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, show_header=tanks > 1)
    table.add_column("", overflow="fold")
    for letter in LETTERS[:tanks]:
        table.add_column(letter, justify="right", no_wrap=True)
    for words, cells in rows:
        table.add_row(words, *(in_a_line(cell) if tanks == 1 else cell for cell in cells))
    return table


def in_a_line(cell: str) -> str:
    """Return a cell with both units in one line; with one tank there is room for that.

    Parameters
    ----------
    cell
        Of a table of the sums.
    """
    us, _, metric = cell.partition("\n")
    return f"{us} ({metric})" if metric else cell
