"""Several pages on one program: none starves the others, and a closed one leaves nothing behind."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from tests.viz.app.browser.counted import OUTSIDE
from tests.viz.app.browser.harness import Program
from tests.viz.app.browser.light_page import LightPage
from tests.viz.commands import SMALL

LONG_MS = 120_000
GONE_S = 120.0
CLASS = 32
OF_PAGES = ("holdwater", "rough-odds", "nests")  # how the threads of a page begin


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("load")
    (folder / "small.toml").write_text(SMALL.replace("days = 2", "days = 20"), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def program(place: Path) -> Iterator[Program]:
    """A program that can say what is alive in it, and keeps its runs in a folder of the test."""
    made = Program(str(place / "small.toml"), "--keep", str(place / "runs"), counted=True)
    yield made
    made.close()
    assert "Traceback" not in made.said, made.said


def opened(browser: Any, program: Program) -> Any:
    """A page on which the tank lives."""
    context = browser.new_context()
    context.add_init_script('localStorage.setItem("holdwater.been", "true")')
    page = context.new_page()
    page.set_default_timeout(LONG_MS)
    page.goto(program.url)
    page.wait_for_selector(".hw-frame")
    page.get_by_role("button", name="Pause", exact=True).wait_for()
    return page


def leave(pages: list[Any], program: Program) -> dict[str, int]:
    """Leave pages as a person does, wait until nothing of them is alive, and return what still is.

    A browser that is killed says nothing, and its pages are forgotten some minutes later.
    """
    for page in pages:
        page.goto("about:blank")
    let_go(program)
    for page in pages:
        page.context.close()
    return left(program)


def let_go(program: Program) -> None:
    """Wait until nothing of pages is alive, or for as long as that may take."""
    ends = time.monotonic() + GONE_S
    while left(program) and time.monotonic() < ends:
        time.sleep(0.2)


def play(page: Any, runs: str) -> None:
    """Turn to Repeat and begin."""
    page.get_by_role("button", name="Repeat", exact=True).click()
    page.get_by_role("button", name=runs, exact=True).click()
    page.get_by_role("button", name=f"Play {runs.split(',')[0]} runs", exact=True).click()


def left(program: Program) -> dict[str, int]:
    """What is alive of pages."""
    alive = program.alive()
    objects = {name: count for name, count in alive["objects"].items() if count}
    threads = {n: count for n, count in alive["threads"].items() if n.startswith(OF_PAGES)}
    return objects | threads


def test_pages_share_and_closed_ones_leave_nothing(browser: Any, program: Program) -> None:
    pages = [opened(browser, program) for _ in range(3)]
    busy, short, other = pages
    play(busy, "400")
    busy.get_by_role("button", name="Stop here", exact=True).wait_for()
    # One that came later has its runs while the long ones of the first go on,
    play(short, "20, rough")
    short.get_by_text("20 of 20 runs, in").wait_for()
    # a third one is answered, and its tank goes on,
    other.get_by_role("button", name="Pause", exact=True).click()
    other.get_by_role("button", name="Play", exact=True).click()
    other.get_by_role("button", name="Pause", exact=True).wait_for()
    frames = "Number(document.querySelector('.hwf')?.dataset.frames || 0)"
    other.wait_for_function(f"{frames} > {other.evaluate(frames) + 10}")
    # and the first is still at it: nobody waited for its end.
    busy.get_by_role("button", name="Stop here", exact=True).wait_for()
    assert left(program).items() >= {"Session": 3, "LiveTank": 3, "holdwater-batch": 1}.items()
    assert leave(pages, program) == {}


def test_more_openings_leave_no_more(browser: Any, program: Program) -> None:
    counts = []
    for _ in range(3):
        assert leave([opened(browser, program)], program) == {}
        counts.append(program.alive()["all"])
    # Of some 66,000 objects a page makes 14,000; a few of the libraries' lists grow by a handful.
    assert counts[-1] - counts[0] < 1000


async def class_played(origin: str) -> tuple[list[int], list[float], float]:
    """A class, one of which plays many runs while all the others press at the same moment.

    Returns
    -------
    the frames that came to each page meanwhile, how long each press took (ms), and how many runs
    had been played at the end.
    """
    pages = [LightPage(origin) for _ in range(CLASS)]
    await asyncio.gather(*(page.enter() for page in pages))
    player, *others = pages
    await player.play_runs(400)
    before = [page.frames for page in others]
    answered = [ms for _ in range(2) for ms in await asyncio.gather(*(p.toggle() for p in others))]
    await others[-1].until(
        lambda: all(page.frames > was + 3 for page, was in zip(others, before, strict=True))
    )
    await player.until(lambda: (player.value_of("hw-progress") or 0.0) > 0.0)
    assert player.buttons("Stop here"), "the runs were over too soon to be in anybody's way"
    frames = [page.frames - was for page, was in zip(others, before, strict=True)]
    played = player.value_of("hw-progress")
    await asyncio.gather(*(page.leave() for page in pages))
    return frames, answered, played or 0.0


def test_a_class_is_answered_while_one_plays_many_runs(program: Program) -> None:
    # In a thread of its own: that of the tests has the loop of the browser running in it.
    with ThreadPoolExecutor(1) as thread:
        playing = thread.submit(lambda: asyncio.run(class_played(program.origin)))
        frames, answered, played = playing.result()
    assert len(frames) == CLASS - 1
    assert min(frames) > 3
    assert len(answered) == 2 * (CLASS - 1)
    assert played > 0
    let_go(program)
    assert left(program) == {}


def test_runs_are_there_again_after_a_reload_and_a_restart(
    browser: Any, program: Program, place: Path
) -> None:
    page = opened(browser, program)
    play(page, "20, rough")  # the very question of the first test
    page.get_by_text("20 runs had been kept").wait_for()
    page.reload()
    page.wait_for_selector(".hw-frame")
    page.get_by_text("20 of 20 runs, in").wait_for()
    page.get_by_role("button", name="Watch the worst run").wait_for()
    page.context.close()
    again = Program(str(place / "small.toml"), "--keep", str(place / "runs"))
    try:
        page = opened(browser, again)
        play(page, "20, rough")
        page.get_by_text("20 runs had been kept").wait_for()
        page.context.close()
    finally:
        again.close()


def test_nothing_is_asked_of_any_other_machine(program: Program) -> None:
    """By the program itself, in all that went before; the browser is watched elsewhere."""
    assert program.alive()["objects"] is not None
    assert OUTSIDE not in program.said
