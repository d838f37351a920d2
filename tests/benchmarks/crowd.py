"""Crowd: as many pages as a class has, on one program; one of them plays many runs all the while.

``python -m tests.benchmarks crowd`` does it for ten minutes and writes its section of the page;
``python -m tests.benchmarks.crowd --pages 8 --minutes 120`` does it for two hours, and writes what
became of the memory.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.benchmarks.machine import describe, load, table, write_section
from tests.benchmarks.pages import (
    closed,
    opened,
    percentile,
    presses_ms,
    processor_s,
    program,
    share_of,
    started_browser,
)
from tests.viz.app.browser.harness import Program

PAGE = Path(__file__).parents[2] / "docs" / "performance.md"
HEADING = "## A class on one program"
LONG_HEADING = "## The same for longer"
PACKAGES = ("solara", "reacton", "anywidget", "uvicorn", "playwright")
PAGES = 32
MINUTES = 10.0
SEED = 1
# A page that says that it leaves is let go at once; one whose browser had no time to say so, ten
# minutes after it was last heard of.
GONE_S = 660.0


@dataclass(slots=True)
class Crowd:
    """What was seen of a crowd.

    Parameters
    ----------
    pages, minutes
        How many, and how long.
    quiet_ms, busy_ms
        Presses answered while nobody, and while one page, plays many runs.
    alone_ms
        Presses answered while there was one page only.
    frames_per_s
        Frames a second that came to each page, quiet and busy.
    core_quiet, core_busy
        Share of one core that the program took, quiet, and busy with the runs left in it.
    runs
        Runs that were played meanwhile.
    memory_mb
        Of the program, before, and then once a minute with all pages open.
    reopened
        Pages that were closed and opened again.
    unanswered
        Presses that were not answered: why.
    left
        What was still alive at the end of all pages: objects, and threads of pages.
    gone_s
        Seconds from the last closing until then.
    load
        Load average before and after.
    """

    pages: int
    minutes: float
    alone_ms: list[float] = field(default_factory=list)
    quiet_ms: list[float] = field(default_factory=list)
    busy_ms: list[float] = field(default_factory=list)
    frames_quiet: list[float] = field(default_factory=list)
    frames_busy: list[float] = field(default_factory=list)
    core_quiet: float = 0.0
    core_busy: float = 0.0
    runs: int = 0
    memory_mb: list[float] = field(default_factory=list)
    reopened: int = 0
    unanswered: list[str] = field(default_factory=list)
    left: dict[str, int] = field(default_factory=dict)
    gone_s: float = 0.0
    load: tuple[str, str] = ("", "")


def class_of(*, pages: int = PAGES, minutes: float = MINUTES, say: bool = True) -> Crowd:
    """Open pages, have one play many runs, press about, close and reopen, and count at the end.

    Parameters
    ----------
    pages
        How many; the first one is drawn in full, the others seldom.
    minutes
        How long it goes on once all are open.
    say
        Whether to tell how it goes on the error stream.
    """
    made = Crowd(pages, minutes)
    pick = random.Random(SEED)
    before = load()
    with (
        tempfile.TemporaryDirectory() as folder,
        program(folder=Path(folder) / "runs") as app,
        started_browser() as browser,
    ):
        all_pages = [opened(browser, app.url)]
        made.memory_mb.append(app.alive()["memory_mb"])
        made.alone_ms = presses_ms(all_pages[0], times=20)
        for _ in range(pages - 1):
            all_pages.append(opened(browser, app.url, seldom=True))
        quiet = share_of(app, all_pages, seconds=10)
        made.core_quiet, made.frames_quiet = quiet.core, list(quiet.frames_per_s)
        for page in all_pages:
            made.quiet_ms += presses_ms(page, times=2)
        _tell(say, f"{pages} pages are open; quiet presses p95 {percentile(made.quiet_ms, 95):.0f}")
        _press_about(made, app, browser, all_pages, pick=pick, say=say)
        for page in all_pages:
            closed(page)
        began = time.monotonic()
        made.left = left_of(app)
        made.gone_s = time.monotonic() - began
    made.load = (before, load())
    return made


def _press_about(
    made: Crowd, app: Program, browser: Any, pages: list[Any], *, pick: random.Random, say: bool
) -> None:
    """The long part: the second page plays, the others press; now and then one comes anew."""
    busy = pages[1]
    ends = time.monotonic() + 60.0 * made.minutes
    minute = time.monotonic() + 60.0
    play_runs(busy, app)
    took, began = processor_s(app), time.monotonic()
    while time.monotonic() < ends:
        place = pick.choice([k for k, page in enumerate(pages) if page is not busy])
        try:
            made.busy_ms += presses_ms(pages[place], times=2)
        except Exception as error:
            made.unanswered.append(str(error).splitlines()[0])
            _tell(True, f"page {place}: {error}; it shows: {pages[place].inner_text('body')}")
            closed(pages[place])
            pages[place] = opened(browser, app.url, seldom=True)
        if busy.get_by_text("They cannot be played").count():
            raise RuntimeError(f"the runs ended:\n{app.said}")
        if over(busy):
            made.runs += 400
            edited_again(busy, made.runs)
            play_runs(busy, app)
        if time.monotonic() > minute:
            minute += 60.0
            made.frames_busy += list(share_of(app, pages, seconds=5).frames_per_s)
            made.memory_mb.append(app.alive()["memory_mb"])
            place = pick.randrange(2, len(pages))
            closed(pages[place])
            pages[place] = opened(browser, app.url, seldom=True)
            made.reopened += 1
            _tell(
                say,
                f"memory {made.memory_mb[-1]:.0f} MB, presses p95 "
                f"{percentile(made.busy_ms, 95):.0f} ms, {made.runs} runs, "
                f"frames {min(made.frames_busy[-len(pages):]):.1f} to "
                f"{max(made.frames_busy[-len(pages):]):.1f} a second, load {load()}",
            )
    made.core_busy = (processor_s(app) - took) / (time.monotonic() - began)
    made.runs += played_so_far(busy)


def play_runs(page: Any, app: Program) -> None:
    """Have 400 runs played on a page."""
    page.get_by_role("button", name="Repeat", exact=True).click()
    page.get_by_role("button", name="400", exact=True).click()
    page.get_by_role("button", name="Play 400 runs", exact=True).click()
    page.get_by_role("button", name="Stop here", exact=True).wait_for()


def over(page: Any) -> bool:
    """Whether a page's runs are all played."""
    return bool(page.get_by_text("400 of 400 runs").count())


