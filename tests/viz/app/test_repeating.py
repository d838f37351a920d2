"""Repeat and Compare without a browser: what is read and pressed there, and what is handed over."""

from __future__ import annotations

import html
import io
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from sim.scenario_file import read_scenario, scenario_hash
from tests.viz.app.rendering import button, page_context, rendered, shown
from tests.viz.commands import SMALL
from viz.app.batches import BatchNow, asked_for
from viz.app.opening import shipped
from viz.app.pages.compare import Compare
from viz.app.pages.repeat import Repeat, open_run
from viz.app.repeating.keeping import (
    command_words,
    files_of,
    json_of,
    report_of_job,
    stem_of,
    tables_of,
)
from viz.app.repeating.pairs import Pair
from viz.app.repeating.pairs_shown import caption, scale
from viz.app.repeating.playing import begin_batch, far_words
from viz.app.repeating.rows_shown import plain_rows
from viz.app.repeating.said import WAIT, ResultWords, answer, so_far_words
from viz.app.session import Session
from viz.record import results_json
from viz.words import in_words


@pytest.fixture
def session(tmp_path: Path) -> Any:
    """A page with a small tank and, beside it, a longer one."""
    file = tmp_path / "small.toml"
    file.write_text(SMALL, encoding="utf-8")
    made = Session(file)
    longer = made.tank.scenario
    longer = longer.model_copy(
        update={"tank": longer.tank.model_copy(update={"length_m": 1.2192}), "title": "Longer"}
    )
    made.add_variant(longer, name="Longer")
    made.pick(0)
    yield made
    made.close()


def played(session: Session, *, runs: int = 12, tanks: tuple[int, ...] = (0, 1)) -> Any:
    """A batch of the page that is whole."""
    assert begin_batch(session, runs=runs, tanks=tanks) == ()
    assert session.batch.wait(200.0)
    return session.batch


def test_that_nobody_spawns_is_said_and_a_spawning_is_put_in_all_of_them() -> None:
    session = Session(shipped("convict-four-foot.toml"))
    session.add_variant(session.tank.scenario, name="The same")
    with page_context():
        page = rendered(Compare(session))
        assert "Nobody spawns in these runs" in shown(page)
        button(page, "They spawn on day 5 in all of them").click()
        assert [tank.scenario.breeding.mode for tank in session.tanks] == ["on", "on"]
        assert [tank.scenario.breeding.spawn_day for tank in session.tanks] == [5.0, 5.0]
        assert all(tank.checked is not None for tank in session.tanks)
        assert "Nobody spawns in these runs" not in shown(page)
    session.close()


def test_the_page_says_what_the_runs_say_and_one_of_them_is_watched(session: Session) -> None:
    with page_context():
        page, words = rendered(Repeat(session)), rendered(ResultWords(session))
        assert "One run is an anecdote" in shown(page)
        job = played(session)
        assert "12 of 12 runs of each tank" in shown(page)
        for said in in_words(job.now.results):
            assert said.words in shown(words)
        button(page, "Watch the worst run").click()
        assert session.page == "watch"
        run = session.shown
        assert run is not None
        assert (run.tank, run.seed, run.settings) == (0, job.seed, job.settings)
        badness = {row.run: row.badness for row in job.now.rows[0]}
        assert badness[run.run] == max(badness.values())


def test_a_run_of_the_second_tank_is_opened_there(session: Session) -> None:
    job = played(session, runs=2)
    open_run(session, job, 1, job.now.rows[1][1])
    assert session.shown is not None
    assert (session.picked, session.shown.tank, session.shown.run) == (1, 1, 1)


def test_no_verdict_is_said_before_all_is_played(session: Session) -> None:
    job = played(session)
    now = job.now
    part = BatchNow(8, 12, now.rows, results=now.results)
    assert any("better" in said.words or "No difference" in said.words for said in answer(now))
    assert not any("for the same fish" in said.words for said in answer(part))
    assert WAIT in so_far_words(part)
    assert so_far_words(now) == ""
    assert "8 of 12 runs of each tank" in far_words(job, part)


def test_the_tanks_are_compared_and_their_pairs_drawn(session: Session) -> None:
    with page_context():
        page = rendered(Compare(session))
        assert "Differs from A in one thing" in shown(page)
        job = played(session)
        found = job.now.results.verdicts[0]
        assert f"{found.better} did better in B than in A" in shown(page)
        assert "B against A: " in shown(page)
        assert found.criterion in shown(page)


