"""Classroom: a class of pages whose browsers are elsewhere, and the program alone on its cores.

``python -m tests.benchmarks classroom`` opens pages that draw nothing (`LightPage`), has one of
them play many runs, and writes its section of the page. Beside `crowd`, whose browsers share the
cores of the program, it is the nearer picture of a class; what it leaves out is the network and
the time a browser takes to draw.
"""

from __future__ import annotations

import asyncio
import random
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tests.benchmarks.crowd import PACKAGES, PAGE, SEED, left_of
from tests.benchmarks.machine import describe, load, table, write_section
from tests.benchmarks.pages import percentile, processor_s, program
from tests.viz.app.browser.harness import Program
from tests.viz.app.browser.light_page import LightPage

HEADING = "## A class whose browsers are elsewhere"
PAGES = 32
STRETCH_S = 120.0
BETWEEN_S = 5.0  # on an average, from one press of a page to its next
SETTLED_S = 5.0
SOLO_S = 12.0  # so that most of the runs are left for the class
RUNS = 400
REST, STOP = r"Play the other \d+", "Stop here"


@dataclass(slots=True)
class Stretch:
    """What was seen in one stretch of time.

    Parameters
    ----------
    presses_ms
        How long each press took to be answered.
    frames_per_s
        Frames a second to each page.
    core
        Share of one core that the program took, its runs included.
    runs_per_s
        Runs that were played, each second; 0 where nobody played any.
    unanswered
        Presses that nothing answered in two minutes; they are in no percentile.
    """

    presses_ms: list[float] = field(default_factory=list)
    frames_per_s: list[float] = field(default_factory=list)
    core: float = 0.0
    runs_per_s: float = 0.0
    unanswered: int = 0


@dataclass(slots=True)
class Classroom:
    """What was seen of a class.

    Parameters
    ----------
    pages
        How many there were.
    ready_s
        From asking for each page to a tank that moves on it, all at once but the first.
    stretches
        By what was going on.
    memory_mb
        Of the program: with one page, and with all at the end.
    left
        What was alive when all had left.
    gone_s
        After how long.
    load
        Load average before and after.
    """

    pages: int
    ready_s: list[float] = field(default_factory=list)
    stretches: dict[str, Stretch] = field(default_factory=dict)
    memory_mb: tuple[float, float] = (0.0, 0.0)
    left: dict[str, int] = field(default_factory=dict)
    gone_s: float = 0.0
    load: tuple[str, str] = ("", "")


async def class_of(*, pages: int = PAGES, stretch_s: float = STRETCH_S) -> Classroom:
    """Open pages, watch them while nobody and while one plays many runs, and close them.

    Parameters
    ----------
    pages
        How many.
    stretch_s
        Seconds each stretch is watched.
    """
    made, before = Classroom(pages), load()
    with (
        tempfile.TemporaryDirectory() as folder,
        program(folder=Path(folder) / "runs") as app,
    ):
        first = LightPage(app.origin)
        await first.enter()
        made.ready_s.append(first.ready_s)
        alone = app.alive()["memory_mb"]
        made.stretches["one page"] = await watched(app, [first], seconds=stretch_s / 4)
        await play_runs(first)
        made.stretches["one page, which plays runs"] = await watched(
            app, [first], seconds=SOLO_S, away=first
        )
        await stop_runs(first)
        others = [LightPage(app.origin) for _ in range(pages - 1)]
        await asyncio.gather(*(page.enter() for page in others))
        made.ready_s += [page.ready_s for page in others]
        everyone = [first, *others]
        await asyncio.sleep(SETTLED_S)
        made.stretches[f"{pages} pages"] = await watched(
            app, everyone, seconds=stretch_s, away=first
        )
        await go_on_with_runs(first)
        made.stretches[f"{pages} pages, one of which plays runs"] = await watched(
            app, everyone, seconds=stretch_s, away=first
        )
        made.memory_mb = (alone, app.alive()["memory_mb"])
        await asyncio.gather(*(page.leave() for page in everyone))
        began = time.monotonic()
        made.left = await asyncio.to_thread(left_of, app)
        made.gone_s = time.monotonic() - began
    made.load = (before, load())
    return made


