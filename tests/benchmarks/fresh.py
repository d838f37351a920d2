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


# A process starts out with the greatest memory of the one that made it, so one of its own, kept
# small, does the making.
LAUNCHER = """
import resource, subprocess, sys
done = subprocess.run([sys.executable, *sys.argv[1:]], stdout=subprocess.DEVNULL)
print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
raise SystemExit(done.returncode)
"""


@dataclass(frozen=True, slots=True)
class Ran:
    """How a process went: wall time (s) and what it printed."""

    wall_s: float
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
    began = time.perf_counter()
    process = subprocess.run(
        [sys.executable, *words],
        cwd=TOP,
        env={**os.environ, **environment},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    wall = time.perf_counter() - began
    if process.returncode != 0:
        said = process.stdout[-2000:]
        raise RuntimeError(f"{' '.join(words)} ended with {process.returncode}: {said}")
    return Ran(wall, process.stdout)


def peak_mb(*words: str) -> float:
    """Return the greatest memory (MB) of the command line with some arguments."""
    return peak_mb_of("-m", "viz.cli", *words)


def peak_mb_of(*words: str) -> float:
    """Return the greatest memory (MB) of Python with some arguments."""
    text = run_fresh("-c", LAUNCHER, *words).text
    # Linux counts kilobytes, macOS bytes.
    return float(text.split()[-1]) / (1e6 if sys.platform == "darwin" else 1e3)


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
    from tests.benchmarks.company import go_on, laid_out, mixed_company

    scenario = mixed_company(N_FISH)
    layout = laid_out(scenario)
    spent = 0.0
    done = 0
    for run in range(2):
        history = History(scenario, layout, run=run, settings=Settings(watch_all=True))
        go_on(history, 0.2)
        began, at = time.thread_time(), int(history.state.tank.tick[0])
        go_on(history, 0.2 * ticks)
        spent += time.thread_time() - began
        done += int(history.state.tank.tick[0]) - at
    return spent / (done * N_FISH) * 1e9


def uncompiled_ratio(*, ticks: int = 300) -> tuple[float, float]:
    """Return ns per fish and tick of the same first ticks, uncompiled and compiled."""
    words = ("-m", "tests.benchmarks.fresh", str(ticks))
    slow = float(run_fresh(*words, NUMBA_DISABLE_JIT="1").text.split()[-1])
    return slow, float(run_fresh(*words).text.split()[-1])


if __name__ == "__main__":
    print(first_ticks_ns(int(sys.argv[1])))
