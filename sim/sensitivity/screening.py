r"""Screening: elementary effects of each number on each outcome, with luck told apart.

A step of :math:`\Delta` of one number changes the outcome by :math:`\Delta \cdot EE`; over r paths
:math:`\mu^* = \overline{|EE|}` and :math:`\sigma` is the spread of :math:`EE` (both by SALib). An
effect from few runs is part luck: with :math:`v` the mean variance that luck leaves in an effect,
the effect without luck is

.. math:: e = \sqrt{\max(0,\; \overline{EE^2} - v)}

It is *told from luck* where :math:`\sum EE^2` passes what luck alone would pass, for some number,
in one outcome of a hundred. What luck alone shows is known: half of what two runs of the same fish
differ by is an effect of none but luck, of the same variance and the same tails. The sum of its
squares over paths is taken as a gamma variate of the mean and variance that the steps show (for a
normal luck it is the chi-square). Three paths or more must show the effect besides.

References
----------
Elementary effects: Morris1991; their mean size: Campolongo2007. Setting luck apart is ours.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass

import numpy as np

from sim.sensitivity.outcomes import luck_variance
from sim.sensitivity.plan import LEVELS, unit_cube
from sim.start import RUNS_PER_DRAW

FALSE_ALARMS = 0.01  # numbers in an outcome told from luck though none matters, assumed
LEAST_SEEN = 3  # paths that must show an effect, assumed


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

    d = len(names)
    paths = len(places) // (d + 1)
    with warnings.catch_warnings():
        if paths == 1:  # which has no spread
            warnings.simplefilter("ignore", RuntimeWarning)
        mean_of = morris.analyze(
            unit_cube(d), places, runs.mean(axis=1), num_resamples=2, num_levels=LEVELS, seed=1
        )
    steps = np.diff(places.reshape(paths, d + 1, d), axis=1)  # (paths, steps, names)
    which = np.argmax(np.abs(steps), axis=2)
    moved = np.take_along_axis(steps, which[:, :, None], axis=2)[:, :, 0]
    each = np.diff(runs.reshape(paths, d + 1, -1), axis=1) / moved[:, :, None]
    order = np.argsort(which, axis=1)
    each = np.take_along_axis(each, order[:, :, None], axis=1)  # (paths, names, runs)
    luck, bar = _luck(each)
    effects = []
    for k, name in enumerate(names):
        means = each[:, k].mean(axis=1)
        square = float(np.mean(means**2))
        seen = int(np.count_nonzero(means)) >= min(LEAST_SEEN, paths)
        noise = luck if each[:, k].any() else 0.0
        effects.append(
            Effect(
                name=name,
                mean=float(mean_of["mu"][k]),
                size=float(mean_of["mu_star"][k]),
                spread=float(mean_of["sigma"][k]) if paths > 1 else 0.0,
                luck=math.sqrt(2.0 / math.pi * noise),
                clear=math.sqrt(max(square - noise, 0.0)),
                told=seen and paths * square > (bar if noise else 0.0),
            )
        )
    return effects


def _luck(each: np.ndarray) -> tuple[float, float]:
    """Return the variance of an effect by luck, and the sum of squares it seldom passes.

    Parameters
    ----------
    each
        Effects by path, number and run, shape (n_paths, n_names, n_runs).
    """
    from scipy.special import gammaincinv

    paths, names, runs = each.shape
    if runs < RUNS_PER_DRAW or names < 2:
        return 0.0, 0.0
    pairs = each.reshape(paths, names, runs // RUNS_PER_DRAW, RUNS_PER_DRAW)
    squares = np.mean((pairs[..., 0] - pairs[..., 1]) / 2.0, axis=2) ** 2
    luck = float(np.mean(luck_variance(each)))
    mean, variance = paths * luck, float(np.sum(np.var(squares, axis=1, ddof=1)))
    if mean == 0.0 or variance == 0.0:
        return luck, mean
    return luck, variance / mean * float(
        gammaincinv(mean**2 / variance, 1.0 - FALSE_ALARMS / names)
    )


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
