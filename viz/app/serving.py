"""Serving: the app's own socket, Solara behind the guard, and nothing taken from the environment.

Solara reads its settings from the environment when it is first imported, so `prepare` comes before
that; a test starts the real command with a hostile environment.
"""

from __future__ import annotations

import logging
import os
import secrets
import socket
import sys
import warnings
from collections.abc import Callable
from contextlib import closing
from importlib.resources import files
from pathlib import Path
from typing import Any

from sim.errors import Problem, Refused
from viz.app.kept_runs import FOLDER_VARIABLE
from viz.app.repeating.pool import shared_pool

LOOPBACK = "127.0.0.1"
PORT = 8327
SWITCH_S = 0.001  # a press passes several threads, and waits so long for each that is at work
_ITSELF = (LOOPBACK, "localhost", "::1")
_PORTS_TRIED = 20
_FILES_AT = "/browser-files"
_MOST_MESSAGE = 8_000_000  # bytes that a browser may send at once
_FOREIGN = (
    "SOLARA_", "REACTON_", "UVICORN_", "WEB_CONCURRENCY", "FORWARDED_ALLOW_IPS", "HOLDWATER_APP_",
)  # fmt: skip
_SETTINGS = {
    "SOLARA_MODE": "production",
    "SOLARA_APP": "viz.app.page",
    "SOLARA_ASSETS_PROXY": "false",
    "SOLARA_ASSETS_CDN": _FILES_AT,
    "SOLARA_ASSETS_FONTAWESOME_ENABLED": "false",
    "SOLARA_TELEMETRY_MIXPANEL_ENABLE": "false",
    "SOLARA_TELEMETRY_SERVER_USER_ID": "none",  # else one is made and kept in the home folder
    "SOLARA_THEME_SHOW_BANNER": "false",
    "SOLARA_THEME_LOADER": "plain",
    "SOLARA_THEME_TITLE": "Holdwater",
    "SOLARA_THEME_VARIANT": "light",  # theme.js decides, before the first paint
    "SOLARA_SESSION_HTTP_ONLY": "true",
    "SOLARA_KERNEL_CULL_TIMEOUT": "10m",
    "SOLARA_KERNEL_MAX_COUNT": "64",
    "SOLARA_ROOT_PATH": "",
    "REACTON_FAST": "1",  # walks only the parts of a page that have changed
}


def prepare(*, assets: Path, file: Path | None, keep: Path | None = None) -> None:
    """Settle how Solara runs; call it before Solara is imported.

    Parameters
    ----------
    assets
        Folder of the browser files.
    file
        The scenario file a page opens, or None.
    keep
        Folder in which pages keep their runs, or None for nowhere.
    """
    for name in list(os.environ):
        if name.upper().startswith(_FOREIGN) or name == "HOST":
            del os.environ[name]
    look = str(files("viz.app").joinpath("look"))
    os.environ |= _SETTINGS
    os.environ["SOLARA_ASSETS_EXTRA_LOCATIONS"] = look
    os.environ["SOLARA_ASSETS_PROXY_CACHE_DIR"] = str(assets)
    os.environ["SOLARA_HOME"] = str(assets.parent / "solara")
    if file is not None:
        os.environ["HOLDWATER_APP_FILE"] = str(file.resolve())
    if keep is not None:
        os.environ[FOLDER_VARIABLE] = str(keep)


def bound_socket(*, host: str, port: int | None) -> socket.socket:
    """Return a listening socket.

    Parameters
    ----------
    host
        A numerical address, or a name of this machine.
    port
        Where; None looks for a free one, beginning with the usual one.

    Raises
    ------
    Refused
        If it cannot be had.
    """
    tried = [port] if port is not None else [*range(PORT, PORT + _PORTS_TRIED), 0]
    reason = ""
    for one in tried:
        try:
            family, kind, protocol, _, address = socket.getaddrinfo(
                host, one, type=socket.SOCK_STREAM
            )[0]
        except (OSError, UnicodeError):
            raise Refused(
                Problem(
                    "--host",
                    f'got "{host}", which is no address of this machine; expected {LOOPBACK}, or '
                    "0.0.0.0 for everybody in your network. Leave it out.",
                )
            ) from None
        made = socket.socket(family, kind, protocol)
        if os.name == "posix":  # elsewhere it would share the port with another program
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            made.bind(address)
            made.listen()  # until then another program may find this very port free
        except (OSError, OverflowError) as error:
            made.close()
            reason = getattr(error, "strerror", None) or str(error)
            continue
        return made
    raise Refused(
        Problem(
            "--port" if port is not None else "--host",
            f"{host}, port {tried[0]}, cannot be had ({reason}); expected a free one. Leave it "
            "out, or give another.",
        )
    )


