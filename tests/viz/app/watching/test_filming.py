"""A film of the run that is watched: the bytes of the command line, stopped, taken along."""

from __future__ import annotations

import io
import threading
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from sim.footage import record, watched_stretches
from sim.hands import Played, feed_now, with_event
from sim.settings import Settings
from tests.viz.app.rendering import button, page_context, rendered, shown
from tests.viz.commands import SMALL, holdwater
from viz.app.given import file_stem
from viz.app.live import LiveTank
from viz.app.session import Session
from viz.app.watching.film_panel import FILM, FilmAndPicture
from viz.app.watching.filming import (
    FilmJob,
    FilmNow,
    doing_words,
    film_of,
    played_anew,
)


@pytest.fixture
def session(tmp_path: Path) -> Any:
    """A page with a small tank."""
    file = tmp_path / "small.toml"
    file.write_text(SMALL, encoding="utf-8")
    made = Session(file)
    yield made
    made.close()


def played_of(session: Session, *, watch_all: bool = False, run: int = 0) -> Played:
    checked = session.tank.checked
    assert checked is not None
    settings = Settings(watch_all=watch_all)
    return Played(scenario=checked.scenario, layout=checked.layout, run=run, settings=settings)


def test_the_film_is_that_of_the_command_line_and_says_how_far_it_is(
    session: Session, tmp_path: Path
) -> None:
    told: list[FilmNow] = []
    film = film_of(session, played_of(session, run=1))
    job = FilmJob(film, seconds=10, kind="gif")
    job._told = lambda: told.append(job.now)
    assert job.start().wait(200.0)
    assert job.now.whole, job.now.refused
    made = job.now.made
    assert made is not None
    out = tmp_path / "film.gif"
    done = holdwater(
        "film", "small.toml", "-o", str(out), "--run", "1", "--seconds", "10", "--runs", "20",
        cwd=tmp_path,
    )  # fmt: skip
    assert done.code == 0, done.err
    assert made.content == out.read_bytes()
    assert made.name == "small-tank-run-1.gif"
    assert {one.doing for one in told} >= {"playing", "drawing"}
    assert all(one.done <= one.of for one in told)
    assert told[-1].whole
    assert any("In the end: " in line for line in made.script)


def test_two_tanks_are_filmed_with_the_same_fish(session: Session) -> None:
    session.add_variant(session.tank.scenario, name="Beside it")
    session.pick(0)
    film = film_of(session, played_of(session), others=[1])
    assert [one.name for one in film.designs] == ["Small tank", "Beside it"]
    assert film.words == "run 0 of Small tank and of Beside it"


def test_what_hands_did_is_in_the_film(session: Session) -> None:
    played = played_of(session, watch_all=True)
    history = played.begin()
    history.advance(until_day=0.5)
    after, _ = with_event(played, history, do="take out", fish=("tetras 1",))
    assert film_of(session, after).designs[0].scenario.events == after.scenario.events != ()
    assert played_anew(session, after)


def test_a_run_that_was_fed_by_hand_is_said_to_be_another(session: Session) -> None:
    played = played_of(session, watch_all=True)
    history = played.begin()
    history.advance(until_day=0.5)
    fed, _ = feed_now(played, history, right=True)
    assert played_anew(session, played)
    assert not played_anew(session, fed)
    live = LiveTank(fed, start=False)
    with page_context():
        assert "may go otherwise than what you watched" in shown(
            rendered(FilmAndPicture(session, live))
        )


def test_a_film_is_stopped_and_leaves_nothing(
    session: Session, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    begun = threading.Event()

    def tell() -> None:
        if job.now.doing == "drawing":
            begun.set()

    job = FilmJob(film_of(session, played_of(session)), seconds=300, kind="gif", told=tell)
    job.start()
    assert begun.wait(200.0)
    job.cancel()
    assert job.wait(10.0)
    assert job.now.cancelled
    assert job.now.made is None
    assert doing_words(job.now) == "Stopped; no film was made."
    assert [path.name for path in tmp_path.iterdir()] == ["small.toml"]


def test_recording_in_slices_is_the_same_as_in_one_go(session: Session) -> None:
    played = played_of(session)
    stretches = watched_stretches(played.begin())
    last = stretches[-1]
    takes = [(last[0], min(last[0] + 5.0, last[1]))]
    shares: list[float] = []
    (plain,), (sliced,) = (
        record(played.begin(), takes),
        record(played.begin(), takes, progress=shares.append),
    )
    assert len(shares) > 1
    assert shares[-1] == pytest.approx(takes[0][1] / takes[0][1])
    assert plain.frames.tobytes() == sliced.frames.tobytes()


def test_the_page_makes_it_tells_it_and_hands_it_over(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("viz.app.watching.film_panel.kinds_here", lambda: ("gif",))
    live = LiveTank(played_of(session), start=False)
    with page_context():
        page = rendered(FilmAndPicture(session, live))
        assert "There is no ffmpeg here" in shown(page)
        button(page, "half a minute").click()
        button(page, "Make a film of this run").click()
        job = session.behind[FILM]
        assert job.seconds == 30
        assert job.wait(200.0)
        assert "It shows run 0 of Small tank." in shown(page)
        assert "The film in words" in shown(page)
        with Image.open(io.BytesIO(job.now.made.content)) as film:
            assert film.n_frames > 100
        button(page, "Make a film of this run").click()  # another takes its place
        second = session.behind[FILM]
        assert second is not job
        assert "Stop the film" in shown(page)
        session.close()
        assert second.wait(10.0)


def test_names_of_files_are_plain() -> None:
    assert file_stem("Convict pair, four feet") == "convict-pair-four-feet"
    assert file_stem("???") == "tank"
