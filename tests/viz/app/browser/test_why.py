"""Why in a real browser: runs are asked why, one thing is taken away, the floor shows it."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.viz.app.browser.harness import SIZES, overflow, pictures, violations
from tests.viz.commands import SMALL

LONG = 120_000  # ms: the rules may have to be compiled first


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("why") / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    return path


def fits(page: Any) -> None:
    """Wait until the page is no wider than its window."""
    page.wait_for_function(
        "document.documentElement.scrollWidth <= document.documentElement.clientWidth"
    )
    assert overflow(page) <= 0


def test_runs_are_asked_why_and_one_thing_is_taken_away(
    open_page: Callable[..., Any], small: Path
) -> None:
    page = open_page(small)
    page.get_by_role("button", name="Why are they hurt? Ask many runs").click(timeout=LONG)
    page.get_by_role("heading", name="Why they are hurt").wait_for(timeout=LONG)
    page.get_by_role("button", name="20, rough").click()
    page.get_by_role("button", name="Play 20 runs").click(timeout=LONG)
    page.get_by_role("heading", name="Take it away").wait_for(timeout=LONG)
    floor = page.locator(".hwy svg")
    page.locator(".hwy circle").first.wait_for(state="attached", timeout=LONG)
    expect(floor).to_have_attribute("aria-label", re.compile("Half of the injury"), timeout=LONG)
    switch = page.get_by_role("switch", name="with every fish average in temper, size and strength")
    switch.click()
    expect(switch).to_have_attribute("aria-checked", "true", timeout=LONG)
    page.locator(".hw-taking .hw-change, .hw-taking p", has_text="injury").first.wait_for(
        timeout=LONG
    )
    page.get_by_role("button", name="average fish").click(timeout=LONG)
    page.locator(".hw-sentence", has_text="With every fish average").wait_for(timeout=LONG)
    for summary in page.locator(".hw-more > summary").all():
        summary.click()
    page.get_by_role("table", name="Injury by place").wait_for(timeout=LONG)
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        fits(page)
        assert violations(page) == [], (width, height)
    pictures(page, "why")
    with page.expect_download(timeout=LONG) as download:
        page.get_by_role("button", name="Reasons, JSON").click()
    told = json.loads(Path(download.value.path()).read_text("utf-8"))
    assert told["format"] == "holdwater why 1"
    assert [one["key"] for one in told["reasons"][0]["taken"]] == ["individuality"]
    page.set_viewport_size({"width": SIZES[2][0], "height": SIZES[2][1]})
    page.get_by_text("Display", exact=True).click()
    page.get_by_role("button", name="dark").click()
    page.get_by_role("switch", name="Gentle").click()
    page.get_by_role("switch", name="Large type").click()
    page.wait_for_selector(
        'html[data-gentle="yes"][data-type="large"][data-shade="dark"]', timeout=LONG
    )
    page.get_by_text("Display", exact=True).click()
    page.locator(".hwy .hwy-ring").first.wait_for(state="attached", timeout=LONG)
    expect(page.locator(".hwy .hwy-disc")).to_have_count(0, timeout=LONG)
    fits(page)
    apart = """() => {
        const boxes = [...document.querySelectorAll(".hw-tabs button")].map((b) => {
            const range = document.createRange();
            range.selectNodeContents(b);
            return range.getBoundingClientRect();
        });
        return boxes.every((box, k) => box.left >= 0 && box.right <= innerWidth
            && (k === 0 || box.left >= boxes[k - 1].right));
    }"""
    page.wait_for_function(apart)
    assert violations(page) == []
    pictures(page, "why-dark-gentle-large")
