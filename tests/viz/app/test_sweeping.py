"""A sweep in the app: the bytes of the command line, stopped and gone on with, drawn and told."""

from __future__ import annotations

import io
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from sim.errors import Refused
from sim.scenario_file import scenario_hash
from tests.viz.app.rendering import button, page_context, rendered, shown
from tests.viz.commands import SMALL, holdwater
from viz.app.pages.compare import Compare
from viz.app.session import Session
from viz.app.sweeping.asking import SweepAsked, in_page
from viz.app.sweeping.choosing import SWEEP, vary_of, with_values
from viz.app.sweeping.figure import along, panels_of, words_of
from viz.app.sweeping.files import command_words, tables_of
from viz.app.sweeping.job import SweepJob, SweepNow
from viz.app.sweeping.offers import offers
from viz.app.sweeping.panel import SweepSection, far_words
from viz.sweep_results import SweepResults
from viz.sweep_tables import sweep_json
from viz.sweep_words import sweep_sentences

HERE = Path(__file__).resolve().parents[3] / "scenarios"
LENGTHS = "tank.length=30 in, 48 in"
CAVES = "hardscape.caves=0..1"


@pytest.fixture
def session(tmp_path: Path) -> Any:
    """A page with a small tank."""
    file = tmp_path / "small.toml"
    file.write_text(SMALL, encoding="utf-8")
    made = Session(file)
    yield made
    made.close()


def asked(*vary: str, runs: int | None = 3) -> SweepAsked:
    return SweepAsked(vary=vary, runs=runs, outcomes=("dose", "serious"))


def played(session: Session, *vary: str, runs: int = 3) -> tuple[SweepJob, SweepResults]:
    """A sweep that is whole, and what it says."""
    job = SweepJob(session.tank, asked(*vary, runs=runs))
    assert job.start().wait(200.0)
    assert job.now.whole, job.now.refused
    assert job.now.results is not None
    return job, job.now.results


def test_the_bytes_are_those_of_the_command_line(session: Session, tmp_path: Path) -> None:
    json, tables = tmp_path / "sweep.json", tmp_path / "tables"
    assert session.tank.file is not None
    done = holdwater(
        "sweep", str(session.tank.file), "--vary", LENGTHS, "--vary", CAVES, "--runs", "3",
        "--json", str(json), "--csv", str(tables), cwd=tmp_path,
    )  # fmt: skip
    assert done.code == 0, done.err
    job, results = played(session, LENGTHS, CAVES)
    assert sweep_json(results) == json.read_text(encoding="utf-8")
    with zipfile.ZipFile(io.BytesIO(tables_of(results))) as archive:
        for path in tables.iterdir():
            assert archive.read(f"tables/{path.name}") == path.read_bytes()
        assert len(archive.namelist()) == len(list(tables.iterdir()))
    assert "--vary 'tank.length=30 in, 48 in' --vary hardscape.caves=0..1 --runs 3" in (
        command_words(job)
    )


def test_a_tank_that_is_not_saved_is_varied_as_it_stands(session: Session) -> None:
    own = session.tank.scenario
    session.replace_tank(0, own.model_copy(update={"days": 1.0}))
    job, results = played(session, LENGTHS, runs=2)
    assert {job.tank_at(k).scenario.days for k in range(2)} == {1.0}
    assert results.file == session.tank.name
    assert command_words(job).startswith("Save this tank under Build")
    same = scenario_hash(job.tank_at(0).scenario.model_copy(update={"title": own.title}))
    assert same == scenario_hash(session.tank.scenario)  # 30 in is what it is


def test_it_is_stopped_and_gone_on_with_to_the_same_bytes(session: Session) -> None:
    _, whole = played(session, LENGTHS, runs=4)
    job = SweepJob(session.tank, asked(LENGTHS, runs=4))
    say = job.say

    def say_and_stop(**values: Any) -> None:
        say(**values)
        if job.now.done >= 3:
            job.cancel()

    job.say = say_and_stop  # type: ignore[method-assign]
    assert job.start().wait(200.0)
    assert job.now.cancelled
    assert 3 <= job.now.done < 8
    assert job.now.results is not None
    assert "stopped" in far_words(job, job.now)
    job.say = say  # type: ignore[method-assign]
    assert job.start().wait(200.0)
    assert job.now.whole
    assert job.now.done == 8
    assert sweep_json(job.now.results) == sweep_json(whole)


def test_points_are_played_until_they_are_narrow(session: Session) -> None:
    job = SweepJob(session.tank, asked(LENGTHS, runs=None))
    assert job.wanted.precision is not None
    assert job.asked.settings.vary
    # a width that forty runs cannot miss: two looks would take the test a minute
    job.wanted = replace(job.wanted, precision=replace(job.wanted.precision, half_width=0.6))
    assert job.start().wait(300.0)
    assert job.now.results is not None
    assert [point.runs for point in job.now.results.points] == [40, 40]
    assert all(point.narrow for point in job.now.results.points)


@pytest.mark.parametrize(
    ("vary", "says"),
    [
        ("tank.length", 'got "tank.length"; expected KEY=VALUES'),
        ("tank.lengh=4 ft, 5 ft", "lengh"),
        ("tank.length=1 in, 4 ft", "1 in"),
        ("days=3, 4", "the same number of days at every point"),
        (
            "tank.length=4 ft..6 ft",
            'as 4 ft..8 ft by 1 ft, or take "spread evenly through the ranges".',
        ),
        ("tank.length=1 ft..90 ft by 1 ft; hardscape.caves=0..9", "Vary less, or take"),
        ("seed=1, 2", "every point plays the same fish"),
    ],
)
def test_what_cannot_be_varied_is_said_without_options_of_a_command(
    session: Session, vary: str, says: str
) -> None:
    session.replace_tank(0, session.tank.scenario.model_copy(update={"days": 1.0}))
    try:
        job = SweepJob(session.tank, asked(*vary.split("; ")))
    except Refused as refusal:
        problems = refusal.problems
    else:
        assert job.start().wait(100.0)
        problems = job.now.refused
    said = " ".join(map(str, problems))
    assert says in said
    assert "/tmp" not in said
    assert "--" not in said


