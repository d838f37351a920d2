"""The report: one file that loads nothing, says what the page says, and runs nothing of ours."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from tests.viz.app.browser.harness import chromium
from tests.viz.commands import SMALL, TOP, Ended, holdwater
from viz.phrases import LETTERS
from viz.report.who import _matrix

EVIL = "</title><script>alert('1')</script><img src=x onerror=alert(2)> & \\\"quoted\\\""
VOID = {"meta", "br", "img", "link"}


class Page(HTMLParser):
    """A page taken apart: its elements, their texts and their attributes."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str | None]] = []
        self.texts: list[tuple[str, str]] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, name, value) for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open:
            self.texts.append((self.open[-1], data))

    def said(self, *tags: str) -> str:
        return " ".join(" ".join(t for tag, t in self.texts if not tags or tag in tags).split())


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("report")
    short = SMALL.replace("Small tank", EVIL).replace("tetras", "<b>mob</b>")
    (folder / "short.toml").write_text(f"# Is {EVIL} safe?\n\n{short}")
    (folder / "long.toml").write_text(
        '# And longer?\nbased_on = "short.toml"\npieces_when_resized = "stretch"\n'
        'title = "Long"\n[tank]\nlength = "48 in"\n'
    )
    return folder


def reported(place: Path, *more: object) -> Ended:
    ended = holdwater(
        "report", "short.toml", "long.toml", "--runs", 8, "--days", 1, "-o", "out.html",
        "--json", "out.json", "--set", "harm_per_bite=0.005", "--set", "attack_rate=0.3",
        *more, cwd=place,
    )  # fmt: skip
    assert ended.code == 0, ended.err
    return ended


@pytest.fixture(scope="module")
def text(place: Path) -> str:
    reported(place)
    return (place / "out.html").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def page(text: str) -> Page:
    found = Page(text)
    assert not found.open
    return found


def test_nothing_of_a_scenario_is_read_as_markup(text: str, page: Page):
    assert not {"script", "img", "iframe", "object", "link", "b-"} & set(page.tags)
    assert not [name for _, name, _ in page.attributes if name.startswith("on")]
    assert "alert('1')" in page.said("span")
    assert "<b>mob</b> 1" in page.said("li")
    assert "<script" not in text
    assert "<img" not in text


def test_it_loads_nothing_and_forbids_it(text: str, page: Page):
    policy = next(v for t, n, v in page.attributes if t == "meta" and v and "default-src" in v)
    assert policy.startswith("default-src 'none'")
    assert not [v for _, name, v in page.attributes if name in ("src", "href", "srcset", "data")]
    assert not re.search(r"https?://", text)
    assert "@import" not in text
    used = set(re.findall(r"url\(#([\w-]+)\)", text))
    assert set(re.findall(r"url\(([^)]*)\)", text)) == {f"#{name}" for name in used}
    ids = [value for _, name, value in page.attributes if name == "id"]
    assert used <= set(ids)
    assert len(ids) == len(set(ids))


def test_every_picture_says_in_words_what_it_shows(text: str):
    pictures = re.findall(r'<svg [^>]*role="img"[^>]*>', text)
    assert len(pictures) >= 6
    for picture in pictures:
        for bound in ("aria-labelledby", "aria-describedby"):
            name = re.search(f'{bound}="([^"]+)"', picture).group(1)
            words = re.search(f'id="{name}">([^<]+)<', text).group(1)
            assert len(words) > 3
    plain = [svg for svg in re.findall(r"<svg [^>]*>", text) if 'role="img"' not in svg]
    assert all('aria-hidden="true"' in svg for svg in plain)


def test_it_has_all_its_parts_in_order(text: str):
    heads = re.findall(r"<h2>([^<]+)</h2>", text)
    assert heads == [
        "The tanks from above", "The answer", "In figures", "No serious injury yet",
        "Where they are hurt", "Why", "Who chases whom", "What to have ready",
        "Before you build it", "How sure this is", "To play it again",
    ]  # fmt: skip


def test_its_sentences_and_figures_are_those_of_the_file(place: Path, page: Page):
    whole = json.loads((place / "out.json").read_text(encoding="utf-8"))
    said = page.said("p", "li")
    heard = 0
    for one in whole["sentences"]:
        words = " ".join(re.sub(r"^[AB]: ", "", one["words"]).split())
        heard += words[1:] in said
    assert heard > 12
    for letter, design in zip(LETTERS, whole["designs"], strict=False):
        assert design["hash"][:16] in page.said("span")
        assert letter in page.said("b")
        for name in ("dose", "bites_per_h"):
            value = design["outcomes"][name]["estimate"]
            shown = f"{value:.0f}" if value >= 9.95 else f"{value:.2g}".removesuffix(".0")
            assert shown in page.said("b")
    for caution in whole["cautions"]:
        assert caution in said
    assert "holdwater report short.toml long.toml --runs 8 --days 1" in page.said("pre")
    assert "--set attack_rate=0.3" in page.said("pre")


def test_the_scenario_stands_in_it_whole_and_plays_again(place: Path, page: Page):
    texts = [t for tag, t in page.texts if tag == "pre"]
    (place / "again.toml").write_text(next(t for t in texts if 'title = "Long"' in t))
    ended = holdwater("check", "again.toml", cwd=place)
    assert ended.code == 0, ended.err


