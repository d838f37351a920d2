"""The patterns in words: the table on a screen, and the generated part of the page on evidence."""

from __future__ import annotations

import math
from typing import Any

from rich.table import Table
from rich.text import Text

from sim.evidence.patterns import WIDEN, Measured, Part, Pattern, Verdict, hold, load_patterns
from viz.evidence_results import Result, measured_of, met_by_part

BEGIN = "<!-- from here to the end mark: made by `holdwater evidence --write docs` -->"
END = "<!-- end mark -->"


def number(value: float) -> str:
    """Return a number in three digits, a dash where there is none."""
    if not math.isfinite(value):
        return "-"
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"


def band(part: Part) -> str:
    """Return a band and whose line it is."""
    text = f"{number(part.low)} to {number(part.high)}"
    return text if part.threshold == "published" else f"{text} [A]"


def with_error(seen: Measured) -> str:
    """Return what was seen, with its standard error."""
    value = number(seen.value)
    return value if not seen.error > 0.0 else f"{value} ± {number(seen.error)}"


def verdicts_of(pattern: Pattern, result: Result) -> list[Verdict]:
    """Return the verdicts of kept results."""
    return hold(pattern, measured_of(result["seen"]), quick=result["quick"])


def screen_table(pattern: Pattern, result: Result) -> Table:
    """Return one pattern as a table for the screen."""
    table = Table(
        title=f"{pattern.key}  {pattern.title}",
        title_justify="left",
        box=None,
        padding=(0, 1, 0, 0),
    )
    table.add_column("", ratio=1)
    for heading in ("paper", "band", "seen", "", ""):
        table.add_column(heading, no_wrap=True)
    for verdict in verdicts_of(pattern, result):
        part = verdict.part
        style = "water" if verdict.met else "accent"
        table.add_row(
            part.words,
            number(part.published),
            band(part),
            with_error(verdict.seen),
            Text("pass" if verdict.met else "miss", style=style),
            part.standing,
        )
    return table


def null_words(without: list[str]) -> str:
    """Return in words what was taken away."""
    return "without " + " and ".join(without)


def what_destroys(pattern: Pattern, result: Result) -> list[str]:
    """Return a sentence for each part: what takes it out of its band, or moves it, if it is met."""
    base = met_by_part(pattern, result["seen"], quick=result["quick"])
    full = measured_of(result["seen"])
    sentences = []
    for part in pattern.parts:
        name = part.observable
        if not result["nulls"]:
            continue
        if not base[name]:
            text = "is missed as it is, so no switch tells anything of it"
            sentences.append(f"*{part.words}* {text}.")
            continue
        gone: list[str] = []
        unsure: list[str] = []
        moved: list[str] = []
        for null in result["nulls"]:
            if name.endswith("_untaught") and "learning" in null["without"]:
                continue
            seen = measured_of(null["seen"])[name]
            away = abs(seen.value - full[name].value)
            clear = WIDEN * math.hypot(seen.error, full[name].error)
            if not met_by_part(pattern, null["seen"], quick=True)[name]:
                gone.append(null_words(null["without"]))
            elif not met_by_part(pattern, null["seen"], quick=False)[name]:
                unsure.append(null_words(null["without"]))
            elif away > clear:
                moved.append(null_words(null["without"]))
        if gone:
            text = f"*{part.words}* is destroyed {', '.join(gone)}"
        elif unsure:
            text = f"*{part.words}* is clearly destroyed by none of them"
        else:
            text = f"*{part.words}* survives all of them, and supports none of these mechanisms"
        if unsure:
            text += f"; it leaves its band by less than so few replicates tell {', '.join(unsure)}"
        if moved:
            text += f"; it moves, inside its band, {', '.join(moved)}"
        sentences.append(text + ".")
    return sentences


