"""Enough: what more runs buy, by cutting long batches of comparisons into short ones.

``python -m tests.benchmarks enough`` plays shipped tanks against each other, cuts the runs into
blocks of consecutive runs, which hold other fish and other luck, judges each block as a batch of
its own, and writes its section into docs/convergence.md.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from sim.check import check_file
from sim.comparison import Comparison, Design, compare, paired_columns
from sim.figures import by_draw
from sim.paired import ratio_interval
from sim.pairing import ALIKE
from sim.settings import Settings
from sim.statistics import share_interval
from sim.verdict import CRITERIA, decide
from tests.benchmarks.convergence import ENOUGH, PAGE
from tests.benchmarks.machine import describe, load, table, write_section

TOP = Path(__file__).parents[2]
PAIRS = (("convict-four-foot", "convict-six-foot"), ("convict-bare", "convict-structured"))
RUNS = 800
BLOCKS = (40, 100, 200, 400)  # fewer runs hold the unmeasured numbers, which is another question
BY = {
    "": "",
    "dose": " by injury",
    "serious": " by runs with a serious one",
    "hidden_h_per_day": " by hours hidden",
}
WORKERS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """What a batch of so many runs of two tanks would have said.

    Parameters
    ----------
    word
        Its verdict on the second tank, and what decided.
    share_width
        Of the interval of the share of runs of the first tank with a serious injury.
    ratio_spread
        High over low of the interval of the ratio of injury doses; nan where there is none.
    """

    word: str
    share_width: float
    ratio_spread: float


def shipped_design(name: str) -> Design:
    """Return a shipped tank as a design."""
    path = TOP / "scenarios" / f"{name}.toml"
    checked = check_file(path)
    return Design.of(checked.scenario, checked.layout, name=name, path=path)


def blocks_of(comparison: Comparison, runs: int) -> Iterator[Block]:
    """Yield what each block of so many consecutive runs would have said by itself."""
    first, second = comparison.summaries
    columns = {name: paired_columns(name, first, second) for name in CRITERIA}
    for start in range(0, comparison.asked - runs + 1, runs):
        part = slice(start, start + runs)
        cut = {name: (a[part], b[part]) for name, (a, b) in columns.items()}
        draw = first.draw[part]
        harm = None if first.harm is None else first.harm[part]
        verdict = decide(cut, draw=draw, cluster=first.cluster[part], harm=harm, alike=ALIKE)
        hurt = share_interval(int((cut["serious"][0] > 0.0).sum()), n=runs)
        a, b = (by_draw(one, draw=draw) for one in cut["dose"])
        ratio = ratio_interval(b, b=a)
        spread = math.nan if ratio is None else ratio.high / ratio.low
        word = verdict.word + BY[verdict.decided_by]
        yield Block(word=word, share_width=hurt.high - hurt.low, ratio_spread=spread)


def rows_of(comparison: Comparison) -> Iterator[tuple[str, ...]]:
    """Yield a row for each length of block."""
    for runs in (*BLOCKS, comparison.asked):
        found = list(blocks_of(comparison, runs))
        words = Counter(one.word for one in found)
        ratios = [one.ratio_spread for one in found if math.isfinite(one.ratio_spread)]
        yield (
            str(runs),
            str(len(found)),
            ", ".join(f"{count} {word}" for word, count in words.most_common()),
            f"{100 * np.mean([one.share_width for one in found]):.0f}",
            f"{np.median(ratios):.2f}" if ratios else "too rare",
        )


def measure() -> None:
    """Play everything and write the section."""
    before = load()
    parts = [
        f"Written by `python -m tests.benchmarks enough`: {RUNS} runs of each of two tanks over "
        "the same fish, cut into blocks of consecutive runs, each judged as a batch of its own: "
        "how wide is what is said, and how often is the verdict on the second tank the same? The "
        "width of a share is that of its 95 % interval, in runs of 100; the ratio of injury doses "
        "is known to within the factor between the ends of its own. The default is 100 runs; "
        "`--runs` takes more, and `--precision` of a sweep goes on until an answer is that sure."
    ]
    for names in PAIRS:
        print(" against ".join(names), flush=True)
        comparison = compare(
            [shipped_design(name) for name in names],
            runs=RUNS,
            workers=WORKERS,
            settings=Settings(vary=True),
        )
        parts += [
            f"`{names[1]}` against `{names[0]}`:",
            table(
                ("runs", "blocks", "verdicts", "share, width", "ratio, high / low"),
                rows_of(comparison),
            ),
        ]
    write_section(PAGE, ENOUGH, parts=[*parts, describe(load_before=before)])