def test_the_same_question_gives_the_same_bytes_with_any_workers(place: Path, text: str):
    reported(place, "--workers", 2)
    assert (place / "out.html").read_text(encoding="utf-8") == text


def test_run_and_compare_write_one_too_without_what_is_taken_away(place: Path):
    ended = holdwater(
        "run", "long.toml", "--runs", 4, "--days", 1, "--report", "one.html", cwd=place
    )
    assert ended.code == 0, ended.err
    one = Page((place / "one.html").read_text(encoding="utf-8"))
    assert "The tank from above" in one.said("h2")
    assert "Taken away" not in one.said("h3")
    assert "In whose territory" in one.said("h3") or "Nobody was hurt." in one.said("p")
    assert "holdwater run long.toml --runs 4 --days 1 --report one.html" in one.said("pre")


def test_a_report_that_cannot_be_written_is_refused_before_anything_is_played(place: Path):
    for command in (("report", "-o"), ("run", "--report")):
        ended = holdwater(command[0], "long.toml", command[1], "no/where.html", cwd=place)
        assert ended.code == 2
        assert "there is no folder" in ended.err
        assert "played" not in ended.err
        assert not (place / "no").exists()


def test_one_run_alone_has_no_report(place: Path):
    ended = holdwater("run", "long.toml", "--replay", 1, "--report", "one.html", cwd=place)
    assert ended.code == 2
    assert "--report: is given beside --replay, but one run has no intervals" in ended.err


def test_the_matrix_has_the_chaser_in_the_row_and_the_highest_rank_first():
    """Three fish: the second chases the others, the third only the first."""
    per_day = np.array([[0.0, 0.0, 0.0], [30.0, 0.0, 4.0], [7.0, 0.0, 0.0]])
    names = ("Ash", "Brine", "Clay")
    tank: Any = SimpleNamespace(
        name="Pool", layout=SimpleNamespace(members=[SimpleNamespace(name=one) for one in names])
    )
    picture: Any = SimpleNamespace(
        letter="A", per_day=per_day, elo=np.array([900.0, 1150.0, 980.0]), order=(1, 2, 0),
        linear=None,
    )  # fmt: skip
    rows = [
        ["".join(cell.itertext()) for cell in row]
        for row in _matrix(tank, picture, alone=True).iter("tr")
    ]
    assert rows == [
        ["fish", "Elo", "2", "3", "1"],
        ["2 Brine", "1150", "·", "4.0", "30"],
        ["3 Clay", "980", "", "·", "7.0"],
        ["1 Ash", "900", "", "", "·"],
    ]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        started = driver.chromium.launch(
            executable_path=chromium(), args=["--no-sandbox", "--disable-background-networking"]
        )
        yield started
        started.close()


@pytest.fixture(scope="module")
def shipped(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A report on two shipped tanks of nine fish, in which everything is there to be told."""
    file = tmp_path_factory.mktemp("shipped") / "out.html"
    names = ("convict-four-foot.toml", "convict-spawning.toml")
    ended = holdwater(
        "report", *names, "--runs", 20, "--days", 16, "--set", "harm_per_bite=0.0012", "-o", file,
        cwd=TOP / "scenarios",
    )  # fmt: skip
    assert ended.code == 0, ended.err
    return file


def test_every_fish_that_is_hurt_has_its_curve_with_its_interval(shipped: Path):
    text = shipped.read_text(encoding="utf-8")
    part = text.split("No serious injury yet, fish by fish", 1)[1].split("</section>", 1)[0]
    pictures = part.split("<figure")[1:]
    assert len(pictures) >= 3
    for picture in pictures:
        assert picture.count("fill-opacity") == 2  # the bands of two tanks
        assert "no serious injury yet</title>" in picture


def test_two_tanks_of_nine_fish_are_printed_on_two_or_three_pages(shipped: Path, browser: Any):
    text = shipped.read_text(encoding="utf-8")
    for part in ("Where they are hurt", "fish by fish", "Taken away", "days round the spawning"):
        assert part in text
    tab = browser.new_page()
    tab.goto(f"file://{shipped}")
    for paper in ("A4", "Letter"):
        pages = tab.pdf(format=paper, print_background=True).count(b"/Type /Page\n")
        assert 2 <= pages <= 3, paper
    tab.close()


def test_on_screen_and_phone(place: Path, text: str, browser: Any):
    from tests.viz.app.browser.harness import violations

    asked: list[str] = []
    said: list[str] = []
    for width in (1280, 820, 390):
        tab = browser.new_page(viewport={"width": width, "height": 844})
        tab.on("request", lambda request: asked.append(request.url))
        tab.on("console", lambda message: said.append(message.text))
        tab.on("pageerror", lambda error: said.append(str(error)))
        tab.goto(f"file://{place / 'out.html'}")
        assert tab.evaluate("document.documentElement.scrollWidth") <= width
        small = tab.evaluate(
            "[...document.querySelectorAll('p, li, td, th')].filter(e => "
            "parseFloat(getComputedStyle(e).fontSize) < 11).length"
        )
        assert small == 0
        assert violations(tab) == []
        tab.close()
    assert asked
    assert all(url.startswith("file:") for url in asked)
    assert said == []
