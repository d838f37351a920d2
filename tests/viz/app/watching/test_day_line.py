"""The day line: what is marked on it, and what a gentle display leaves out."""

from __future__ import annotations

from typing import Any

from tests.viz.app.rendering import below, page_context, rendered
from viz.app.day_line import line
from viz.app.events import Stretch, Told

EVENTS = (
    Told(0.5, "hurt", "Wren has torn fins"),
    Told(1.2, "serious", "Wren is seriously hurt"),
    Told(1.4, "hand", "The pair spawns"),
)


def drawn(*, gentle: bool) -> tuple[str, list[str]]:
    """What a screen reader hears of it, and the classes of its paths."""
    import solara

    @solara.component
    def Whole() -> None:
        line(
            days=4.0,
            now=2.0,
            stretches=(Stretch(0.0, 2.0, "watched"),),
            broods=(Stretch(1.4, 2.0, "eggs"),),
            events=EVENTS,
            light=(9.0, 21.0),
            gentle=gentle,
        )

    with page_context():
        parts: list[Any] = list(below(rendered(Whole()).container))
        (picture,) = (one for one in parts if getattr(one, "tag", "") == "svg")
        paths = [one.class_ for one in parts if getattr(one, "tag", "") == "path"]
        return picture.attributes["aria-label"], paths


def test_wounds_and_hands_are_marked_each_in_its_shape() -> None:
    words, paths = drawn(gentle=False)
    assert words == (
        "Day 2.0 of 4. 2 marked: first torn fins on day 0.5; seriously hurt on day 1.2."
    )
    assert paths == ["hw-mark-hurt", "hw-mark-serious", "hw-flag", "hw-now"]


def test_a_gentle_display_marks_no_wound() -> None:
    words, paths = drawn(gentle=True)
    assert words == "Day 2.0 of 4."
    assert paths == ["hw-flag", "hw-flag", "hw-now"]
