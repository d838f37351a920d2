"""Ends: what moving one assumed number to either end of its range does, with many runs.

``python -m tests.benchmarks ends`` answers two questions that the study of sensitivity leaves open,
and writes docs/one-by-one.md: which of the leading numbers change by how much a longer tank is
better, and what the numbers do that the tanks of the main comparison have no use for, each in a
shipped tank that uses it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.stats import bootstrap

from sim.batch import play_batch, run_one
from sim.comparison import Design
from sim.figures import MEASURES, by_draw
from sim.paired import ratio_interval
from sim.parameters import load_parameters
from sim.sensitivity.factors import Factor, assumed_factors, factor_of, parts
from sim.settings import Settings
from sim.statistics import Estimate, mean_interval
from sim.summary import summarise
from tests.benchmarks.enough import shipped_design
from tests.benchmarks.fishes import TANKS, Played, apart, in_words, play
from tests.benchmarks.machine import describe, load, table, write_page
from viz.sensitivity_words import PLAIN, source_word

PAGE = Path(__file__).parents[2] / "docs" / "one-by-one.md"
# Those that lead in docs/sensitivity.md, in any outcome, and what a keeper would ask about first.
LEADING = (
    "harm_per_bite",
    "submit_rate",
    "bite_rate",
    "attack_rate",
    "submission",
    "avoid_half_life",
    "fear_half_life",
    "hide_time",
    "size_width",
    "cruise_speed",
    "reach_calm",
    "rest_after_chase",
)
LEADING_RUNS = 100
RUNS = 40
TRIALS = 3
SURE_LEVEL = 0.999  # of the interval of injury that is named
SURE = 4.0  # standard errors; of some 1,500 differences one or two pass by luck
WORKERS = 2
# Shipped tanks in which more goes on than in the main comparison, in the order they are tried, and
# for how many days at most they are played; one is played on beyond its days, for a second brood.
LIVES = (
    ("convict-pair-forms", 60),
    ("feeding-five-spots", 60),
    ("night-at-the-eggs", 60),
    ("small-tetras-large-cichlid", 60),
    ("water-change", 60),
    ("water-change-quarter", 60),
    ("divider-her-door", 60),
    ("convict-spawning", 60),
    ("divider-clear", 60),
    ("convict-four-foot-settled", 60),
    ("two-pairs-six-foot", 60),
    ("three-large-six-foot", 60),
    ("juveniles-crowd", 60),
    ("acaras-growing-up", 120),
    ("newcomer-rocks-moved", 60),
    ("settled-newcomer", 60),
    ("keeper-bully-out", 60),
    ("convict-spawning", 120),
)
PLAYED_ON = 120
# Measures that are the answers themselves, or the same thing once more.
ANSWERS = ("dose", "hidden_h_per_day")


def ends_of(name: str) -> tuple[float, float]:
    """Return the two values that a number is moved to."""
    factor = factor_of(load_parameters()[name])
    return factor.value(0.0), factor.value(1.0)


def from_to(name: str) -> str:
    """Return the two ends with their unit."""
    low, high = ends_of(name)
    return f"{low:g} to {high:g} {load_parameters()[name].unit}"


def plainly(name: str) -> str:
    """Return a number by its name, and in a keeper's words where there are some."""
    return f"`{name}`, {PLAIN[name]}" if name in PLAIN else f"`{name}`"


# --- the longer tank -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Longer:
    """What a number at either end does to how much better six feet are.

    Parameters
    ----------
    name
        The number.
    better
        Injury in six feet over that in four, at the lower and at the upper end.
    changed
        The ratio at the upper end over that at the lower.
    """

    name: str
    better: tuple[Estimate | None, Estimate | None]
    changed: Estimate

    @classmethod
    def of(cls, name: str, low: Played, high: Played) -> Longer:
        """Reckon it from what was played at either end."""
        return cls(name, (low.longer, high.longer), _ratio_of_ratios((*low.dose, *high.dose)))

    @property
    def cells(self) -> tuple[str, ...]:
        """Its row of the table."""
        estimates = (*self.better, self.changed)
        return (plainly(self.name), from_to(self.name), *map(in_words, estimates))


def _ratio_of_ratios(doses: Sequence[np.ndarray]) -> Estimate:
    """Return six over four at the upper end over the same at the lower, resampled by draw."""

    def log(*columns: np.ndarray, axis: int = -1) -> np.ndarray:
        four, six, four_up, six_up = (np.log(np.mean(one, axis=axis)) for one in columns)
        return np.asarray((six_up - four_up) - (six - four))

    found = bootstrap(
        doses, log, paired=True, vectorized=True, method="BCa", n_resamples=4999,
        rng=np.random.default_rng(1),
    ).confidence_interval  # fmt: skip
    value = math.exp(float(log(*doses)))
    return Estimate(value, math.exp(found.low), math.exp(found.high), len(doses[0]), "BCa")


