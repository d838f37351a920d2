"""Improve: search a tank's layouts for the least injury, then judge the best on fresh runs.

The search plays every layout over the same runs, with the same fish. What it finds best has partly
been lucky there, so it is compared with the file's own layout on runs of another seed that no
layout has been chosen by.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.better.buildable import FloorPlan, Plan
from sim.better.moving import Moving
from sim.better.race import F8, Ledger
from sim.better.search import JUDGED, Found, Stage, Told, search
from sim.check import Checked
from sim.comparison import Comparison, Design, compare
from sim.crew import Job, Workers
from sim.kept import Trouble, play_jobs
from sim.pairing import Difference
from sim.parameters import load_parameters

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sim.kept_store import Store
    from sim.settings import Settings

LAYOUTS_KEPT = 48  # whose tables stay in memory


@dataclass(frozen=True, slots=True)
class Improved:
    """What came of a search for a better layout.

    Parameters
    ----------
    plan
        Of the best layout; that of the file where none did better in the search.
    tank
        It, checked.
    found
        How the search went.
    fresh
        The file's layout against it on fresh runs; None where none did better in the search.
    """

    plan: Plan
    tank: Checked
    found: Found[Plan]
    fresh: Comparison | None

    @property
    def gain(self) -> Difference | None:
        """The injury received, on fresh runs; None where nothing was compared."""
        if self.fresh is None:
            return None
        return next((one for one in self.fresh.differences if one.measure.name == "dose"), None)

    @property
    def better(self) -> bool:
        """Whether the layout is better: less injury, the whole interval below no difference."""
        return is_better(self.gain)


def is_better(gain: Difference | None) -> bool:
    """Return whether a difference in injury says that the other layout is better.

    Parameters
    ----------
    gain
        Of injury, the other less the reference.
    """
    return gain is not None and gain.high < 0.0


def fresh_seed(seed: int) -> int:
    """Return the seed of the runs on which the best layout is judged."""
    return (seed + 1) % 2**63


def improve(
    design: Design,
    moving: Moving,
    *,
    budget: int,
    runs: int,
    seed: int,
    workers: Workers = None,
    settings: Settings | None = None,
    changes: Mapping[str, float] | None = None,
    over: Callable[[], bool] = lambda: False,
    progress: Callable[[int, int], None] | None = None,
    told: Told | None = None,
    keep: Store | None = None,
    trouble: Trouble | None = None,
) -> Improved:
    """Search for a better layout and judge it.

    Parameters
    ----------
    design
        The tank.
    moving
        What may be put elsewhere.
    budget
        Runs of the search.
    runs
        Fresh runs of each of the two layouts.
    seed
        Of the study, and of what the search draws.
    workers, settings, changes
        As `sim.batch.run_batch`.
    over
        Whether the search is to end for another reason than its budget.
    progress
        Told how many runs are done, of how many at most.
    told
        Told when another part begins, or goes on; what it raises ends it.
    keep
        Where runs are kept: those that are there are read, the others added. A search that was
        killed makes the same choices again from what it reads, and goes on.
    trouble
        Who is told why runs are not kept, as of `sim.kept.play_jobs`.

    Returns
    -------
    Improved
        The same for the same tank, budget, seed and version, if `over` did not end it.

    Raises
    ------
    Refused
        If the tank cannot be played as asked.
    OutOfRuns
        If the budget does not suffice for a first race.
    """
    space = FloorPlan(Checked(design.scenario, design.layout, ()), moving)
    total = budget + 2 * runs
    done = 0

    def tell(more: int) -> None:
        nonlocal done
        done += more
        if progress is not None:
            progress(min(done, total), total)

    player = _Player(space, seed=seed, workers=workers, settings=settings, changes=changes,
                     tell=tell, keep=keep, trouble=trouble)  # fmt: skip
    ledger: Ledger[Plan] = Ledger(player, budget=budget, over=over)
    found = search(space, ledger, seed=seed, told=told)
    if found.best == space.given:
        return Improved(space.given, Checked(design.scenario, design.layout, ()), found, None)
    tank = space.tank_of(found.best)
    assert tank is not None  # only plans that can be built are played
    name = f"{design.name}, another layout"
    other = Design.of(tank.scenario, tank.layout, name=name, path=None)
    searched = done
    if told is not None:
        told(Stage(JUDGED, 0, len(ledger.candidates)))
    fresh = compare(
        (design, other), runs=runs, seed=fresh_seed(seed), workers=workers, settings=settings,
        changes=changes, keep_days=False, keep=keep, trouble=trouble,
        progress=None if progress is None else lambda now, _: progress(searched + now, total),
    )  # fmt: skip
    return Improved(found.best, tank, found, fresh)


class _Player:
    """Plays plans, and keeps the layouts of the last ones."""

    def __init__(
        self, space: FloorPlan, *, seed: int, workers: Workers, settings: Settings | None,
        changes: Mapping[str, float] | None, tell: Callable[[int], None], keep: Store | None,
        trouble: Trouble | None,
    ) -> None:  # fmt: skip
        self.space, self.seed, self.workers = space, seed, workers
        self.settings, self.changes, self.tell = settings, changes, tell
        self.keep, self.trouble = keep, trouble
        self.usual = load_parameters()["harm_per_bite"].value
        self._tanks: OrderedDict[Plan, Checked] = OrderedDict()

    def __call__(self, jobs: Sequence[tuple[Plan, int, int]]) -> list[F8]:
        """Play plans, each from its first run on, and return the injury of each run."""

        def each() -> Iterator[Job]:
            return (
                Job(
                    scenario=tank.scenario, layout=tank.layout, run=first + k, seed=self.seed,
                    settings=self.settings, changes=self.changes,
                )
                for plan, first, count in jobs
                for tank in (self._tank(plan),)
                for k in range(count)
            )  # fmt: skip

        outcomes = play_jobs(each, workers=self.workers, keep=self.keep, trouble=self.trouble)
        found: list[F8] = []
        try:
            for _, _, count in jobs:
                costs = []
                for _ in range(count):
                    row = next(outcomes).row[0]
                    # what a bite does may be drawn; it scales all layouts alike
                    costs.append(float(row["dose"]) * self.usual / float(row["harm_per_bite"]))
                    self.tell(1)
                found.append(np.array(costs))
        finally:
            outcomes.close()  # type: ignore[attr-defined]
        return found

    def _tank(self, plan: Plan) -> Checked:
        if plan not in self._tanks:
            given = plan == self.space.given
            tank = self.space.checked if given else self.space.tank_of(plan)
            assert tank is not None
            self._tanks[plan] = tank
            while len(self._tanks) > LAYOUTS_KEPT:
                self._tanks.popitem(last=False)
        self._tanks.move_to_end(plan)
        return self._tanks[plan]
