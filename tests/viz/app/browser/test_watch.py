"""Watch in a real browser: a tank that lives, hands on it, its futures, and its end by a fault."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.viz.app.browser.flows import LONG, press, reads, stands, tank_in, turn_to
from tests.viz.app.browser.harness import Program, watched

FRAMES = "Number(document.querySelector('.hwf')?.dataset.frames ?? 0)"
DAY = "Number(document.querySelector('.hwf')?.dataset.day ?? 0)"


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tank_in(tmp_path_factory.mktemp("watch"))


def living(page: Any) -> None:
    """Wait until frames arrive."""
    page.wait_for_function(f"{FRAMES} > 5", timeout=LONG)
    expect(page.get_by_role("button", name="Next event")).to_be_visible(timeout=LONG)


def test_a_tank_is_watched(open_page: Callable[..., Any], file: Path) -> None:
    page = open_page(file)
    living(page)
    before = page.evaluate(f"[{FRAMES}, {DAY}]")
    page.wait_for_function(
        f"([frames, day]) => {FRAMES} > frames + 5 && {DAY} > day", arg=before, timeout=LONG
    )
    press(page, "100 \N{MULTIPLICATION SIGN}")
    page.wait_for_function(f"(day) => {DAY} > day + 0.003", arg=before[1], timeout=LONG)
    page.locator(".hw-left").get_by_role("button", name=re.compile("^1, Flint")).click()
    expect(page.locator(".hw-right h2")).to_have_text("Flint", timeout=LONG)
    press(page, "Pause")
    expect(page.get_by_role("button", name="Play", exact=True)).to_be_visible(timeout=LONG)
    for name in ("what it sees", "tracks", "bites"):
        switch = page.get_by_role("switch", name=name)
        switch.click()
        expect(switch).to_have_attribute("aria-checked", "true", timeout=LONG)
    stands(page, "watch")


def test_a_fish_is_pressed_on_the_floor(open_page: Callable[..., Any], file: Path) -> None:
    """Where it swims, the tank at rest: its name, and what it does, stand on the right."""
    page = open_page(file)
    living(page)
    press(page, "Pause")
    expect(page.get_by_role("button", name="Play", exact=True)).to_be_visible(timeout=LONG)
    name = page.locator(".hw-right h2")
    for fish, called in ((1, "Wren"), (0, "Flint")):
        for _ in range(40):  # frames that were under way may still come
            page.mouse.click(*page.evaluate(f"document.querySelector('.hwf').hwWhere({fish})"))
            if name.all_inner_texts() == [called]:
                break
            page.wait_for_timeout(250)
        expect(name).to_have_text(called, timeout=LONG)
        row = page.locator(".hw-left").get_by_role("button", name=re.compile(f"^{fish + 1}, "))
        expect(row).to_have_attribute("aria-pressed", "true", timeout=LONG)


def test_the_pair_spawns_and_hands_are_on_the_tank(
    open_page: Callable[..., Any], file: Path
) -> None:
    page = open_page(file)
    living(page)
    ground = page.locator(".hw-right")
    expect(ground).to_contain_text("of the floor is open ground", timeout=LONG)
    press(page, "They spawn now")
    expect(page.locator(".hw-left")).to_contain_text("guards eggs", timeout=LONG)
    reads(page, "The pair spawns.")
    expect(ground).to_contain_text(
        re.compile(r"Flint and Wren hold [\d.]+ sq ft, \d+ % of the floor"), timeout=LONG
    )
    expect(page.get_by_role("button", name="They spawn now", exact=True)).to_be_disabled(
        timeout=LONG
    )
    press(page, "Feed left")
    reads(page, "Food falls at the left.")
    page.locator(".hw-left").get_by_role("button", name=re.compile("^6, ")).click()
    press(page, "Move swordtails 2 out")
    expect(page.locator(".hw-left")).to_contain_text("taken out", timeout=LONG)
    press(page, "Put swordtails 2 back")
    reads(page, "swordtails 2 is put back")


def test_the_futures_of_a_moment_are_played(open_page: Callable[..., Any], file: Path) -> None:
    page = open_page(file)
    living(page)
    branch = page.get_by_role("region", name="Branch here")
    branch.get_by_role("button", name="2 days", exact=True).click()
    branch.get_by_role("button", name="Branch here", exact=True).click()
    expect(branch).to_contain_text("What if the pair spawns on day 0.", timeout=LONG)
    branch.get_by_role("button", name="Branch anew", exact=True).wait_for(timeout=LONG)
    expect(branch.locator("svg.hw-marks")).to_have_count(2, timeout=LONG)
    expect(branch.locator(".hw-answer")).to_contain_text(
        re.compile("better|worse|[Nn]o difference"), timeout=LONG
    )
    stands(page, "branch")
    branch.get_by_role("button", name="Branch anew", exact=True).click()
    expect(branch).to_contain_text("Copy this very moment", timeout=LONG)


@pytest.fixture
def faulty(browser: Any, file: Path, tmp_path: Path) -> Iterator[tuple[Any, Path, Program]]:
    """A page of a program whose living tank fails while a certain file is there."""
    fault = tmp_path / "fault"
    program = Program(
        str(file),
        module="tests.viz.app.browser.failing",
        environment={"HOLDWATER_TEST_FAULT": os.fspath(fault)},
    )
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    context.set_default_timeout(LONG)
    context.add_init_script('localStorage.setItem("holdwater.been", "true")')
    page = context.new_page()
    with watched(page, program.origin):
        page.goto(program.url)
        yield page, fault, program
        context.close()
    program.close()


def test_a_tank_that_fails_says_so_and_begins_again(faulty: tuple[Any, Path, Program]) -> None:
    page, fault, program = faulty
    living(page)
    fault.touch()
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("This tank has stopped", timeout=LONG)
    turn_to(page, "Repeat")
    reads(page, "Many runs of this tank")
    turn_to(page, "Watch")
    expect(alert).to_contain_text("This tank has stopped", timeout=LONG)
    fault.unlink()
    alert.get_by_role("button", name="Begin this run again").click()
    expect(page.locator(".hw-when")).to_contain_text("Day 0, 09:0", timeout=LONG)
    living(page)
    assert "on purpose" in program.said
    assert "on purpose" not in page.content()
