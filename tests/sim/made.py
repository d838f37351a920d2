"""Batches made by hand, so that statistics can be tested against numbers that are known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from sim.batch import Batch
from sim.check import check_file, check_scenario
from sim.comparison import Design
from sim.outcome import DAY_ROW, FISH_ROW, OUTGROWN_ROW, RUN_ROW, Outcome
from sim.records import HARM_SHAPE, LOG, SEEN, STRETCH
from sim.rules.codes import CHASED
from sim.scenario import Scenario
from sim.settings import Settings

FOUR_FOOT = "scenarios/convict-four-foot.toml"
SIX_FOOT = "scenarios/convict-six-foot.toml"


def design(path: str = FOUR_FOOT, *, days: float = 1.0, **changes: object) -> Design:
    """Return a design from a shipped scenario, for so many days, with fields changed."""
    scenario = check_file(path).scenario.model_copy(update={"days": days, **changes})
    return design_of(scenario)


def design_of(scenario: Scenario) -> Design:
    """Return a design of a scenario made in memory."""
    checked = check_scenario(scenario)
    return Design(
        name=scenario.title,
        path=None,
        scenario=checked.scenario,
        layout=checked.layout,
        hash="",
    )


def outcome(
    run: int,
    *,
    n_fish: int,
    days: int = 1,
    row: Mapping[str, float] | None = None,
    fish: Mapping[str, Sequence[float]] | None = None,
    wins: np.ndarray | None = None,
    chased: Sequence[tuple[int, int]] = (),
    harm: np.ndarray | None = None,
    blocks: tuple[int, int] = (1, 1),
) -> Outcome:
    """Return an outcome in which all is zero but what is given."""
    one = np.zeros(1, RUN_ROW)
    one["run"], one["draw"], one["awake_h"] = run, run // 2, 11.0 * days
    for name in ("serious_day", "death_day"):
        one[name] = np.inf
    every = np.zeros(n_fish, FISH_ROW)
    every["run"], every["fish"] = run, np.arange(n_fish)
    for name in ("minor_day", "serious_day", "death_day"):
        every[name] = np.inf
    for name, value in (row or {}).items():
        one[name] = value
    for name, values in (fish or {}).items():
        every[name] = values
    table = np.zeros(days, DAY_ROW)
    table["run"], table["day"] = run, np.arange(days)
    log = np.zeros(len(chased), LOG)
    log["outcome"] = CHASED
    if chased:
        log["attacker"], log["victim"] = np.array(chased).T
    return Outcome(
        run=run,
        row=one,
        fish=every,
        days=table,
        outgrown=np.zeros(0, OUTGROWN_ROW),
        chases=np.zeros((n_fish, n_fish), np.int64),
        wins=np.zeros((n_fish, n_fish), np.int64) if wins is None else wins,
        ends=np.zeros((7, 6), np.int64),
        log=log,
        stretches=np.zeros(0, STRETCH),
        seen=np.zeros((0, n_fish, n_fish), SEEN),
        harm=np.zeros((n_fish, *HARM_SHAPE)) if harm is None else harm,
        harm_by=np.zeros((n_fish, n_fish)),
        harm_on=np.zeros((n_fish, n_fish + 1)),
        harm_spots=np.zeros((n_fish, *blocks)),
    )


def batch(
    of: Design,
    rows: Sequence[Mapping[str, float]],
    *,
    fish: Sequence[Mapping[str, Sequence[float]]] | None = None,
    wins: np.ndarray | None = None,
) -> Batch:
    """Return a batch of one run for each of `rows`."""
    made = Batch(
        scenario=of.scenario,
        layout=of.layout,
        seed=1,
        settings=Settings(),
        changes={},
        asked=len(rows),
    )
    for run, row in enumerate(rows):
        made.add(
            outcome(
                run,
                n_fish=made.n_fish,
                row=row,
                fish=fish[run] if fish is not None else None,
                wins=wins,
            )
        )
    return made
