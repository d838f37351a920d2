"""Waves of calibration on the command line; what is done is kept line by line.

python -m viz.calibration WAVES.jsonl --points 200 --start attack_rate=0.5 --width 0.3
python -m viz.calibration WAVES.jsonl --seconds 1200 --workers 2
python -m viz.calibration WAVES.jsonl --points 0 --write sim/data/accepted.csv
python -m viz.calibration MORE.jsonl --known sim/data/accepted.csv --seconds 1200
python -m viz.calibration MORE.jsonl --again sim/data/accepted.csv --workers 2

A file that is there already is gone on with. A point that is kept is looked at again at once, on
fresh seeds; `--write` keeps the points that stood both looks as a table. With `--known` the points
of an older table, which stood both looks then, are moved from and kept as well. After a change of
the rules `--again` looks at the points of a table in place of new ones.
"""

from __future__ import annotations

import argparse
import csv
import io
import json
import time
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import asdict
from itertools import count
from multiprocessing import get_context
from pathlib import Path

from sim.evidence.calibrate import (
    CUT,
    FITTED,
    FREE,
    Point,
    Tried,
    first_points,
    next_points,
    try_point,
)
from sim.evidence.patterns import find_pattern
from sim.parameters import load_parameters

FIRST_SEED, SECOND_SEED = 1, 7919
KEPT = 64  # points of the table

Looks = tuple[Tried, Tried | None]


def read_looks(path: Path) -> list[Looks]:
    """Return the points of a file with both looks at them; none where there is no file."""
    if not path.exists():
        return []
    looks = []
    for line in path.read_text("utf-8").splitlines():
        row = json.loads(line)
        looks.append((Tried(**row["first"]), Tried(**row["second"]) if row["second"] else None))
    return looks


def look_twice(point: Point) -> Looks:
    """Play a point, and once more on fresh seeds if it is kept."""
    first = try_point(point, seed=FIRST_SEED)
    return first, try_point(first.point, seed=SECOND_SEED, confirm=True) if first.kept else None


def stood(looks: list[Looks]) -> list[Tried]:
    """Return the second looks of the points that stood both."""
    return [second for _, second in looks if second is not None and second.kept]


def middle(tried: list[Tried]) -> Tried:
    """Return the point whose fitted parts lie deepest inside their bands, at its worst part."""

    def depth(one: Tried) -> float:
        found = 1.0
        for key, seen in one.seen.items():
            for part in find_pattern(key).parts:
                if part.standing != "predicted":
                    value = seen[part.observable]
                    room = min(value - part.low, part.high - value)
                    found = min(found, 2.0 * room / (part.high - part.low))
        return found

    return max(tried, key=depth)


def table(tried: list[Tried]) -> str:
    """Return points as a table of comma-separated values, one row each."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(FREE)
    for one in tried:
        writer.writerow([f"{one.point[name]:g}" for name in FREE])
    return out.getvalue()


def read_table(path: Path) -> list[Tried]:
    """Return the points of a table that `--write` made, as points that stood both looks."""
    with path.open(encoding="utf-8", newline="") as lines:
        rows = [{name: float(text) for name, text in row.items()} for row in csv.DictReader(lines)]
    stood_before = dict.fromkeys((key for key, runs in FITTED.items() if runs[0] > 0), 0.0)
    return [Tried(point, {}, stood_before) for point in rows]


def left_of(table: Path, looks: list[Looks]) -> list[Point]:
    """Return the points of a table that were not looked at yet; `act_time` is set anew at each."""

    def rest(point: Point) -> tuple[float, ...]:
        return tuple(point[name] for name in FREE if name != "act_time")

    done = {rest(first.point) for first, _ in looks}
    return [one.point for one in read_table(table) if rest(one.point) not in done]


def play(asked: argparse.Namespace, looks: list[Looks], known: list[Tried]) -> None:
    """Play points until the number or the time that was asked for, each kept as it ends."""
    again = iter(left_of(asked.again, looks) if asked.again else ())
    start = {name: load_parameters()[name].value for name in FREE}
    start |= {name: float(value) for name, value in (pair.split("=") for pair in asked.start)}
    wave = iter(first_points(asked.points, seed=asked.seed, start=start, width=asked.width))
    numbers = count(asked.seed + 1000 * len(looks))
    began = time.monotonic()

    def one_more() -> Point | None:
        if asked.again:
            return next(again, None)
        tried = known + [first for first, _ in looks]
        if len(tried) < 3 or asked.first:
            return next(wave, start)
        return next(next_points(tried, 1, seed=next(numbers)))

    with (
        ProcessPoolExecutor(asked.workers, mp_context=get_context("spawn")) as pool,
        asked.file.open("a", encoding="utf-8") as out,
    ):
        at_work: set[Future[Looks]] = set()
        left = asked.points
        while left or at_work:
            while left and len(at_work) < asked.workers:
                point = one_more()
                if point is None:
                    left = 0
                    break
                at_work.add(pool.submit(look_twice, point))
                left -= 1
            done, at_work = wait(at_work, return_when=FIRST_COMPLETED)
            for future in done:
                first, second = future.result()
                looks.append((first, second))
                row = {"first": asdict(first), "second": asdict(second) if second else None}
                out.write(json.dumps(row) + "\n")
                out.flush()
            if time.monotonic() - began > asked.seconds:
                left = 0


def main() -> None:
    """Play one wave and say how far it came."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--points", type=int, default=100)
    parser.add_argument("--seconds", type=float, default=float("inf"))
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--first", action="store_true", help="draw from the box, not round points")
    parser.add_argument("--start", nargs="*", default=[], metavar="NAME=VALUE")
    parser.add_argument("--width", type=float, default=1.0, help="of the box, share of each range")
    parser.add_argument("--write", type=Path, help="table of the points that stood both looks")
    parser.add_argument("--again", type=Path, help="table of points to look at anew, no new ones")
    parser.add_argument("--known", type=Path, help="table of points to move from too, and to keep")
    asked = parser.parse_args()
    looks = read_looks(asked.file)
    known = read_table(asked.known) if asked.known else []
    began = time.monotonic()
    play(asked, looks, known)
    spent = time.monotonic() - began
    good = stood(looks)
    kept = sum(first.kept for first, _ in looks)
    print(f"{len(looks)} points, {kept} kept, {len(good)} stood a second look; {spent:.0f} s")
    for key in FITTED:
        played = sum(key in first.worst for first, _ in looks)
        passed = sum(first.worst.get(key, 99.0) <= CUT for first, _ in looks)
        print(f"  {key}: {passed} of {played} not ruled out")
    if good:
        print("deepest inside its bands: " + json.dumps(middle(good).point))
    if asked.write and good:
        asked.write.write_text(table((known + good)[-KEPT:]), encoding="utf-8")


if __name__ == "__main__":
    main()
