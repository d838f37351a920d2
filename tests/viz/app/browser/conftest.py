"""What every test in a real browser begins with."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.viz.app.browser.harness import (
    ARGUMENTS,
    LONG_MS,
    SIZES,
    Program,
    chromium,
    watched,
)

# The floor is painted as often as the screen is drawn, here by a processor that has other tests to
# run: ten times a second will do. `tests.benchmarks app` measures it as it is.
PAINTED_SELDOM = """
const soon = window.requestAnimationFrame.bind(window);
const never = window.cancelAnimationFrame.bind(window);
window.requestAnimationFrame = (draw) =>
  draw.name === "paint" ? -setTimeout(() => draw(performance.now()), 100) : soon(draw);
window.cancelAnimationFrame = (id) => (id < 0 ? clearTimeout(-id) : never(id));
"""


@pytest.fixture(scope="package")
def browser() -> Iterator[Any]:
    """One Chromium for all tests."""
    path = chromium()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        yield started
        started.close()


@pytest.fixture(scope="package")
def programs() -> Iterator[Callable[..., Program]]:
    """Programs by their arguments, each started once and ended when all tests are done."""
    started: dict[tuple[str, ...], Program] = {}

    def get(*arguments: str) -> Program:
        program = started.get(arguments)
        if program is None or program.process.poll() is not None:
            program = started[arguments] = Program(*arguments)
        return program

    yield get
    for program in started.values():
        program.close()


@pytest.fixture
def open_page(browser: Any, programs: Callable[..., Program]) -> Iterator[Callable[..., Any]]:
    """A function that opens the app in a browser of its own and returns its page.

    ``open_page(file, size=..., shade=..., been=...)``: a scenario file or None, width and height,
    ``"light"`` or ``"dark"``, whether this browser has been here before. The page has ``program``.
    """
    closing: list[Callable[[], None]] = []

    def opened(
        file: Path | None = None,
        *,
        size: tuple[int, int] = SIZES[0],
        shade: str = "light",
        been: bool = True,
        motion: str = "no-preference",
        ready: str = ".hw-frame",
    ) -> Any:
        program = programs(*([] if file is None else [str(file)]))
        context = browser.new_context(
            viewport={"width": size[0], "height": size[1]},
            color_scheme=shade,
            reduced_motion=motion,
        )
        context.set_default_timeout(LONG_MS)
        context.add_init_script(PAINTED_SELDOM)
        if been:
            context.add_init_script('localStorage.setItem("holdwater.been", "true")')
        page = context.new_page()
        before = len(program.said)
        watch = watched(page, program.origin)
        page.wrong = watch.__enter__()
        page.program = program

        def close() -> None:
            context.close()
            watch.__exit__(None, None, None)
            assert "Traceback" not in program.said[before:], program.said[before:]

        closing.append(close)
        page.goto(program.url)
        page.wait_for_selector(ready)
        return page

    yield opened
    for close in closing:
        close()


@pytest.fixture
def app_page(open_page: Callable[..., Any]) -> Any:
    """The app as `holdwater app` opens it, for somebody who has been here before."""
    return open_page()
