"""The guard: each rule lets its own through and refuses what is foreign."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest

from viz.app.guard import HEADERS, MOST_BODY, Guard, content_policy

PORT = 8327
OWN = "127.0.0.1:8327"
ORIGIN = f"http://{OWN}"


async def reached(scope: Any, receive: Any, send: Any) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.accept"})
        return
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"in"})


def asked(kind: str = "http", *, method: str = "GET", **headers: str | None) -> list[Any]:
    """Return what the guard sends for one request; a header that is None is left out."""
    given = {"host": OWN, **headers}
    scope = {
        "type": kind,
        "method": method,
        "path": "/",
        "headers": [
            (name.replace("_", "-").encode(), value.encode())
            for name, value in given.items()
            if value is not None
        ],
    }
    sent: list[Any] = []

    async def receive() -> Any:
        return {"type": "websocket.connect"}

    async def send(message: Any) -> None:
        sent.append(message)

    asyncio.run(Guard(reached, port=PORT)(scope, receive, send))
    return sent


def let_in(messages: list[Any]) -> bool:
    first = messages[0]
    return first["type"] == "websocket.accept" or first.get("status") == 200


@pytest.mark.parametrize("host", [OWN, "localhost:8327", "LOCALHOST:8327", "[::1]:8327"])
def test_this_machine_is_let_in(host: str) -> None:
    assert let_in(asked(host=host))
    assert let_in(asked("websocket", host=host, origin=f"http://{host}"))


@pytest.mark.parametrize(
    "host",
    [
        None, "", "tank.example:8327", "127.0.0.1", "127.0.0.1:80", "127.0.0.1:8328",
        "127.0.0.1.example:8327", "user@127.0.0.1:8327", "127.0.0.1:8327/x", "127.0.0.1:x",
        "10.0.0.7:8327", "[::1:8327",
    ],
)  # fmt: skip
def test_a_foreign_host_is_refused(host: str | None) -> None:
    assert not let_in(asked(host=host))
    assert not let_in(asked("websocket", host=host, origin=f"http://{host}"))


def test_two_hosts_are_refused() -> None:
    scope = {"type": "http", "method": "GET", "headers": [(b"host", OWN.encode())] * 2}
    assert Guard(reached, port=PORT).refusal(scope)


@pytest.mark.parametrize(
    "origin",
    [None, "null", "", "http://tank.example", "http://127.0.0.1", "https://127.0.0.1:8327",
     "http://localhost:8327", "http://127.0.0.1:8328", "http://127.0.0.1:8327.example",
     "file://"],
)  # fmt: skip
def test_a_websocket_from_another_page_is_refused_before_it_is_accepted(origin: str | None) -> None:
    messages = asked("websocket", origin=origin)
    assert [message["type"] for message in messages] == ["websocket.close"]


@pytest.mark.parametrize("origin", [None, "null", "http://tank.example"])
@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS"])
def test_what_writes_comes_from_the_own_page(method: str, origin: str | None) -> None:
    assert not let_in(asked(method=method, origin=origin))
    assert let_in(asked(method=method, origin=ORIGIN))


def test_another_page_may_link_here_but_load_nothing() -> None:
    assert let_in(asked(sec_fetch_site="cross-site", sec_fetch_mode="navigate"))
    assert not let_in(asked(sec_fetch_site="cross-site", sec_fetch_mode="no-cors"))
    assert let_in(asked(sec_fetch_site="same-origin", sec_fetch_mode="no-cors"))


def test_a_large_request_is_refused() -> None:
    assert let_in(asked(method="POST", origin=ORIGIN, content_length=str(MOST_BODY)))
    assert not let_in(asked(method="POST", origin=ORIGIN, content_length=str(MOST_BODY + 1)))
    assert not let_in(asked(method="POST", origin=ORIGIN, content_length="-1"))
    assert not let_in(asked(method="POST", origin=ORIGIN, transfer_encoding="chunked"))


def test_answers_carry_the_headers_that_keep_others_out() -> None:
    for messages in (asked(), asked(host="tank.example")):
        assert {name for name, _ in HEADERS} <= {name for name, _ in messages[0]["headers"]}


def test_a_refusal_says_why_and_nothing_of_what_was_asked() -> None:
    start, body = asked(host="<script>")
    assert start["status"] == 403
    assert body["body"] == b"Refused: it asks for a host that is not this one."


def test_with_any_address_a_name_is_still_refused() -> None:
    guard = Guard(reached, port=PORT, any_address=True, names=["shed"])

    def refused(host: str) -> bool:
        headers = [(b"host", host.encode())]
        return bool(guard.refusal({"type": "http", "method": "GET", "headers": headers}))

    assert not refused("10.0.0.7:8327")
    assert not refused("[fe80::1]:8327")
    assert not refused("shed:8327")
    assert refused("tank.example:8327")
    assert refused("10.0.0.7:8000")


def test_the_policy_lets_nothing_come_from_elsewhere() -> None:
    policy = content_policy(nonce="abc", host=OWN)
    assert "default-src 'none'" in policy
    assert "'nonce-abc'" in policy
    scripts = next(part for part in policy.split("; ") if part.startswith("script-src"))
    assert "'unsafe-inline'" not in scripts
    for part in policy.split("; "):
        for source in part.split()[1:]:
            assert source in (f"ws://{OWN}", "blob:", "data:") or source.startswith("'"), part
