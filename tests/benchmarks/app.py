"""App: what is promised of it, measured in a real browser on this machine alone."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from sim.check import check_file
from sim.scenario_writing import write_scenario
from tests.benchmarks.crowd import PACKAGES, left_of, play_runs
from tests.benchmarks.jobs import FOUR
from tests.benchmarks.machine import describe, load, table, write_section
from tests.benchmarks.pages import (
    Share,
    best,
    closed,
    gaps_ms,
    opened,
    percentile,
    presses_ms,
    program,
    ready_s,
    share_of,
    started_browser,
    turns_ms,
)
from tests.benchmarks.speed import PAGE, below

HEADING = "## The app"
TRIES = 3
TOGETHER = 12
OPENINGS = 40
TABS = ("Repeat", "Compare", "Build", "Watch")


@dataclass(frozen=True, slots=True)
class Found:
    """What was measured.

    Parameters
    ----------
    ready
        Seconds from asking for the page to a tank that moves, each in a fresh profile.
    gaps, beside
        Times between pictures (ms) of one page with twelve fish, alone and beside a batch.
    one, many
        The program's share of a core and the frames it sent, to one page and to `TOGETHER`.
    presses, busy, turns
        Presses answered alone and beside a batch, and turning to another page of the app (ms).
    memory_mb, objects
        After every tenth of `OPENINGS`, all closed.
    left
        What was alive of closed pages.
    """

    ready: list[float]
    gaps: np.ndarray
    beside: np.ndarray
    one: Share
    many: Share
    presses: list[float]
    busy: list[float]
    turns: list[float]
    memory_mb: list[float]
    objects: list[int]
    left: dict[str, int]


def twelve(folder: Path) -> Path:
    """Write the shipped four-foot tank with three more swordtails, which makes twelve fish."""
    scenario = check_file(FOUR).scenario
    groups = tuple(
        group.model_copy(update={"count": group.count + 3}) if group.count == 6 else group
        for group in scenario.fish
    )
    if sum(group.count for group in groups) != 12:
        raise RuntimeError(f"{FOUR.name} has not twelve fish with three swordtails more")
    path = folder / "twelve.toml"
    path.write_text(write_scenario(scenario.model_copy(update={"fish": groups})), "utf-8")
    return path


def smoothest(page: Any) -> np.ndarray:
    """Return the times between pictures (ms) of the smoothest of a few short stretches."""
    tries = [gaps_ms(page, seconds=5) for _ in range(TRIES)]
    return best(tries, lambda gaps: percentile(gaps, 95))


def look(browser: Any, folder: Path) -> Found:
    """Measure everything once, pages closed in between.

    Parameters
    ----------
    browser
        Of `started_browser`.
    folder
        For the tank and the runs.
    """
    with program(str(twelve(folder)), folder=folder / "runs") as app:
        closed(opened(browser, app.url))  # what is loaded once
        ready = [ready_s(browser, app.url) for _ in range(TRIES)]
        page = opened(browser, app.url)
        gaps = smoothest(page)
        one = best([share_of(app, [page], seconds=5) for _ in range(TRIES)], lambda s: s.core)
        presses = presses_ms(page, times=20)
        turns = turns_ms(page, TABS * 2)
        other = opened(browser, app.url, seldom=True)
        play_runs(other, app)
        beside = smoothest(page)
        busy = presses_ms(page, times=20)
        closed(other)
        more = [opened(browser, app.url, seldom=True) for _ in range(TOGETHER - 1)]
        tries = [share_of(app, [page, *more], seconds=5) for _ in range(TRIES)]
        many = best(tries, lambda share: -min(share.frames_per_s))
        for one_page in (page, *more):
            closed(one_page)
        memory, objects = [], []
        left_of(app)
        for number in range(OPENINGS + 1):
            if number % 10 == 0:
                left_of(app)
                alive = app.alive()
                memory.append(alive["memory_mb"])
                objects.append(alive["all"])
            if number < OPENINGS:
                closed(opened(browser, app.url, seldom=True))
        return Found(
            ready, gaps, beside, one, many, presses, busy, turns, memory, objects, left_of(app)
        )


def measure() -> None:
    """Measure and write the section of the page."""
    before = load()
    with tempfile.TemporaryDirectory() as folder, started_browser() as browser:
        found = look(browser, Path(folder))
        version = browser.version
    write_section(PAGE, HEADING, parts=parts_of(found, before=before, chromium=version))


def parts_of(found: Found, *, before: str, chromium: str) -> list[str]:
    """Return the paragraphs and the table.

    Parameters
    ----------
    found
        What was measured.
    before
        Load average when it began.
    chromium
        Version of the browser.
    """
    p95, beside = percentile(found.gaps, 95), percentile(found.beside, 95)
    press, busy = percentile(found.presses, 95), percentile(found.busy, 95)
    slowest = min(found.many.frames_per_s)
    grown = found.memory_mb[-1] - found.memory_mb[1]
    rows = [
        ("pictures a second, 12 fish", f"{1000.0 / float(np.mean(found.gaps)):.1f}", "60",
         "met" if float(np.mean(found.gaps)) < 17.0 else "**missed**"),
        ("ms between pictures, p50 / p95", f"{percentile(found.gaps, 50):.1f} / {p95:.1f}",
         "p95 under 18", below(p95, 18.0)),
        ("the same beside a batch on another page, p95", f"{beside:.1f}", "under 18",
         below(beside, 18.0)),
        ("the program's share of a core, one page, %", f"{100 * found.one.core:.1f}", "under 10",
         below(found.one.core, 0.10)),
        ("ready: from asking to a tank that moves, s", f"{min(found.ready):.1f}", "under 3",
         below(min(found.ready), 3.0)),
        ("a press answered, p50 / p95 of 20, ms",
         f"{percentile(found.presses, 50):.0f} / {press:.0f}", "under 100", below(press, 100.0)),
        ("the same beside a batch, p50 / p95, ms",
         f"{percentile(found.busy, 50):.0f} / {busy:.0f}", "none", "-"),
        ("another page of the app shown, median / slowest, ms",
         f"{percentile(found.turns, 50):.0f} / {max(found.turns):.0f}", "none", "-"),
        (f"frames a second to each of {TOGETHER} pages, least", f"{slowest:.1f}", "10",
         "met" if slowest > 9.7 else "**missed**"),
        (f"the program's share of a core, {TOGETHER} pages, %", f"{100 * found.many.core:.0f}",
         "none", "-"),
        (f"MB grown from the 10th opening to the {OPENINGS}th", f"{grown:.1f}", "no growth",
         below(grown, 5.0)),
        (f"objects grown from the 10th opening to the {OPENINGS}th",
         f"{found.objects[-1] - found.objects[1]}", "none", "-"),
        ("alive of closed pages", words_of(found.left), "nothing",
         "**missed**" if found.left else "met"),
    ]  # fmt: skip
    return [
        f"Written by `python -m tests.benchmarks app`: Chromium {chromium} without a window, drawn "
        "by the processor, on the same cores as the program. Each figure is the best of "
        f"{TRIES} stretches of 5 s, presses and turns excepted. Of several pages all but the one "
        "that is looked at draw twice a second: in a class they have machines of their own.",
        describe(load_before=before, packages=PACKAGES),
        table(("what", "measured", "promised", ""), rows),
    ]


def words_of(left: dict[str, int]) -> str:
    """Return what was alive, in words."""
    return ", ".join(f"{count} {name}" for name, count in left.items()) or "nothing"