def longer_tanks() -> Iterator[Longer]:
    """Play both tanks with each leading number at either end."""
    for name in LEADING:
        print(f"{name} {from_to(name)}", flush=True)
        low, high = (play(runs=LEADING_RUNS, changes={name: end}) for end in ends_of(name))
        yield Longer.of(name, low, high)


def longer_words(found: Sequence[Longer]) -> str:
    """Return what the advantage of six feet hangs on, in a few sentences."""
    told = [one for one in found if apart(one.changed, 1.0)]
    told.sort(key=lambda one: -abs(math.log(one.changed.value)))
    shown = [end for one in found for end in one.better]
    better = sum(one is not None and one.high < 1.0 for one in shown)
    worse = sum(one is not None and one.low > 1.0 for one in shown)
    named = ", ".join(
        f"{plainly(one.name)} ({in_words(one.better[0])} at its lower end, "
        f"{in_words(one.better[1])} at its upper)"
        for one in told
    )
    return (
        (
            f"Of {len(found)} numbers {len(told)} change by more than luck explains how much less "
            f"is bitten in six feet than in four: {named}."
            if told
            else f"Of {len(found)} numbers none changes by more than luck explains how much less "
            "is bitten in six feet than in four."
        )
        + f" At {better} of the {len(shown)} ends the six-foot tank is shown to be the better one "
        f"by injury, at {worse} the worse one; at the others {LEADING_RUNS} runs do not tell."
    )


# --- numbers that the main comparison has no use for ----------------------------------------------


def idle_numbers() -> list[Factor]:
    """Return the assumed numbers that change nothing in the tanks of the main comparison."""
    tanks = [shipped_design(name) for name in (TANKS[0], "convict-spawning")]
    return [
        factor
        for factor in assumed_factors()
        if not any(differs(tank, factor.name, trials=TRIALS) for tank in tanks)
    ]


def cut(name: str, days: int) -> Design:
    """Return a shipped tank, of no more days than are played here; or of `PLAYED_ON`."""
    design = shipped_design(name)
    played = days if days == PLAYED_ON else min(days, design.scenario.days)
    longer = design.scenario.model_copy(update={"days": float(played)})
    return Design.of(longer, design.layout, name=f"{name}, {played:g} days", path=design.path)


def differs(tank: Design, name: str, *, trials: int) -> bool:
    """Return whether any digit of a few runs hangs on which end a number is at."""
    for run in range(trials):
        rows = [
            run_one(tank.scenario, tank.layout, run=run, seed=1, changes={name: value})
            for value in ends_of(name)
        ]
        if any(
            getattr(rows[0], part).tobytes() != getattr(rows[1], part).tobytes()
            for part in ("row", "fish")
        ):
            return True
    return False


@dataclass(frozen=True, slots=True)
class Used:
    """What a number does in a tank that uses it: outcomes by draw of fish, at either end.

    Parameters
    ----------
    name
        The number.
    tank
        File of the tank; empty where no shipped tank was found that hangs on it.
    low, high
        Outcomes by name, each of shape (n_draws,).
    """

    name: str
    tank: str
    low: Mapping[str, np.ndarray]
    high: Mapping[str, np.ndarray]

    def moves(self, measure: str) -> float:
        """Return by how many standard errors an outcome differs; nan where it has no sense."""
        low, high = self.low[measure], self.high[measure]
        if not np.all(np.isfinite(low) & np.isfinite(high)):
            return math.nan
        change = high - low
        error = float(np.std(change, ddof=1)) / math.sqrt(len(change))
        return float(np.mean(change)) / error if error > 0.0 else 0.0

    def dose(self, level: float = 0.95) -> Estimate | None:
        """Return the injury at the upper end over that at the lower."""
        return ratio_interval(self.high["dose"], b=self.low["dose"], level=level)

    @property
    def hurts(self) -> bool:
        """Whether it changes the injury; of a thousand that do not, one passes by luck."""
        return apart(self.dose(SURE_LEVEL), 1.0)

    @property
    def else_moved(self) -> list[str]:
        """What else it changes, more than luck explains."""
        found = []
        for measure, words in outcome_words().items():
            if measure in ANSWERS or not abs(self.moves(measure)) > SURE:
                continue
            before, after = (float(np.mean(one[measure])) for one in (self.low, self.high))
            found.append(f"{words} {before:.3g} to {after:.3g}")
        return found

    @property
    def cells(self) -> tuple[str, ...]:
        """Its row of the table."""
        row = load_parameters()[self.name]
        first = (f"`{self.name}`", parts()[self.name], source_word(row), from_to(self.name))
        if not self.tank:
            return (*first, "none", "-", "-", "-")
        hidden = mean_interval(self.high["hidden_h_per_day"] - self.low["hidden_h_per_day"])
        return (
            *first,
            self.tank,
            in_words(self.dose()),
            in_words(hidden),
            "; ".join(self.else_moved) or "-",
        )


