"""Typed: what a person types or chooses from a list, with its label and what is wrong with it.

What was typed stands as it was typed until it is right; the sentence stands below it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import solara

MOST_LETTERS = 400


@solara.component_vue("typed.vue")
def _Typed(
    label: str = "",
    value: str = "",
    kind: str = "text",
    options: list[Any] = [],  # noqa: B006  (becomes a trait, and is not changed)
    example: str = "",
    hint: str = "",
    error: str = "",
    least: str = "",
    most: str = "",
    event_typed: Any = None,
) -> None:
    """The element behind `Typed` and `Chosen`."""


@solara.component_vue("handed.vue")
def _Handed(
    label: str = "",
    accept: str = "",
    hint: str = "",
    most: int = 0,
    event_handed: Any = None,
) -> None:
    """The element behind `Handed`."""


def Typed(
    label: str,
    value: str,
    put: Callable[[str], None],
    *,
    example: str = "",
    hint: str = "",
    error: str = "",
) -> Any:
    """Return an input with its label.

    Parameters
    ----------
    label
        What is typed.
    value
        What stands in it.
    put
        Called with what was typed, when it is left or the return key is pressed.
    example
        Shown while it is empty.
    hint
        A line below.
    error
        What is wrong with what was typed; stands below instead of the hint.
    """
    return _Typed(
        label=label,
        value=value,
        example=example,
        hint=hint,
        error=error,
        event_typed=lambda text: put(text[:MOST_LETTERS]) if isinstance(text, str) else None,
    )


def Chosen(
    label: str,
    options: Sequence[tuple[str, str]],
    value: str,
    put: Callable[[str], None],
    *,
    hint: str = "",
    error: str = "",
) -> Any:
    """Return a list of which one is chosen, with its label.

    Parameters
    ----------
    label
        What is chosen.
    options
        Key and words of each.
    value
        Key of the one that is chosen.
    put
        Called with the key of another; never with one that is not among them.
    hint, error
        As in `Typed`.
    """
    known = {key for key, _ in options}
    return _Typed(
        label=label,
        value=value,
        options=[list(one) for one in options],
        hint=hint,
        error=error,
        event_typed=lambda key: put(key) if key in known else None,
    )


def Handed(
    label: str,
    take: Callable[[str, str], None],
    *,
    most_bytes: int,
    accept: str = ".toml",
    hint: str = "",
) -> Any:
    """Return a button with which a file of one's own is handed over.

    Parameters
    ----------
    label
        What stands on it.
    take
        Called with the name and the text of the file.
    most_bytes
        A larger one is refused in the browser; what comes is measured once more.
    accept
        Endings of its name.
    hint
        A line below.
    """

    def took(message: object) -> None:
        if not isinstance(message, dict):
            return
        name, text = message.get("name"), message.get("text")
        if not isinstance(name, str) or not isinstance(text, str):
            return
        if len(text.encode("utf-8", "surrogatepass")) <= most_bytes:
            take(name[:MOST_LETTERS], text)

    return _Handed(label=label, accept=accept, hint=hint, most=most_bytes, event_handed=took)
