"""Lesson: why parents turn on neighbours, step by step on one tank, and then without the brood.

The steps are moments of one run, each with what was measured in it. The last step takes the brood
away and really plays both tanks, since a story is no proof. What of it is imposed, fitted or
predicted stands in `docs/evidence.md`, and is said with each step.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pathlib import Path

    from sim.batch import Batch
    from sim.check import Checked
    from sim.scenario import Scenario
    from sim.statistics import Estimate
    from viz.app.batches import BatchJob

SPAWN_DAY = 3
DAYS = 12.0
PAIR = ("Basalt", "Pumice")
RUNS = 40  # with and without the brood: two runs share each draw of fish
LOOK_D = 1.0 / 24.0


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the lesson.

    Parameters
    ----------
    key
        Its name, one of `STAGE_OF` where it is a stage.
    title
        A few words.
    words
        What there is to understand.
    rests_on
        Where in the evidence it stands, and of which kind it is.
    """

    key: str
    title: str
    words: str
    rests_on: str


STEPS = (
    Step(
        "before",
        "Before",
        "A pair of convicts holds the left end. It keeps others off its place and leaves the rest "
        "of the floor to them.",
        "P9: a territory grows with the fish that holds it; imposed, by published numbers.",
    ),
    Step(
        "eggs",
        "They spawn",
        "On day 3 there are eggs in the pot. Now there is something to lose, and it cannot be "
        "moved. The ground the pair defends spreads, and neighbours that did nothing are inside.",
        "P9: how far a breeding pair's ground reaches; imposed. P8: he defends more before "
        "spawning, both about as much with fry; imposed.",
    ),
    Step(
        "fry",
        "The young swim",
        "Each day the young live they are worth more, and a pair answers an intruder the more "
        "fiercely. How much the neighbours take is another matter: by now they have learned where "
        "not to be, and hide. The days below show both.",
        "P8: defence of an intruder rises from eggs to wrigglers to fry; fitted.",
    ),
    Step(
        "why",
        "Why it attacked",
        "An attack has no single cause. These are the factors that multiplied in one of them: take "
        "one down to nothing, and it would not have come.",
        "That they multiply is the model's rule. P8: one's own kind is attacked more; imposed.",
    ),
    Step(
        "without",
        "Take it away",
        "If the brood is the reason, the same fish must be bitten less where the brood changes "
        "nothing. Both tanks are played, with the same fish.",
        "P8: without the brood a parent of two chases no less than a lone one; the brood is what "
        "that pattern hangs on. What a guarded brood does to a whole company: docs/evidence.md.",
    ),
)

