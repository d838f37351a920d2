"""Elements: the few parts every page is made of, as plain HTML with names for screen readers.

Text is only ever passed as a child and is shown as it stands; nothing is read as markup. Classes
are those of ``look/theme.css``. A page uses `tag` for structure, `Button`, `Switch` and `Choice` to
be pressed, and Solara's own inputs where something is typed.

>>> tag("section", tag("h2", "The fish"), name="The fish")  # doctest: +SKIP
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Any

import ipyvue
import reacton.ipyvue
import solara

from sim.errors import Problem

Press = Callable[[], None]
Child = Any  # an element, or a text


@cache
def html_of(kind: str) -> type[ipyvue.Html]:
    """Return the widget of one kind of HTML element.

    In the browser an element never becomes one of another kind, so that where a paragraph is
    followed by a list after a change, the one must not be taken for the other made anew.

    Parameters
    ----------
    kind
        Its tag.
    """
    return type(f"Html{kind.title()}", (ipyvue.Html,), {})


def tag(
    kind: str,
    *children: Child,
    classes: str = "",
    name: str = "",
    attributes: Mapping[str, Any] | None = None,
) -> Any:
    """Return an HTML element.

    Parameters
    ----------
    kind
        Its tag, for example ``"section"``.
    *children
        Elements and texts; an empty text or None is left out.
    classes
        Of ``theme.css``, with spaces between.
    name
        What a screen reader calls it.
    attributes
        Further ones, for example ``{"role": "status"}``.
    """
    own = dict(attributes or {})
    if name:
        own["aria-label"] = name
    shown = [child for child in children if child is not None and child != ""]
    return html_of(kind).element(tag=kind, children=shown, class_=classes, attributes=own)


def Refusals(
    problems: Sequence[Problem], *, words: str = "", most: int | None = None, rest: str = ""
) -> None:
    """Say why something cannot be, read out at once; nothing where there is no problem.

    Parameters
    ----------
    problems
        The sentences.
    words
        What cannot be, before them.
    most
        How many of them are said.
    rest
        What the others are of, after their number.
    """
    if not problems:
        return
    said = problems[:most]
    with Layer("div", role="alert"):
        if words:
            tag("p", words)
        for problem in said:
            tag("p", str(problem), classes="hw-field-error")
        if len(problems) > len(said):
            tag("p", f"And {len(problems) - len(said)} more, {rest}.")


def Layer(kind: str, *, classes: str = "", name: str = "", **attributes: Any) -> Any:
    """Return an HTML element to be filled in a ``with`` block, as Solara's containers are.

    Parameters
    ----------
    kind, classes, name
        As in `tag`.
    **attributes
        Further ones; ``_`` stands for ``-``.
    """
    own = {key.rstrip("_").replace("_", "-"): value for key, value in attributes.items()}
    if name:
        own["aria-label"] = name
    return html_of(kind).element(tag=kind, class_=classes, attributes=own)


@solara.component
def Button(
    label: str,
    press: Press,
    *,
    kind: str = "plain",
    name: str = "",
    hint: str = "",
    pressed: bool | None = None,
    disabled: bool = False,
    attributes: Mapping[str, Any] | None = None,
) -> None:
    """A button.

    Parameters
    ----------
    label
        What stands on it.
    press
        Called when it is pressed, by pointer or keyboard.
    kind
        ``"plain"``, ``"main"`` for the one thing a page is about, ``"quiet"`` without a frame, or
        ``"tab"``.
    name
        What a screen reader calls it, if the label alone does not say it.
    hint
        Shown while the pointer rests on it.
    pressed
        For a button that stays pressed; None for one that does not.
    disabled
        Whether it cannot be pressed now.
    attributes
        Further ones.
    """
    own: dict[str, Any] = {"type": "button", **(attributes or {})}
    if hint:
        own["title"] = hint
    if pressed is not None:
        own["aria-pressed"] = "true" if pressed else "false"
    if disabled:
        own["disabled"] = True
    element = tag("button", label, classes=f"hw-button hw-{kind}", name=name, attributes=own)

    def pressed_now(*_ignored: object) -> None:
        if not disabled:
            press()

    reacton.ipyvue.use_event(element, "click", pressed_now)


@solara.component
def Switch(label: str, on: bool, turn: Callable[[bool], None], *, hint: str = "") -> None:
    """A switch with its label.

    Parameters
    ----------
    label
        What it switches.
    on
        Whether it is on.
    turn
        Called with what it is to be.
    hint
        Shown while the pointer rests on it.
    """
    own: dict[str, Any] = {
        "type": "button",
        "role": "switch",
        "aria-checked": "true" if on else "false",
    }
    if hint:
        own["title"] = hint
    element = tag("button", label, classes="hw-button hw-switch", attributes=own)
    reacton.ipyvue.use_event(element, "click", lambda *_ignored: turn(not on))


@solara.component
def Choice(
    label: str,
    options: Sequence[tuple[str, str]],
    value: str,
    choose: Callable[[str], None],
    *,
    show_label: bool = True,
) -> None:
    """One of a few, side by side.

    Parameters
    ----------
    label
        What is chosen.
    options
        Key and words of each.
    value
        Key of the one that is chosen.
    choose
        Called with the key of another.
    show_label
        Whether the label is seen; a screen reader hears it anyway.
    """
    with Layer("div", classes="hw-choice", name=label, role="group"):
        if show_label:
            tag("span", label, classes="hw-choice-label", attributes={"aria-hidden": "true"})
        for key, words in options:

            def chosen(key: str = key) -> None:
                choose(key)

            Button(words, chosen, kind="option", pressed=key == value)
