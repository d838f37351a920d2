"""Pages: the app in a real Chromium, and what is measured of it from inside and outside."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from tests.viz.app.browser.harness import ARGUMENTS, SIZES, Program, chromium

T = TypeVar("T")

LONG_MS = 120_000
BEEN = 'localStorage.setItem("holdwater.been", "true");'
# In a class every browser has a machine of its own. Here all share two cores, so all but the one
# that is looked at draw twice a second; what they get from the program and send it is the same.
SELDOM = """
const every = requestAnimationFrame.bind(globalThis);
globalThis.requestAnimationFrame = (draw) => setTimeout(() => every(draw), 500);
"""
GAPS = """(seconds) => new Promise((done) => {
    const gaps = [];
    let before = null;
    const began = performance.now();
    const step = (now) => {
        if (before !== null) gaps.push(now - before);
        before = now;
        if (now - began < 1000 * seconds) requestAnimationFrame(step);
        else done(gaps);
    };
    requestAnimationFrame(step);
})"""
# From the press to the moment at which the button says the other word.
PRESS = """(words) => new Promise((done, failed) => {
    const find = (one) => [...document.querySelectorAll("button")]
        .find((button) => button.textContent.trim() === one);
    const [from, to] = find(words[0]) ? words : [words[1], words[0]];
    const began = performance.now();
    const told = () => {
        if (!find(to)) return false;
        watch.disconnect();
        clearTimeout(late);
        done(performance.now() - began);
        return true;
    };
    const watch = new MutationObserver(told);
    watch.observe(document.body, {childList: true, subtree: true, characterData: true});
    const late = setTimeout(() => failed(new Error(`no answer to ${from}`)), 60000);
    find(from).click();
})"""
TURN = """(name) => new Promise((done, failed) => {
    const tab = [...document.querySelectorAll("nav.hw-tabs button")]
        .find((button) => button.textContent.trim() === name);
    const began = performance.now();
    const told = () => {
        if (tab.getAttribute("aria-current") !== "page") return;
        watch.disconnect();
        clearTimeout(late);
        done(performance.now() - began);
    };
    const watch = new MutationObserver(told);
    watch.observe(document.body, {attributes: true, subtree: true, childList: true});
    const late = setTimeout(() => failed(new Error(`no ${name}`)), 60000);
    tab.click();
})"""
FRAMES = "Number(document.querySelector('.hwf')?.dataset.frames || 0)"


@contextmanager
def started_browser() -> Iterator[Any]:
    """Chromium without a window, for the length of a block."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=list(ARGUMENTS))
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def program(*arguments: str, folder: Path, counted: bool = True) -> Iterator[Program]:
    """The app in a process of its own, which keeps its runs in a folder of the measurement."""
    made = Program(*arguments, "--keep", str(folder), counted=counted)
    try:
        yield made
    finally:
        made.close()


def opened(browser: Any, url: str, *, seldom: bool = False, watch: bool = True) -> Any:
    """Return a page that lives, in a browser profile of its own.

    Parameters
    ----------
    browser
        Of `started_browser`.
    url
        Of the program.
    seldom
        Whether it draws twice a second.
    watch
        Whether to wait until the tank on it lives.
    """
    context = browser.new_context(viewport={"width": SIZES[0][0], "height": SIZES[0][1]})
    context.add_init_script(BEEN + (SELDOM if seldom else ""))
    page = context.new_page()
    page.set_default_timeout(LONG_MS)
    page.goto(url)
    page.wait_for_selector(".hw-frame")
    if watch:
        page.wait_for_function(f"{FRAMES} > 3")
        page.get_by_role("button", name="Pause", exact=True).wait_for()
    return page


def ready_s(browser: Any, url: str) -> float:
    """Return the seconds from asking for the page to a tank that moves, in a fresh profile."""
    context = browser.new_context(viewport={"width": SIZES[0][0], "height": SIZES[0][1]})
    context.add_init_script(BEEN)
    page = context.new_page()
    page.set_default_timeout(LONG_MS)
    began = time.perf_counter()
    page.goto(url)
    page.wait_for_function(f"{FRAMES} > 0")
    took = time.perf_counter() - began
    closed(page)
    return took


def closed(page: Any) -> None:
    """Leave a page as a person does, and close its profile."""
    page.goto("about:blank")
    page.wait_for_timeout(700)  # its last word is on the way
    page.context.close()


def processor_s(program: Program) -> float:
    """Return the processor time (s) the program has taken so far, all its threads together."""
    fields = Path(f"/proc/{program.process.pid}/stat").read_text("ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


@dataclass(frozen=True, slots=True)
class Share:
    """What the program did in a stretch of time.

    Parameters
    ----------
    core
        Share of one core it took.
    frames_per_s
        Frames a second that came to each page.
    """

    core: float
    frames_per_s: tuple[float, ...]


def share_of(program: Program, pages: Sequence[Any], *, seconds: float) -> Share:
    """Watch pages for a while.

    Parameters
    ----------
    program
        Behind them.
    pages
        That live.
    seconds
        How long.
    """
    took, began = processor_s(program), time.perf_counter()
    frames = [(page.evaluate(FRAMES), time.perf_counter()) for page in pages]
    time.sleep(seconds)
    core = (processor_s(program) - took) / (time.perf_counter() - began)
    after = [(page.evaluate(FRAMES), time.perf_counter()) for page in pages]
    return Share(
        core,
        tuple((b[0] - a[0]) / (b[1] - a[1]) for a, b in zip(frames, after, strict=True)),
    )


def gaps_ms(page: Any, *, seconds: float) -> np.ndarray:
    """Return the times between the pictures of a page (ms)."""
    return np.array(page.evaluate(GAPS, seconds))


def percentile(values: Sequence[float] | np.ndarray, share: float) -> float:
    """Return a percentile of values."""
    return float(np.percentile(np.asarray(values), share))


def presses_ms(page: Any, *, times: int) -> list[float]:
    """Return how long presses of *Pause* and *Play* took to be answered on the screen (ms)."""
    found = []
    for _ in range(times):
        found.append(page.evaluate(PRESS, ["Pause", "Play"]))
        page.wait_for_timeout(120)
    return found


def turns_ms(page: Any, names: Sequence[str]) -> list[float]:
    """Return how long it took to turn to pages of the app (ms)."""
    found = []
    for name in names:
        found.append(page.evaluate(TURN, name))
        page.wait_for_timeout(300)
    return found


def best(tries: Sequence[T], key: Callable[[T], float]) -> T:
    """Return the try with the least of something: what else the machine does only adds."""
    return min(tries, key=key)
