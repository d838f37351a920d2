"""The page on one run: its fish as drawn, what happened to them, and why they were attacked."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Protocol

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from viz.cautions import CAUTIONS
from viz.checked import counted, footprint
from viz.ink import bullet, heading, safe
from viz.phrases import rounded

if TYPE_CHECKING:
    import numpy as np

    from sim.chronicle import Chronicle, Happening
    from sim.comparison import Design
    from viz.played import Asked

MOST_HAPPENINGS = 60
MOST_ATTACKS = 20
FOLLOWED = ("display", "chase", "contest")
NOTABLE = 0.15  # |ln| of a factor from which it is named
ONE_RUN = (
    "This is one run. It shows how things can go and why; how often they go so is what all runs "
    "together say."
)


def replay_page(told: Chronicle, *, design: Design, asked: Asked) -> RenderableType:
    """Return everything a person is told about one run.

    Parameters
    ----------
    told
        The run.
    design, asked
        What it played.
    """
    parts: list[RenderableType] = [
        heading("What was played"),
        bullet(
            Text.assemble((safe(design.name), "bold"), "  ", (safe(str(design.path)), "slate")),
            mark=" ",
        ),
        bullet(footprint(design.scenario), mark=" "),
        bullet(_which(told, design=design, asked=asked), mark=" ", style="slate"),
        heading("The fish", beside="as drawn for this run"),
        _fish(told, design),
        heading("What happened"),
        *_happened(told, design),
        *_attacks(told, design),
        heading("Before you build it"),
        *(bullet(words, mark="!", style="sand") for words in (ONE_RUN, *CAUTIONS)),
    ]
    return Group(*parts)


def _which(told: Chronicle, *, design: Design, asked: Asked) -> str:
    from sim.batch import seed_of

    row = told.outcome.row[0]
    days = design.scenario.days
    words = (
        f"run {told.outcome.run} of {asked.runs}, numbered from 0: draw of fish {row['draw']}, "
        f"{days:g} {'day' if days == 1 else 'days'}; seed "
        f"{seed_of(design.scenario, seed=asked.seed)}"
    )
    if row["number_set"] >= 0:
        words += f"; set {row['number_set']} of what nobody has measured"
    return f"{words}; a bite does {row['harm_per_bite']:.2g} of a fatal injury"


def _fish(told: Chronicle, design: Design) -> RenderableType:
    from sim.outcome import fish_names
    from sim.units import format_length

    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("fish", overflow="fold", min_width=14)
    for word in ("sex", "length", "temper", "chases", "chased", "bitten", "worst injury"):
        table.add_column(word, justify="left" if word == "sex" else "right")
    for name, row in zip(fish_names(design.scenario), told.outcome.fish, strict=True):
        table.add_row(
            Text(safe(name)),
            "male" if row["male"] else "female",
            format_length(float(row["start_length_m"])),
            f"x {row['aggression']:.2g}",
            str(row["chases_given"]),
            str(row["chases_taken"]),
            str(row["bites_taken"]),
            _injury(row),
        )
    note = Text(
        "temper: attacks of an average convict times so much; injury: 1 is death", style="slate"
    )
    return Group(note, table)


def _injury(row: np.void) -> str:
    if row["lost_settling"]:
        return "dead before day 0"
    return "dead" if math.isfinite(row["death_day"]) else rounded(float(row["worst_injury"]))


def _happened(told: Chronicle, design: Design) -> list[RenderableType]:
    from sim.outcome import fish_names

    names = fish_names(design.scenario)
    if not told.happenings:
        return [Text("Nobody took a place, paired, was hurt or was moved.")]
    lines: list[RenderableType] = [
        bullet(f"{moment(one.time_s)}  {happening_words(one, names)}", mark=" ")
        for one in told.happenings[:MOST_HAPPENINGS]
    ]
    rest = len(told.happenings) - MOST_HAPPENINGS
    if rest > 0:
        lines.append(bullet(f"and {rest} more, all of them with --csv", mark=" ", style="slate"))
    return lines


def happening_words(one: Happening, names: tuple[str, ...]) -> str:
    """Return one happening as a keeper says it.

    Parameters
    ----------
    one
        The happening.
    names
        Of the fish.
    """
    from sim import chronicle as words

    who, other = names[one.fish], names[one.other] if one.other >= 0 else ""
    if one.what == words.HOLDS:
        return f"{who} takes a place: {one.detail}"
    if one.what == words.YOUNG:
        return f"{who} and {other}: {one.detail}"
    if one.what == words.PAIRS:
        return f"{who} and {other} pair"
    if one.what == words.PARTS:
        return f"{who} parts from {other}"
    if one.what == words.SWALLOWED and other:
        return f"{who} is swallowed by {other}"
    if one.what in (words.HURT, words.SERIOUS, words.DIES):
        what = {words.HURT: "has torn fins", words.SERIOUS: "is hurt seriously"}.get(one.what)
        by = f", last bitten by {other}" if other else ""
        return f"{who} {what or 'dies'}{by}"
    return f"{who} {one.what}"


def _attacks(told: Chronicle, design: Design) -> list[RenderableType]:
    from sim.outcome import fish_names

    log, names = told.attacks, fish_names(design.scenario)
    parts: list[RenderableType] = [
        heading(
            "Why they were attacked",
            beside=f"{counted(len(log), 'attack')}; the {MOST_ATTACKS} that harmed most",
        )
    ]
    harmful = log[log["bites"] > 0]
    if not len(harmful):
        return [*parts, Text("No bite landed in a chase.")]
    order = sorted(range(len(harmful)), key=lambda k: (-harmful["harm"][k], k))
    for k in sorted(order[:MOST_ATTACKS]):
        row = harmful[k]
        parts.append(bullet(f"{moment(float(row['time']))}  {attack_words(row, names)}", mark=" "))
        reasons = Text(f"because: {reason_words(row, told)}", style="slate")
        parts.append(Padding(reasons, (0, 0, 0, 9), expand=False))
    parts.append(
        bullet(
            "A factor above 1 makes an attack likelier, one below 1 less likely. A claim is how "
            "strongly it defends the spot, 0 to 1; in time that was leapt nobody saw the spot. "
            "--csv keeps every attack with all its factors.",
            style="slate",
        )
    )
    return parts


def attack_words(row: np.void, names: tuple[str, ...]) -> str:
    """Return what came of an attack, as a keeper says it.

    Parameters
    ----------
    row
        Of the log, fields of `sim.records.LOG`.
    names
        Of the fish.
    """
    from sim.rules.codes import CHASE_ENDS

    verb = ("shows off at", "chases", "fights")[int(row["outcome"])]
    words = f"{names[row['attacker']]} {verb} {names[row['victim']]}"
    if row["bites"] > 0:
        words += f", {counted(int(row['bites']), 'bite')}"
        if row["wall_bites"] > 0:
            words += f" ({row['wall_bites']} at a wall)"
    if row["end"] >= 0:
        words += f"; {names[row['victim']]} {CHASE_ENDS[int(row['end'])]}"
    return words


class Likenesses(Protocol):
    """What knows the likeness of a fish of one's own kind and of a similar one."""

    @property
    def own_kind(self) -> float:
        """As a factor of the hazard."""

    @property
    def similar(self) -> float:
        """As a factor of the hazard."""