def outcome_words() -> dict[str, str]:
    """Return the outcomes that are looked at, with their words."""
    return {
        **{name: measure.text for name, measure in MEASURES.items()},
        "length_m": "length at the end, m",
    }


def outcomes(tank: Design, changes: Mapping[str, float]) -> dict[str, np.ndarray]:
    """Play a tank and return its outcomes by draw of fish."""
    summary = summarise(
        play_batch(
            tank.scenario, tank.layout, runs=RUNS, seed=1, workers=WORKERS,
            settings=Settings(vary=True), changes=changes, keep_days=False,
        )
    )  # fmt: skip
    columns = {name: summary.run_column(name) for name in MEASURES}
    columns["length_m"] = summary.fish_column("length_m").mean(axis=1)
    return {name: by_draw(column, draw=summary.draw) for name, column in columns.items()}


def used_numbers(idle: Sequence[Factor]) -> Iterator[Used]:
    """Play each number at either end in the first tank that hangs on it."""
    tanks = [cut(name, days) for name, days in LIVES]
    for factor in idle:
        low, high = ends_of(factor.name)
        tank = next((one for one in tanks if differs(one, factor.name, trials=TRIALS)), None)
        where = tank.name if tank else "in no tank"
        print(f"{factor.name} {from_to(factor.name)}: {where}", flush=True)
        if tank:
            yield Used(
                factor.name,
                tank.name,
                outcomes(tank, {factor.name: low}),
                outcomes(tank, {factor.name: high}),
            )
        else:
            yield Used(factor.name, "", {}, {})


def used_words(found: Sequence[Used]) -> str:
    """Return in a few sentences what these numbers decide."""
    played = [one for one in found if one.tank]
    hurt = [one for one in played if one.hurts]
    hurt.sort(key=lambda one: -abs(math.log(found.value if (found := one.dose()) else 1.0)))
    named = ", ".join(f"`{one.name}` ({in_words(one.dose())} in {one.tank})" for one in hurt)
    other = [one for one in played if one.else_moved and one not in hurt]
    nothing = [one for one in played if not one.else_moved and one not in hurt]
    nowhere = [one for one in found if not one.tank]
    sentences = [
        f"Of {len(found)} numbers {len(hurt)} change the injury received (interval of "
        f"{100 * SURE_LEVEL:.1f} %), upper end over lower{': ' + named if named else ''}; "
        f"{len(other)} more change something else.",
        f"Of {len(nothing)} nothing can be told from luck with {RUNS} runs an end.",
    ]
    if nowhere:
        names = ", ".join(f"`{one.name}`" for one in nowhere)
        sentences.append(
            f"No tank that was tried hangs on {names}: they count for what a pad records, or in "
            "tanks unlike these (on gravel; without a site to spawn at)."
        )
    return " ".join(sentences)


def measure() -> None:
    """Play everything and write the page."""
    before = load()
    longer = list(longer_tanks())
    idle = idle_numbers()
    used = list(used_numbers(idle))
    write_page(
        PAGE,
        parts=[
            "# One number at a time",
            "Written by `python -m tests.benchmarks ends`. [sensitivity.md](sensitivity.md) moves "
            "all assumed numbers and asks which decide; two things it leaves open. Here one number "
            "at a time is moved to either end of its range, the others as in any batch, and the "
            "same fish are played with both. Brackets: 95 % intervals over draws of fish, each by "
            "itself: of so many, one in twenty leaves out the truth.",
            "## How much better is the longer tank?",
            f"{LEADING_RUNS} runs of 30 days of the four-foot and the six-foot tank at each end, "
            "of the numbers that lead in sensitivity.md. Injury in six feet over that in four; "
            "last column: the one ratio over the other.",
            longer_words(longer),
            table(
                ("number", "from and to", "lower end", "upper end", "upper / lower"),
                [one.cells for one in longer],
            ),
            "## What the main comparison has no use for",
            f"{len(idle)} assumed numbers change not one digit of {TRIALS} runs of the four-foot "
            "tank, nor of it with a pair that spawns. Each is moved in the first of "
            f"{len(LIVES)} shipped tanks that hangs on it, {RUNS} runs an end. The last column has "
            f"the means at either end of whatever else differs by more than {SURE:.0f} standard "
            "errors.",
            used_words(used),
            table(
                (
                    "number", "part", "rests on", "from and to", "tank", "injury, upper / lower",
                    "hours hidden, upper less lower", "what else changes",
                ),
                [one.cells for one in used],
            ),
            "Not moved anywhere: `skin_share`, which only multiplies the harm of a bite, and the "
            "lesser constants of the code that [parameters.md](parameters.md) lists at its end.",
            describe(load_before=before),
        ],
    )  # fmt: skip
