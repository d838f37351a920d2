"""The frame without a browser: what stands on a page, and how it follows its session."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
import solara

from tests.viz.app.rendering import (
    below,
    button,
    page_context,
    rendered,
    shown,
    with_role,
    words_of,
)
from tests.viz.commands import SMALL
from viz.app import frame, page, pages
from viz.app.browser import MOST_KEPT, arrive
from viz.app.elements import Button, Choice, Switch, tag
from viz.app.session import Look, Session


@pytest.fixture
def kernel_of_a_page() -> Iterator[None]:
    """Be in the context in which Solara renders a page."""
    with page_context():
        yield


@solara.component
def Plain(session: Session) -> None:
    """A page that can be pressed, and fail."""
    count, set_count = solara.use_state(0)

    def fail() -> None:
        raise RuntimeError("on purpose")

    Button(f"pressed {count}", lambda: set_count(count + 1))
    Button("fail", fail)


@pytest.fixture
def session(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kernel_of_a_page: None
) -> Iterator[Session]:
    both = tuple(
        pages.PageOf(key=key, name=key.title(), hint="", middle=Plain) for key in ("build", "watch")
    )
    monkeypatch.setattr(pages, "PAGES", both)
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    made = Session(path)
    yield made
    made.close()


def test_the_frame_names_the_tank_its_fish_and_the_pages(session: Session) -> None:
    context = rendered(frame.Frame(session))
    words = shown(context)
    for part in ("Small tank", "Flint", "convict cichlid, male, 4 in", "Build", "Watch",
                 "a model", "veterinarian"):  # fmt: skip
        assert part in words
    assert button(context, "Watch").attributes.get("aria-current") == "page"
    assert "aria-current" not in button(context, "Build").attributes


def test_a_tab_turns_to_its_page(session: Session) -> None:
    context = rendered(frame.Frame(session))
    button(context, "Build").click()
    assert session.page == "build"
    assert button(context, "Build").attributes.get("aria-current") == "page"


def test_what_is_said_is_shown_and_read_out(session: Session) -> None:
    context = rendered(frame.Frame(session))
    session.say("Flint has taken the pot.")
    (line,) = with_role(context, "status")
    assert words_of(line) == "Flint has taken the pot."
    assert line.attributes["aria-live"] == "polite"


def test_several_tanks_stand_beside_each_other(session: Session) -> None:
    session.add_variant(session.tank.scenario, name="Longer")
    context = rendered(frame.Frame(session))
    assert button(context, "Longer").attributes["aria-pressed"] == "true"
    button(context, "Small tank").click()
    assert session.picked == 0
    assert "not saved" not in shown(context)


def test_problems_and_warnings_stand_in_words(session: Session) -> None:
    (pot,) = session.tank.scenario.pieces
    session.replace_tank(
        0,
        session.tank.scenario.model_copy(
            update={"pieces": (pot, pot.model_copy(update={"name": "another"}))}
        ),
    )
    words = shown(rendered(frame.Frame(session)))
    assert "Before it can be played:" in words
    assert session.tank.problems[0].sentence in words


def test_how_it_looks_is_chosen(session: Session) -> None:
    context = rendered(frame.Frame(session))
    button(context, "dark").click()
    button(context, "Gentle").click()
    button(context, "Large type").click()
    assert session.look == Look("dark", large=True, gentle=True)
    assert button(context, "Gentle").attributes["aria-checked"] == "true"


def test_a_failure_is_told_without_a_traceback_and_can_be_left(
    session: Session, caplog: pytest.LogCaptureFixture
) -> None:
    context = rendered(page.Guarded(session))
    button(context, "fail").click()
    words = shown(context)
    assert "That did not work" in words
    assert "on purpose" not in words
    assert "on purpose" in caplog.text
    button(context, "Go on").click()
    assert "Small tank" in shown(context)


def test_nothing_is_shown_before_the_browser_has_answered(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(page, "new_session", lambda: session)
    context = rendered(page.Page())
    assert "Small tank" not in shown(context)
    arrive(session, '{"look": {"shade": "dark"}, "kept": null, "been": true}')
    assert "Small tank" in shown(context)
    assert session.look.shade == "dark"
    assert not session.first_time


@pytest.mark.parametrize("text", ["", "nonsense", "[]", "3", "[" * 100_000, "x" * (MOST_KEPT + 1)])
def test_nonsense_from_the_browser_is_as_nothing(session: Session, text: str) -> None:
    arrive(session, text)
    assert session.arrived
    assert session.look == Look()


def test_a_closed_page_stops_what_runs_behind_it(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    closed = []
    monkeypatch.setattr(session, "close", lambda: closed.append(1))
    monkeypatch.setattr(page, "new_session", lambda: session)
    with page_context():
        rendered(page.Page())
    assert closed == [1]


def test_elements_say_what_they_are(kernel_of_a_page: None) -> None:
    heard: list[object] = []

    @solara.component
    def All() -> None:
        Button("go", lambda: heard.append("go"), hint="away", disabled=True)
        Switch("lamp", False, heard.append)
        Choice("speed", (("1", "slow"), ("2", "fast")), "1", heard.append)
        tag("p", "a <b>text</b>", name="note")

    context = rendered(All())
    assert button(context, "go").attributes["disabled"] is True
    button(context, "go").click()
    button(context, "lamp").click()
    assert button(context, "slow").attributes["aria-pressed"] == "true"
    button(context, "fast").click()
    assert heard == [True, "2"]
    assert "a <b>text</b>" in shown(context)


def test_a_look_is_what_it_was_after_a_change_of_one_thing() -> None:
    assert replace(Look(), large=True) == Look("device", large=True, gentle=False)


def test_an_element_never_becomes_one_of_another_kind(kernel_of_a_page: None) -> None:
    @solara.component
    def Changing() -> None:
        more, show = solara.use_state(False)
        with tag("div"):
            if more:
                tag("ul", tag("li", "one"))
            tag("h2", "After")
        Button("more", lambda: show(True))

    context = rendered(Changing())
    (before,) = (one for one in below(context.container) if getattr(one, "tag", "") == "h2")
    button(context, "more").click()
    kinds = [one.tag for one in below(context.container) if hasattr(one, "tag")]
    assert kinds.count("ul") == kinds.count("h2") == 1
    assert before.tag == "h2", "it was not made into the list"
