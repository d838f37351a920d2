"""A scenario of plain values, checked and played a short while, looked at after every stride."""

from __future__ import annotations

import contextlib
import io
import time
from pathlib import Path

import tomli_w

from sim.check import Checked, check_reading
from sim.engine import History
from sim.errors import Refused
from sim.scenario_file import reading_of
from sim.scenario_variant import source
from sim.settings import Settings
from tests.hostile.sane import Watch, check_outcome
from tests.hostile.tanks import Plain
from viz.cli import WRONG, outcome

TICKS = 25  # of 0.2 s, that every scenario is watched
STRIDES = 40  # ticks, leapt pieces or nights
PIECE_DAYS = 0.1  # after which somebody looks again, until the end


def checked_of(plain: Plain) -> Checked | None:
    """Return a scenario that can be played; None where it is refused in sentences.

    Parameters
    ----------
    plain
        As a file would hold it.
    """
    try:
        return check_reading(reading_of(source(plain, file="tank.toml")), file="tank.toml")
    except Refused as refusal:
        assert_sentences([str(problem) for problem in refusal.problems])
        return None


def assert_sentences(said: list[str]) -> None:
    """Raise unless something was said, in sentences that can be printed and name the file."""
    assert said, "refused without a word"
    for words in said:
        assert words.startswith("tank.toml"), words
        assert words.isprintable(), words
        assert words[-1] in ".?)", words
        assert len(words) < 2000, words


def live(checked: Checked, *, ticks: int = TICKS, strides: int = STRIDES, most_s: float) -> int:
    """Play a scenario in watched ticks and in leaps, and look after each.

    Parameters
    ----------
    checked
        What can be played.
    ticks, strides
        So many of each.
    most_s
        Seconds of this thread after which a run is not played to its end.

    Returns
    -------
    int
        How often it was looked at; 0 where it is refused at the start, which only a run can tell.
    """
    looks = 0
    for watch_all, count in ((True, ticks), (False, strides)):
        try:
            history = History(
                checked.scenario, checked.layout, settings=Settings(watch_all=watch_all)
            )
        except Refused as refusal:
            said = [str(problem) for problem in refusal.problems]
            assert said
            assert all(words.isprintable() and words[-1] in ".?)" for words in said), said
            return 0
        watch = Watch(history)
        for _ in range(count):
            history.strides(1)
            watch.look()
        until = time.thread_time() + most_s
        while not watch_all and not history.finished and time.thread_time() < until:
            history.advance(until_day=history.day + PIECE_DAYS)
            watch.look()
        if history.finished:
            check_outcome(history.outcome())
        looks += watch.looks
    return looks


def assert_refused(plain: Plain, *, folder: Path) -> list[str]:
    """Raise unless `holdwater check` refuses a scenario as a person meets it.

    Parameters
    ----------
    plain
        As a file would hold it.
    folder
        Where the file is written.

    Returns
    -------
    list of str
        What was said.
    """
    with contextlib.chdir(folder):
        Path("tank.toml").write_bytes(tomli_w.dumps(plain).encode())
        said, out = io.StringIO(), io.StringIO()
        with contextlib.redirect_stderr(said), contextlib.redirect_stdout(out):
            code = outcome(["check", "tank.toml"])
    lines = [line for line in said.getvalue().splitlines() if not line.startswith("unwise: ")]
    assert code == WRONG, f"left with {code}: {out.getvalue()} {lines}"
    assert_sentences(lines)
    return lines
