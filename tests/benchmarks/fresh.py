"""Fresh: what can only be measured in a process of its own.

``python -m tests.benchmarks.fresh TICKS`` times the first ticks of twelve fish as it is started,
compiled or not, and prints ns per fish and tick.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

TOP = Path(__file__).parents[2]
N_FISH = 12


@dataclass(frozen=True, slots=True)
class Ran:
    """How a process went: wall time (s), greatest memory (MB) and what it printed."""

    wall_s: float
    peak_mb: float
    text: str


def run_fresh(*words: str, **environment: str) -> Ran:
    """Run Python with arguments in a process of its own, from the top of the project.

    Parameters
    ----------
    words
        Arguments of the interpreter.
    environment
        Variables that differ.

    Returns
    -------
    Ran
        Of a run that ended well.

    Raises
    ------
    RuntimeError
        If it did not.
    """
    with tempfile.TemporaryFile("w+") as out:
        began = time.perf_counter()
        process = subprocess.Popen(
            [sys.executable, *words],
            cwd=TOP,
            env={**os.environ, **environment},
            stdout=out,
            stderr=subprocess.STDOUT,
        )
        _, status, usage = os.wait4(process.pid, 0)
        wall = time.perf_counter() - began
        process.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0)
        text = out.read()
    if process.returncode != 0:
        raise RuntimeError(f"{' '.join(words)} ended with {process.returncode}: {text[-2000:]}")
    # Linux counts kilobytes, macOS bytes.
    unit = 1e6 if sys.platform == "darwin" else 1e3
    return Ran(wall, usage.ru_maxrss / unit, text)


def holdwater(*words: str, **environment: str) -> Ran:
    """Run the command line in a process of its own."""
    return run_fresh("-m", "viz.cli", *words, **environment)


def median_wall(*words: str, times: int = 5) -> float:
    """Return the median wall time (s) of a command over several fresh processes."""
    return statistics.median(holdwater(*words).wall_s for _ in range(times))


def first_run(file: Path) -> tuple[float, float]:
    """Return the wall time (s) of a one-day run with an empty cache, and again with a full one.

    Parameters
    ----------
    file
        Scenario to play.

    Raises
    ------
    RuntimeError
        If nothing was kept in the empty cache: then it was not the cache that was used.
    """
    words = ("run", str(file), "--runs", "1", "--days", "1")
    with tempfile.TemporaryDirectory(prefix="holdwater-cache-") as folder:
        cold = holdwater(*words, XDG_CACHE_HOME=folder)
        if not any(Path(folder).rglob("*.nbc")):
            raise RuntimeError("the cache of compiled rules was not where it was looked for")
        warm = holdwater(*words, XDG_CACHE_HOME=folder)
    return cold.wall_s, warm.wall_s


def first_ticks_ns(ticks: int) -> float:
    """Return the time of the first ticks of twelve fish, for each fish and tick, in ns."""
    from sim.engine import History
    from sim.settings import Settings
    from tests.benchmarks.company import laid_out, mixed_company

    scenario = mixed_company(N_FISH)
    layout = laid_out(scenario)
    spent = 0.0
    for run in range(2):
        history = History(scenario, layout, run=run, settings=Settings(watch_all=True))
        history.strides(1)
        began = time.thread_time()
        history.strides(ticks)
        spent += time.thread_time() - began
    return spent / (2 * ticks * N_FISH) * 1e9


def uncompiled_ratio(*, ticks: int = 300) -> tuple[float, float]:
    """Return ns per fish and tick of the same first ticks, uncompiled and compiled."""
    words = ("-m", "tests.benchmarks.fresh", str(ticks))
    slow = float(run_fresh(*words, NUMBA_DISABLE_JIT="1").text.split()[-1])
    return slow, float(run_fresh(*words).text.split()[-1])


if __name__ == "__main__":
    print(first_ticks_ns(int(sys.argv[1])))
