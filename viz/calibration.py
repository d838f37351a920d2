"""Waves of history matching on the command line; what is done is kept line by line.

python -m viz.calibration WAVES.jsonl --points 200
python -m viz.calibration WAVES.jsonl --points 200 --seconds 600

A file that is there already is gone on with: its points stand for the first wave.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path

from sim.evidence.calibrate import FITTED, FREE, Point, Tried, first_points, next_points, try_point
from sim.parameters import load_parameters


def read_tried(path: Path) -> list[Tried]:
    """Return the points of a file; none where there is no file."""
    if not path.exists():
        return []
    return [Tried(**json.loads(line)) for line in path.read_text("utf-8").splitlines() if line]


def defaults() -> Point:
    """Return the free parameters at their defaults."""
    return {name: load_parameters()[name].value for name in FREE}


def main() -> None:
    """Play one wave and say how far it came."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--points", type=int, default=100)
    parser.add_argument("--seconds", type=float, default=float("inf"))
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    tried = read_tried(asked.file)
    seed = asked.seed + 1000 * len(tried)
    points: Iterable[Point]
    if tried:
        points = next_points(tried, asked.points, seed=seed)
    else:
        points = [defaults(), *first_points(asked.points, seed=seed)]
    began = time.monotonic()
    with asked.file.open("a", encoding="utf-8") as out:
        for point in points:
            if time.monotonic() - began > asked.seconds:
                break
            one = try_point(point)
            tried.append(one)
            out.write(json.dumps(asdict(one)) + "\n")
            out.flush()
    best = sorted(tried, key=lambda one: one.distance)[:5]
    spent = time.monotonic() - began
    print(f"{len(tried)} points, {sum(one.kept for one in tried)} kept; {spent:.0f} s")
    for key in FITTED:
        print(f"  {key}: {sum(one.worst.get(key, 99.0) <= 3.0 for one in tried)} not ruled out")
    for one in best:
        print(f"  distance {one.distance:.2f}  {one.worst}")


if __name__ == "__main__":
    main()