STAGE_OF = {"before": ("courting", "digging"), "eggs": ("eggs",), "fry": ("fry",)}


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured in one stage of the run.

    Parameters
    ----------
    day
        A moment in the middle of it, in days since midnight of day 0.
    area_m2, share
        The pair's territory, mean over the stage, and as a share of the floor.
    """

    day: float
    area_m2: float
    share: float

    @property
    def words(self) -> str:
        """The numbers in a sentence."""
        from viz.phrases import rounded

        return (
            f"Measured in this run: the pair holds {rounded(self.area_m2)} m2, "
            f"{100.0 * self.share:.0f} in 100 of the floor, on average over this stage."
        )


@dataclass(frozen=True, slots=True)
class Story:
    """One run, told for the lesson.

    Parameters
    ----------
    run, seed
        Which.
    stages
        By the keys of `STAGE_OF`.
    attack, reasons
        One attack on a neighbour while there were fry, and its factors; empty where there was none.
    attack_day
        When it came; None where there was none.
    """

    run: int
    seed: int
    stages: dict[str, Measured]
    attack: str
    reasons: str
    attack_day: float | None


@cache
def lesson_tank() -> Checked:
    """Return the tank of the lesson: six feet, a pair that spawns on day 3, seven others."""
    return _of(("Why parents turn on neighbours", ()))


@cache
def without_brood() -> Checked:
    """Return the same tank in which the brood changes nothing."""
    return _of(("The same without the brood", ("brood",)))


def _of(said: tuple[str, tuple[str, ...]]) -> Checked:
    from sim.check import check_scenario
    from sim.scenario import Breeding
    from viz.app.opening import open_path, shipped

    base: Scenario = open_path(shipped("convict-six-foot.toml")).scenario
    title, without = said
    return check_scenario(
        base.model_copy(
            update={
                "title": title,
                "question": "Why do parents turn on their neighbours?",
                "days": DAYS,
                "without": without,
                "breeding": Breeding(
                    mode="on", spawn_day=float(SPAWN_DAY), pair=PAIR, site="large pot"
                ),
            }
        )
    )


def play_story(*, run: int = 0, seed: int = 1) -> Story:
    """Play one run and return what the lesson tells of it.

    Parameters
    ----------
    run, seed
        Which.
    """
    from sim.chronicle import chronicle_of
    from sim.engine import History
    from sim.rules.codes import STAGES
    from viz.replay_page import attack_words, reason_words

    tank = lesson_tank()
    told = chronicle_of(tank.scenario, tank.layout, run=run, seed=seed)
    history = History(tank.scenario, tank.layout, run=run, seed=seed)
    names = _names(tank)
    pair = [names.index(name) for name in PAIR]
    floor_m2 = tank.scenario.tank.length_m * tank.scenario.tank.width_m
    found: dict[str, list[tuple[float, float]]] = {key: [] for key in STAGE_OF}
    while not history.finished:
        history.advance(until_day=history.day + LOOK_D)
        state = history.state
        stage = STAGES[int(state.broods.stage.max())]
        for key, names_of in STAGE_OF.items():
            if stage in names_of:
                found[key].append((history.day, float(state.fish.area[pair].max())))
    stages = {}
    for key, looks in found.items():
        if looks:
            area = float(np.mean([one for _, one in looks]))
            stages[key] = Measured(looks[len(looks) // 2][0], area, area / floor_m2)
    attacks = told.attacks
    ours = np.isin(attacks["attacker"], pair) & ~np.isin(attacks["victim"], pair)
    guarded = attacks[ours & (attacks["stage"] == STAGES.index("fry")) & (attacks["bites"] > 0)]
    if not len(guarded):
        return Story(run, seed, stages, "", "", None)
    row = guarded[int(np.argmax(guarded["heat"]))]
    return Story(
        run=run,
        seed=seed,
        stages=stages,
        attack=attack_words(row, names),
        reasons=reason_words(row, told),
        attack_day=float(row["time"]) / 86400.0,
    )


def _names(tank: Checked) -> tuple[str, ...]:
    from sim.outcome import fish_names

    return fish_names(tank.scenario)


@dataclass(frozen=True, slots=True)
class Compared:
    """The same fish with and without the brood.

    Parameters
    ----------
    draws
        Draws of fish, each played twice in either tank.
    more
        Draws in which the neighbours took more bites with the brood.
    share
        Of the draws, with its interval.
    ratio
        Bites they took with the brood over without; None where it cannot be bounded.
    days
        Bites in the tank on each day, with and without the brood, mean over the runs.
    """

    draws: int
    more: int
    share: Estimate
    ratio: Estimate | None
    days: tuple[tuple[float, float], ...]

    @property
    def words(self) -> tuple[str, ...]:
        """What came of it, in sentences."""
        from viz.phrases import hundredths, rounded

        said = [
            f"In {self.more} of {self.draws} draws of fish the neighbours were bitten more with "
            f"the brood than without ({hundredths(self.share.low)} to "
            f"{hundredths(self.share.high)} in 100)."
        ]
        if self.ratio is not None:
            said.append(
                f"They took {rounded(self.ratio.value)} times as many bites "
                f"({rounded(self.ratio.low)} to {rounded(self.ratio.high)})."
            )
            if self.ratio.low > 1.0:
                said.append("The fish are the same and the tank is the same: it is the brood.")
            else:
                said.append("The interval holds no difference: these runs do not show it.")
        return tuple(said)


def both_tanks(
    *, seed: int, told: Callable[[], None] = lambda: None, keep: Path | None = None
) -> BatchJob:
    """Return the tanks with and without the brood as a batch, not begun: `RUNS` runs of either.

    Parameters
    ----------
    seed
        Of the runs.
    told, keep
        As `BatchJob`.
    """
    from dataclasses import replace

    from sim.comparison import Design
    from sim.settings import Settings
    from viz.app.batches import BatchJob, asked_for

    designs = [
        Design.of(tank.scenario, tank.layout, name=name, path=None)
        for name, tank in (("with the brood", lesson_tank()), ("without", without_brood()))
    ]
    # The assumed numbers stand at their defaults, as in the run that is told.
    asked = replace(asked_for(RUNS, seed=seed), settings=Settings())
    return BatchJob(designs, asked=asked, told=told, keep=keep)


def compared(with_brood: Batch, without: Batch) -> Compared:
    """Return what two batches with the same seed say of the brood.

    Parameters
    ----------
    with_brood, without
        Batches of `lesson_tank` and of `without_brood`; the runs that both have finished count.
    """
    from sim.figures import by_draw
    from sim.paired import ratio_interval
    from sim.statistics import share_interval
    from sim.summary import Summary

    runs = min(with_brood.done, without.done)
    sides, daily = [], []
    for batch in (with_brood, without):
        summary = Summary(batch, runs=runs)
        others = [k for k, one in enumerate(summary.members) if one.name not in PAIR]
        bites = summary.fish_column("bites_taken")[:, others].sum(axis=1)
        sides.append(by_draw(bites, draw=summary.draw))
        daily.append(_by_day(batch, runs=runs))
    first, second = sides
    more = int(np.sum(first > second))
    return Compared(
        draws=len(first),
        more=more,
        share=share_interval(more, n=len(first)),
        ratio=ratio_interval(first, b=second),
        days=tuple(zip(*daily, strict=True)),
    )


def _by_day(batch: Batch, *, runs: int) -> list[float]:
    total = np.zeros(int(np.ceil(batch.scenario.days)))
    for part in batch.days.slices():
        part = part[(part["run"] < runs) & (part["day"] < len(total))]
        np.add.at(total, part["day"], part["bites"])
    return [float(one) / runs for one in total]
