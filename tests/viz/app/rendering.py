"""Components rendered without a browser, and what a person would read and press there."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

import solara
from solara.server import kernel, kernel_context

os.environ["REACTON_FAST"] = "1"  # as `viz.app.serving` has it
_OPEN: list[Any] = []  # what was rendered and is to be closed before its context


@contextmanager
def page_context() -> Iterator[None]:
    """Be in the context in which Solara renders the page of one visitor."""
    loop = asyncio.new_event_loop()  # the server has one in every thread
    asyncio.set_event_loop(loop)
    context = kernel_context.VirtualKernelContext(
        id="test", kernel=kernel.Kernel(), session_id="test"
    )
    with context:
        yield
        while _OPEN:
            _OPEN.pop().close()
    # Outside the server some widgets have stand-ins for their comms, which nobody registered.
    with suppress(KeyError):
        context.close()
    context.closed_event.set()
    asyncio.set_event_loop(None)
    loop.close()


def rendered(element: Any) -> Any:
    """Render an element; the context that is returned has a `container` and a `close`."""
    _, context = solara.render(element, handle_error=False)
    _OPEN.append(context)
    return context


def below(widget: Any) -> Iterator[Any]:
    """Every widget and text below a widget, in order."""
    yield widget
    if not isinstance(widget, str):
        for child in getattr(widget, "children", None) or ():
            yield from below(child)


def words_of(widget: Any) -> str:
    """Every text below a widget, with a space between."""
    return " ".join(one for one in below(widget) if isinstance(one, str) and one)


def shown(context: Any) -> str:
    """Every text of what was rendered."""
    return words_of(context.container)


def button(context: Any, words: str) -> Any:
    """The one button with these words."""
    (found,) = (
        one
        for one in below(context.container)
        if getattr(one, "tag", "") in ("button", "summary") and words_of(one) == words
    )
    return found


def with_role(context: Any, role: str) -> list[Any]:
    """What has a role."""
    return [
        one
        for one in below(context.container)
        if (getattr(one, "attributes", None) or {}).get("role") == role
    ]
