"""A better layout in the app: what the command line finds, given up, cut short, taken over."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest

from sim.better.search import EVERYWHERE, JUDGED, LAST, ROUND
from sim.errors import Refused
from tests.viz.app.rendering import below, button, page_context, rendered, shown
from tests.viz.commands import SMALL
from viz import cli
from viz.app.building.bench import Bench, bench_of
from viz.app.layouts.job import LayoutAsked, LayoutJob, LayoutNow, command_words, doing_words
from viz.app.layouts.panel import SEARCH, LayoutDrawer, as_tags, picture_of
from viz.app.repeating.pool import shared_pool
from viz.app.session import Session
from viz.markup import el

BRIEF = SMALL.replace("days = 2", "days = 0.5")


@pytest.fixture
def session(tmp_path: Path) -> Any:
    """A page with a small tank and little time."""
    file = tmp_path / "small.toml"
    file.write_text(BRIEF, encoding="utf-8")
    made = Session(file)
    yield made
    made.close()


def asked(*move: str, budget: int = 40, fresh: int = 20) -> LayoutAsked:
    return LayoutAsked(move=move, budget=budget, fresh=fresh)


def searched(session: Session, monkeypatch: pytest.MonkeyPatch, *, seed: int = 4) -> LayoutJob:
    """A search whose layout is taken to be better, whether or not so few runs show it."""
    monkeypatch.setattr("sim.better.improve.is_better", lambda gain: gain is not None)
    scenario = session.tank.scenario.model_copy(update={"seed": seed})
    session.replace_tank(0, scenario, file=session.tank.file)
    job = LayoutJob(session.tank, asked())
    assert job.start().wait(300.0)
    assert job.now.whole, job.now.refused
    assert job.now.found is not None
    assert job.now.found.fresh is not None, "another seed is needed: the search kept the layout"
    return job


def test_it_finds_what_the_command_line_finds(
    session: Session,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    from sim.check import check_file

    job = searched(session, monkeypatch)
    out = tmp_path / "better.toml"
    arguments = ["improve", str(session.tank.file), "--seed", "4", "--budget", "40"]
    assert cli.outcome([*arguments, "--runs", "20", "-o", str(out)]) == 0
    capsys.readouterr()
    found = check_file(out).scenario
    mine = job.layout_of()
    assert found.pieces == mine.pieces
    assert found.title == mine.title == "Small tank, another layout"
    assert command_words(job).endswith("small.toml --budget 40 --runs 20")


def test_a_search_that_is_begun_again_plays_nothing_that_is_kept(
    session: Session, tmp_path: Path
) -> None:
    class Counting:
        played = 0

        def play(self, jobs: Any, *, stop: Any) -> Any:
            for outcome in shared_pool().play(jobs, stop=stop):
                self.played += 1
                yield outcome

    found = []
    for _ in range(2):
        pool: Any = Counting()
        job = LayoutJob(session.tank, asked(), keep=tmp_path / "kept", pool=pool)
        assert job.start().wait(300.0)
        assert job.now.whole, job.now.refused
        assert job.now.unkept == ()
        assert job.now.found is not None
        found.append((job.now.found.plan, pool.played))
    (first, played), (again, afresh) = found
    assert first == again
    assert played >= 40
    assert afresh == 0


def test_where_runs_cannot_be_kept_it_is_said_and_the_search_goes_on(
    session: Session, tmp_path: Path
) -> None:
    (tmp_path / "kept").write_text("a file where a folder should be")
    job = LayoutJob(session.tank, asked(), keep=tmp_path / "kept")
    assert job.start().wait(300.0)
    assert job.now.whole, job.now.refused
    assert len(job.now.unkept) == 1


def test_it_says_which_part_it_is_in_and_how_many_layouts(session: Session) -> None:
    job = LayoutJob(session.tank, asked(budget=60))
    seen: list[LayoutNow] = []
    job._told = lambda: seen.append(job.now)
    assert job.start().wait(300.0)
    parts = list(dict.fromkeys(one.part for one in seen))
    assert parts[0] == EVERYWHERE
    assert set(parts) <= {EVERYWHERE, ROUND, LAST, JUDGED}
    assert LAST in parts
    assert all(one.done <= one.most == 100 for one in seen)
    layouts = [one.layouts for one in seen]
    assert layouts == sorted(layouts)
    assert layouts[-1] > 1
    words = doing_words(LayoutNow(part=ROUND, number=2, layouts=17, done=90, most=300))
    assert words == "Round 2 about the best of them. 17 layouts so far. 90 of at most 300 runs."


def test_it_is_given_up_at_once_and_a_closed_page_searches_no_further(session: Session) -> None:
    begun = threading.Event()
    job = LayoutJob(session.tank, asked(budget=4000), told=begun.set)
    session.put_behind(SEARCH, job)
    job.start()
    assert begun.wait(100.0)
    session.close()
    assert job.wait(20.0)
    assert job.now.found is None
    assert "no layout was judged" in doing_words(job.now)


def test_it_is_cut_short_and_what_was_found_is_judged(session: Session) -> None:
    def tell() -> None:
        if job.now.part == ROUND:
            job.enough()

    job = LayoutJob(session.tank, asked(budget=400), told=tell)
    assert job.start().wait(300.0)
    assert job.now.whole, job.now.refused
    assert job.now.cut_short
    assert job.now.found is not None
    assert job.now.found.found.ledger.spent < 200
    assert "cut short" in command_words(job)


def test_what_cannot_move_is_said_without_options_of_a_command(session: Session) -> None:
    with pytest.raises(Refused) as refused:
        LayoutJob(session.tank, asked("castle"))
    (problem,) = refused.value.problems
    assert problem.where == "what may move"
    assert 'got "castle"' in problem.sentence


def test_the_drawer_searches_shows_and_takes_over(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = searched(session, monkeypatch)
    assert job.now.found is not None
    found = job.now.found.tank.scenario.pieces
    given = session.tank.scenario.pieces
    assert found != given
    bench = bench_of(session)
    with page_context():
        page = rendered(LayoutDrawer(bench))
        assert "Search for a better layout" in shown(page)
        session.put_behind(SEARCH, job)
        text = shown(page)
        assert "A better layout was found. In 20 fresh runs of each" in text
        assert "pot: to " in text
        pictures = [one for one in below(page.container) if getattr(one, "tag", "") == "svg"]
        assert len(pictures) == 2
        button(page, "Put it into this tank").click()
        assert session.tank.scenario.pieces == found
        assert session.tank.scenario.title == "Small tank"
        assert "This tank stands in that layout" in shown(page)
        bench.undo()
        assert session.tank.scenario.pieces == given
        button(page, "Open it beside this tank").click()
        assert [one.name for one in session.tanks] == [
            "Small tank",
            "Small tank, another layout",
        ]
        assert session.tanks[1].scenario.pieces == found


def test_a_tank_that_was_changed_meanwhile_keeps_its_pieces(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = searched(session, monkeypatch)
    scenario = session.tank.scenario
    changed = scenario.model_copy(update={"pieces": ()})
    with pytest.raises(Refused, match="changed since the search"):
        job.into(changed)
    assert job.into(scenario).fish == scenario.fish


def test_the_drawer_offers_what_is_loose_and_refuses_nothing_at_all(session: Session) -> None:
    with page_context():
        page = rendered(LayoutDrawer(bench_of(session)))
        button(page, "chosen pieces").click()
        button(page, "Search for a better layout").click()
        assert "got nothing; expected a piece" in shown(page)
        assert SEARCH not in session.behind
        (switch,) = [
            one
            for one in below(page.container)
            if (getattr(one, "attributes", None) or {}).get("role") == "switch"
        ]
        switch.click()
        button(page, "Search for a better layout").click()
        job = session.behind[SEARCH]
        assert job.wanted.move == ("pot",)
        assert job.wanted.budget == 200
        assert "Give it up" in shown(page)


def test_drawings_become_elements_with_their_texts(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = Bench(session)
    job = LayoutJob(bench.tank, asked())
    drawn = picture_of(job, job.design.layout, words="Before")
    assert drawn.attrib["role"] == "img"
    with page_context():
        made = as_tags(el("g", el("title", "<b>x</b>"), class_="tank"))
        assert made.kwargs["class_"] == "tank"
        (title,) = made.kwargs["children"]
        assert title.kwargs["children"] == ["<b>x</b>"]
