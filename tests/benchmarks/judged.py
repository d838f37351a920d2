"""Judged: pairs of figures as rows of a table, and whether they keep to a criterion."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from tests.benchmarks.played import Pair

SHARE_APART = 0.03
SPREAD_APART = 0.15
CHASE_APART = 0.05
ERRORS = 2.0


def say(apart: float, *, error: float, limit: float) -> str:
    """Return whether a distance keeps a limit: "met", "in doubt" or "missed".

    Parameters
    ----------
    apart
        Distance of the estimate.
    error
        Its standard error.
    limit
        Greatest distance that is asked for; beyond it by less than two errors is in doubt.
    """
    if math.isnan(apart):
        return "no figure"
    if abs(apart) <= limit:
        return "met"
    return "in doubt" if abs(apart) <= limit + ERRORS * error else "**missed**"


def by_difference(pair: Pair, limit: float) -> str:
    """Return whether the difference of a pair keeps a limit."""
    return say(pair.difference.value, error=pair.difference.error, limit=limit)


def by_ratio(pair: Pair, limit: float) -> str:
    """Return whether the ratio of a pair is within a limit of one."""
    return say(pair.ratio.value - 1.0, error=pair.ratio.error, limit=limit)


def figures(pair: Pair) -> tuple[str, str, str, str]:
    """Return default, other, difference and ratio, each with its standard error."""
    return (
        f"{pair.default.value:.3f} ± {pair.default.error:.3f}",
        f"{pair.other.value:.3f} ± {pair.other.error:.3f}",
        f"{pair.difference.value:+.3f} ± {pair.difference.error:.3f}",
        ratio_text(pair),
    )


def ratio_text(pair: Pair) -> str:
    """Return a ratio with its standard error, or a dash where it happened never or rarely."""
    if math.isnan(pair.ratio.value) or math.isnan(pair.ratio.error):
        return "-"
    return f"{pair.ratio.value:.3f} ± {pair.ratio.error:.3f}"


@dataclass
class Verdicts:
    """What was asked of a study and how it came out, for the paragraph at its head."""

    said: dict[str, list[str]] = field(default_factory=dict)

    def add(self, name: str, verdict: str, pair: Pair) -> str:
        """Keep a verdict and return it for the table."""
        if verdict not in ("", "no figure"):
            text = (
                f"{name} ({pair.default.value:.3g} against {pair.other.value:.3g}, "
                f"ratio {pair.ratio.value:.2f} ± {pair.ratio.error:.2f})"
            )
            self.said.setdefault(verdict.strip("*"), []).append(text)
        return verdict

    def paragraph(self) -> str:
        """Return what was missed, what is in doubt and how much was met."""
        parts = []
        for word in ("missed", "in doubt"):
            found = self.said.get(word, [])
            parts.append(f"{word.capitalize()}: {'; '.join(found) if found else 'nothing'}.")
        parts.append(f"Met: {len(self.said.get('met', []))}.")
        return " ".join(parts)


def judge(
    pairs: Mapping[str, Pair], limits: Mapping[str, float], *, where: str, verdicts: Verdicts
) -> list[tuple[str, ...]]:
    """Return the rows of a table, judged where there is a limit.

    Parameters
    ----------
    pairs
        By name.
    limits
        By name: greatest difference of a share, or distance of a ratio from one.
    where
        Scenario, for the paragraph.
    verdicts
        Takes what was found.
    """
    rows: list[tuple[str, ...]] = []
    for name, pair in pairs.items():
        verdict = ""
        if name in limits:
            judged = by_difference if name.startswith("share of runs") else by_ratio
            verdict = verdicts.add(f"{where}, {name}", judged(pair, limits[name]), pair)
        rows.append((name, *figures(pair), verdict))
    return rows
