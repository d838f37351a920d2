"""``python -m tests.benchmarks speed``, ``convergence``, ``app``, ``crowd``: measure and write."""

from __future__ import annotations

import sys

from tests.benchmarks import app, convergence, crowd, speed

STUDIES = {
    "speed": speed.measure,
    "convergence": convergence.measure,
    "app": app.measure,
    "crowd": crowd.measure,
}

if __name__ == "__main__":
    asked = sys.argv[1:]
    if not asked or any(word not in STUDIES for word in asked):
        print(f"Name what to measure: {' or '.join(STUDIES)}.", file=sys.stderr)
        raise SystemExit(2)
    for word in asked:
        STUDIES[word]()
