"""Rules: what each part of the model costs, in processor time of whole runs.

``python -m tests.benchmarks rules`` plays the four-foot tank with a mechanism taken away, or with
something added to its file, in turns with the tank as it is, and writes its section into
docs/performance.md.
"""

from __future__ import annotations

import shutil
import statistics
import tempfile
import time
from pathlib import Path

from sim.check import Checked, check_file
from sim.engine import History
from tests.benchmarks.machine import describe, load, table, write_section

TOP = Path(__file__).parents[2]
PAGE = TOP / "docs" / "performance.md"
HEADING = "## What each part costs"
TANK = TOP / "scenarios" / "convict-four-foot.toml"
DECIDED = (
    "None is left out for what it costs. A mechanism that is taken away saves nothing that counts, "
    "or costs time, since the fish then fight more and more of their time is watched. What is "
    "added costs half as much again at most, and only where a file asks for it: a brood, since a "
    "pair that guards is chasing; meals and a pad, since each of their minutes is watched."
)
ROUNDS = 10
RUNS = 4
ADDED = {
    "sizing up (`assessment`) taken away": 'without = ["assessment"]',
    "learning taken away": 'without = ["learning"]',
    "pieces hide nobody (`occlusion`)": 'without = ["occlusion"]',
    "nobody hides in rooms (`hiding`)": 'without = ["hiding"]',
    "all fish average (`individuality`)": 'without = ["individuality"]',
    "the pair spawns on day 10": (
        '[breeding]\nmode = "on"\nspawn_day = 10\npair = ["Basalt", "Pumice"]'
    ),
    "pairs form and spawn of themselves": '[breeding]\nmode = "spontaneous"',
    "two meals a day": '[feeding]\ntimes = ["10:00", "17:00"]\nspots = [["24 in", "9 in"]]',
    "the fish grow": "growth = true",
    "a keeper looks twice a day": '[keeper_plan]\nchecks_at = ["10:00", "19:00"]\nmoves = "nobody"',
    "ten minutes a day are watched with a pad": (
        '[[observe]]\nname = "pad"\nfrom_day = 0\nto_day = 29\nat = "14:00"\nminutes = 10'
    ),
}


def variant(folder: Path, number: int, added: str) -> Checked:
    """Return the tank with something added to its file."""
    file = folder / f"{number}.toml"
    shutil.copy(TANK, folder)  # a base is named by its way from the file
    file.write_text(f'based_on = "{TANK.name}"\n{added}\n', "utf-8")
    return check_file(file)


def seconds_of(tank: Checked, runs: range) -> float:
    """Return the processor time of some runs, s."""
    began = time.thread_time()
    for run in runs:
        history = History(tank.scenario, tank.layout, run=run, seed=1)
        history.advance()
        history.outcome()
    return time.thread_time() - began


def measure() -> None:
    """Play everything and write the section."""
    before = load()
    plain = check_file(TANK)
    with tempfile.TemporaryDirectory() as name:
        tanks = [variant(Path(name), k, added) for k, added in enumerate(ADDED.values())]
    for tank in (plain, *tanks):
        seconds_of(tank, range(1))
    alone: list[float] = []
    ratios: list[list[float]] = [[] for _ in tanks]
    for k in range(ROUNDS):
        runs = range(RUNS * k, RUNS * (k + 1))
        for one, tank in zip(ratios, tanks, strict=True):
            alone.append(seconds_of(plain, runs))
            one.append(seconds_of(tank, runs) / alone[-1])
    write_section(
        PAGE,
        HEADING,
        parts=[
            f"Written by `python -m tests.benchmarks rules`. Processor time of {ROUNDS * RUNS} "
            "runs of the four-foot tank, 30 days, against the tank as it is "
            f"({1e3 * statistics.median(alone) / RUNS:.0f} ms a run), in turns; the median of "
            f"{ROUNDS} ratios, and the middle half of them. What is taken away or added also "
            "changes what the fish do, and how much is watched.",
            table(
                ("the tank, but", "times as long", "middle half"),
                [
                    (words, f"{statistics.median(one):.2f}", _half(one))
                    for words, one in zip(ADDED, ratios, strict=True)
                ],
            ),
            DECIDED,
            describe(load_before=before),
        ],
    )


def _half(ratios: list[float]) -> str:
    low, _, high = statistics.quantiles(ratios, n=4)
    return f"{low:.2f} to {high:.2f}"