def reason_words(row: np.void, told: Likenesses) -> str:
    """Return the factors that multiplied in an attack, those left out that hardly changed it.

    Parameters
    ----------
    row
        Of the log, fields of `sim.records.LOG`.
    told
        Knows what likeness stands for which kind.
    """
    from sim.rules.codes import STAGES

    like = float(row["likeness"])
    kind = (
        "its own kind" if math.isclose(like, told.own_kind)
        else "a similar kind" if math.isclose(like, told.similar)
        else "another kind"
    )  # fmt: skip
    stage = STAGES[int(row["stage"])]
    named = (
        (f"its brood ({stage})", float(row["heat"])),
        ("its temper", float(row["temperament"])),
        ("the other's size", float(row["size_factor"])),
        ("what they learned of each other", float(row["learned"])),
    )
    claim = f"a claim of {row['claim']:.2f}" if row["claim"] >= 0.0 else "a claim that was not seen"
    parts = [claim, f"{kind} {_times(like)}"]
    parts += [
        f"{words} {_times(factor)}"
        for words, factor in named
        if factor <= 0.0 or abs(math.log(factor)) >= NOTABLE
    ]
    return "; ".join(parts)


def _times(factor: float) -> str:
    """A factor that is not parted from its sign at the end of a line."""
    return f"x\N{NO-BREAK SPACE}{rounded(factor)}"


def moment(time_s: float) -> str:
    """Return a moment as day and time of day: "day 7, 14:03".

    Parameters
    ----------
    time_s
        Since midnight of day 0.
    """
    day = math.floor(time_s / 86400.0)
    minutes = int((time_s - 86400.0 * day) / 60.0)
    return f"day {day}, {minutes // 60:02d}:{minutes % 60:02d}"
