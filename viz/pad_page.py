"""What somebody with a pad counts: a sentence on each observation, and who does it to whom."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from viz.checked import counted
from viz.ink import bullet, heading, safe
from viz.phrases import LETTERS, Said, hundredths, limits, rounded, say
from viz.results import DesignResult, Number, ObservedResult, Results

KINDS = (
    ("displays", "displays"),
    ("bites", "bites that land"),
    ("wrestles", "of mouth wrestling"),
    ("chases", "chases"),
)
MOST_ROWS = 16


def observed_words(results: Results) -> list[Said]:
    """Return what is counted in each observation of each tank, in a sentence or two.

    Parameters
    ----------
    results
        What was found.
    """
    said = []
    for number, design in enumerate(results.designs):
        start = "" if len(results.designs) == 1 else f"{LETTERS[number]}: "
        for place, one in enumerate(design.observed):
            said += _observation(one, where=f"/designs/{number}/observed/{place}", start=start)
    return said


def _observation(one: ObservedResult, *, where: str, start: str) -> list[Said]:
    acts = one.outcomes.get("acts")
    if acts is None or acts.estimate is None:
        words = f'"{one.name}" never came about: a fish that it is for was not to be had.'
        return [say(start, words, f"{where}/outcomes")]
    kinds = ", ".join(
        f"{rounded(found.estimate)} {words}"
        for name, words in KINDS
        if (found := one.outcomes.get(name)) is not None and found.estimate is not None
    )
    first = one.outcomes.get("first_act_min")
    begun = (
        f"; the first comes after {_minutes(first)}"
        if first is not None and first.estimate is not None
        else ""
    )
    said = [
        say(
            start,
            f'in a sitting of "{one.name}" one counts {rounded(acts.estimate)} acts'
            f"{limits(acts)}: {kinds}{begun}.",
            f"{where}/outcomes",
        )
    ]
    decided = one.outcomes.get("decided")
    if decided is not None and decided.estimate is not None:
        after = one.outcomes.get("decided_min")
        words = (
            f'"{one.name}" is won by somebody in {hundredths(decided.estimate)} of 100 meetings'
            f"{limits(decided, share=True)}"
        )
        if after is not None and after.estimate is not None:
            words += f", after {_minutes(after)}"
        missed = one.outcomes.get("missed")
        if missed is not None and missed.estimate:
            words += (
                f"; {hundredths(missed.estimate)} in 100 fell out, since a fish was not to be had"
            )
        said.append(say(start, f"{words}.", f"{where}/outcomes"))
    return said


def _minutes(number: Number) -> str:
    assert number.estimate is not None
    return f"{rounded(number.estimate)} minutes"


def observed(results: Results) -> list[RenderableType]:
    """Return the part of the page on what somebody with a pad counts; empty where nobody does.

    Parameters
    ----------
    results
        What was found.
    """
    if not any(design.observed for design in results.designs):
        return []
    parts: list[RenderableType] = [
        heading("With a pad", beside="acts counted in a sitting, mean of the runs"),
        *(bullet(one.words) for one in observed_words(results)),
    ]
    for letter, design in zip(LETTERS, results.designs, strict=False):
        for one in design.observed:
            mark = "" if len(results.designs) == 1 else f"{letter}  "
            parts.append(
                Text.assemble((mark, "sand"), (safe(one.name), "bold"), (_when(one), "slate"))
            )
            parts.append(_who(one, design))
    return parts


def _when(one: ObservedResult) -> str:
    from sim.units import format_clock

    first, last = one.days[0], one.days[-1]
    days = f"day {first}" if first == last else f"days {first} to {last}"
    most = " at most" if one.until_decided else ""
    return f"   {days}, {format_clock(one.at_h)}, {one.minutes:g} minutes{most}"


def _who(one: ObservedResult, design: DesignResult) -> RenderableType:
    if not one.fish:
        return Text("  nothing was seen", style="slate")
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("  fish", overflow="fold", min_width=16)
    table.add_column("does", justify="right")
    table.add_column("takes", justify="right")
    won = any("won" in fish.outcomes for fish in one.fish)
    if won:
        table.add_column("wins, of 100", justify="right")
    ranked = sorted(one.fish, key=lambda fish: -(fish.outcomes["given"].estimate or 0.0))
    for fish in ranked[:MOST_ROWS]:
        cells = [_cell(fish.outcomes.get(name)) for name in ("given", "taken")]
        if won:
            share = fish.outcomes.get("won")
            cells.append("?" if share is None else hundredths(share.estimate or 0.0))
        table.add_row(Text(f"  {safe(fish.name)}"), *cells)
    rest = len(ranked) - MOST_ROWS
    if rest > 0:
        return Group(table, bullet(f"and {counted(rest, 'more fish', 'more fish')}", style="slate"))
    return table


def _cell(number: Number | None) -> str:
    if number is None or number.estimate is None:
        return "?"
    return f"{rounded(number.estimate)}{limits(number)}"
