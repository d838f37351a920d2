"""Results of the patterns: played, held against their bands, and kept as plain values.

What is kept is enough to make the page and its figures again, pattern by pattern.
"""

from __future__ import annotations

import json
import math
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from sim.errors import Problem, Refused
from sim.evidence.patterns import (
    Measured,
    Pattern,
    find_pattern,
    hold,
    load_patterns,
    play_units,
    with_errors,
)
from sim.evidence.study import Study

KEPT = "evidence.json"
Tell = Callable[[Pattern, tuple[str, ...], int, int], None]
Result = dict[str, Any]


def asked_patterns(only: str | None) -> list[Pattern]:
    """Return the patterns that were asked for, all that are played by default.

    Parameters
    ----------
    only
        Keys parted by commas, such as ``"P1,P4"``.

    Raises
    ------
    Refused
        If one is unknown or not played.
    """
    if only is None:
        return [pattern for pattern in load_patterns().values() if pattern.module]
    keys = [key for key in only.replace(",", " ").split() if key]
    if not keys:
        raise Refused(Problem("--only", 'got nothing; expected patterns such as "P1,P4".'))
    return [find_pattern(key) for key in keys]


def _plain(seen: dict[str, Measured]) -> dict[str, list[float | None]]:
    def number(value: float) -> float | None:
        return round(value, 6) if math.isfinite(value) else None

    return {name: [number(one.value), number(one.error)] for name, one in seen.items()}


def measured_of(plain: dict[str, Any]) -> dict[str, Measured]:
    """Return observables as they were before they were kept."""

    def number(value: float | None) -> float:
        return math.nan if value is None else float(value)

    return {name: Measured(number(one[0]), number(one[1])) for name, one in plain.items()}


def play_pattern(
    pattern: Pattern,
    *,
    quick: bool,
    seed: int,
    runs: int | None,
    nulls: bool,
    tell: Tell | None = None,
) -> Result:
    """Play a pattern, and again with mechanisms taken away, and return plain values.

    Parameters
    ----------
    pattern
        What is played.
    quick
        Whether fewer replicates are held against wider bands.
    seed, runs
        Seed, and number of replicates instead of the file's.
    nulls
        Whether to take mechanisms away, too.
    tell
        Told the pattern, what is taken away, replicates done and asked for.
    """
    number = runs or (pattern.quick if quick else pattern.runs)
    fewer = runs or pattern.null_runs or min(pattern.runs, max(2 * pattern.quick, 6))

    def one(without: tuple[str, ...], count: int) -> dict[str, Measured]:
        def each(done: int) -> None:
            if tell is not None:
                tell(pattern, without, done, count)

        study = Study(seed=seed, without=without)
        return with_errors(pattern, play_units(pattern, study, count, each=each), seed=seed)

    began = time.process_time()
    seen = one((), number)
    spent = time.process_time() - began
    taken = []
    for without in pattern.nulls if nulls else ():
        taken.append({"without": list(without), "runs": fewer, "seen": _plain(one(without, fewer))})
    return {
        "runs": number,
        "quick": quick,
        "seed": seed,
        "seconds_each": round(spent / number, 3),
        "seen": _plain(seen),
        "nulls": taken,
    }


def met_by_part(pattern: Pattern, plain: dict[str, Any], *, quick: bool) -> dict[str, bool]:
    """Return for each part whether it is met."""
    verdicts = hold(pattern, measured_of(plain), quick=quick)
    return {verdict.part.observable: verdict.met for verdict in verdicts}


def read_kept(folder: Path) -> dict[str, Result]:
    """Return the results kept in a folder, those that hold every part their pattern has now.

    A pattern that has gained a part since is left out, until it is played again.
    """
    path = folder / KEPT
    if not path.exists():
        return {}
    kept: dict[str, Result] = json.loads(path.read_text(encoding="utf-8"))
    wanted = {
        key: {part.observable for part in pattern.parts} for key, pattern in load_patterns().items()
    }
    return {key: one for key, one in kept.items() if wanted.get(key, set()) <= {*one["seen"]}}


def kept_text(results: dict[str, Result]) -> str:
    """Return results as the text of their file, in the order of the patterns."""
    order = [key for key in load_patterns() if key in results]
    return json.dumps({key: results[key] for key in order}, indent=1) + "\n"
