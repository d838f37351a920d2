"""Which assumed numbers the answers hang on: points played, kept line by line, and the page.

python -m viz.sensitivity STUDY.jsonl --stage morris --points 20 --runs 2
python -m viz.sensitivity STUDY.jsonl --stage sobol --points 256 --runs 8 --seconds 600
python -m viz.sensitivity STUDY.jsonl --write docs

`--fish brood` plays the tanks in which the pair spawns, into the same file. Points of the stage
morris are paths, each one point longer than there are numbers; before the first, every assumed
number is tried for whether it takes part at all. The stage sobol moves the numbers that morris
found to matter most. A file that is there already is gone on with.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, NoReturn

from sim.errors import Problem, Refused
from viz.asked import MOST_SEED, MOST_WORKERS, number_of_days, quoted, whole
from viz.complaints import complain
from viz.sensitivity_rows import Kept, Writer, check_same, read_rows

PAGE = "sensitivity.md"
KEPT = "sensitivity.json"
MOST_POINTS = 100_000
MOST_FACTORS = 30
POINTS = {"morris": 20, "sobol": 256}
RUNS = {"morris": 2, "sobol": 8}
FACTORS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was asked, checked.

    Parameters
    ----------
    file
        Where rows are kept.
    stage
        What is played; None for nothing.
    kind
        Which fish.
    points, runs, days, seed, workers, factors
        As `docs/sensitivity.md` says.
    seconds
        How long points are begun.
    write
        Folder of the page, or None.
    """

    file: Path
    stage: str | None
    kind: str
    points: int
    runs: int
    days: float
    seed: int
    workers: int | None
    factors: int | None
    seconds: float
    write: Path | None


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise Refused(
            Problem("sensitivity", f"{message}. `python -m viz.sensitivity --help` lists them.")
        )


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="python -m viz.sensitivity",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("file", type=Path, help="where rows are kept, as JSON lines")
    parser.add_argument("--stage", help="morris or sobol; nothing is played without it")
    parser.add_argument("--fish", default="quiet", help="quiet (the default) or brood")
    parser.add_argument("--points", help="paths of morris (20), points of sobol (256), in all")
    parser.add_argument("--runs", help="runs of a point in each tank, even (2 and 8)")
    parser.add_argument("--days", default="30", help="days of a run")
    parser.add_argument("--seconds", help="begin no point after so long")
    parser.add_argument("--seed", default="1")
    parser.add_argument("--workers", help="threads; as many as there are cores")
    parser.add_argument("--factors", help=f"numbers that sobol moves ({FACTORS})")
    parser.add_argument("--write", type=Path, help="folder to make the page in, such as docs")
    return parser


def read_asked(arguments: Sequence[str] | None = None) -> Asked:
    """Return what was asked.

    Raises
    ------
    Refused
        With everything that is wrong at once.
    """
    from sim.sensitivity.company import KINDS

    typed = _parser().parse_args(arguments)
    problems: list[Problem] = []

    def good(read: Any, *given: Any, **more: Any) -> Any:
        try:
            return read(*given, **more)
        except Refused as refusal:
            problems.extend(refusal.problems)
            return None

    stage = typed.stage
    if stage is not None and stage not in POINTS:
        problems.append(Problem("--stage", f'got "{stage}"; expected {" or ".join(POINTS)}.'))
        stage = None
    if stage is None and typed.stage is None and typed.write is None:
        problems.append(
            Problem("sensitivity", "nothing to do; expected --stage, or --write, or both.")
        )
    if typed.fish not in KINDS:
        problems.append(Problem("--fish", f'got "{typed.fish}"; expected {" or ".join(KINDS)}.'))
    usual = stage or "sobol"
    points = good(whole, "--points", typed.points or str(POINTS[usual]), low=1, high=MOST_POINTS)
    runs = good(whole, "--runs", typed.runs or str(RUNS[usual]), low=2, high=1000)
    if runs is not None and runs % 2:
        problems.append(
            Problem(
                "--runs",
                f"got {runs}; expected an even number, since two runs share their fish, which is "
                "how luck is told.",
            )
        )
    days = good(number_of_days, typed.days)
    seed = good(whole, "--seed", typed.seed, low=0, high=MOST_SEED)
    workers = None
    if typed.workers is not None:
        workers = good(whole, "--workers", typed.workers, low=1, high=MOST_WORKERS)
    factors = None
    if typed.factors is not None:
        factors = good(whole, "--factors", typed.factors, low=2, high=MOST_FACTORS)
    seconds = good(_seconds, typed.seconds)
    if typed.write is not None and not typed.write.is_dir():
        problems.append(
            Problem(
                "--write",
                f"got {quoted(typed.write)}, which is no folder; expected one that is.",
            )
        )
    if problems:
        raise Refused(problems)
    return Asked(
        file=typed.file, stage=stage, kind=typed.fish, points=points, runs=runs, days=days,
        seed=seed, workers=workers, factors=factors, seconds=seconds, write=typed.write,
    )  # fmt: skip