def application(*, assets: Path, port: int, host: str) -> Any:
    """Return the ASGI application: the page, its files and its websocket, behind the guard.

    Parameters
    ----------
    assets
        Folder of the browser files.
    port
        Where it is reached.
    host
        Address it listens on.
    """
    from solara.server import starlette as solara_starlette
    from starlette.applications import Starlette
    from starlette.middleware import Middleware
    from starlette.routing import Mount, Route, WebSocketRoute
    from starlette.staticfiles import StaticFiles

    from viz.app.guard import Guard

    class BrowserFiles(StaticFiles):
        """Files that never change: their version is in their address."""

        def file_response(self, *args: Any, **kwargs: Any) -> Any:
            answer = super().file_response(*args, **kwargs)
            answer.headers["cache-control"] = "public, max-age=31536000, immutable"
            return answer

    # Within one machine packing the files takes longer than handing them over as they are.
    packing = Middleware(solara_starlette.SolaraGZipMiddleware, minimum_size=1000)
    inner = Starlette(
        routes=[
            Route("/", _document),
            WebSocketRoute(
                "/jupyter/api/kernels/{kernel_id}/channels", solara_starlette.kernel_connection
            ),
            Route("/_solara/api/close/{kernel_id}", solara_starlette.close, methods=["POST"]),
            Mount(_FILES_AT, app=BrowserFiles(directory=assets)),
            Mount("/static/assets", app=solara_starlette.StaticAssets()),
            Mount("/jupyter/nbextensions", app=solara_starlette.StaticNbFiles()),
            Mount(
                "/static",
                app=solara_starlette.StaticFilesOptionalAuth(
                    directory=solara_starlette.server.solara_static
                ),
            ),
        ],
        lifespan=solara_starlette.lifespan,
        middleware=[] if host in _ITSELF else [packing],
    )
    names = {host} if host not in ("0.0.0.0", "::") else {socket.gethostname()}
    return Guard(inner, port=port, names=names, any_address=host in ("0.0.0.0", "::"))


async def _document(request: Any) -> Any:
    """The page, with its session cookie and its content policy."""
    from solara.server import server
    from starlette.responses import HTMLResponse

    from viz.app.document import changed
    from viz.app.guard import content_policy

    nonce = secrets.token_urlsafe(16)
    text = server.read_root("/", "") or ""
    host = request.headers["host"]
    answer = HTMLResponse(
        changed(text, nonce=nonce),
        headers={
            "content-security-policy": content_policy(nonce=nonce, host=host),
            "cache-control": "no-store",
        },
    )
    answer.set_cookie(
        server.COOKIE_KEY_SESSION_ID,
        request.cookies.get(server.COOKIE_KEY_SESSION_ID) or secrets.token_urlsafe(24),
        httponly=True,
        samesite="strict",
    )
    return answer


def serve(bound: socket.socket, *, assets: Path, host: str, started: Callable[[str], None]) -> None:
    """Serve until Ctrl-C.

    Parameters
    ----------
    bound
        The socket.
    assets
        Folder of the browser files.
    host
        Address it listens on.
    started
        Called with the page's address when a browser can open it.
    """
    import uvicorn

    port = bound.getsockname()[1]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of the server's libraries
        app = application(assets=assets, port=port, host=host)
    shown = f"[{host}]" if ":" in host else host
    address = f"http://{LOOPBACK if host in ('0.0.0.0', '::') else shown}:{port}/"

    class Server(uvicorn.Server):
        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            if self.started:
                started(address)

    logging.getLogger("solara").setLevel(logging.WARNING)
    config = uvicorn.Config(
        app,
        loop="asyncio",
        lifespan="on",
        log_level="warning",
        access_log=False,
        proxy_headers=False,
        server_header=False,
        ws_max_size=_MOST_MESSAGE,
        ws_per_message_deflate=False,  # a frame is 200 bytes; packing it costs more than sending it
        timeout_graceful_shutdown=1,
    )
    shared_pool().begin()
    sys.setswitchinterval(SWITCH_S)
    with closing(bound):
        Server(config).run(sockets=[bound])
