"""Time steps and watching: the numbers of the method, not of the fish."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sim.errors import Problem, Refused
from sim.records import SETTINGS

LOOK_S = 0.4  # s between two looks round; see docs/performance.md
BEAT_S = 10.0  # s between two slow updates while watched
MICRO_S = 0.0125  # s, sub-step of a chase


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How time is cut, with the defaults that were measured.

    Parameters
    ----------
    tick_s
        Step of watched time.
    micro_s
        Sub-step of a chase.
    window_s, burn_s
        Length of a watched window, and of its beginning that is not pooled.
    gap_share
        A gap is this share of the waking time since the last change.
    gap_least_s, gap_most_s
        Bounds of a gap.
    late_days, late_gaps
        After so many days gaps, and the longest they may be, are so many times as long.
    pool_keep
        Weight that older windows keep at each new one.
    piece_s
        Longest piece of a leap.
    piece_events
        Expected attacks of the busiest pair in a piece.
    watch_all
        Watch every waking second.
    vary
        Draw the numbers that nobody has measured, anew for every four runs; else hold them at
        their defaults.
    """

    tick_s: float = 0.2
    micro_s: float = MICRO_S
    window_s: float = 240.0
    burn_s: float = 40.0
    gap_share: float = 0.15
    gap_least_s: float = 300.0
    gap_most_s: float = 3.0 * 3600.0
    late_days: float = 30.0
    late_gaps: float = 2.0
    pool_keep: float = 0.98
    piece_s: float = 600.0
    piece_events: float = 0.5
    watch_all: bool = False
    vary: bool = False

    def record(self) -> np.recarray:
        """Return the settings as the record that the rules read, shape (1,)."""
        row = np.zeros(1, SETTINGS)
        row["tick"] = self.tick_s
        row["micro"] = max(1, round(self.tick_s / self.micro_s))
        row["look_every"] = max(1, round(LOOK_S / self.tick_s))
        row["beat_every"] = max(1, round(BEAT_S / self.tick_s))
        row["window"] = self.window_s
        row["burn"] = self.burn_s
        row["gap_share"] = self.gap_share
        row["gap_least"] = self.gap_least_s
        row["gap_most"] = self.gap_most_s
        row["late"] = 86400.0 * self.late_days
        row["late_gaps"] = self.late_gaps
        row["pool_keep"] = self.pool_keep
        row["piece"] = self.piece_s
        row["piece_events"] = self.piece_events
        row["watch_all"] = int(self.watch_all)
        row["varied"] = int(self.vary)
        return row.view(np.recarray)


def settings_for(watch: str, *, vary: bool = False) -> Settings:
    """Return the settings a person asks for by a word or a share.

    Parameters
    ----------
    watch
        ``"auto"`` for the default, ``"all"`` for every waking second, or a factor such as
        ``"2"``, by which gaps are shortened.
    vary
        Whether to draw what nobody has measured.

    Returns
    -------
    Settings
        The settings.

    Raises
    ------
    Refused
        If it is none of the three.
    """
    if watch == "auto":
        return Settings(vary=vary)
    if watch == "all":
        return Settings(watch_all=True, vary=vary)
    try:
        factor = float(watch)
    except ValueError:
        factor = 0.0
    if not 0.25 <= factor <= 100.0:
        raise Refused(
            Problem(
                "--watch",
                f'got "{watch}"; expected "auto", "all", or a number from 0.25 to 100 that says '
                "how much more densely than by default to watch.",
            )
        )
    usual = Settings()
    return Settings(
        gap_share=usual.gap_share / factor,
        gap_least_s=max(usual.gap_least_s / factor, 30.0),
        gap_most_s=usual.gap_most_s / factor,
        vary=vary,
    )
