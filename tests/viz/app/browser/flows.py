"""What the tests of the flows share: a small tank, and pressing and waiting as a visitor would.

The machine may be slow or busy, so nothing is asserted at once after something was pressed: what
must come is waited for, and there is no fixed pause.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from playwright.sync_api import expect

from tests.viz.app.browser.harness import LONG_MS as LONG
from tests.viz.app.browser.harness import SIZES, overflow, pictures, violations

__all__ = ["LONG", "PAIR", "press", "reads", "stands", "tank_in", "turn_to"]

# Two days of a pair and their neighbours: quickly played, somebody is hurt, and swordtails swim
# where they are seen.
PAIR = """\
title = "Pair in little room"
days = 2

[tank]
size = "40 gallon breeder"

[[pieces]]
name = "pot"
kind = "pot"
size = "6 in"
x = "8 in"
y = "9 in"

[[pieces]]
name = "slate"
kind = "slate"
size = "8 in"
x = "27 in"
y = "9 in"

[[fish]]
name = "Flint"
species = "convict cichlid"
sex = "male"
length = "4 in"
established = { since_day = -30, owns = "pot", mate = "Wren" }

[[fish]]
name = "Wren"
species = "convict cichlid"
sex = "female"
length = "3.25 in"

[[fish]]
name = "others"
species = "convict cichlid"
count = 2
length = "2.5 in"

[[fish]]
name = "swordtails"
species = "swordtail"
count = 2
length = "2.5 in"

[breeding]
mode = "spontaneous"
"""


def tank_in(folder: Path) -> Path:
    """The small tank as a file."""
    file = folder / "pair.toml"
    file.write_text(PAIR, encoding="utf-8")
    return file


def turn_to(page: Any, name: str) -> None:
    """Turn to a page of the app by its tab."""
    tab = page.get_by_role("navigation").get_by_role("button", name=name)
    tab.click()
    expect(tab).to_have_attribute("aria-current", "page", timeout=LONG)


def press(page: Any, name: str, *, within: str = ".hw-middle") -> None:
    """Press a button of the middle column by its whole name."""
    page.locator(within).get_by_role("button", name=name, exact=True).click()


def reads(page: Any, words: Any, *, within: str = ".hw-middle") -> None:
    """Wait until words stand in a part of the page."""
    expect(page.locator(within)).to_contain_text(words, timeout=LONG)


def stands(page: Any, name: str) -> None:
    """Whether a page is accessible and fits its window at every size; takes its pictures."""
    found = violations(page)
    assert not found, "\n".join(found)
    before = page.viewport_size
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_function(f"innerWidth === {width}")
        settled(page, width)
    page.set_viewport_size(before)
    pictures(page, name)


def settled(page: Any, width: int) -> None:
    """Wait until nothing is wider than the window."""
    try:
        page.wait_for_function(
            "document.documentElement.scrollWidth <= document.documentElement.clientWidth",
            timeout=LONG / 4,
        )
    except Exception as late:
        wide = page.evaluate(
            """() => [...document.querySelectorAll("body *")]
                .filter((one) => one.getBoundingClientRect().right > innerWidth + 1)
                .map((one) => `${one.tagName} ${one.getAttribute("class")}`).slice(-5)"""
        )
        raise AssertionError(f"{width}: wider by {overflow(page)}: {wide}") from late
