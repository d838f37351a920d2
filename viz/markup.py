"""Markup: HTML and SVG as trees of elements, so that no text is ever read as markup.

Whatever a person wrote (names, titles, files) only ever becomes text or the value of an attribute
of an element, and is escaped when the tree is written.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from xml.etree.ElementTree import Element, tostring

Child = Element | str | None
SVG = "http://www.w3.org/2000/svg"


def el(tag: str, *children: Child | Iterable[Child], **attributes: object) -> Element:
    """Return an element.

    Parameters
    ----------
    tag
        Its name.
    *children
        Elements and texts in order; those that are None are left out, iterables taken apart.
    **attributes
        None is left out; a trailing underscore is dropped and others become hyphens, so that
        ``class_`` and ``stroke_width`` can be said.
    """
    made = Element(tag)
    for name, value in attributes.items():
        if value is not None:
            key = name.rstrip("_").replace("_", "-")
            made.set("viewBox" if key == "viewbox" else key, _text(value))
    put(made, *children)
    return made


def put(into: Element, *children: Child | Iterable[Child]) -> Element:
    """Append children to an element and return it; `el` says what they may be."""
    for child in children:
        if child is None:
            continue
        if isinstance(child, str):
            if len(into):
                into[-1].tail = (into[-1].tail or "") + clean(child)
            else:
                into.text = (into.text or "") + clean(child)
        elif isinstance(child, Element):
            into.append(child)
        else:
            put(into, *child)
    return into


def clean(words: str) -> str:
    """Return a text without characters that no document may hold or that turn its direction.

    Parameters
    ----------
    words
        Anything a person wrote.
    """
    return "".join(c if c.isprintable() or c == "\n" else "\ufffd" for c in words)


def _text(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.2f}".rstrip("0").rstrip(".")
    return clean(str(value))


def html_text(root: Element) -> str:
    """Return a tree as an HTML document, every text and attribute escaped.

    Parameters
    ----------
    root
        The `html` element. The text of a `style` is ours, and stands as it is.

    Raises
    ------
    ValueError
        If a `style` holds a tag, or there is a `script`.
    """
    parts: list[str] = ["<!DOCTYPE html>\n"]
    _write(root, parts)
    return "".join(parts) + "\n"


VOID = ("meta", "br", "img", "link")


def _write(element: Element, parts: list[str]) -> None:
    named = "".join(f' {key}="{escape(value)}"' for key, value in element.attrib.items())
    parts.append(f"<{element.tag}{named}>")
    if element.tag == "script" or (element.tag == "style" and "<" in (element.text or "")):
        raise ValueError(f"html_text: a {element.tag} that would be run; expected none.")
    if element.tag in VOID:
        pass
    elif element.tag == "style":
        parts.append(f"{element.text or ''}</style>")
    else:
        parts.append(escape(element.text or ""))
        for child in element:
            _write(child, parts)
        parts.append(f"</{element.tag}>")
    parts.append(escape(element.tail or ""))


def svg_text(root: Element) -> str:
    """Return a tree as an SVG file.

    Parameters
    ----------
    root
        The `svg` element.
    """
    root.set("xmlns", SVG)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"
