"""``python -m tests.benchmarks.watching``: how well counts find out tempers; writes the page.

Synthetic tanks are runs of the model with known tempers. They are counted as a keeper would
count, for ten minutes, and the counts are turned into ranges from other runs of the same tank. Two
in three runs teach, one in three is judged. The same runs serve every way of learning.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from sim.check import check_file
from sim.comparison import Design
from sim.crew import play
from sim.likely import NEAREST, Learnt, learn, marginals
from sim.naming import member_names
from sim.settings import Settings
from sim.sittings import Row, check_rows, usual_sitting
from sim.watching import Watching, alike, bearing
from tests.benchmarks.machine import write_page

TOP = Path(__file__).parents[2]
TANKS = (
    "scenarios/convict-four-foot.toml",
    "scenarios/settled-newcomer.toml",
)
LEVEL = 0.9
ENDS = (0.5 - 0.5 * LEVEL, 0.5 + 0.5 * LEVEL)
BAND = (0.80, 0.97)
TRAITS = ("aggression", "boldness")

Way = Callable[[Learnt, Sequence[np.ndarray]], np.ndarray]  # limits, shape (2, n_unknowns)


def sheet(design: Design) -> tuple[Row, ...]:
    """Return counts of every fish, each by itself; what was counted is filled in later."""
    usual = usual_sitting(design.scenario)
    return check_rows(
        design.scenario,
        [
            Row(f"row {k}", name, usual, (0, 0, 0.0))
            for k, name in enumerate(
                name for group in design.scenario.fish for name in member_names(group)
            )
        ],
    )


def played(path: str, *, runs: int, kept: Path | None) -> Watching:
    """Return a tank with its runs, read where they were played before."""
    checked = check_file(TOP / path)
    design = Design.of(checked.scenario, checked.layout, name=path, path=path)
    watching = Watching(
        [design], sheet(design), runs=runs, seed=7, settings=Settings(vary=True), changes={}
    )
    file = None if kept is None else kept / f"{Path(path).stem}-{runs}.npz"
    if file is not None and file.exists():
        watching.restore(dict(np.load(file)))
        return watching
    for done, outcome in enumerate(play(watching.jobs()), start=1):
        watching.take(outcome)
        if done % 50 == 0:
            print(f"{path}: {done} of {runs} runs", flush=True)
    if file is not None:
        np.savez(file, **watching.arrays())
    return watching


def adjusted(learnt: Learnt, counts: Sequence[np.ndarray]) -> np.ndarray:
    """What the program does: near runs, moved along a local line."""
    return np.quantile(marginals(learnt, learnt.expect(counts)), ENDS, axis=0)


def one_line(learnt: Learnt, counts: Sequence[np.ndarray]) -> np.ndarray:
    """One regression over all runs, what it leaves added to what it expects."""
    left = learnt.unknowns - learnt.expected
    return learnt.expect(counts) + np.quantile(left, ENDS, axis=0)


def nearest(learnt: Learnt, counts: Sequence[np.ndarray]) -> np.ndarray:
    """The same near runs, not moved."""
    expected = learnt.expect(counts)
    limits = np.empty((2, len(expected)))
    for p, at in enumerate(expected):
        away = np.abs(learnt.expected[:, p] - at)
        near = np.argsort(away)[: max(int(NEAREST * len(away)), 1)]
        limits[:, p] = np.quantile(learnt.unknowns[near, p], ENDS)
    return limits


def all_counts(learnt: Learnt, counts: Sequence[np.ndarray], table: np.ndarray) -> np.ndarray:
    """Runs near in all counts at once, moved along a line over all of them (Beaumont2002)."""
    own = np.asarray(counts[0])
    scale = np.where(table.std(axis=0) > 1e-9, table.std(axis=0), np.inf)
    away = (table - own) / scale
    distance = np.sqrt((away**2).sum(axis=1))
    width = np.quantile(distance, NEAREST)
    near = distance < width
    weight = 1.0 - (distance[near] / width) ** 2
    x = np.column_stack([np.ones(near.sum()), away[near]])
    ridge = 2.0 * np.eye(x.shape[1])
    ridge[0, 0] = 0.0
    y = learnt.unknowns[near]
    beta = np.linalg.solve(x.T @ (weight[:, None] * x) + ridge, x.T @ (weight[:, None] * y))
    return np.quantile(y - away[near] @ beta[1:], ENDS, axis=0)


WAYS: dict[str, Way] = {
    "own counts, near runs, local line (chosen)": adjusted,
    "own counts, one line over all runs": one_line,
    "own counts, near runs, not moved": nearest,
}


def judge(
    watching: Watching, *, teach: int, with_hour: bool = False, others: bool = False
) -> dict[str, tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """Return for each way whether each unknown of each judged run is covered, width and score.

    The score is that of an interval (GneitingRaftery2007): its width, and twenty times what it
    misses by; less is better.
    """
    z = watching.tempers_drawn()
    unknowns = z.reshape(len(z), -1)
    counts = watching.counted(with_hour=with_hour)
    n_fish = len(watching.members)
    own = [bearing(counts, watching.columns, fish=i) for i in range(n_fish) for _ in TRAITS]
    pools = [
        [2 * i + trait for i in rows]
        for rows in alike(watching.members, watching.columns)
        for trait in range(2)
    ]
    learnt = learn(unknowns[:teach], [one[:teach] for one in own], pools=pools)
    every = np.sqrt(counts)
    crude = learn(unknowns[:teach], [every[:teach]] * len(own))
    ways: dict[str, Callable[[int], np.ndarray]] = {
        name: (lambda k, way=way: way(learnt, [one[k] for one in own]))  # type: ignore[misc]
        for name, way in WAYS.items()
        if others or way is adjusted
    }
    if others:
        ways["all counts, near runs, local line"] = lambda k: adjusted(crude, [every[k]] * len(own))
        ways["near in all counts at once, line over them"] = lambda k: all_counts(
            learnt, [every[k]], every[:teach]
        )
    truth = unknowns[teach:]
    found = {}
    for name, way in ways.items():
        limits = np.array([way(k) for k in range(teach, len(counts))])
        low, high = limits[:, 0], limits[:, 1]
        miss = np.maximum(low - truth, 0.0) + np.maximum(truth - high, 0.0)
        score = high - low + 2.0 / (1.0 - LEVEL) * miss
        found[name] = ((low <= truth) & (truth <= high), high - low, score)
    return found


def share(inside: np.ndarray) -> str:
    """Return a coverage in hundredths, and whether it leaves the band."""
    found = float(inside.mean())
    kept = "" if BAND[0] <= found <= BAND[1] else " **outside**"
    return f"{100 * found:.1f}{kept}"


def study(watching: Watching, *, teach: int) -> list[str]:
    """Return what one tank says, as lines of the page."""
    groups = [fish.group for fish in watching.members]
    judged_runs = watching.done - teach
    lines = [
        f"## {watching.designs[0].scenario.title}",
        "",
        f"{teach} runs teach, {judged_runs} tanks with {len(groups)} fish each are judged: "
        f"{judged_runs * len(groups)} synthetic fish. Every fish is counted by itself.",
        "",
        "| way | trait | covered, % | width, sd | score |",
        "|---|---|---|---|---|",
    ]
    by_way = judge(watching, teach=teach, others=True)
    for name, (inside, width, score) in by_way.items():
        for trait, word in enumerate(TRAITS):
            lines.append(
                f"| {name} | {word} | {share(inside[:, trait::2])} | "
                f"{width[:, trait::2].mean():.2f} | {score[:, trait::2].mean():.2f} |"
            )
    lines += ["", "The chosen way, by fish or group; the range before is 3.29 sd wide.", ""]
    lines += [
        "| fish | trait | covered, % | width, sd | an hour more: covered, % | width, sd |",
        "|---|---|---|---|---|---|",
    ]
    (short,) = judge(watching, teach=teach).values()
    (long,) = judge(watching, teach=teach, with_hour=True).values()
    for kind in dict.fromkeys(groups):
        rows = [i for i, name in enumerate(groups) if name == kind]
        for trait, word in enumerate(TRAITS):
            columns = [2 * i + trait for i in rows]
            lines.append(
                f"| {kind} | {word} | {share(short[0][:, columns])} | "
                f"{short[1][:, columns].mean():.2f} | {share(long[0][:, columns])} | "
                f"{long[1][:, columns].mean():.2f} |"
            )
    return [*lines, ""]


HEAD = """# What watching finds out

How well `holdwater observe` finds out the tempers of fish from counts, tested on the model's own
fish, whose tempers are known. *Covered* is the share of fish whose temper lies in the range that
is to hold nine in ten; 80 to 97 % is asked for. *Width* is that of the range, in standard
deviations among fish of a species; nothing known is 3.29. *Score* is that of an interval
(GneitingRaftery2007): width, and twenty times what is missed; less is better. It tests the method,
not real fish.
[Decision 9](decisions/0009-watching.md) says what was chosen and why. Written by
`python -m tests.benchmarks.watching`.
"""


def main(arguments: Sequence[str] | None = None) -> None:
    """Play, judge and write the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=450, help="runs of each tank")
    parser.add_argument("--keep", type=Path, default=None, help="folder that keeps what was played")
    parser.add_argument("--write", type=Path, default=TOP / "docs" / "watching.md")
    parser.add_argument("--tank", action="append", default=None, help="other tanks")
    asked = parser.parse_args(arguments)
    parts = [HEAD]
    for path in asked.tank or TANKS:
        watching = played(path, runs=asked.runs, kept=asked.keep)
        parts.append("\n".join(study(watching, teach=2 * asked.runs // 3)))
        write_page(asked.write, parts=parts)


if __name__ == "__main__":
    main()