def played_so_far(page: Any) -> int:
    """How many runs a page has played of those under way."""
    value = page.evaluate("document.querySelector('.hw-progress')?.value ?? 0")
    return int(value)


def edited_again(page: Any, number: int) -> None:
    """Change the days of the tank a little, so that the next runs are not those that are kept."""
    page.get_by_role("button", name="Build", exact=True).click()
    page.get_by_role("button", name="Days", exact=True).click()
    field = page.get_by_label("Played for, days")
    field.fill(f"{30.0 + number / 40000.0:.2f}")
    field.press("Enter")
    page.wait_for_timeout(1000)


def left_of(app: Program) -> dict[str, int]:
    """Return what is still alive of closed pages, once it no longer falls or is nothing."""
    ends = time.monotonic() + GONE_S
    while True:
        alive = app.alive()
        left = {name: count for name, count in alive["objects"].items() if count}
        left |= {
            name: count
            for name, count in alive["threads"].items()
            if name.startswith(("holdwater", "rough", "nests"))
        }
        if not left or time.monotonic() > ends:
            return left
        time.sleep(1.0)


def measure() -> None:
    """Measure and write the section of the page."""
    made = class_of()
    write_section(PAGE, HEADING, parts=parts_of(made))


def parts_of(made: Crowd) -> list[str]:
    """Return the paragraphs and the table.

    Parameters
    ----------
    made
        What was seen.
    """
    rows = [
        (when, f"{percentile(values, 50):.0f}", f"{percentile(values, 95):.0f}",
         f"{max(values):.0f}", str(len(values)))
        for when, values in (
            ("one page alone", made.alone_ms),
            (f"{made.pages} pages, nobody plays many runs", made.quiet_ms),
            (f"{made.pages} pages, one of them does", made.busy_ms),
        )
        if values
    ]  # fmt: skip
    frames = made.frames_busy or made.frames_quiet
    return [
        f"Written by `python -m tests.benchmarks crowd`: {made.pages} pages, each in a profile of "
        f"its own, all on the cores of the program, for {made.minutes:g} minutes once all were "
        "open. One plays 400 runs after 400 all the while; on the others *Pause* and *Play* are "
        "pressed at random, and the time until the button says the other word is taken in the "
        "page. All but the first draw twice a second, since in a class they have machines of "
        "their own; the rest of their work falls on these cores all the same, so that the figures "
        "are an upper limit for the program. Each minute one page is closed and another opened.",
        describe(load_before=made.load[0], packages=PACKAGES),
        table(("a press answered, ms", "p50", "p95", "slowest", "presses"), rows),
        f"- Frames a second that came to a page: {percentile(made.frames_quiet, 50):.1f} in the "
        f"middle, {min(made.frames_quiet):.1f} at the least, while nobody played many runs; "
        f"{percentile(frames, 50):.1f} and {min(frames):.1f} while one did.\n"
        f"- The program took {100 * made.core_quiet:.0f} % of a core for all {made.pages} pages, "
        f"and {100 * made.core_busy:.0f} % with the runs of the one, of which {made.runs} were "
        "played.\n"
        f"- Memory of the program: {made.memory_mb[0]:.0f} MB with one page; with all, "
        f"{made.memory_mb[1]:.0f} MB after a minute and {made.memory_mb[-1]:.0f} MB at the end.\n"
        f"- Closed and opened anew: {made.reopened}. Alive when all were closed: "
        f"{left_words(made)}.",
    ]


