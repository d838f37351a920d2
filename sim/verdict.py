"""Verdict: better, no difference or worse for the same fish, by a criterion stated beforehand.

The dose of injury comes first, each run's put to one scale of harm: what a bite does cancels out
of it, whereas shares of runs hang on that number, which nobody has measured. Then the share of
runs with a serious injury, then the hours hidden. The first whose interval leaves out no
difference decides.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from sim.figures import Vector, by_draw, mean_of_draws
from sim.paired import judged_pairs, paired_share_difference

CRITERIA = ("dose", "serious", "hidden_h_per_day")
CRITERION = (
    "Dose of injury first; where its 95 % interval holds no difference, the share of runs with a "
    "serious injury, then the hours hidden, each by a 99 % interval, so that three looks together "
    "are wrong in at most 7 of 100 comparisons of tanks that are alike."
)
LATER_LEVEL = 0.99
NEVER, ALWAYS = 0.03, 0.97
LEAST_DRAWS = 5  # fewer make no interval worth a verdict, assumed

Word = Literal["better", "no difference", "worse", "too few to say"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What one design is for the fish of another.

    Parameters
    ----------
    reference, other
        Numbers of the two designs.
    word
        Of the other design: "better", "no difference" (none was shown), "worse", or
        "too few to say".
    decided_by
        The criterion that decided, one of `CRITERIA`; "" where none did.
    shares_refused
        Whether the share of runs was left out because in both designs nearly none or nearly
        every run has a serious injury, where it hangs on how much one bite is taken to hurt.
    better, same, worse
        Draws of fish for which the other design was better, alike and worse, the first criterion
        in which they differ by more than a little deciding.
    """

    reference: int
    other: int
    word: Word
    decided_by: str
    shares_refused: bool
    better: int
    same: int
    worse: int


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedDraws:
    """For which draws of fish one design is better than another.

    Parameters
    ----------
    draws
        Their numbers, shape (n_draws,).
    words
        -1 where the other design is better, 0 alike, 1 worse, shape (n_draws,).
    means
        Dose of injury, of each draw the mean of its runs, in the reference and in the other, put
        to one scale of harm where the harm of a bite was drawn, shape (n_draws,) each.
    dose
        The same of each run, shape (n_runs,) each.
    used
        The criteria that were used.
    shares_refused
        As in `Verdict`.
    """

    draws: np.ndarray
    words: np.ndarray
    means: tuple[Vector, Vector]
    dose: tuple[Vector, Vector]
    used: tuple[str, ...]
    shares_refused: bool


def decide(
    columns: Mapping[str, tuple[Vector, Vector]],
    *,
    draw: np.ndarray,
    cluster: np.ndarray | None = None,
    harm: Vector | None = None,
    reference: int = 0,
    other: int = 1,
    alike: float = 0.1,
    level: float = 0.95,
) -> Verdict:
    """Return the verdict on a design as against the reference.

    Parameters
    ----------
    columns
        By name of criterion: its value in each run of the reference and of the other design, the
        same fish in the same place, each shape (n_runs,).
    draw
        Draw of fish of each run, shape (n_runs,).
    cluster
        What of each run is independent, shape (n_runs,); the draw of fish where None.
    harm
        What a bite did in each run, shape (n_runs,), where it was drawn.
    reference, other
        Numbers of the two designs, passed on.
    alike
        Differences of a draw up to this share of the mean of both are none.
    level
        Coverage of the first criterion's interval; the later ones have at least `LATER_LEVEL`.

    Returns
    -------
    Verdict
        Of the other design.
    """
    cluster = draw if cluster is None else cluster
    judged = judge_draws(columns, draw=draw, harm=harm, alike=alike)
    columns = {**columns, "dose": judged.dose}
    refused, used = judged.shares_refused, judged.used
    word: Word = "no difference"
    decided_by = ""
    if len(np.unique(cluster)) < LEAST_DRAWS:
        word = "too few to say"
    else:
        for name in used:
            x, y = columns[name]
            asked = level if name == CRITERIA[0] else max(level, LATER_LEVEL)
            if name == "serious":
                gap = paired_share_difference(y > 0.0, b=x > 0.0, draw=cluster, level=asked)
            else:
                gap = mean_of_draws(by_draw(y - x, draw=cluster), level=asked)[0]
            if gap.high < 0.0 or gap.low > 0.0:
                word, decided_by = ("better" if gap.high < 0.0 else "worse"), name
                break
    return Verdict(
        reference=reference,
        other=other,
        word=word,
        decided_by=decided_by,
        shares_refused=refused,
        better=int(np.sum(judged.words < 0)),
        same=int(np.sum(judged.words == 0)),
        worse=int(np.sum(judged.words > 0)),
    )


def judge_draws(
    columns: Mapping[str, tuple[Vector, Vector]],
    *,
    draw: np.ndarray,
    harm: Vector | None = None,
    alike: float = 0.1,
) -> JudgedDraws:
    """Return for which draws of fish a design is better, alike and worse than the reference.

    Parameters
    ----------
    columns, draw, harm, alike
        As `decide`.

    Returns
    -------
    JudgedDraws
        Its counts are those of `Verdict`.
    """
    dose = columns["dose"]
    if harm is not None:
        one_scale = harm / harm.mean()
        dose = (dose[0] / one_scale, dose[1] / one_scale)
        columns = {**columns, "dose": dose}
    means = {name: [by_draw(v, draw=draw) for v in columns[name]] for name in CRITERIA}
    refused = shares_say_nothing(*columns["serious"], harm=harm)
    used = tuple(name for name in CRITERIA if not (refused and name == "serious"))
    slack = [0.0 if name == "serious" else alike * float(np.mean(means[name])) for name in used]
    return JudgedDraws(
        draws=np.unique(draw),
        words=judged_pairs(
            np.column_stack([means[name][1] for name in used]),
            b=np.column_stack([means[name][0] for name in used]),
            tolerance=slack,
        ),
        means=(means["dose"][0], means["dose"][1]),
        dose=dose,
        used=used,
        shares_refused=refused,
    )


def shares_say_nothing(x: Vector, y: Vector, *, harm: Vector | None = None) -> bool:
    """Return whether in both designs nearly no run, or nearly every run, has a serious injury.

    Parameters
    ----------
    x, y
        Whether it happened in each run, shape (n_runs,).
    harm
        What a bite did in each run, shape (n_runs,), where it was drawn: then it must be so in at
        least two of the three thirds of its range.
    """
    parts = [slice(None)] if harm is None else list(thirds(harm))
    silent = 0
    for part in parts:
        shares = [float(np.mean(side[part] > 0.0)) for side in (x, y)]
        silent += max(shares) < NEVER or min(shares) > ALWAYS
    return silent * 3 >= 2 * len(parts)


def thirds(harm: Vector) -> tuple[np.ndarray, ...]:
    """Return the runs in the lowest, middle and highest third of what a bite did, as places.

    Parameters
    ----------
    harm
        Of each run, shape (n_runs,), three runs or more.
    """
    return tuple(np.array_split(np.argsort(harm, kind="stable"), 3))