def null_table(pattern: Pattern, result: Result) -> list[str]:
    """Return the table of nulls in Markdown."""
    if not result["nulls"]:
        return []
    heads = ["taken away"] + [part.words for part in pattern.parts]
    lines = ["| " + " | ".join(heads) + " |", "|---|" + "---|" * len(pattern.parts)]
    rows: list[dict[str, Any]] = [{"without": [], "seen": result["seen"]}, *result["nulls"]]
    for row in rows:
        met = met_by_part(pattern, row["seen"], quick=bool(row["without"]) or result["quick"])
        cells = [
            f"{with_error(measured_of(row['seen'])[part.observable])}"
            f"{'' if met[part.observable] else ' **miss**'}"
            for part in pattern.parts
        ]
        name = " and ".join(row["without"]) or "nothing"
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    return lines


def pattern_section(pattern: Pattern, result: Result | None) -> str:
    """Return the section of one pattern in Markdown."""
    lines = [f"### {pattern.key}. {pattern.title}", ""]
    sources = ", ".join(pattern.source)
    if result is None:
        words = pattern.waits or "not played yet"
        lines += [f"{sources}. **Not shown**: {words}.", ""]
        return "\n".join(lines)
    setups = ", ".join(f"`{name}.toml`" for name in pattern.setups)
    lines += [
        f"{sources}. Set-ups: {setups}. {result['runs']} replicates, seed {result['seed']}, "
        f"{number(result['seconds_each'])} s of processor time each.",
        "",
        "| | published | band | the model | | the agreement is |",
        "|---|---|---|---|---|---|",
    ]
    for verdict in verdicts_of(pattern, result):
        part = verdict.part
        lines.append(
            f"| {part.words} | {number(part.published)} | {band(part)} | "
            f"{with_error(verdict.seen)} | {'pass' if verdict.met else '**miss**'} | "
            f"**{part.standing}**: {part.why} |"
        )
    lines += ["", f"![{pattern.title}](figures/{pattern.key.lower()}.svg)", ""]
    table = null_table(pattern, result)
    if table:
        runs = result["nulls"][0]["runs"]
        lines += [
            f"With mechanisms taken away ({runs} replicates, bands widened by two standard "
            "errors, so a miss is a clear one):",
            "",
            *table,
            "",
        ]
        lines += [f"- {sentence}" for sentence in what_destroys(pattern, result)]
        lines.append("")
    return "\n".join(lines)


def overview(results: dict[str, Result]) -> list[str]:
    """Return the table of all parts met and missed, in Markdown."""
    lines = ["| | imposed | fitted | predicted |", "|---|---|---|---|"]
    for key, pattern in load_patterns().items():
        if key not in results:
            lines.append(f"| {key} {pattern.title} | not shown | not shown | not shown |")
            continue
        cells = []
        verdicts = verdicts_of(pattern, results[key])
        for standing in ("imposed", "fitted", "predicted"):
            mine = [verdict for verdict in verdicts if verdict.part.standing == standing]
            met = sum(verdict.met for verdict in mine)
            cells.append(f"{met} of {len(mine)}" if mine else "-")
        lines.append(f"| {key} {pattern.title} | " + " | ".join(cells) + " |")
    return lines


def generated(results: dict[str, Result]) -> str:
    """Return the generated part of the page, between its marks."""
    lines = [
        BEGIN,
        "",
        "## The patterns, one by one",
        "",
        "`holdwater evidence` plays them anew. Bands were fixed before anything was tuned, but "
        "for two that say so, and stand in `sim/data/patterns.toml`; `[A]` marks a line that is "
        "ours, no paper's. ± is one standard error over replicates. *Imposed*: a parameter holds "
        "it, no credit. "
        "*Fitted*: a number was set with it in view. *Predicted*: neither. Parts inside their "
        "bands:",
        "",
        *overview(results),
        "",
    ]
    for key, pattern in load_patterns().items():
        lines.append(pattern_section(pattern, results.get(key)))
    lines += [END, ""]
    return "\n".join(lines)


def with_generated(page: str, results: dict[str, Result]) -> str:
    """Return a page with its generated part made anew, at the end where it has none yet."""
    text = generated(results)
    if BEGIN not in page:
        return page.rstrip("\n") + "\n\n" + text
    before, rest = page.split(BEGIN, 1)
    after = rest.split(END, 1)[1].lstrip("\n") if END in rest else ""
    return before + text + (("\n" + after) if after else "")
