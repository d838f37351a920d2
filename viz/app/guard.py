"""The guard in front of the app: who may speak to it, and what a browser may do with its page.

As installed, the server below answers any name a browser was told for this machine, and takes a
websocket from any page the person has open. A page of a stranger could so play with the tank, or
read it. The guard lets through what comes from the app's own page and nothing else.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from typing import Any
from urllib.parse import urlsplit

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
Served = Callable[[Scope, Receive, Send], Awaitable[None]]

READING = frozenset({"GET", "HEAD"})
MOST_BODY = 64_000  # bytes of a request; what is long comes by the websocket

HEADERS: tuple[tuple[bytes, bytes], ...] = (
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"),
)


class Guard:
    """An ASGI application that refuses what is foreign and passes on the rest.

    Parameters
    ----------
    served
        The application behind it.
    port
        Where it is reached.
    names
        Host names it is reached by, besides this machine's own.
    any_address
        Whether it is reached by any numerical address too, as with ``--host 0.0.0.0``; a name
        that a stranger chose is refused all the same.
    """

    def __init__(
        self, served: Served, *, port: int, names: Iterable[str] = (), any_address: bool = False
    ) -> None:
        self._served = served
        self._port = port
        self._names = {"127.0.0.1", "localhost", "::1", *(name.lower() for name in names)}
        self._any_address = any_address

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request or websocket, or refuse it."""
        kind = scope["type"]
        if kind == "lifespan":
            await self._served(scope, receive, send)
            return
        reason = self.refusal(scope)
        if kind == "websocket":
            if reason:
                await receive()
                await send({"type": "websocket.close", "code": 1008, "reason": reason})
            else:
                await self._served(scope, receive, send)
            return
        if reason:
            await _answer(send, 403, f"Refused: {reason}.")
            return
        await self._served(scope, receive, _with_headers(send))

    def refusal(self, scope: Scope) -> str:
        """Return why a request is not let through; empty if it is.

        Parameters
        ----------
        scope
            Of an ASGI request or websocket.
        """
        headers = _headers(scope)
        hosts = headers.get(b"host", [])
        if len(hosts) != 1 or not self._is_ours(hosts[0]):
            return "it asks for a host that is not this one"
        origins = headers.get(b"origin", [])
        writing = scope["type"] == "websocket" or scope["method"] not in READING
        if writing and (len(origins) != 1 or not self._same(origins[0], hosts[0])):
            return "it comes from another page"
        if not writing and headers.get(b"sec-fetch-site", [b""])[0] == b"cross-site":
            mode = headers.get(b"sec-fetch-mode", [b""])[0]
            if mode != b"navigate":  # a link to the app is no harm
                return "it comes from another page"
        if scope["type"] == "http":
            for length in headers.get(b"content-length", []):
                if not length.isdigit() or int(length) > MOST_BODY:
                    return "it is too large"
            if scope["method"] not in READING and b"transfer-encoding" in headers:
                return "it does not say how large it is"
        return ""

    def _is_ours(self, host: bytes) -> bool:
        try:
            parts = urlsplit(f"//{host.decode('ascii')}")
            name, port = parts.hostname or "", parts.port
        except (UnicodeDecodeError, ValueError):
            return False
        if parts.username is not None or parts.path or (port or 80) != self._port:
            return False
        if name in self._names:
            return True
        if not self._any_address:
            return False
        try:
            ipaddress.ip_address(name)
        except ValueError:
            return False
        return True

    @staticmethod
    def _same(origin: bytes, host: bytes) -> bool:
        return origin.lower() == b"http://" + host.lower()


def content_policy(*, nonce: str, host: str) -> str:
    """Return what a browser may load and run for the page.

    Parameters
    ----------
    nonce
        That the page's own scripts carry.
    host
        Host and port, for the websocket.
    """
    return "; ".join(
        (
            "default-src 'none'",
            # Vue makes its templates in the browser; widgets come as modules from a blob.
            f"script-src 'self' 'nonce-{nonce}' 'unsafe-eval' blob:",
            "style-src 'self' 'unsafe-inline'",
            "img-src 'self' data: blob:",
            "font-src 'self' data:",
            f"connect-src 'self' ws://{host} blob: data:",
            "worker-src 'self' blob:",
            "base-uri 'none'",
            "form-action 'none'",
            "frame-ancestors 'none'",
        )
    )


def _headers(scope: Scope) -> dict[bytes, list[bytes]]:
    found: dict[bytes, list[bytes]] = {}
    for name, value in scope["headers"]:
        found.setdefault(name.lower(), []).append(value)
    return found


def _with_headers(send: Send) -> Send:
    async def sending(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            own = {name.lower() for name, _ in message.get("headers", ())}
            more = [(name, value) for name, value in HEADERS if name not in own]
            message = {**message, "headers": [*message.get("headers", ()), *more]}
        await send(message)

    return sending


async def _answer(send: Send, status: int, words: str) -> None:
    body = words.encode("ascii", errors="replace")
    headers = [
        (b"content-type", b"text/plain; charset=utf-8"),
        (b"content-length", str(len(body)).encode()),
        *HEADERS,
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
