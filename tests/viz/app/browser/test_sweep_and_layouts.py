"""Sweep and better layouts in a real browser: chosen, played, read, opened, at every size."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.viz.app.browser.harness import SIZES, overflow, pictures, violations
from tests.viz.commands import SMALL

PATIENCE = 120_000  # ms: two suites may share two cores, and compile first


@pytest.fixture(scope="module")
def tank(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small tank that is played for a day."""
    path = tmp_path_factory.mktemp("swept") / "small.toml"
    path.write_text(SMALL.replace("days = 2", "days = 1"), encoding="utf-8")
    return path


def nothing_amiss(page: Any) -> None:
    """No page is too wide and nothing hinders who cannot see or point, at any size."""
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_function(
            "document.documentElement.scrollWidth <= document.documentElement.clientWidth",
            timeout=PATIENCE,
        )
        assert overflow(page) <= 0
        assert violations(page) == [], (width, height)
    page.set_viewport_size({"width": SIZES[0][0], "height": SIZES[0][1]})


def test_values_are_swept_and_a_point_is_opened(open_page: Callable[..., Any], tank: Path) -> None:
    page = open_page(tank)
    page.get_by_role("button", name="Compare", exact=True).click()
    section = page.get_by_role("region", name="How does it go with other values?")
    values = section.get_by_label("Its values")
    values.fill("30 in, 48 in")
    values.press("Tab")
    section.get_by_label("And besides").select_option(label="how many caves it has")
    second = section.get_by_label("Values of the second")
    second.fill("0, 1")
    second.press("Tab")
    section.get_by_role("button", name="20, rough").click()
    expect(section.get_by_role("button", name="20, rough")).to_have_attribute(
        "aria-pressed", "true", timeout=PATIENCE
    )
    section.get_by_role("button", name="Play the values").click()
    expect(section.get_by_text("80 of 80 runs, of 4 points")).to_be_visible(timeout=PATIENCE)
    expect(section.get_by_role("img")).to_have_count(2, timeout=PATIENCE)
    expect(section.get_by_role("table").first.get_by_role("row")).to_have_count(5)
    section.get_by_text("From value to value").click()
    nothing_amiss(page)
    section.scroll_into_view_if_needed()
    pictures(page, "sweep-light")
    with page.expect_download(timeout=PATIENCE) as handed:
        section.get_by_role("button", name="Tables, CSV").click()
    assert handed.value.suggested_filename == "small-tank-sweep.zip"
    section.get_by_role("button", name="Open 48 in, 1 as a tank of its own").click()
    expect(page.get_by_role("group", name="Open tanks").get_by_role("button")).to_have_count(
        2, timeout=PATIENCE
    )


def test_a_better_layout_is_searched_in_the_dark(open_page: Callable[..., Any], tank: Path) -> None:
    page = open_page(tank, shade="dark")
    page.get_by_role("button", name="Build", exact=True).click()
    page.get_by_role("button", name="Better layout").click()
    page.get_by_role("button", name="Search for a better layout").click()
    search = page.get_by_role("region", name="The search")
    expect(search.get_by_role("progressbar")).to_be_visible(timeout=PATIENCE)
    expect(search.get_by_text("layout was found")).to_be_visible(timeout=PATIENCE)
    search.get_by_text("How it was searched").click()
    expect(search.get_by_text("an evolution strategy about the best")).to_be_visible()
    nothing_amiss(page)
    search.scroll_into_view_if_needed()
    pictures(page, "layouts-dark")
