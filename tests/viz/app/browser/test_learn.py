"""Learn in a real browser: a class at its board, a pad and its reveal, challenges, a story."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from playwright.sync_api import expect

from tests.viz.app.browser.flows import LONG, press, reads, stands, turn_to
from viz.app.lessons.counting import Counted


def lesson(page: Any, name: str) -> None:
    """Open Learn, and a lesson or challenge in it."""
    turn_to(page, "Learn")
    press(page, name)
    expect(page.get_by_role("button", name="All lessons and challenges")).to_be_visible(
        timeout=LONG
    )


def test_a_group_joins_a_class_and_its_dots_come(open_page: Callable[..., Any]) -> None:
    """Two browsers, as in a class: what the one does is seen in the other."""
    teacher, group = open_page(), open_page()
    turn_to(teacher, "Learn")
    reads(teacher, "Challenges")
    stands(teacher, "learn")
    lesson(teacher, "One tank is not an experiment")
    teacher.get_by_label("What the class asks").select_option("spread food")
    press(teacher, "Open a board")
    reads(teacher, "0 groups joined, 0 done.")
    reads(teacher, "Do ten youngsters bite each other less")
    code = teacher.locator(".hw-code").inner_text()
    assert re.fullmatch(r"([A-Z] ){3}[A-Z]", code)

    lesson(group, "One tank is not an experiment")
    field = group.get_by_label("Code of the class")
    field.fill("aeio")
    field.press("Enter")
    expect(group.get_by_role("alert")).to_contain_text("no class here has the code AEIO")
    field.fill(code.lower())
    field.press("Enter")
    reads(group, "You are group 1.")
    reads(group, re.compile(r"Your fish took [\d.]+ bites an hour with one place, and [\d.]+"))
    reads(group, "The board is shown when your teacher opens it.")
    reads(teacher, "1 group joined, 1 done.")
    expect(teacher.locator("svg.hw-chart circle")).to_have_count(2, timeout=LONG)
    stands(teacher, "learn-board")
    press(teacher, "Show the board to everybody")
    expect(group.locator("svg.hw-chart circle.hw-own")).to_have_count(2, timeout=LONG)
    reads(group, "One pair of tanks.")
    press(group, "Watch five places")
    expect(group).to_have_title(re.compile("^Group 1, five places"), timeout=LONG)
    stands(group, "learn-group")


def test_a_sitting_with_the_pad_and_its_reveal(app_page: Any) -> None:
    page = app_page
    lesson(page, "Seeing and counting")
    page.get_by_role("group", name="Minutes").get_by_role("button", name="2", exact=True).click()
    press(page, "Sit down")
    chases = page.get_by_role("button", name=re.compile("^Chases: "))
    for count in (1, 2, 3):
        chases.click()
        expect(chases).to_have_text(f"Chases: {count}", timeout=LONG)
    press(page, "Take the last mark back")
    expect(chases).to_have_text("Chases: 2", timeout=LONG)
    stands(page, "learn-pad")
    turn_to(page, "Watch")  # where time can be made to go faster
    press(page, "100 \N{MULTIPLICATION SIGN}")
    page.wait_for_function(
        "Number(document.querySelector('.hwf')?.dataset.day ?? 0) > 0.4185", timeout=LONG
    )
    turn_to(page, "Learn")
    reads(page, "The time is up. Before you look: which of them chased most?")
    page.get_by_label("It was").select_option(index=2)
    press(page, "Show what there was")
    row = page.locator(".hw-counts tr", has_text="Chases").locator("td")
    expect(row).to_have_count(2, timeout=LONG)
    expect(row.first).to_have_text("2", timeout=LONG)
    there = int(row.nth(1).inner_text())
    reads(page, Counted("chases", 2, there).words)  # each sitting has fish of its own
    stands(page, "learn-reveal")


def test_a_challenge_is_failed_and_passed(app_page: Any) -> None:
    page = app_page
    lesson(page, "6. A pair out of how many?")
    reads(page, "It stands as it was given.")
    judge = page.get_by_role("button", name=re.compile("^Judge this tank: "))
    judge.click()
    came = page.get_by_role("status", name="What came of it")
    expect(came).to_contain_text("Not passed", timeout=LONG)
    expect(judge).to_be_enabled(timeout=LONG)
    stands(page, "learn-failed")
    page.get_by_label("How many: youngsters").select_option("7")
    expect(came).to_contain_text("Not passed, as the tank was then", timeout=LONG)
    expect(came.get_by_role("button")).to_have_count(0, timeout=LONG)
    judge.click()
    expect(came.locator("h3")).to_have_text("Passed", timeout=LONG)
    reads(page, "What there is to learn")


def test_the_story_of_the_parents_is_read_and_its_reason_taken_away(app_page: Any) -> None:
    page = app_page
    lesson(page, "Why parents turn on neighbours")
    reads(page, "Step 1 of 5")
    measured = page.locator(".hw-middle .hw-goal")
    expect(measured.first).to_be_visible(timeout=LONG)
    ground = []
    for step, title in ((1, "Before"), (2, "They spawn"), (3, "The young swim")):
        reads(page, f"Step {step} of 5")
        reads(page, title)
        expect(measured).to_contain_text(re.compile(r"holds [\d.]+ m2"), timeout=LONG)
        ground.append(measured.inner_text())
        expect(page).to_have_title(re.compile("^Why parents turn on neighbours"), timeout=LONG)
        press(page, "Next")
    assert len(set(ground)) == 3, ground
    reads(page, "Step 4 of 5")
    expect(measured).to_have_count(2, timeout=LONG)
    press(page, "Next")
    reads(page, "Take it away")
    expect(page.get_by_role("button", name="Next", exact=True)).to_be_disabled(timeout=LONG)
    page.get_by_role("button", name=re.compile("^Play both, ")).click()
    expect(page.locator(".hw-middle svg.hw-chart")).to_be_visible(timeout=LONG)
    expect(measured.first).to_contain_text("the neighbours were bitten more", timeout=LONG)
    stands(page, "learn-parents")


def test_learn_stands_in_the_dark_in_large_type_and_gently(
    open_page: Callable[..., Any],
) -> None:
    page = open_page(shade="dark", motion="reduce")
    page.get_by_text("Display", exact=True).click()
    page.get_by_role("switch", name="Large type").click()
    page.get_by_role("switch", name="Gentle").click()
    page.wait_for_selector('html[data-type="large"][data-gentle="yes"]')
    page.get_by_text("Display", exact=True).click()
    lesson(page, "Why parents turn on neighbours")
    expect(page.locator(".hw-middle .hw-goal").first).to_be_visible(timeout=LONG)
    stands(page, "learn-dark-large-gentle")
