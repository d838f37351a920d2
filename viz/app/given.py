"""Given: a button with which the browser is handed a file, made when it is asked for."""

from __future__ import annotations

import base64
import re
from collections.abc import Callable
from functools import partial
from typing import Any

import solara


@solara.component_vue("given.vue")
def _Given(
    label: str = "",
    hint: str = "",
    file: dict[str, Any] = {},  # noqa: B006  (becomes a trait, and is not changed)
    event_asked: Any = None,
    event_taken: Any = None,
) -> None:
    """The element behind `Given`."""


@solara.component
def Given(
    label: str, name: str, make: Callable[[], str | bytes], *, kind: str, hint: str = ""
) -> None:
    """A button that hands a file over to the browser.

    Parameters
    ----------
    label
        What stands on it.
    name
        What the file is called.
    make
        Makes what is in it, when it is asked for.
    kind
        Its media type, for example ``"application/json"``.
    hint
        Shown while the pointer rests on it.
    """
    empty: dict[str, Any] = {}
    file, set_file = solara.use_state(empty)
    number = solara.use_ref(0)

    def asked(_nothing: object = None) -> None:
        made = make()
        number.current += 1
        content = made.encode("utf-8") if isinstance(made, str) else made
        set_file(
            {
                "number": number.current,
                "name": name,
                "type": kind,
                "content": base64.b64encode(content).decode("ascii"),
            }
        )

    # Taken away again, so that it is not sent once more with every reconnection.
    _Given(
        label=label,
        hint=hint,
        file=file,
        event_asked=asked,
        event_taken=lambda _nothing=None: set_file({}),
    )


def GivenPictures(words: str, stem: str, draw: Callable[[str], bytes], *, hint: str = "") -> None:
    """Buttons that hand a picture over, as PNG and as SVG.

    Parameters
    ----------
    words
        What it shows; stands on the buttons.
    stem
        What the files are called, without their ending.
    draw
        Draws it; takes ``"png"`` or ``"svg"``.
    hint
        Shown while the pointer rests on one.
    """
    for kind, media in (("png", "image/png"), ("svg", "image/svg+xml")):
        Given(
            f"{words}, {kind.upper()}", f"{stem}.{kind}", partial(draw, kind), kind=media, hint=hint
        )


def file_stem(name: str) -> str:
    """Return a name in plain letters, for a file.

    Parameters
    ----------
    name
        Of a tank.
    """
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40].strip("-") or "tank"