def test_one_tank_cannot_be_compared(tmp_path: Path) -> None:
    session = Session()
    with page_context():
        page = rendered(Compare(session))
        assert "One tank is open" in shown(page)
    session.close()


def test_files_are_those_of_the_command_line(session: Session) -> None:
    job = played(session, runs=3, tanks=(0,))
    assert json_of(job) == results_json(job.now.results)
    with zipfile.ZipFile(io.BytesIO(tables_of(job))) as archive:
        assert "tables/runs.csv" in archive.namelist()
        assert archive.read("tables/runs.csv").decode().count("\n") == 4
    assert tables_of(job) == tables_of(job)
    assert command_words(job).endswith("small.toml --runs 3")
    assert stem_of(job) == "small-tank-3-runs"
    report = report_of_job(job)
    assert report.startswith("<!DOCTYPE html>")
    assert "--report small-tank-3-runs.html" in report


def test_a_tank_that_is_not_saved_has_no_command(session: Session) -> None:
    job = played(session, runs=2)
    assert command_words(job).startswith("Save tank B under Build")


def test_the_report_on_a_tank_that_is_not_saved_holds_it_whole(
    session: Session, tmp_path: Path
) -> None:
    job = played(session, runs=2)
    first, second = files_of(job.designs)
    assert first == Path(str(job.designs[0].path))
    assert second == Path("longer.toml")
    report = report_of_job(job)
    assert f"holdwater compare {first} longer.toml --runs 2" in report
    assert "save it under the name it has in the command" in " ".join(report.split())
    texts = [html.unescape(part.split("</pre>")[0]) for part in report.split("<pre>")[1:]]
    saved = tmp_path / second
    saved.write_text(next(text for text in texts if 'title = "Longer"' in text), "utf-8")
    assert scenario_hash(read_scenario(saved)) == job.designs[1].hash


def test_two_tanks_of_one_name_that_are_not_saved_get_names_of_their_own(session: Session) -> None:
    job = played(session, runs=2)
    alike = [replace(job.designs[1], name="Longer") for _ in range(3)]
    names = [str(one) for one in files_of(alike)]
    assert names == ["longer.toml", "longer-2.toml", "longer-3.toml"]


def test_a_tank_that_cannot_be_played_is_said(session: Session) -> None:
    scenario = session.tanks[1].scenario
    wrong = scenario.pieces[0].model_copy(update={"x_m": 9.0})
    session.replace_tank(1, scenario.model_copy(update={"pieces": (wrong,)}))
    problems = begin_batch(session, runs=2, tanks=(0, 1))
    assert problems
    assert problems[0].where.startswith("Longer")
    assert begin_batch(session, runs=2, tanks=(0,)) == ()


def test_rows_for_the_browser_have_what_is_drawn(session: Session) -> None:
    job = played(session, runs=4, tanks=(0,))
    names = ("Flint", "tetras 1", "tetras 2")
    rows = plain_rows(
        job.now.rows[0], names=names, days=2.0, order="worst", gentle=False, whole=True
    )
    assert rows[0]["tag"] == "worst"
    assert {row["run"] for row in rows} == {0, 1, 2, 3}
    early = plain_rows(
        job.now.rows[0], names=names, days=2.0, order="number", gentle=True, whole=False
    )
    assert [row["run"] for row in early] == [0, 1, 2, 3]
    assert not any(row["tag"] or row["dead"] or row["serious"] or row["first"] for row in early)


def test_a_figure_counts_its_lines() -> None:
    pairs = [Pair(0, 1.0, 0.5, "better"), Pair(1, 1.0, 1.0, "alike"), Pair(2, 0.1, 0.4, "worse")]
    assert caption(pairs, first="A", second="B").startswith(
        "Of 3 draws of fish, 1 did better in B than in A, 1 about alike, 1 worse."
    )
    assert scale(0.9) == pytest.approx([0.0, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5])


def test_what_is_asked_is_what_the_command_line_asks() -> None:
    assert asked_for(20).settings.vary is False
    assert asked_for(100).settings.vary is True


def test_no_option_of_the_command_line_is_asked_for_where_one_presses(session: Session) -> None:
    job = played(session, runs=2)
    typed = " ".join(said.words for said in in_words(job.now.results))
    assert "too few to say whether B is better than A. Ask for more --runs." in typed
    pressed = " ".join(said.words for said in answer(job.now))
    assert "too few to say whether B is better than A. Play more runs." in pressed
    assert "--" not in pressed
