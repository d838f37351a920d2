"""Light page: what a browser's page says to the program and hears from it, with no browser.

It speaks the messages of Jupyter's widgets (protocol 2.1, over the websocket of Solara's server) as
the page in a browser does: asks for the app, keeps what each widget holds, says that it is alive
and presses buttons. It draws nothing, so a whole class of them costs next to nothing, and what is
measured is the program.
"""

from __future__ import annotations

import asyncio
import json
import re
import struct
import time
import uuid
from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

import httpx
from websockets.asyncio.client import ClientConnection, connect

BEAT_S = 2.0  # as floor.js has it
WAIT_S = 120.0
FIRST_FRAMES = 4
BROWSER, FLOOR = "viz.app.browser.Browser", "viz.app.floor.widget.FloorWidget"
CONTROL = "solara.control"


class LightPage:
    """One page of the app, opened by `enter` and closed by `leave`.

    Parameters
    ----------
    origin
        Where the program listens, without the last slash.
    """

    def __init__(self, origin: str) -> None:
        self.origin = origin
        self.frames = 0
        self.ready_s = 0.0
        self._kernel, self._page = str(uuid.uuid4()), str(uuid.uuid4())
        self._state: dict[str, dict[str, Any]] = {}
        self._changed = asyncio.Event()
        self._tasks: list[asyncio.Task[None]] = []
        self._socket: ClientConnection | None = None
        self._cookie = ""

    async def enter(self) -> None:
        """Ask for the page and wait until its tank lives; `ready_s` says how long that took."""
        began = time.perf_counter()
        async with httpx.AsyncClient() as client:
            page = await client.get(f"{self.origin}/", timeout=WAIT_S)
            page.raise_for_status()
        self._cookie = "; ".join(f"{name}={value}" for name, value in page.cookies.items())
        self._socket = await connect(
            f"ws://{urlsplit(self.origin).netloc}/jupyter/api/kernels/{self._kernel}/channels"
            f"?session_id={self._page}",
            origin=self.origin,  # type: ignore[arg-type]
            additional_headers={"Cookie": self._cookie} if self._cookie else None,
            max_size=None,
            open_timeout=WAIT_S,
        )
        self._tasks = [asyncio.create_task(self._read()), asyncio.create_task(self._beat())]
        control = uuid.uuid4().hex
        await self._send("kernel_info_request", {})
        await self._send("comm_open", {"comm_id": control, "target_name": CONTROL, "data": {}})
        run = {"method": "run", "args": {"path": "/", "dark": False, "themes": {}, "appName": None}}
        await self._send("comm_msg", {"comm_id": control, "data": run})
        await self.until(lambda: self.frames >= FIRST_FRAMES and bool(self.buttons("Pause")))
        self.ready_s = time.perf_counter() - began

    async def leave(self) -> None:
        """Say that the page is closed, as a browser does, and close."""
        for task in self._tasks:
            task.cancel()
        try:
            async with httpx.AsyncClient() as client:
                await client.post(
                    f"{self.origin}/_solara/api/close/{self._kernel}",
                    params={"session_id": self._page},
                    headers={"Origin": self.origin, "Cookie": self._cookie},
                    timeout=WAIT_S,
                )
        finally:
            if self._socket is not None:
                await self._socket.close()

    def buttons(self, label: str) -> list[str]:
        """Return the widgets that can be clicked and whose only words match a pattern."""
        return [
            name
            for name, state in self._state.items()
            if "click" in (state.get("_events") or ())
            and len(words := state.get("children") or ()) == 1
            and re.fullmatch(label, str(words[0]))
        ]

    def value_of(self, css_class: str) -> float | None:
        """Return the `value` of the element with this class; None where there is none."""
        for state in self._state.values():
            if css_class in str(state.get("class_", "")).split():
                return float((state.get("attributes") or {}).get("value", 0.0))
        return None

    async def press(self, label: str, *, answer: str) -> float:
        """Press the button that says `label`; return after how long one said `answer` (ms).

        Both are patterns.

        Raises
        ------
        LookupError
            No button says so, or one says the answer already.
        TimeoutError
            Nothing answered in `WAIT_S`.
        """
        found = self.buttons(label)
        if not found:
            raise LookupError(f"no button says {label}")
        if self.buttons(answer):
            raise LookupError(f"a button says {answer} before {label} is pressed")
        began = time.perf_counter()
        await self._say(found[-1], {"event": "click", "data": {}})
        await self.until(lambda: bool(self.buttons(answer)))
        return 1000.0 * (time.perf_counter() - began)

    async def toggle(self) -> float:
        """Press *Pause* or *Play*, whichever there is; return when the other was there (ms)."""
        if self.buttons("Pause"):
            return await self.press("Pause", answer="Play")
        return await self.press("Play", answer="Pause")

    async def play_runs(self, runs: int) -> None:
        """Turn to *Repeat* and have runs played; they have begun when it returns."""
        play = f"Play {runs} runs"
        await self.press("Repeat", answer=str(runs))
        await self.press(str(runs), answer=play)
        await self.press(play, answer="Stop here")

    async def until(self, holds: Callable[[], bool]) -> None:
        """Wait until something holds of what the widgets say.

        Raises
        ------
        TimeoutError
            It did not in `WAIT_S`.
        ConnectionError
            Nothing more will be heard.
        """
        async with asyncio.timeout(WAIT_S):
            while not holds():
                if self._tasks[0].done():
                    raise ConnectionError("the program closed the page")
                self._changed.clear()
                await self._changed.wait()

    async def _read(self) -> None:
        assert self._socket is not None
        try:
            async for message in self._socket:
                await self._take(read_message(message))
                self._changed.set()
        finally:
            self._changed.set()

    async def _beat(self) -> None:
        while True:
            await asyncio.sleep(BEAT_S)
            for floor in self._of(FLOOR):
                await self._say(floor, {"what": "alive"})

    async def _take(self, message: dict[str, Any]) -> None:
        kind, content = message["header"]["msg_type"], message["content"]
        name = content.get("comm_id", "")
        data = content.get("data", {})
        if kind == "comm_open":
            state = self._state[name] = data.get("state", {})
            if state.get("_anywidget_id") == BROWSER:
                found = json.dumps({"look": None, "kept": None, "been": True, "at": time.time()})
                await self._update(name, {"found": found})
            elif state.get("_anywidget_id") == FLOOR:
                await self._say(name, {"what": "ready"})
        elif kind == "comm_close":
            self._state.pop(name, None)
        elif kind == "comm_msg" and data.get("method") == "update":
            self._state.setdefault(name, {}).update(data.get("state", {}))
        elif kind == "comm_msg" and data.get("method") == "custom":
            self.frames += data.get("content", {}).get("what") == "frame"

    def _of(self, kind: str) -> list[str]:
        return [name for name, state in self._state.items() if state.get("_anywidget_id") == kind]

    async def _say(self, name: str, content: dict[str, Any]) -> None:
        await self._send(
            "comm_msg", {"comm_id": name, "data": {"method": "custom", "content": content}}
        )

    async def _update(self, name: str, state: dict[str, Any]) -> None:
        data = {"method": "update", "state": state, "buffer_paths": []}
        await self._send("comm_msg", {"comm_id": name, "data": data})

    async def _send(self, kind: str, content: dict[str, Any]) -> None:
        assert self._socket is not None
        head = {
            "msg_id": uuid.uuid4().hex,
            "msg_type": kind,
            "session": self._page,
            "username": "",
            "version": "5.2",
            "date": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
        }
        await self._socket.send(
            json.dumps(
                {
                    "header": head,
                    "parent_header": {},
                    "metadata": {},
                    "content": content,
                    "buffers": [],
                    "channel": "shell",
                }
            )
        )


def read_message(message: str | bytes) -> dict[str, Any]:
    """Return the words of a message of Jupyter's protocol, without the bytes that go with them.

    Parameters
    ----------
    message
        Text, or bytes that begin with how many parts there are and where each begins.

    Returns
    -------
    dict
        Its first part.
    """
    if isinstance(message, str):
        words: dict[str, Any] = json.loads(message)
        return words
    (parts,) = struct.unpack_from("!i", message)
    begins = struct.unpack_from(f"!{parts}I", message, 4)
    ends = begins[1] if parts > 1 else len(message)
    read: dict[str, Any] = json.loads(message[begins[0] : ends])
    return read
