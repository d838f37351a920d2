"""`holdwater app` as a process: it starts in a hostile environment, answers, and closes quietly."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.viz.app.browser.harness import missing
from tests.viz.commands import SMALL, TOP

HOSTILE = {
    "HOST": "0.0.0.0",
    "SOLARA_MODE": "development",
    "SOLARA_SESSION_HTTP_ONLY": "false",
    "SOLARA_OAUTH_PRIVATE": "true",
    "SOLARA_APP": "os",
    "UVICORN_HOST": "0.0.0.0",
    "UVICORN_PORT": "1",
    "FORWARDED_ALLOW_IPS": "*",
    "HOLDWATER_APP_FILE": "/etc/hostname",
    "HOLDWATER_APP_KEEP": "/etc",
}


def started(*arguments: str, **environment: str) -> tuple[subprocess.Popen[str], str]:
    process = subprocess.Popen(
        [sys.executable, "-m", "viz.cli", "app", "--no-browser", "--keep", "none", *arguments],
        cwd=TOP,
        env={**os.environ, "PYTHONPATH": str(TOP), **environment},
        stderr=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stderr is not None
    said = ""
    while "http://" not in said and process.poll() is None:
        said += process.stderr.readline()
    if process.poll() is not None:
        said += process.stderr.read()
        if "not on this machine yet" in said:
            missing("the browser files of the app cannot be fetched here")
        pytest.fail(said)
    return process, said


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str]]:
    """Origin of a program that was started with a hostile environment, and what it said."""
    home = tmp_path_factory.mktemp("home")
    path = home / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    process, said = started(str(path), **HOSTILE)
    (origin,) = re.findall(r"http://\S+(?=/)", said)
    yield origin, said
    process.send_signal(signal.SIGINT)
    out, after = process.communicate(timeout=20)
    assert (process.returncode, out, after) == (0, "", "Closed.\n")


def asked(url: str, **headers: str) -> tuple[int, str]:
    request = urllib.request.Request(url, headers=headers)
    try:
        with urllib.request.urlopen(request, timeout=10) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.read().decode()


def test_it_listens_on_this_machine_alone(program: tuple[str, str]) -> None:
    origin, said = program
    assert origin.startswith("http://127.0.0.1:")
    fetched = "Later it needs no network."  # on the first run
    assert "network" not in said.replace(fetched, "")
    port = int(origin.rpartition(":")[2])
    table = Path("/proc/net/tcp")
    if not table.exists():
        pytest.skip("no table of sockets on this system")
    mine = [
        line.split()[1] for line in table.read_text().splitlines()[1:]
        if line.split()[3] == "0A" and line.split()[1].endswith(f":{port:04X}")
    ]  # fmt: skip
    assert mine == [f"0100007F:{port:04X}"]


def test_the_page_comes_with_its_cookie_and_its_policy(program: tuple[str, str]) -> None:
    origin, _ = program
    with urllib.request.urlopen(f"{origin}/", timeout=10) as answer:
        cookie = answer.headers["set-cookie"]
        policy = answer.headers["content-security-policy"]
        page = answer.read().decode()
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    (nonce,) = re.findall(r"'nonce-([^']+)'", policy)
    assert page.count(f'<script nonce="{nonce}"') == page.count("<script")
    assert '"production": true' in page or "solara.production = true" in page
    assert "jsdelivr" not in page
    assert "solara.dev" not in page.replace("https://solara.dev/documentation", "")


def test_a_foreign_host_is_refused(program: tuple[str, str]) -> None:
    origin, _ = program
    status, words = asked(f"{origin}/", Host="tank.example")
    assert (status, words) == (403, "Refused: it asks for a host that is not this one.")


def test_what_is_not_of_the_page_is_not_served(program: tuple[str, str]) -> None:
    origin, _ = program
    for path in ("/resourcez", "/readyz", "/x", "/_solara/cdn/x", "/static/public/x",
                 "/static/../pyproject.toml", "/static/assets/../page.py",
                 "/browser-files/../../x", "/jupyter/api/kernels/abc"):  # fmt: skip
        assert asked(origin + path)[0] in (403, 404, 405), path


def test_files_of_the_browser_come_from_this_machine(program: tuple[str, str]) -> None:
    from viz.app.assets import asset_list

    origin, _ = program
    asset = min(asset_list(), key=lambda one: one.size)
    with urllib.request.urlopen(f"{origin}/browser-files/{asset.place}", timeout=10) as answer:
        assert len(answer.read()) == asset.size


def test_no_way_of_writing_an_address_leads_out_of_the_folders(program: tuple[str, str]) -> None:
    origin, _ = program
    out = "..%2f" * 12 + "etc/hostname"
    for at in ("/browser-files", "/static/assets", "/static", "/jupyter/nbextensions"):
        for path in (out, out.replace(".", "%2e"), "../" * 12 + "etc/hostname",
                     "..%5c" * 12 + "etc/hostname", "/etc/hostname", "%2fetc/hostname",
                     "%00/etc/hostname"):  # fmt: skip
            assert asked(f"{origin}{at}/{path}")[0] in (400, 403, 404, 405), (at, path)


def test_a_message_that_is_too_large_ends_the_connection(program: tuple[str, str]) -> None:
    from websockets.exceptions import ConnectionClosed
    from websockets.sync.client import connect

    from viz.app.serving import _MOST_MESSAGE

    origin, _ = program
    url = f"{origin.replace('http', 'ws')}/jupyter/api/kernels/large/channels?session_id=x"
    with urllib.request.urlopen(f"{origin}/", timeout=10) as answer:
        cookie = answer.headers["set-cookie"].partition(";")[0]
    cookies = {"Cookie": cookie}
    with connect(url, origin=origin, additional_headers=cookies, max_size=None) as socket:
        # In parts, of which only the last is too much: nothing is on its way when it is said.
        socket.send(["x" * (_MOST_MESSAGE // 8)] * 8 + ["x"])
        with pytest.raises(ConnectionClosed) as closed:
            list(socket)
    assert closed.value.rcvd is not None
    assert closed.value.rcvd.code == 1009
    assert asked(f"{origin}/")[0] == 200


def test_to_others_it_opens_with_a_warning() -> None:
    process, said = started("--host", "0.0.0.0")
    try:
        assert "Everybody who reaches this machine" in said
        assert "nothing on the way is encrypted" in said
        (origin,) = re.findall(r"http://127.0.0.1:\d+(?=/)", said)
        assert asked(f"{origin}/", Host="tank.example")[0] == 403
    finally:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=20)


def test_wrong_requests_are_sentences() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "viz.cli", "app", "nowhere.toml", "--port", "99999",
         "--keep", __file__],
        cwd=TOP, env={**os.environ, "PYTHONPATH": str(TOP)},
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert "99999" in done.stderr
    assert "there is no such file" in " ".join(done.stderr.split())
    assert "the kept runs in" in " ".join(done.stderr.split())
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