def _seconds(text: str | None) -> float:
    if text is None:
        return math.inf
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not found > 0.0:
        raise Refused(Problem("--seconds", f'got "{text}"; expected seconds above 0.'))
    return found


def play_stage(asked: Asked, kept: Kept) -> bool:
    """Play what is missing of a stage, and what must come before it; return whether all is there.

    Parameters
    ----------
    asked
        What was asked.
    kept
        What the file holds; it is added to.
    """
    from sim.sensitivity.company import company
    from sim.sensitivity.plan import Plan, plan_of, plan_parts
    from sim.sensitivity.playing import play_points, takes_part

    company(asked.kind, days=asked.days)  # refused before anything is written
    until = time.monotonic() + asked.seconds
    writer = Writer(kept)

    def whole_stage(plan: Plan, points: int) -> bool:
        writer.begin(plan)
        rows = kept.rows[plan.key]
        missing = range(len(rows), plan.points_of(points))
        began, done = time.monotonic(), 0
        played = play_points(plan, missing, workers=asked.workers)
        try:
            for row in played:
                writer.add(row)
                done += 1
                if time.monotonic() >= until:
                    break
        finally:
            played.close()  # type: ignore[attr-defined]
        spent = time.monotonic() - began
        print(f"{plan.key}: {len(rows)} of {plan.points_of(points)} points, {spent:.0f} s")
        return len(rows) >= plan.points_of(points)

    try:
        if asked.stage == "morris":
            parts = plan_parts(asked.kind, seed=asked.seed, days=asked.days)
            if not whole_stage(parts, 1):
                return False
            part = takes_part(parts, kept.rows[parts.key])
            names: Sequence[str] = [name for name in parts.names if part[name]]
        else:
            names = _chosen(asked, kept)
        plan = plan_of(
            str(asked.stage), asked.kind, names, seed=asked.seed, runs=asked.runs, days=asked.days
        )
        return whole_stage(plan, asked.points)
    finally:
        writer.close()


def _chosen(asked: Asked, kept: Kept) -> Sequence[str]:
    """The numbers that stage sobol moves: those of the file, else those that matter most."""
    from sim.sensitivity.factors import model_digest
    from sim.sensitivity.screening import most_influential
    from sim.unmeasured import drawn_from_ranges
    from viz.sensitivity_results import screened

    begun = kept.plans.get(f"{asked.kind}/sobol")
    if begun is not None:
        if asked.factors not in (None, len(begun.names)):
            raise Refused(
                Problem(
                    "--factors",
                    f"got {asked.factors}, but {quoted(asked.file)} was begun with "
                    f"{len(begun.names)}; expected the same. Leave it out, or begin another file.",
                )
            )
        return begun.names
    effects = screened(kept, asked.kind)
    if not effects:
        raise Refused(
            Problem(
                quoted(asked.file),
                f"has no whole path of stage morris for --fish {asked.kind}; expected one or more, "
                "which tell the numbers to move. Play --stage morris first.",
            )
        )
    screen = kept.plans[f"{asked.kind}/morris"]
    check_same(asked.file, screen, replace(screen, days=asked.days, model=model_digest()))
    return most_influential(effects, asked.factors or FACTORS, always=drawn_from_ranges())


def _say(kept: Kept, kind: str) -> None:
    from viz.sensitivity_results import results_of
    from viz.sensitivity_words import screen_lines

    for line in screen_lines(results_of(kept, shares=False)[kind]):
        print(f"  {line}")


def write_page(kept: Kept, folder: Path) -> None:
    """Write the page, its figures and the figures' numbers.

    Parameters
    ----------
    kept
        Rows of the study.
    folder
        Where the documentation is.
    """
    import json

    from viz.evidence_figures import svg
    from viz.record import write_whole
    from viz.sensitivity_figures import figures
    from viz.sensitivity_results import results_of
    from viz.sensitivity_words import page

    results = results_of(kept)
    (folder / "figures").mkdir(exist_ok=True)
    plain = json.dumps(results, separators=(",", ":")) + "\n"
    texts = {folder / PAGE: page(results), folder / KEPT: plain}
    for name, figure in figures(results).items():
        texts[folder / "figures" / f"{name}.svg"] = svg(figure)
    write_whole(texts)


def main(arguments: Sequence[str] | None = None) -> int:
    """Play points, say what came of them, and write the page where asked.

    Parameters
    ----------
    arguments
        What follows the name of the module; that of the process if left out.

    Returns
    -------
    int
        0, or 2 where the person can mend it, 130 when stopped with Ctrl-C.
    """
    try:
        asked = read_asked(arguments)
        kept = read_rows(asked.file)
        if asked.stage is not None:
            whole_stage = play_stage(asked, kept)
            if not whole_stage:
                print("Not all points are there yet; the same command goes on with them.")
            elif asked.stage == "morris":
                _say(kept, asked.kind)
        if asked.write is not None:
            write_page(kept, asked.write)
            print(f"Written: {quoted(asked.write / PAGE)}")
    except Refused as refusal:
        complain(refusal.problems)
        return 2
    except KeyboardInterrupt:
        complain([Problem("", "Stopped; the same command goes on with what is missing.")])
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main())
