"""``python -m tests.benchmarks NAME ...``: measure, and write what was found into the docs."""

from __future__ import annotations

import sys

from tests.benchmarks import (
    app,
    classroom,
    convergence,
    crowd,
    ends,
    enough,
    fishes,
    months,
    rules,
    speed,
)

STUDIES = {
    "speed": speed.measure,
    "convergence": convergence.measure,
    "months": months.measure,
    "enough": enough.measure,
    "ends": ends.measure,
    "fishes": fishes.measure,
    "app": app.measure,
    "rules": rules.measure,
    "crowd": crowd.measure,
    "classroom": classroom.measure,
}

if __name__ == "__main__":
    asked = sys.argv[1:]
    if not asked or any(word not in STUDIES for word in asked):
        print(f"Name what to measure: {' or '.join(STUDIES)}.", file=sys.stderr)
        raise SystemExit(2)
    for word in asked:
        STUDIES[word]()