@pytest.mark.parametrize("name", ["", "convict-four-foot", "convict-spawning"])
def test_what_is_offered_begins_with_values_that_can_be_built(session: Session, name: str) -> None:
    if name:
        assert session.open_file(HERE / f"{name}.toml") == ()
    found = {one.key: with_values(session.tank, one) for one in offers(session.tank.scenario)}
    assert list(found)[:2] == ["tank.length", "hardscape.caves"]
    for key, offer in found.items():
        named = name == "convict-spawning" and key in ("fish.Basalt.count", "fish.Pumice.count")
        if not key or named:  # the pair that spawns there cannot be left out, and playing says so
            continue
        job = SweepJob(session.tank, asked(vary_of(offer, {}, place="0")))
        tanks, _ = job._built()
        assert len(tanks) > 1, key
    caves = {"": "0, 1, 2, 3", "convict-four-foot": "0..6", "convict-spawning": "1, 2, 3, 4, 5, 6"}
    assert found["hardscape.caves"].values == caves[name]


def test_the_figure_has_every_point_and_says_it_in_words(session: Session) -> None:
    _, results = played(session, LENGTHS, CAVES, runs=2)
    panels = panels_of(results)
    assert [one.outcome for one in panels] == ["dose", "serious"]
    assert [line.label for line in panels[0].lines] == ["0", "1"]
    for panel in panels:
        values = [n for line in panel.lines for n in line.numbers]
        assert len(values) == len(results.points) == 4
        assert all(value in panel.factor.values for value in ("30 in", "48 in"))
    words = words_of(panels[0])
    assert words.startswith("Injury received, summed over the fish, injury, against tank.length.")
    assert "hardscape.caves 0: 30 in: " in words
    places = along(results.factors[0])
    assert places[0] < places[1]


def test_the_page_plays_tells_draws_and_opens_a_point(session: Session) -> None:
    with page_context():
        page = rendered(Compare(session))
        assert "One tank is open" in shown(page)  # and yet its values can be varied
        button(page, "20, rough").click()
        button(page, "Play the values").click()
        job = session.behind[SWEEP]
        assert (job.typed.runs, job.typed.vary) == (20, ("tank.length=2.5 ft, 3 ft, 4 ft, 5 ft",))
        job.close()
        job, results = played(session, LENGTHS, runs=2)
        session.put_behind(SWEEP, job)
        text = shown(page)
        for said in sweep_sentences(results):
            assert said.words in text
        assert "At each point: estimate and 95 % interval" in text
        assert "From value to value" in text
        assert "Includes no further gain" in text  # how sure
        (press,) = [one for one in buttons_named(page) if one == "Open 48 in as a tank of its own"]
        open_named(page, press)
        assert session.tank.name == "Small tank, tank.length = 48 in"
        assert session.tank.scenario == job.tank_at(1).scenario
        assert "B: Small tank, tank.length = 48 in" in shown(page)


def test_no_gain_is_told_before_all_is_played(session: Session) -> None:
    job, results = played(session, LENGTHS, runs=2)
    job.now = SweepNow(
        building=False, points=2, done=3, planned=4, results=results, over=True, cancelled=True
    )
    session.put_behind(SWEEP, job)
    with page_context():
        text = shown(rendered(SweepSection(session)))
        assert "So far." in text
        assert "Play the rest" in text
        assert not any(said.words in text for said in sweep_sentences(results))
        assert "as a tank" not in text


def test_runs_that_are_kept_are_not_played_anew(session: Session, tmp_path: Path) -> None:
    keep = tmp_path / "runs"
    first = SweepJob(session.tank, asked(LENGTHS, runs=2), keep=keep)
    assert first.start().wait(200.0)
    assert first.now.found == 0
    again = SweepJob(session.tank, asked(LENGTHS, runs=3), keep=keep)
    assert again.start().wait(200.0)
    assert again.now.found == 4
    assert "4 runs had been kept" in far_words(again, again.now)
    _, plain = played(session, LENGTHS, runs=3)
    assert again.now.results is not None
    assert sweep_json(again.now.results) == sweep_json(plain)


def test_a_closed_page_plays_no_further(session: Session) -> None:
    job = SweepJob(session.tank, asked(LENGTHS, runs=400))
    session.put_behind(SWEEP, job)
    job.start()
    session.close()
    assert job.wait(20.0)
    assert job.now.done < 800


def test_sentences_of_the_command_line_name_no_option() -> None:
    from sim.errors import Problem

    one = in_page(Problem("--vary tank.length", "in /tmp/x/this tank."), hide=["/tmp/x/"])
    assert (one.where, one.sentence) == ("what is varied tank.length", "in this tank.")


def buttons_named(page: Any) -> list[str]:
    from tests.viz.app.rendering import below

    return [
        one.attributes["aria-label"]
        for one in below(page.container)
        if getattr(one, "tag", "") == "button" and "aria-label" in (one.attributes or {})
    ]


def open_named(page: Any, name: str) -> None:
    from tests.viz.app.rendering import below

    (found,) = [
        one
        for one in below(page.container)
        if getattr(one, "tag", "") == "button" and (one.attributes or {}).get("aria-label") == name
    ]
    found.click()