async def watched(
    app: Program, pages: list[LightPage], *, seconds: float, away: LightPage | None = None
) -> Stretch:
    """Have every page press *Pause* and *Play* now and then for a while, and count.

    Parameters
    ----------
    app
        The program.
    pages
        That are open.
    seconds
        How long at most; if runs are played, no longer than they take.
    away
        The one that has turned to *Repeat*, where there is no such button; its runs are counted.
    """
    seen = Stretch()
    took, began = processor_s(app), time.perf_counter()
    frames = [page.frames for page in pages]
    playing = away is not None and bool(away.buttons(STOP))
    runs = away.value_of("hw-progress") if away else None

    def going() -> bool:
        over = playing and away is not None and not away.buttons(STOP)
        return not over and time.perf_counter() < began + seconds

    pressing = [page for page in pages if page is not away]
    lasted, _ = await asyncio.gather(
        _while(going),
        asyncio.gather(
            *(
                _press_about(page, seen, going, random.Random(SEED + k))
                for k, page in enumerate(pressing)
            )
        ),
    )
    whole = time.perf_counter() - began
    seen.core = (processor_s(app) - took) / whole
    seen.frames_per_s = [
        (page.frames - before) / whole for page, before in zip(pages, frames, strict=True)
    ]
    if playing and away is not None:
        played = away.value_of("hw-progress")
        seen.runs_per_s = ((RUNS if played is None else played) - (runs or 0.0)) / lasted
    return seen


async def _while(going: Callable[[], bool]) -> float:
    """Wait as long as it goes on, and return for how long that was (s)."""
    began = time.perf_counter()
    while going():
        await asyncio.sleep(0.1)
    return time.perf_counter() - began


async def _press_about(
    page: LightPage, seen: Stretch, going: Callable[[], bool], pick: random.Random
) -> None:
    """Press *Pause* and soon *Play*, so that the tank lives nearly all the while."""
    while True:
        await asyncio.sleep(pick.uniform(0.5, 1.5) * 2.0 * BETWEEN_S)
        if not going():
            return
        for _ in range(2):
            try:
                seen.presses_ms.append(await page.toggle())
            except (TimeoutError, LookupError):
                seen.unanswered += 1
            await asyncio.sleep(0.12)


async def play_runs(page: LightPage) -> None:
    """Have a page play many runs."""
    await page.play_runs(RUNS)
    await page.until(lambda: (page.value_of("hw-progress") or 0.0) > 0.0)


async def stop_runs(page: LightPage) -> None:
    """Have it stop, with what was played kept."""
    await page.press(STOP, answer=REST)


async def go_on_with_runs(page: LightPage) -> None:
    """Have it go on."""
    await page.press(REST, answer=STOP)


def measure() -> None:
    """Measure and write the section of the page."""
    write_section(PAGE, HEADING, parts=parts_of(asyncio.run(class_of())))


def parts_of(made: Classroom) -> list[str]:
    """Return the paragraphs and the table.

    Parameters
    ----------
    made
        What was seen.
    """
    rows = [
        (
            when,
            *(
                f"{percentile(seen.presses_ms, share):.0f}" if seen.presses_ms else "-"
                for share in (50, 95, 100)
            ),
            str(len(seen.presses_ms)),
            f"{percentile(seen.frames_per_s, 50):.1f} / {min(seen.frames_per_s):.1f}",
            f"{100 * seen.core:.0f}",
            f"{seen.runs_per_s:.1f}" if seen.runs_per_s else "-",
        )
        for when, seen in made.stretches.items()
    ]
    left = ", ".join(f"{count} {name}" for name, count in made.left.items()) or "nothing"
    unanswered = sum(seen.unanswered for seen in made.stretches.values())
    return [
        f"Written by `python -m tests.benchmarks classroom`: {made.pages} pages that say to the "
        "program and hear from it what a browser's page does, and draw nothing, so that the "
        "program has its cores to itself, as where a class has machines of its own. What the "
        f"network takes, and a browser to draw, is not in it. Each page presses *Pause* and *Play* "
        f"every {2 * BETWEEN_S:.0f} s or so; a press is answered when the word on the button has "
        "come back.",
        describe(load_before=made.load[0], packages=(*PACKAGES, "websockets")),
        table(
            (
                "what goes on", "a press answered, ms, p50", "p95", "slowest", "presses",
                "frames a second, middle / least", "% of a core", "runs a second",
            ),
            rows,
        ),
        f"- From asking for a page to a tank that moves: {made.ready_s[0]:.1f} s for the first, "
        f"{percentile(made.ready_s[1:], 50):.1f} s in the middle and {max(made.ready_s):.1f} s for "
        f"the last where {made.pages - 1} asked in the same moment.\n"
        f"- Memory of the program: {made.memory_mb[0]:.0f} MB with one page, "
        f"{made.memory_mb[1]:.0f} MB at the end. Presses that nothing answered in two minutes: "
        f"{unanswered}. Alive when all had left: {left}, after {made.gone_s:.0f} s.",
    ]  # fmt: skip
