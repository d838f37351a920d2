"""Figures of sensitivity: which number decides what, and shares of the variance.

Told by area, fill and place; colour only repeats it.
"""

from __future__ import annotations

import math
from typing import Any

import matplotlib
from matplotlib.figure import Figure

from sim.sensitivity.outcomes import OUTCOMES, Outcome
from viz.evidence_figures import BLUE, GREY, ORANGE, PALE
from viz.sensitivity_results import Results
from viz.sensitivity_words import SHORT, ranked, way

ROWS = 18
STYLE: Any = {
    "font.size": 10.5,
    "axes.spines.top": False,
    "axes.spines.right": False,
}
WIDEST = 620.0  # points squared, of a number that decides alone
LOOKS: dict[str, Any] = {
    "more": {"marker": "o", "facecolor": BLUE, "edgecolor": BLUE},
    "less": {"marker": "o", "facecolor": "white", "edgecolor": ORANGE},
    "either way": {"marker": "X", "facecolor": GREY, "edgecolor": "white"},
}


def matrix(kind: Results) -> Figure:
    """Return the figure of which number decides what.

    Parameters
    ----------
    kind
        Results of one pair of tanks.
    """
    best: dict[str, float] = {}
    marks: list[tuple[int, Results]] = []
    for column, outcome in enumerate(OUTCOMES):
        for one in ranked(kind, outcome):
            best[one["name"]] = max(best.get(one["name"], 0.0), one["share"])
            marks.append((column, one))
    names = sorted(best, key=lambda name: -best[name])[:ROWS]
    with matplotlib.rc_context(STYLE):
        fig = Figure(figsize=(8.6, 1.9 + 0.33 * max(len(names), 3)), layout="constrained")
        ax = fig.subplots()
        for column, one in marks:
            if one["name"] in names:
                look = LOOKS[way(one)]
                size = max(WIDEST * one["share"], 9.0)
                ax.scatter(column, names.index(one["name"]), s=size, lw=1.6, zorder=3, **look)
        _frame(ax, names)
        fig.supxlabel(
            "area: share of the squared effects; full: more of it, more; ring: more of it, less; "
            "cross: either way", fontsize=8.5, color=GREY,
        )  # fmt: skip
        if not names:
            ax.text(0.5, 0.5, "no number is told from luck", transform=ax.transAxes, ha="center")
    return fig


def _frame(ax: Any, names: list[str]) -> None:
    half = len(OUTCOMES) // 2
    ax.axvspan(half - 0.5, len(OUTCOMES) - 0.5, color=PALE, alpha=0.5, lw=0)
    ax.set_xlim(-0.5, len(OUTCOMES) - 0.5)
    ax.set_ylim(max(len(names), 1) - 0.4, -0.6)
    ax.set_yticks(range(len(names)), names)
    labels = [SHORT[one.raw].replace(" ", "\n") for one in OUTCOMES]
    ax.set_xticks(range(len(OUTCOMES)), labels, fontsize=9)
    ax.xaxis.tick_top()
    ax.tick_params(length=0)
    ax.grid(color=PALE, lw=0.8)
    ax.set_axisbelow(True)
    for side in ("left", "bottom"):
        ax.spines[side].set_visible(False)
    # below the marks, where nothing can run into the names of the outcomes
    for at, words in ((0.25, "four feet"), (0.75, "six feet less four")):
        ax.text(at, -0.02, words, transform=ax.transAxes, ha="center", va="top", color=GREY)


def bars(kind: Results) -> Figure | None:
    """Return the figure of shares of the variance; None where none are given.

    Parameters
    ----------
    kind
        Results of one pair of tanks.
    """
    cloud = kind["sobol"]
    given = [one for one in OUTCOMES if cloud and cloud["outcomes"][one.name]["first"]]
    if not given:
        return None
    across = min(len(given), 3)
    down = math.ceil(len(given) / across)
    names = list(cloud["names"])
    with matplotlib.rc_context(STYLE):
        height = (0.9 + 0.27 * len(names)) * down + 0.4
        fig = Figure(figsize=(3.0 * across + 1.6, height), layout="constrained")
        axes = fig.subplots(down, across, squeeze=False, sharex=True, sharey=True).ravel()
        for ax, outcome in zip(axes, given, strict=False):
            _bar(ax, cloud["outcomes"][outcome.name], names, outcome)
        for ax in axes[len(given) :]:
            ax.set_axis_off()
        for ax in axes[max(len(given) - across, 0) : len(given)]:
            ax.tick_params(labelbottom=True)
        axes[0].set_yticks(range(len(names)), names)
        axes[0].set_ylim(len(names) - 0.4, -0.6)
        axes[0].set_xlim(0.0, 1.0)
        fig.suptitle(
            "share of the variance: bar alone, ring with all it does together with others",
            fontsize=9.5, color=GREY,
        )  # fmt: skip
    return fig


def _bar(ax: Any, found: Results, names: list[str], outcome: Outcome) -> None:
    for row, name in enumerate(names):
        value, low, high = found["first"][name]
        ax.barh(row, value, height=0.55, color=BLUE, alpha=0.55, zorder=2)
        ax.plot([low, high], [row, row], color=BLUE, lw=1.4, zorder=3)
        value, low, high = found["total"][name]
        ax.plot([low, high], [row + 0.22] * 2, color=ORANGE, lw=1.2, zorder=3)
        ax.plot(value, row + 0.22, "o", ms=5, mfc="white", mec=ORANGE, mew=1.4, zorder=4)
    words = "six less four: " if outcome.differs else ""
    ax.set_title(
        f"{words}{SHORT[outcome.raw]} (R² {found['clear_r2']:.2f})", fontsize=10, loc="left"
    )
    ax.grid(axis="x", color=PALE, lw=0.8)
    ax.set_axisbelow(True)


def figures(results: Results) -> dict[str, Figure]:
    """Return every figure by the name of its file, without the ending."""
    found = {}
    for key, kind in results.items():
        found[f"sensitivity-{key}"] = matrix(kind)
        shares = bars(kind)
        if shares is not None:
            found[f"sensitivity-{key}-shares"] = shares
    return found
