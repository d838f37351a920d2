"""Serving: the socket, the settings, and the document, without a browser."""

from __future__ import annotations

import os
import re
import socket
from pathlib import Path

import pytest

from sim.errors import Refused
from viz.app import command, document, serving

PAGE = """<html><head>
<meta name="viewport" content="width=device-width, initial-scale=1, maximum-scale=1, \
user-scalable=no, minimal-ui">
<link rel="icon" type="image/png" href="a"> <link rel="icon" type="image/svg+xml" href="b">
</head><body><script>var debug = true;</script>
<v-alert v-if="needsRefresh || cancelAutoRefresh">Refresh</v-alert>
<v-overlay style="z-index: 100002;">Server disconnected.</v-overlay>
<div v-if="loading" id="loader-container"><v-card>Loading</v-card> </div>
<script src="x"></script></body></html>"""


def test_the_document_gets_its_changes() -> None:
    page = document.changed(PAGE, nonce="abc")
    assert '<html lang="en">' in page
    assert "user-scalable" not in page
    assert "var debug = false;" in page
    assert page.count("<script nonce=") == page.count("<script") == 2
    assert "The connection to the program is lost" in page
    assert "v-overlay" not in page
    for name in document.SHEETS:
        assert f"/static/assets/{name}?v=" in page


def test_every_style_sheet_is_linked_and_none_imports_another() -> None:
    look = Path(document.__file__).parent / "look"
    assert {path.name for path in look.glob("*.css")} == set(document.SHEETS)
    assert not any("@import" in path.read_text("utf-8") for path in look.glob("*.css"))


@pytest.mark.parametrize("part", ["<html>", "var debug = true;", "</head>", "</v-card>"])
def test_a_document_that_is_not_known_is_not_served(part: str) -> None:
    with pytest.raises(document.Unexpected):
        document.changed(PAGE.replace(part, ""), nonce="abc")


def test_scripts_in_the_document_of_solara_all_carry_the_number() -> None:
    from solara.server import server

    text = (Path(server.__file__).parent / "templates" / "solara.html.j2").read_text("utf-8")
    assert "{%- if" not in text
    assert re.search(r"on(load|error|click)=", text) is None  # no policy would let them run


def test_it_takes_a_free_port_and_says_when_it_cannot() -> None:
    first = serving.bound_socket(host="127.0.0.1", port=None)
    with first:
        address, port = first.getsockname()
        assert address == "127.0.0.1"
        with serving.bound_socket(host="127.0.0.1", port=None) as second:
            assert second.getsockname()[1] != port
        with pytest.raises(Refused) as refused:
            serving.bound_socket(host="127.0.0.1", port=port)
        (problem,) = refused.value.problems
        assert problem.where == "--port"
        assert str(port) in problem.sentence


def test_a_host_that_is_none_is_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    def unknown(*_: object, **__: object) -> None:
        raise socket.gaierror

    monkeypatch.setattr(serving.socket, "getaddrinfo", unknown)
    with pytest.raises(Refused, match="no address of this machine"):
        serving.bound_socket(host="nowhere", port=None)


def test_nothing_of_the_environment_reaches_the_server(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    kept = dict(os.environ)
    try:
        foreign = {"HOST": "0.0.0.0", "SOLARA_MODE": "development", "SOLARA_SESSION_HTTP_ONLY": "0",
                   "UVICORN_HOST": "0.0.0.0", "FORWARDED_ALLOW_IPS": "*", "WEB_CONCURRENCY": "9",
                   "REACTON_DEBUG": "1",
                   "HOLDWATER_APP_FILE": "/etc/passwd", "solara_oauth_private": "1"}  # fmt: skip
        os.environ |= foreign
        serving.prepare(assets=tmp_path, file=None)
        for name in set(foreign) - {"SOLARA_MODE", "SOLARA_SESSION_HTTP_ONLY"}:
            assert name not in os.environ, name
        assert os.environ["SOLARA_MODE"] == "production"
        assert os.environ["SOLARA_SESSION_HTTP_ONLY"] == "true"
    finally:
        os.environ.clear()
        os.environ |= kept


@pytest.mark.parametrize(
    ("port", "words"), [("0", "0"), ("65536", "65536"), ("x", "x"), ("80.5", "80.5")]
)
def test_a_port_that_is_none_is_a_sentence(port: str, words: str) -> None:
    with pytest.raises(Refused) as refused:
        command.open_app(None, port=port, host=None, browser=False)
    assert words in str(refused.value)


def test_a_bad_file_is_said_before_anything_is_fetched_or_served(tmp_path: Path) -> None:
    with pytest.raises(Refused, match="there is no such file"):
        command.open_app(tmp_path / "none.toml", port=None, host=None, browser=False)


def test_whose_address_it_is() -> None:
    assert all(command.is_own(address) for address in ("127.0.0.1", "127.9.9.9", "::1"))
    assert not any(command.is_own(address) for address in ("0.0.0.0", "::", "10.0.0.7"))


def test_programs_that_start_at_once_get_ports_of_their_own() -> None:
    several = [serving.bound_socket(host="127.0.0.1", port=None) for _ in range(4)]
    ports = {one.getsockname()[1] for one in several}
    for one in several:
        one.close()
    assert len(ports) == 4
