"""The first visit in a real browser, and a tank that is not saved over a reload."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.viz.app.browser.harness import overflow, pictures, violations

LONG = 120_000  # ms; where nothing is compiled yet, or others use the machine


def test_somebody_new_is_greeted_and_opens_a_longer_tank(open_page: Callable[..., Any]) -> None:
    page = open_page(been=False)
    for words in ("What shall happen?", "Who lives here", "They spawn now", "Add a hiding place"):
        page.get_by_text(words).first.wait_for(timeout=LONG)
    assert overflow(page) <= 0
    assert violations(page) == []
    pictures(page, "first-visit")
    page.get_by_role("button", name="Make it six feet").click()
    page.get_by_role("group", name="Open tanks").wait_for(timeout=LONG)
    page.wait_for_function("localStorage.getItem('holdwater.been') === 'true'")
    page.get_by_text("What shall happen?").wait_for(state="detached", timeout=LONG)


def test_a_tank_that_is_not_saved_outlives_a_reload(open_page: Callable[..., Any]) -> None:
    page = open_page(been=False)
    page.get_by_role("button", name="Make it six feet").click(timeout=LONG)
    tanks = page.get_by_role("group", name="Open tanks").get_by_role("button")
    tanks.nth(1).wait_for(timeout=LONG)
    names = tanks.all_inner_texts()
    page.wait_for_function(
        "localStorage.getItem('holdwater.been') === 'true' &&"
        "JSON.parse(sessionStorage.getItem('holdwater.tanks') ?? '{}').tanks?.length === 2"
    )
    page.reload()
    tanks.nth(1).wait_for(timeout=LONG)
    assert tanks.all_inner_texts() == names
    page.get_by_text("not saved").wait_for(timeout=LONG)
    page.get_by_text("What shall happen?").wait_for(state="detached", timeout=LONG)
