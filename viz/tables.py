"""Tables of results for the command line: each design has a letter, each interval its strip."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from viz.checked import box_words, counted
from viz.ink import bullet, heading, safe
from viz.phrases import LETTERS, hundredths, rounded
from viz.results import DesignResult, Number, Results

STRIP_CELLS = 26
MOST_FISH_ROWS = 16
RISKS = (
    ("serious", "hurt"),
    ("hidden_h_per_day", "hides"),
    ("chases_taken_per_h", "chased"),
    ("bites_taken_per_h", "bitten"),
)
ONLY_KEPT = ("separated", "places_short")  # where a keeper looks
ONLY_PLAYED = ("any_eaten", "least_food_share", "food_attacks_per_meal")
# what is shown first, as a keeper says it, the factor to that unit, and its end where it has one
SHOWN: tuple[tuple[str, str, float, float | None], ...] = (
    ("serious", "a fish hurt so badly that one would take it out, in 100 runs", 100.0, 100.0),
    ("death", "a fish dead, in 100 runs", 100.0, 100.0),
    ("separated", "a fish moved out by the keeper, in 100 runs", 100.0, 100.0),
    ("places_short", "too few spare places, in 100 runs", 100.0, 100.0),
    ("dose", "injury received in a run, all fish together (1 at once kills a fish)", 1.0, None),
    ("chases_per_h", "chases an hour", 1.0, None),
    ("bites_per_h", "bites that land, an hour", 1.0, None),
    ("hidden_h_per_day", "hours a day that a fish hides, of those with the light on", 1.0, None),
    ("corner_h_per_day", "hours a day that a fish hangs in a top corner", 1.0, None),
    ("any_eaten", "a fish swallowed, in 100 runs", 100.0, 100.0),
    ("least_food_share", "food of the fish that gets least, % of what it needs", 100.0, 200.0),
    ("food_attacks_per_meal", "attacks over food at a meal", 1.0, None),
    ("held_share", "floor defended, %", 100.0, 100.0),
    ("open_share", "floor that nobody defends, %", 100.0, 100.0),
)


def compared(results: Results) -> RenderableType:
    """Return what was compared: names, files, footprints, fish, runs, days and seed.

    Parameters
    ----------
    results
        What was found.
    """
    one = len(results.designs) == 1
    parts: list[RenderableType] = [heading("What was played" if one else "What was compared")]
    for letter, design in zip(LETTERS, results.designs, strict=False):
        mark = " " if one else letter
        named = Text.assemble((safe(design.name), "bold"), "  ", (safe(design.file), "slate"))
        parts.append(bullet(named, mark=mark))
        parts.append(bullet(f"{_box(design)}; {company_words(design)}", mark=" "))
    same = len({(d.days, d.settling_days, d.runs, d.draws) for d in results.designs}) == 1
    first = results.designs[0]
    played = results.provenance
    for letter, design in zip(LETTERS, (first,) if same else results.designs, strict=False):
        who = "" if one or same else f"{letter}: "
        parts.append(
            bullet(
                f"{who}{counted(design.runs, 'run')} of {design.days:g} "
                f"{'day' if design.days == 1 else 'days'}"
                f"{'' if one or not same else ' each'}{_settled(design)}, "
                f"over {counted(design.draws, 'draw')} of "
                f"fish{'' if one else ', the same fish in every tank'}; seed {played['seed']}",
                mark=" ",
                style="slate",
            )
        )
    parts += [bullet(words, mark="!", style="accent") for words in _unusual(results)]
    return Group(*parts)


def _unusual(results: Results) -> Iterator[str]:
    """What makes these results other than the usual ones."""
    played = results.provenance
    changed = played.get("parameters_changed")
    if isinstance(changed, dict) and changed:
        yield "changed: " + ", ".join(f"{name} = {value:g}" for name, value in changed.items())
    for design, letter in zip(results.designs, LETTERS, strict=False):
        if design.without:
            who = "" if len(results.designs) == 1 else f" in {letter}"
            yield f"switched off{who}: " + ", ".join(design.without)
    if played.get("watch") != "auto":
        yield f"watched: {played.get('watch')}"
    done = min(design.runs for design in results.designs)
    if done < results.runs_asked:
        yield f"stopped early: {done} of {results.runs_asked} runs finished"


def _settled(design: DesignResult) -> str:
    """Days of settling before, in words; nothing where there are none."""
    days = design.settling_days
    return f" after {days:g} {'day' if days == 1 else 'days'} of settling" if days else ""


def _box(design: DesignResult) -> str:
    return box_words(design.length_m, width_m=design.width_m, height_m=design.height_m)


def company_words(design: DesignResult) -> str:
    """Return who lives in a tank: "convict cichlid x 2, bristlenose".

    Parameters
    ----------
    design
        One tank.
    """
    count: dict[str, int] = {}
    for fish in design.fish:
        count[fish.species] = count.get(fish.species, 0) + 1
    return counted_species(count)


def counted_species(count: Mapping[str, int]) -> str:
    """Return species with their numbers: "convict cichlid x 2, bristlenose".

    Parameters
    ----------
    count
        How many of each, by scientific name.
    """
    from sim.species import load_species

    species = load_species()
    return ", ".join(
        species[key].names[0] + (f" x {number}" if number > 1 else "")
        for key, number in count.items()
    )


def happened(results: Results) -> RenderableType:
    """Return every outcome of every design with its interval, in figures and as a strip.

    Parameters
    ----------
    results
        What was found.
    """
    parts: list[RenderableType] = [
        heading("What happened", beside="o estimate, ~ its 95 % interval")
    ]
    for name, words, factor, end in SHOWN:
        rows = [d.outcomes.get(name) for d in results.designs]
        if name in (*ONLY_KEPT, *ONLY_PLAYED) and not any(rows):
            continue
        scale = end or _scale(rows, factor=factor)
        parts.append(Text.assemble(words, (f"   0 to {rounded(scale)}", "slate")))
        parts += _strips(rows, factor=factor, end=scale, whole=end is not None)
    return Group(*parts)


def _scale(rows: Sequence[Number | None], *, factor: float) -> float:
    """What the right end of a line stands for: the greatest limit, or one where there is less."""
    tops = [value for row in rows if row for value in (row.estimate, row.high) if value is not None]
    return max(factor * max(tops, default=1.0), 1.0)


def _strips(
    rows: Sequence[Number | None], *, factor: float, end: float, whole: bool
) -> list[RenderableType]:
    lines: list[RenderableType] = []
    for letter, row in zip(LETTERS, rows, strict=False):
        mark = "  " if len(rows) == 1 else f"  {letter}  "
        if row is None or row.estimate is None:
            lines.append(Text.assemble((mark, "sand"), "too little was seen to say", style="slate"))
            continue
        value = factor * row.estimate
        figures = (hundredths(row.estimate) if whole else rounded(value)).rjust(7)
        if row.low is None or row.high is None:
            limits = "too rare for an interval"
            cells = strip(value, low=value, high=value, end=end)
        else:
            low, high = factor * row.low, factor * row.high
            limits = f"{low:.0f} to {high:.0f}" if whole else f"{rounded(low)} to {rounded(high)}"
            cells = strip(value, low=low, high=high, end=end)
        lines.append(Text.assemble((mark, "sand"), cells, "  ", (figures, "bold"), "   ", limits))
    return lines


def strip(value: float, *, low: float, high: float, end: float) -> Text:
    """Return an interval drawn on a line from 0 to `end`.

    Parameters
    ----------
    value, low, high
        Estimate and limits.
    end
        What the right end of the line stands for, in the same unit.
    """

    def cell(at: float) -> int:
        return min(max(round((STRIP_CELLS - 1) * at / end), 0), STRIP_CELLS - 1)

    text = Text()
    for place in range(STRIP_CELLS):
        if place == cell(value):
            text.append("o", "accent")
        elif cell(low) <= place <= cell(high):
            text.append("~", "water")
        else:
            text.append(".", "slate")
    return text


def at_risk(results: Results) -> RenderableType:
    """Return who is at risk: each fish of each design, the most endangered first.

    Parameters
    ----------
    results
        What was found.
    """
    names: dict[str, None] = {}
    by_name: list[dict[str, int]] = []
    for design in results.designs:
        by_name.append({fish.name: i for i, fish in enumerate(design.fish)})
        names |= dict.fromkeys(by_name[-1])
    order = sorted(names, key=lambda name: -_worst(results, by_name, name))
    few = len(results.designs) < 3
    shown = [row for row in RISKS if few or row[1] != "chased"]  # 80 columns hold no more
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False)
    table.add_column(
        "\nfish" if len(results.designs) > 1 else "fish", overflow="fold", min_width=16
    )
    for _, word in shown:
        for number in range(len(results.designs)):
            above = word if number == 0 else ""
            letter = f"\n{LETTERS[number]}" if len(results.designs) > 1 else ""
            table.add_column(above + letter, justify="right", no_wrap=True)
    for name in order[:MOST_FISH_ROWS]:
        cells = []
        for outcome, _ in shown:
            for design, places in zip(results.designs, by_name, strict=True):
                there = name in places
                found = design.fish[places[name]].outcomes.get(outcome) if there else None
                cells.append(_risk_cell(found, limits=few) if there else "-")
        table.add_row(Text(safe(name)), *cells)
    parts: list[RenderableType] = [
        heading("Who is at risk", beside="most endangered first"),
        Text(
            "hurt: seriously, of 100 runs; hides: hours a day; chased, bitten: times an hour; "
            "-: not in that tank",
            style="slate",
        ),
        table,
    ]
    rest = order[MOST_FISH_ROWS:]
    if rest:
        parts.append(
            bullet(
                f"{counted(len(rest), 'more fish', 'more fish')}, each seriously hurt in at most "
                f"{100 * max(_worst(results, by_name, name) for name in rest):.0f} in 100 runs.",
                style="slate",
            )
        )
    return Group(*parts)


def _risk_cell(number: Number | None, *, limits: bool) -> str:
    if number is None or number.estimate is None:
        return "?"
    if number.unit != "share of runs":
        return f"{number.estimate:.1f}"
    value = hundredths(number.estimate)
    if not limits or number.low is None or number.high is None:
        return value
    return f"{value} ({100 * number.low:.0f} to {100 * number.high:.0f})"


def _worst(results: Results, by_name: list[dict[str, int]], name: str) -> float:
    """Greatest share of runs, over the designs, in which a fish is seriously hurt."""
    worst = 0.0
    for design, places in zip(results.designs, by_name, strict=True):
        if name in places:
            number = design.fish[places[name]].outcomes.get("serious")
            worst = max(worst, (number.estimate or 0.0) if number else 0.0)
    return worst


def chases_ended(results: Results) -> RenderableType:
    """Return how the chases ended, in hundredths of all chases of a design.

    Parameters
    ----------
    results
        What was found.
    """
    parts: list[RenderableType] = [heading("How chases ended", beside="of 100 chases")]
    ways = list(dict.fromkeys(way for design in results.designs for way in design.ends))
    if not ways:
        return Group(*parts, Text("There were no chases."))
    table = Table(
        box=None, padding=(0, 2, 0, 0), pad_edge=False, show_header=len(results.designs) > 1
    )
    table.add_column("the chased fish")
    for letter, _ in zip(LETTERS, results.designs, strict=False):
        table.add_column(letter, justify="right")
    for way in ways:
        table.add_row(way, *(_end_cell(d, way) for d in results.designs))
    return Group(*parts, table)


def _end_cell(design: DesignResult, way: str) -> str:
    share = design.ends.get(way)
    return "-" if share is None or share.estimate is None else hundredths(share.estimate)
