"""The frame in a real browser: it stands, stays local, keeps what it should, says what fails."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.viz.app.browser.harness import SIZES, overflow, pictures, violations
from tests.viz.commands import SMALL


@pytest.mark.parametrize("shade", ["light", "dark"])
def test_the_page_stands_at_every_size_and_nothing_is_amiss(
    open_page: Callable[..., Any], shade: str
) -> None:
    page = open_page(shade=shade)
    page.wait_for_function("document.title === 'Convict pair, four feet - Holdwater'")
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(200)
        assert overflow(page) <= 0, (width, height)
        assert violations(page) == [], (width, height)
    pictures(page, f"frame-{shade}")


def test_how_it_looks_is_kept_in_this_browser(app_page: Any) -> None:
    page = app_page
    assert page.locator("html").get_attribute("data-shade") == "light"
    page.get_by_text("Display", exact=True).click()
    page.get_by_role("button", name="dark").click()
    page.get_by_role("switch", name="Large type").click()
    page.wait_for_selector('html[data-shade="dark"][data-type="large"]')
    size = page.evaluate("getComputedStyle(document.documentElement).fontSize")
    page.reload()
    page.wait_for_selector(".hw-frame")
    assert page.locator("html").get_attribute("data-shade") == "dark"
    assert page.evaluate("getComputedStyle(document.documentElement).fontSize") == size == "20px"
    page.get_by_text("Display", exact=True).click()
    assert page.get_by_role("switch", name="Large type").get_attribute("aria-checked") == "true"


def test_everything_is_reached_by_keyboard(app_page: Any) -> None:
    page = app_page
    reached = set()
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement?.textContent?.trim()"))
    assert "Display" in reached
    page.get_by_text("Display", exact=True).focus()
    page.keyboard.press("Enter")
    page.get_by_role("switch", name="Gentle").focus()
    page.keyboard.press("Space")
    page.wait_for_selector('html[data-gentle="yes"]')
    page.keyboard.press("Escape")
    page.wait_for_selector("details.hw-menu:not([open])")
    assert page.evaluate("document.activeElement.textContent.trim()") == "Display"


def test_a_file_of_the_command_line_is_there(
    open_page: Callable[..., Any], tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("tank") / "small.toml"
    path.write_text(SMALL.replace("Small tank", "Tank <b>of</b> mine"), encoding="utf-8")
    page = open_page(path)
    assert page.get_by_role("heading", name="Tank <b>of</b> mine").count() == 1  # text, not markup


def test_a_lost_connection_is_told_and_mended(app_page: Any) -> None:
    page = app_page
    page.evaluate(
        """() => {
            const line = document.querySelector(".hw-lost:not(.hw-gone)");
            globalThis.told = [];
            new MutationObserver(() => told.push(line.textContent.trim()))
                .observe(line, {characterData: true, childList: true, subtree: true});
            solara.debug.dropConnection();
        }"""
    )
    page.wait_for_function("told.length > 1 && told.at(-1) === ''")
    assert page.evaluate("told[0]").startswith("The connection to the program is lost")
    page.get_by_text("Display", exact=True).click()
    page.get_by_role("switch", name="Gentle").click()
    page.wait_for_selector('html[data-gentle="yes"]')
    # What was sent while the connection was down is told on the console, and is what was asked.
    page.wrong[:] = [one for one in page.wrong if "already in CLOSING or CLOSED" not in one]


def test_a_program_that_was_started_anew_is_told_and_nothing_is_lost(
    open_page: Callable[..., Any], programs: Callable[..., Any]
) -> None:
    page = open_page()
    page.get_by_text("Display", exact=True).click()
    page.get_by_role("switch", name="Gentle").click()
    page.wait_for_function(
        "sessionStorage.getItem('holdwater.tanks') !== null &&"
        "JSON.parse(localStorage.getItem('holdwater.look') ?? '{}').gentle === true"
    )
    port = page.program.port
    page.program.close()
    page.get_by_text("The connection to the program is lost").wait_for(timeout=60_000)
    programs("--port", port)
    page.evaluate("solara.debug.kernel().reconnect()")  # rather than wait for its next try
    again = page.get_by_role("button", name="Open the tank again")
    again.wait_for(timeout=120_000)
    again.click()
    page.wait_for_selector(".hw-frame")
    page.wait_for_selector('html[data-gentle="yes"]')
    page.wrong.clear()


def test_the_browser_keeps_the_tanks_and_gives_no_file_away(app_page: Any) -> None:
    page = app_page
    page.get_by_text("Display", exact=True).click()
    page.get_by_role("switch", name="Gentle").click()
    page.wait_for_function("sessionStorage.getItem('holdwater.tanks') !== null")
    kept = json.loads(page.evaluate("sessionStorage.getItem('holdwater.tanks')"))
    assert kept["tanks"][0]["text"].startswith("# ")
    cookies = page.context.cookies()
    assert cookies
    assert all(cookie["httpOnly"] for cookie in cookies)
    assert page.evaluate("document.cookie") == ""


def test_another_page_gets_neither_the_page_nor_its_socket(browser: Any, app_page: Any) -> None:
    """From a page of another origin on the same machine, as a stranger's page would be."""
    import http.server
    import threading

    class Strange(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(b"<!doctype html><title>strange</title>")

        def log_message(self, *_: object) -> None:
            pass

    server = http.server.HTTPServer(("127.0.0.1", 0), Strange)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    context = browser.new_context()
    try:
        page = context.new_page()
        page.goto(f"http://127.0.0.1:{server.server_port}/")
        target = app_page.program.origin
        socket = target.replace("http", "ws") + "/jupyter/api/kernels/abc/channels?session_id=x"
        opened = page.evaluate(
            """(url) => new Promise((done) => {
                const socket = new WebSocket(url);
                socket.onopen = () => done("open");
                socket.onerror = () => done("refused");
            })""",
            socket,
        )
        assert opened == "refused"
        fetched = page.evaluate(
            "(url) => fetch(url, {mode: 'no-cors'}).then(() => 'got', () => 'refused')",
            f"{target}/static/main-vuetify.js",
        )
        assert fetched == "refused"
    finally:
        context.close()
        server.shutdown()
        server.server_close()
        thread.join(5)


def test_nothing_but_the_page_and_its_files_is_served(app_page: Any, tmp_path: Path) -> None:
    import urllib.error
    import urllib.request

    origin = app_page.program.origin
    for path in ("/resourcez", "/readyz", "/x", "/_solara/api/evict/abc", "/_solara/cdn/x",
                 "/static/../pyproject.toml", "/browser-files/../../x", "/static/assets/../x",
                 "/jupyter/api/kernels/abc", "/static/public/x"):  # fmt: skip
        with pytest.raises(urllib.error.HTTPError) as refused:
            urllib.request.urlopen(origin + path)
        assert refused.value.code in (404, 405), path
        refused.value.close()


def test_a_part_of_the_page_may_take_its_time(app_page: Any) -> None:
    """anywidget gives up after two seconds where the browser lets it."""
    waited = """new Promise((done) => {
        AbortSignal.timeout(1).addEventListener("abort", () => done("given up"));
        setTimeout(() => done("patient"), 300);
    })"""
    assert app_page.evaluate(waited) == "patient"
