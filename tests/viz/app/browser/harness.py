"""The app in a real browser: the real command in another process, and what must never happen.

Whatever a test does, it fails if the page raises an error, asks for anything that is not on this
machine, gets an answer of 400 or above, or if the program writes a traceback.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tarfile
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import platformdirs
import pytest

from tests.viz.app.browser.counted import SIGN as ALIVE

TOP = Path(__file__).parents[4]
SIZES = ((1280, 800), (820, 1180), (390, 844))
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
# No window of its own, no talk with anybody, and no name but this machine's can be found.
ARGUMENTS = (
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-gpu",
    "--no-first-run",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
)
AXE = ("axe-core", "4.10.3")
AXE_SHA256 = "880970c081707360e64f34cea25ff91892f5bc95675b0776925b9709dd8a68bb"
START_S = 180.0
# For what must come: two Pythons may share two cores, and compile first.
LONG_MS = int(os.environ.get("HOLDWATER_WAIT_MS", "120000"))
# anywidget throws this when a widget is not there within two seconds, as on a machine that computes
# for others; it is there a moment later. One that cannot be made at all throws another error.
LATE = "[anywidget] Failed to initialize model."
SETTLE = 50  # looks at a page, 0.2 s apart, before it counts as too wide


def required() -> bool:
    """Whether a missing browser is a failure rather than a reason to skip."""
    return bool(os.environ.get("CI")) or os.environ.get("HOLDWATER_BROWSER") == "required"


def missing(reason: str) -> Any:
    """Skip, or fail where the browser tests are required."""
    if required():
        pytest.fail(reason)
    pytest.skip(reason)


def chromium() -> str:
    """Where the browser is; a test without one is skipped."""
    named = os.environ.get("HOLDWATER_CHROMIUM")
    found = named or next(filter(None, map(shutil.which, BROWSERS)), None)
    return found or missing("there is no Chromium on this machine")


class Program:
    """`holdwater app` in a process of its own.

    Parameters
    ----------
    arguments
        After `app`.
    environment
        Variables beside those of this process.
    folder
        In which it is started.
    counted
        Whether it can say what is alive in it.
    module
        What is run as `holdwater`, where it is not counted.
    """

    def __init__(
        self,
        *arguments: str,
        environment: dict[str, str] | None = None,
        folder: Path = TOP,
        counted: bool = False,
        module: str = "viz.cli",
    ) -> None:
        words = ["tests.viz.app.browser.counted"] if counted else [module, "app"]
        command = [sys.executable, "-m", *words, "--no-browser", *arguments]
        if "--keep" not in arguments:  # nothing of a test goes into the data of whoever runs it
            command += ["--keep", "none"]
        self.said = ""
        self.process = subprocess.Popen(
            command,
            cwd=folder,
            env={**os.environ, "PYTHONPATH": str(TOP), **(environment or {})},
            stderr=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            text=True,
        )
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()
        self.url = self._wait()

    def _read(self) -> None:
        assert self.process.stderr is not None
        for line in self.process.stderr:
            self.said += line

    def _wait(self) -> str:
        ends = time.monotonic() + START_S
        while time.monotonic() < ends and self.process.poll() is None:
            found = re.search(r"http://\S+/", self.said)
            if found:
                return found[0]
            time.sleep(0.05)
        self.close()
        if "not on this machine yet" in self.said:
            missing("the browser files of the app cannot be fetched here")
        pytest.fail(f"the app did not start:\n{self.said}")

    @property
    def origin(self) -> str:
        """Where its page is, without the last slash."""
        return self.url.rstrip("/")

    @property
    def port(self) -> str:
        """The port of its page."""
        return self.origin.rpartition(":")[2]

    def alive(self) -> dict[str, Any]:
        """Return what is alive in it: `objects` and `threads` by name, `all`, `memory_mb`."""
        before = self.said.count(ALIVE)
        self.process.send_signal(signal.SIGUSR1)
        ends = time.monotonic() + START_S
        while time.monotonic() < ends:
            lines = [line for line in self.said.splitlines(keepends=True) if ALIVE in line]
            if len(lines) > before and lines[-1].endswith("\n"):
                found: dict[str, Any] = json.loads(lines[-1].partition(ALIVE)[2])
                return found
            time.sleep(0.05)
        raise AssertionError(f"it did not say what is alive in it:\n{self.said}")

    def close(self) -> None:
        """End it, and wait for it."""
        self.process.terminate()
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        self._reader.join(5)
        if self.process.stderr is not None:
            self.process.stderr.close()


@contextmanager
def watched(page: Any, origin: str) -> Iterator[list[str]]:
    """Collect what must not happen on a page; the list is asserted empty at the end.

    Parameters
    ----------
    page
        Of playwright.
    origin
        Of the program; everything else is foreign.
    """
    wrong: list[str] = []
    socket = f"{origin}/".replace("http", "ws", 1)

    def asked(request: Any) -> None:
        if not request.url.startswith((f"{origin}/", socket, "data:", "blob:")):
            wrong.append(f"asked for {request.url}")

    def answered(response: Any) -> None:
        if response.status >= 400:
            wrong.append(f"{response.status} for {response.url}")

    def said(message: Any) -> None:
        if message.type == "error":
            wrong.append(f"console: {message.text}")

    page.on("request", asked)
    page.on("response", answered)
    page.on("console", said)
    def failed(error: Any) -> None:
        if LATE not in str(error):
            wrong.append(f"page error: {error}")

    page.on("pageerror", failed)
    yield wrong
    assert not wrong, "\n".join(wrong)


def axe_source() -> str:
    """The text of axe-core, fetched once by the npm client and verified; no part of ours."""
    name, version = AXE
    kept = Path(platformdirs.user_cache_dir("holdwater")) / "tests" / f"{name}-{version}.js"
    if not kept.exists():
        npm = shutil.which("npm") or missing("there is no npm client to fetch axe-core")
        with tempfile.TemporaryDirectory() as folder:
            done = subprocess.run(
                [npm, "pack", f"{name}@{version}", "--silent", "--pack-destination", folder],
                cwd=folder, capture_output=True, timeout=120, check=False,
            )  # fmt: skip
            packed = sorted(Path(folder).glob("*.tgz"))
            if done.returncode or not packed:
                missing("axe-core cannot be fetched here")
            with tarfile.open(packed[0]) as archive:
                stream = archive.extractfile("package/axe.min.js")
                assert stream is not None
                content = stream.read()
        assert hashlib.sha256(content).hexdigest() == AXE_SHA256
        kept.parent.mkdir(parents=True, exist_ok=True)
        passing = kept.with_suffix(f".{os.getpid()}")
        passing.write_bytes(content)
        passing.replace(kept)
    text = kept.read_text("utf-8")
    assert hashlib.sha256(text.encode()).hexdigest() == AXE_SHA256
    return text


def violations(page: Any) -> list[str]:
    """What axe-core finds on a page, one line each.

    Parameters
    ----------
    page
        Of playwright.

    A colour on its way from one to another is neither of them: transitions are brought to their
    end first. One that began while axe looked is brought to its end as well and looked at again;
    what is wrong with a page at rest is wrong the second time too.
    """
    page.evaluate(axe_source())
    return _violations_at_rest(page) and _violations_at_rest(page)


def _violations_at_rest(page: Any) -> list[str]:
    found = page.evaluate(
        """() => {
            for (const one of document.getAnimations())
                if (one instanceof CSSTransition) one.finish();
            return axe.run(document, {resultTypes: ["violations"]});
        }"""
    )
    return [
        f"{one['id']}: {one['help']}: {node['html'][:160]}"
        for one in found["violations"]
        for node in one["nodes"]
    ]


def overflow(page: Any) -> int:
    """By how many pixels a page is wider than its window, once it has had time to settle.

    A page is laid out anew after its window changed; that takes a while where others compute.
    """
    for _ in range(SETTLE):
        wider: int = page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        if wider <= 0:
            break
        page.wait_for_timeout(200)
    return wider


def pictures(page: Any, name: str) -> None:
    """Take screenshots at three sizes, where ``HOLDWATER_PICTURES`` names a folder.

    Parameters
    ----------
    page
        Of playwright; its size is put back.
    name
        Begins the files' names.
    """
    folder = os.environ.get("HOLDWATER_PICTURES")
    if not folder:
        return
    Path(folder).mkdir(parents=True, exist_ok=True)
    before = page.viewport_size
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(400)
        page.screenshot(path=str(Path(folder) / f"{name}-{width}.png"))
    page.set_viewport_size(before)
