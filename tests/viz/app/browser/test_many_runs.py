"""Repeat and Compare in a real browser: rows come, stop, go on; one is watched; tanks compared."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.viz.app.browser.flows import LONG, press, reads, stands, tank_in, turn_to

ROWS = ".hw-runs-list [role=option]"


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tank_in(tmp_path_factory.mktemp("runs"))


def row_words(page: Any, place: int) -> str:
    """What a screen reader hears of a row."""
    row = page.locator(ROWS).nth(place)
    row.wait_for(timeout=LONG)
    return str(row.get_attribute("aria-label"))


def test_rows_come_and_are_stopped_and_go_on(app_page: Any) -> None:
    """In a month's tank, so that no machine has played all of it before it is stopped."""
    page = app_page
    turn_to(page, "Repeat")
    page.get_by_role("group", name="Runs").get_by_role("button", name="400").click()
    press(page, "Play 400 runs")
    stop = page.get_by_role("button", name="Stop here", exact=True)
    expect(page.locator(ROWS).first).to_be_visible(timeout=LONG)
    stop.click()
    reads(page, re.compile(r"\d+ of 400 runs, stopped"))
    rest = page.get_by_role("button", name=re.compile(r"^Play the other \d+$"))
    stopped = 400 - int(rest.inner_text().rpartition(" ")[2])
    assert 1 <= stopped < 400
    rest.click()
    page.wait_for_function(
        f"(before) => document.querySelectorAll('{ROWS}').length > before",
        arg=stopped,
        timeout=LONG,
    )
    stop.click()
    reads(page, re.compile(r"\d+ of 400 runs, stopped"))


def test_a_row_is_watched_as_exactly_that_run(open_page: Callable[..., Any], file: Path) -> None:
    page = open_page(file)
    turn_to(page, "Repeat")
    page.get_by_role("group", name="Runs").get_by_role("button", name="20, rough").click()
    press(page, "Play 20 runs")
    reads(page, re.compile(r"20 of 20 runs, in "))
    expect(page.locator(ROWS)).to_have_count(20, timeout=LONG)
    expect(page.locator(".hw-right")).to_contain_text("Rough: 20 runs.", timeout=LONG)
    stands(page, "repeat")

    words = row_words(page, 0)
    found = re.match(r"Run (\d+), 2 days: (.*)", words)
    assert found, words
    hurt = re.search(r"first hurt on day ([\d.]+), ([^,]+)|(\w[^,;]*) on day ([\d.]+)", found[2])
    assert hurt, words
    day, name = (hurt[1], hurt[2]) if hurt[1] else (hurt[4], hurt[3])
    # Whatever is told of the rows that are pointed at, none moves away under the hand.
    rows = [page.locator(ROWS).nth(place) for place in range(12)]
    rows[0].scroll_into_view_if_needed()
    stood = rows[0].evaluate("(row) => row.getBoundingClientRect().top + scrollY")
    for row in rows:
        row.hover()
        assert rows[0].evaluate("(row) => row.getBoundingClientRect().top + scrollY") == stood
    rows[0].click()
    page.wait_for_function("scrollY === 0", timeout=LONG)  # the tank is where one looks
    expect(page.locator(".hw-when")).to_contain_text(f", run {found[1]}", timeout=LONG)
    reads(page, f"This is run {found[1]} of the batch, exactly as it was played there.")
    # The very same run: the same fish is hurt on the same day, half an hour after it begins.
    told = page.locator(".hw-events li", has_text=name).filter(has_text=re.compile("hurt|torn"))
    for _ in range(8):
        if told.count():
            break
        before = page.locator(".hw-events").all_inner_texts()
        press(page, "Next event")
        page.wait_for_function(
            "(before) => document.querySelector('.hw-events')?.innerText !== before",
            arg="".join(before),
            timeout=LONG,
        )
    said = told.first.inner_text()
    when = re.search(r"day ([\d.]+)", said)
    assert when, said
    # Told when the leap ends in which it came.
    assert abs(float(when[1]) - float(day)) < 0.3, (words, said)
    press(page, "Watch a run of its own")
    expect(page.locator(".hw-when")).not_to_contain_text("run", timeout=LONG)


def test_two_tanks_are_compared_over_the_same_fish(
    open_page: Callable[..., Any], file: Path
) -> None:
    page = open_page(file)
    turn_to(page, "Compare")
    reads(page, "One tank is open.")
    press(page, "Go to Build")
    page.locator(".hw-drawers").get_by_role("button", name="Change one thing", exact=True).click()
    page.get_by_role("button", name="In 4 feet", exact=True).click()
    page.get_by_text("B differs from A in one thing.").wait_for(timeout=LONG)
    turn_to(page, "Compare")
    reads(page, "Differs from A in one thing: ")
    page.get_by_role("group", name="Runs of each tank").get_by_role(
        "button", name="20, rough"
    ).click()
    press(page, "Play 20 runs of each of the 2 tanks")
    reads(page, re.compile(r"20 of 20 runs of each tank, in "))
    verdict = page.locator(".hw-verdict")
    expect(verdict.locator("h3")).to_have_text(
        re.compile(r"B against A: (better|worse|no difference shown|too few runs to say)"),
        timeout=LONG,
    )
    figure = verdict.locator("svg.hw-pairs")
    expect(figure).to_have_attribute("aria-label", re.compile(r"better|alike|worse"), timeout=LONG)
    expect(verdict.locator("circle")).to_have_count(20, timeout=LONG)
    expect(page.locator(".hw-right")).to_contain_text("for the same fish", timeout=LONG)
    assert "--" not in page.locator(".hw-right").inner_text()
    stands(page, "compare")
    # A batch of both tanks: a row of the second is watched there.
    turn_to(page, "Repeat")
    page.get_by_role("button", name="Watch the worst run").click()
    expect(page.locator(".hw-when")).to_contain_text(", run ", timeout=LONG)
    tanks = page.get_by_role("group", name="Open tanks").get_by_role("button")
    expect(tanks.nth(1)).to_have_attribute("aria-pressed", "true", timeout=LONG)
