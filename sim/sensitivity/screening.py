r"""Screening: elementary effects of each number on each outcome, with luck told apart.

A step of :math:`\Delta` of one number changes the outcome by :math:`\Delta \cdot EE`; over r paths
:math:`\mu^* = \overline{|EE|}` and :math:`\sigma` is the spread of :math:`EE` (both by SALib). An
effect from few runs is part luck: with :math:`v` the mean variance that luck leaves in an effect,
the effect without luck is

.. math:: e = \sqrt{\max(0,\; \overline{EE^2} - v)}

and it is *told from luck* where :math:`r\,\overline{EE^2} / v` is above the chi-square quantile
that one in twenty outcomes would pass if no number mattered.

References
----------
Elementary effects: Morris1991; their mean size: Campolongo2007. Setting luck apart is ours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sim.sensitivity.outcomes import luck_variance
from sim.sensitivity.plan import LEVELS, unit_cube
from sim.start import RUNS_PER_DRAW

FALSE_ALARMS = 0.05  # numbers in an outcome told from luck though none matters, assumed


@dataclass(frozen=True, slots=True)
class Effect:
    """What one number does to one outcome, moved over its whole range.

    Parameters
    ----------
    name
        The number.
    mean
        Mean elementary effect, with its sign, in the unit of the outcome.
    size
        Mean size of the effects, mu*.
    spread
        Standard deviation of the effects, sigma: interaction, bends, and luck.
    luck
        The size that luck alone would show.
    clear
        Root mean square effect without luck.
    told
        Whether it is told from luck.
    """

    name: str
    mean: float
    size: float
    spread: float
    luck: float
    clear: float
    told: bool


def effects_of(names: tuple[str, ...], places: np.ndarray, runs: np.ndarray) -> list[Effect]:
    """Return the effects of each number on one outcome.

    Parameters
    ----------
    names
        The numbers.
    places
        Whole paths, shape (n_paths * (n_names + 1), n_names).
    runs
        The outcome of each point and run, shape (n_points, n_runs); with one run there is no luck.

    Returns
    -------
    list of Effect
        In the order of `names`.
    """
    from SALib.analyze import morris
    from scipy.special import chdtri

    d = len(names)
    paths = len(places) // (d + 1)
    mean_of = morris.analyze(
        unit_cube(d), places, runs.mean(axis=1), num_resamples=2, num_levels=LEVELS, seed=1
    )
    steps = np.diff(places.reshape(paths, d + 1, d), axis=1)  # (paths, steps, names)
    which = np.argmax(np.abs(steps), axis=2)
    moved = np.take_along_axis(steps, which[:, :, None], axis=2)[:, :, 0]
    each = np.diff(runs.reshape(paths, d + 1, -1), axis=1) / moved[:, :, None]
    order = np.argsort(which, axis=1)
    each = np.take_along_axis(each, order[:, :, None], axis=1)  # (paths, names, runs)
    changed = np.any(each != 0.0, axis=2)
    luck = _luck(each, changed)
    bar = float(chdtri(paths, FALSE_ALARMS / d))
    effects = []
    for k, name in enumerate(names):
        square = float(np.mean(each[:, k].mean(axis=1) ** 2))
        noise = luck if changed[:, k].any() else 0.0
        effects.append(
            Effect(
                name=name,
                mean=float(mean_of["mu"][k]),
                size=float(mean_of["mu_star"][k]),
                spread=float(mean_of["sigma"][k]),
                luck=math.sqrt(2.0 / math.pi * noise),
                clear=math.sqrt(max(square - noise, 0.0)),
                told=square > 0.0 and paths * square > bar * noise,
            )
        )
    return effects


def _luck(each: np.ndarray, changed: np.ndarray) -> float:
    """Mean variance of an effect by luck, over the steps that changed anything."""
    if each.shape[2] < RUNS_PER_DRAW or not changed.any():
        return 0.0
    return float(np.mean(luck_variance(each)[changed]))


def share_of_squares(effects: list[Effect]) -> dict[str, float]:
    """Return each number's share of all squared effects without luck, of those told from it."""
    squares = {one.name: one.clear**2 if one.told else 0.0 for one in effects}
    total = sum(squares.values())
    return {name: square / total if total > 0.0 else 0.0 for name, square in squares.items()}


def most_influential(
    by_outcome: dict[str, list[Effect]], count: int, *, always: tuple[str, ...] = ()
) -> tuple[str, ...]:
    """Return the numbers with the greatest share in any outcome.

    Parameters
    ----------
    by_outcome
        Effects by outcome.
    count
        How many.
    always
        Numbers that are taken whatever their share: those that batches draw.

    Returns
    -------
    tuple of str
        The greatest first.
    """
    best: dict[str, float] = {}
    for effects in by_outcome.values():
        for name, share in share_of_squares(effects).items():
            best[name] = max(best.get(name, 0.0), share)
    ranked = sorted(best, key=lambda name: (-best[name], name))
    kept = [name for name in ranked if name in always]
    kept += [name for name in ranked if name not in always and best[name] > 0.0]
    chosen = kept[: max(count, len([name for name in ranked if name in always]))]
    return tuple(sorted(chosen, key=ranked.index))
