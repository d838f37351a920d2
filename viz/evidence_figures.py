"""A figure for each pattern: what the model shows, before the band of the paper.

Told by shape and place as well as by colour; the colours are told apart by colour-blind eyes.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from sim.evidence.patterns import Measured, Part, Pattern, Verdict
from viz.evidence_results import Result, measured_of
from viz.evidence_words import verdicts_of

BLUE, ORANGE, GREY, PALE = "#0072b2", "#d55e00", "#555555", "#dfe6ea"
SIZE = (7.2, 3.4)


def band_of(pattern: Pattern, name: str) -> Part:
    """Return a part by its observable."""
    return next(part for part in pattern.parts if part.observable == name)


def bar(ax: Axes, at: float, seen: Measured, part: Part, *, label: str) -> None:
    """Draw one observable with two standard errors before its band; a cross is outside."""
    ax.bar(at, part.high - part.low, bottom=part.low, width=0.6, color=PALE, zorder=1)
    if part.published == part.published:
        ax.plot([at - 0.3, at + 0.3], [part.published] * 2, color=GREY, lw=1.5, zorder=2)
    met = part.low <= seen.value <= part.high
    error = seen.error if seen.error == seen.error else 0.0
    ax.errorbar(
        at, seen.value, yerr=2 * error, fmt="o" if met else "X", ms=8, capsize=4, zorder=3,
        color=BLUE if met else ORANGE,
    )  # fmt: skip
    ax.text(at, -0.06, label, ha="center", va="top", transform=ax.get_xaxis_transform())


def dots(ax: Axes, pattern: Pattern, seen: dict[str, Measured], names: dict[str, str]) -> None:
    """Draw several observables of one scale side by side."""
    for at, (name, label) in enumerate(names.items()):
        bar(ax, at, seen[name], band_of(pattern, name), label=label)
    ax.set_xlim(-0.6, len(names) - 0.4)
    ax.set_xticks([])


def curve(
    ax: Axes, seen: dict[str, Measured], x: list[float], names: list[str], *, label: str,
    color: str = BLUE, marker: str = "o",
) -> None:  # fmt: skip
    """Draw observables along an axis, with two standard errors."""
    y = [seen[name].value for name in names]
    error = [2 * e if (e := seen[name].error) == e else 0.0 for name in names]
    ax.errorbar(x, y, yerr=error, marker=marker, ms=7, capsize=3, color=color, label=label)


def _matched(fig: Figure, pattern: Pattern, seen: dict[str, Measured]) -> None:
    left, right = fig.subplots(1, 2, width_ratios=[2, 1])
    dots(left, pattern, seen, {"same": "one size", "mixed": "mixed sizes"})
    left.set_ylabel("acts in 50 min")
    left.set_ylim(bottom=0)
    dots(right, pattern, seen, {"ratio": "ratio"})
    right.set_ylim(0, 3.2)


def _experience(fig: Figure, pattern: Pattern, seen: dict[str, Measured]) -> None:
    ax = fig.subplots()
    names = {"winner_wins": "winner\nwins again", "loser_loses": "loser\nloses again"}
    names |= {"winner_wins_untaught": "winner,\nno learning"}
    names |= {"loser_loses_untaught": "loser,\nno learning"}
    dots(ax, pattern, seen, names)
    ax.set_ylim(0, 1)
    ax.axhline(0.5, color=GREY, lw=0.8, ls=":")
    ax.set_ylabel("share of pairs")


def _size(fig: Figure, pattern: Pattern, seen: dict[str, Measured]) -> None:
    ax = fig.subplots()
    for pc in (5, 25):
        part = band_of(pattern, f"larger_wins_{pc}")
        ax.bar(pc, part.high - part.low, bottom=part.low, width=5, color=PALE)
    curve(ax, seen, [5, 15, 25], [f"larger_wins_{pc}" for pc in (5, 15, 25)], label="the model")
    ax.set(ylim=(0, 1), xlim=(0, 30), xlabel="the loser's side larger by, %")
    ax.set_ylabel("larger loser beats\nsmaller winner, share")


def _hierarchy(fig: Figure, pattern: Pattern, seen: dict[str, Measured]) -> None:
    ax = fig.subplots()
    names = {"h": "Landau's h", "top_share": "top fish's\nshare"}
    names |= {"linear_4": "linear fours", "reversals": "turned over\nin a week"}
    dots(ax, pattern, seen, names)
    ax.set(ylim=(0, 1.05), ylabel="share")


def _unequal(fig: Figure, pattern: Pattern, seen: dict[str, Measured]) -> None:
    left, right = fig.subplots(1, 2)
    curve(left, seen, [1, 2, 3, 4], [f"wrestle_q{q}" for q in range(1, 5)], label="the model")
    left.set(ylim=(-0.05, 1.05), xticks=[1, 2, 3, 4], xlabel="quarter of weight ratios")
    left.set_ylabel("share that reach\nmouth wrestling")
    names = {"rho_duration": "duration", "rho_display": "display", "rho_biting": "biting"}
    dots(right, pattern, seen, names)
    right.axhline(0, color=GREY, lw=0.8, ls=":")
    right.set(ylim=(-1, 0.5), ylabel="rank correlation with ratio")


def _patches(fig: Figure, pattern: Pattern, seen: dict[str, Measured]) -> None:
    ax = fig.subplots()
    part = band_of(pattern, "peak_at")
    ax.axvspan(part.low, part.high, color=PALE, label="where the peak may lie")
    patches = [10, 7, 5, 2, 1]
    names = [f"acts_{n}" for n in patches]
    curve(ax, seen, [10 / n for n in patches], names, label="the model")
    ax.set(xscale="log", xlabel="competitors for each patch", ylabel="acts at a meal")
    ax.set_xticks([1, 1.43, 2, 5, 10], ["1", "1.4", "2", "5", "10"])
    ax.minorticks_off()
    ax.set_ylim(bottom=0)
    ax.legend(frameon=False)


def _structure(fig: Figure, pattern: Pattern, seen: dict[str, Measured]) -> None:
    ax = fig.subplots()
    names = {"fights_bare": "fight, bare", "fights_enriched": "fight, enriched"}
    names |= {"resident_wins_bare": "resident wins,\nbare"}
    dots(ax, pattern, seen, names)
    ax.set(ylim=(0, 1.05), ylabel="share of pairs")


def _brood(fig: Figure, pattern: Pattern, seen: dict[str, Measured]) -> None:
    left, right = fig.subplots(1, 2)
    stages = ["courting", "eggs", "wrigglers", "fry"]
    for parent, color, marker in (("mother", ORANGE, "s"), ("father", BLUE, "o")):
        names = [f"{parent}_{stage}" for stage in stages]
        x = [0.0, 1.0, 2.0, 3.0]
        curve(left, seen, x, names, label=parent, color=color, marker=marker)
    left.set_xticks(range(4), stages)
    left.set_ylim(0, 1.5 * left.get_ylim()[1])
    left.set_ylabel("acts on an intruder\nin a quarter of an hour")
    left.legend(frameon=False, loc="upper left", ncols=2)
    shown = {"parent_over_lone": "one of two\nover alone", "male_share_fry": "his share,\nfry"}
    dots(right, pattern, seen, shown)
    right.set_ylim(bottom=0)


def _ground(fig: Figure, pattern: Pattern, seen: dict[str, Measured]) -> None:
    left, right = fig.subplots(1, 2)
    lengths = [5.0, 7.0, 9.0, 12.0]
    curve(left, seen, lengths, [f"free_{10 * x:.0f}" for x in lengths], label="the model")
    paper = [10 ** (2.61 * math.log10(x) - 2.83) for x in lengths]
    left.plot(lengths, paper, color=GREY, ls="--", label="salmonids, published")
    left.set(xscale="log", yscale="log", xlabel="length, cm", ylabel="ground, m²")
    left.set_xticks(lengths, [f"{x:.0f}" for x in lengths])
    left.minorticks_off()
    left.legend(frameon=False)
    names = {"free_50": "5 cm,\nalone", "crowd": "5 cm,\ncrowd", "pair": "9 cm,\npair"}
    dots(right, pattern, seen, names)
    right.set(yscale="log", ylabel="ground, m²")


def _crowding(fig: Figure, pattern: Pattern, seen: dict[str, Measured]) -> None:
    ax = fig.subplots()
    counts = [1.0, 2, 4, 8, 12, 16, 20, 24]
    part = band_of(pattern, "peak_at")
    ax.axvspan(part.low, part.high, color=PALE, label="where the peak may lie")
    curve(ax, seen, counts, [f"acts_{x:.0f}" for x in counts], label="the owner's acts")
    ax.set(xlabel="intruders", ylabel="acts in an hour")
    ax.set_ylim(bottom=0)
    ax.legend(frameon=False)


def _plain(fig: Figure, pattern: Pattern, seen: dict[str, Measured]) -> None:
    axes = fig.subplots(1, len(pattern.parts), squeeze=False)[0]
    for ax, part in zip(axes, pattern.parts, strict=True):
        dots(ax, pattern, seen, {part.observable: part.observable.replace("_", "\n")})


DRAWN: dict[str, Callable[[Figure, Pattern, dict[str, Measured]], None]] = {
    "matched": _matched,
    "experience": _experience,
    "size": _size,
    "hierarchy": _hierarchy,
    "unequal": _unequal,
    "patches": _patches,
    "structure": _structure,
    "brood": _brood,
    "ground": _ground,
    "crowding": _crowding,
}


def figure(pattern: Pattern, result: Result) -> Figure:
    """Return the figure of a pattern.

    Parameters
    ----------
    pattern, result
        The pattern and its kept results.
    """
    style: Any = {"font.size": 11, "axes.spines.top": False, "axes.spines.right": False}
    with matplotlib.rc_context(style):
        fig = Figure(figsize=SIZE, layout="constrained")
        DRAWN.get(pattern.module, _plain)(fig, pattern, measured_of(result["seen"]))
        verdicts: list[Verdict] = verdicts_of(pattern, result)
        met = sum(verdict.met for verdict in verdicts)
        fig.suptitle(
            f"{pattern.key}: {met} of {len(verdicts)} parts pass "
            "(pale: band, line: published, bars: two standard errors)",
            fontsize=9.5, color=GREY,
        )  # fmt: skip
    return fig


def svg(fig: Figure) -> str:
    """Return a figure as text that is the same whenever it is drawn."""
    out = io.StringIO()
    with matplotlib.rc_context({"svg.hashsalt": "holdwater", "svg.fonttype": "none"}):
        fig.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return out.getvalue()