def _tell(say: bool, words: str) -> None:
    if say:
        print(words, file=sys.stderr, flush=True)


def left_words(made: Crowd) -> str:
    """Return what was alive when all pages had been closed, in words."""
    left = ", ".join(f"{count} {name}" for name, count in made.left.items()) or "nothing"
    return f"{left}, after {made.gone_s:.0f} s"


def soak_parts(made: Crowd) -> list[str]:
    """Return the paragraphs and the table of a long crowd, in which memory is what is looked at.

    Parameters
    ----------
    made
        What was seen.
    """
    minutes = len(made.memory_mb) - 1
    marks = sorted({1, *(minutes * part // 8 for part in range(1, 9))})
    half = made.memory_mb[1 + minutes // 2 :]
    slope = 60.0 * fitted_slope(half)
    return [
        f"Written by `python -m tests.benchmarks.crowd --pages {made.pages} --minutes "
        f"{made.minutes:g}`: as above with {made.pages} pages, and memory is what is looked at. "
        "One page played 400 runs after 400, each time of a tank edited once more; each minute "
        "another was closed and opened anew. Presses were answered in "
        f"{percentile(made.busy_ms, 50):.0f} ms in the middle, {percentile(made.busy_ms, 95):.0f} "
        "ms at p95, beside whatever else the machine did.",
        describe(load_before=made.load[0], packages=PACKAGES),
        table(
            ("after, minutes", "memory of the program, MB"),
            [(str(minute), f"{made.memory_mb[minute]:.0f}") for minute in marks],
        ),
        f"- {made.memory_mb[0]:.0f} MB with one page, before. Over the second half memory went up "
        f"by {slope:.1f} MB an hour (least squares; negative is down).\n"
        f"- {made.runs} runs were played, {len(made.busy_ms)} presses answered, "
        f"{len(made.unanswered)} not, and {made.reopened} pages closed and opened. Alive when all "
        f"were closed: {left_words(made)}.",
    ]


def fitted_slope(values: list[float]) -> float:
    """Return the slope of equally spaced values, by least squares.

    Parameters
    ----------
    values
        At least two.
    """
    middle = (len(values) - 1) / 2.0
    spread = sum((k - middle) ** 2 for k in range(len(values)))
    return sum((k - middle) * value for k, value in enumerate(values)) / spread


def main() -> None:
    """Run it as asked for on the command line, and write its section."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pages", type=int, default=8)
    parser.add_argument("--minutes", type=float, default=120.0)
    asked = parser.parse_args()
    made = class_of(pages=asked.pages, minutes=asked.minutes)
    write_section(PAGE, LONG_HEADING, parts=soak_parts(made))


if __name__ == "__main__":
    main()
