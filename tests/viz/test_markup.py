"""Markup: nothing a person writes becomes markup."""

from __future__ import annotations

from xml.etree.ElementTree import fromstring

import pytest

from viz.markup import clean, el, html_text, put, svg_text

EVIL = "</title><script>alert(1)</script>\"'&amp;\u202egnp.exe\x00\x1b[31m"


def test_texts_and_attributes_are_escaped():
    text = html_text(el("html", el("p", EVIL, title=EVIL)))
    assert "<script" not in text
    assert "&lt;script&gt;" in text
    assert "\x00" not in text
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert 'title="' in text
    inside = text.split('title="')[1].split('"')[0]
    assert "<" not in inside
    assert "'" not in inside


@pytest.mark.parametrize("made", [el("script", "1"), el("style", "a{}</style><b>")])
def test_what_would_be_run_is_refused(made):
    with pytest.raises(ValueError, match="expected none"):
        html_text(el("html", made))


def test_children_are_put_in_order_with_none_left_out():
    made = el("p", "one ", el("b", "two"), " three", None, [" four ", el("i", "five")], " six")
    assert "".join(made.itertext()) == "one two three four five six"
    assert put(el("p"), "a", "b").text == "ab"


def test_names_of_attributes_are_those_of_html_and_svg():
    made = el("svg", class_="x", stroke_width=1.50, viewbox="0 0 1 1", aria_hidden=None)
    assert made.attrib == {"class": "x", "stroke-width": "1.5", "viewBox": "0 0 1 1"}


def test_an_svg_file_is_xml_with_its_name_space():
    root = fromstring(svg_text(el("svg", el("title", EVIL))))
    assert root.tag == "{http://www.w3.org/2000/svg}svg"


@pytest.mark.parametrize("letter", ["\x07", "\u200b", "\ud800", "\u2066"])
def test_what_cannot_be_printed_is_replaced(letter):
    assert clean(f"a{letter}b") == "a\ufffdb"
