"""Plans and precisions of a sweep in the app: chosen as for the command line, with its bytes."""

from __future__ import annotations

import io
import shlex
import sys
import zipfile
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from matplotlib.figure import Figure

from sim.errors import Refused
from tests.viz.app.rendering import below, button, page_context, rendered, shown
from tests.viz.commands import SMALL, holdwater
from viz.app.session import Session
from viz.app.sweeping import files
from viz.app.sweeping.asking import SweepAsked, words_in_page
from viz.app.sweeping.choosing import SWEEP, ranged, vary_of, with_picked, with_values
from viz.app.sweeping.cloud import _above, cloud_words, clouds_of, labels_of
from viz.app.sweeping.figure import panels_of
from viz.app.sweeping.files import command_words, parquet_of, parquet_there, tables_of
from viz.app.sweeping.job import SweepJob
from viz.app.sweeping.offers import offers, range_of
from viz.app.sweeping.panel import SweepSection, varied_words
from viz.cli import outcome
from viz.sweep_figure import _scatter
from viz.sweep_page import cell, step_cell
from viz.sweep_results import SweepResults
from viz.sweep_tables import sweep_json
from viz.sweep_words import sweep_sentences

SCENARIOS = Path(__file__).resolve().parents[3] / "scenarios"
RANGE = "tank.length=30 in..60 in"
CAVES = "hardscape.caves=0..2"
FOUR = (RANGE, CAVES, "fish.tetras.count=0..3", "tank.temperature=75 degF..81 degF")
EVENLY = "spread evenly through the ranges"
ENOUGH = "until it is known well enough"
OUTCOMES = ("dose", "serious")


@pytest.fixture
def session(tmp_path: Path) -> Any:
    """A page with a small tank that is played for a day."""
    file = tmp_path / "small.toml"
    file.write_text(SMALL.replace("days = 2", "days = 1"), encoding="utf-8")
    made = Session(file)
    yield made
    made.close()


def played(session: Session, *vary: str, **more: Any) -> tuple[SweepJob, SweepResults]:
    """A sweep that is whole, and what it says."""
    asked = SweepAsked(vary=vary, outcomes=OUTCOMES, **{"runs": 3, "plan": "latin", **more})
    job = SweepJob(session.tank, asked)
    assert job.start().wait(250.0)
    assert job.now.whole, job.now.refused
    assert job.now.results is not None
    return job, job.now.results


def unpacked(archive: bytes, ending: str) -> dict[str, bytes]:
    """What is in an archive of tables, by the name that it has in a folder."""
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        names = opened.namelist()
        assert all(name.startswith("tables/") and name.endswith(ending) for name in names)
        return {name.removeprefix("tables/"): opened.read(name) for name in names}


def inputs(page: Any) -> dict[str, Any]:
    """What can be typed in or chosen from, by its label."""
    found = [one for one in below(page.container) if hasattr(one, "vue_typed")]
    assert len({one.label for one in found}) == len(found)
    return {one.label: one for one in found}


def test_a_latin_plan_with_a_typed_precision_is_that_of_the_command_line(
    session: Session, tmp_path: Path
) -> None:
    job, results = played(
        session,
        RANGE,
        "hardscape.caves=2",
        points="4",
        runs=None,
        precision="dose=0.05",
        most_runs="44",
    )
    assert results.precision == {"outcome": "dose", "half_width": 0.05, "most_runs": 44}
    assert {point.runs for point in results.points} <= {40, 44}
    assert any(point.narrow is False for point in results.points)
    assert sweep_sentences(results)
    line = command_words(job)
    for part in ("--plan latin --points 4", "--precision dose=0.05 --most-runs 44"):
        assert part in line
    # the very line that stands on the page
    typed = shlex.split(line[line.index("holdwater ") :])[1:]
    done = holdwater(
        *typed, "--json", "s.json", "--csv", "csv", "--parquet", "parquet", cwd=tmp_path
    )
    assert done.code == 0, done.err
    assert sweep_json(results) == (tmp_path / "s.json").read_text(encoding="utf-8")
    for archive, kind in ((tables_of(results), "csv"), (parquet_of(results), "parquet")):
        folder = tmp_path / kind
        written = {path.name: path.read_bytes() for path in folder.iterdir()}
        assert unpacked(archive, f".{kind}") == written
        assert set(written) == {f"{name}.{kind}" for name in ("outcomes", "steps", "caves")}


def test_four_keys_are_spread_and_ten_points_a_key_are_played_where_none_are_typed(
    session: Session,
) -> None:
    job, results = played(session, *FOUR, runs=1)
    assert len(results.points) == 40
    assert "--plan latin --runs 1" in command_words(job)
    for k, (low, high) in enumerate(((30, 60), (0, 2), (0, 3), (75, 81))):
        numbers = [point.numbers[k] for point in results.points]
        assert all(number is not None and low <= number <= high for number in numbers)
        assert len(set(numbers)) == (40 if k in (0, 3) else high - low + 1)
    clouds = clouds_of(results)
    assert [(one.outcome, one.factor.key) for one in clouds] == [
        (outcome, text.partition("=")[0]) for outcome in OUTCOMES for text in FOUR
    ]
    assert varied_words(results).startswith("tank.length: 30 in to 60 in; hardscape.caves: 0, 1, 2")


@pytest.mark.parametrize("name", ["", "convict-spawning"])
def test_what_is_offered_begins_with_a_range_that_can_be_built(session: Session, name: str) -> None:
    if name:
        assert session.open_file(SCENARIOS / f"{name}.toml") == ()
    built = 0
    for offer in offers(session.tank.scenario):
        if not offer.key or offer.key in ("fish.Basalt.count", "fish.Pumice.count"):
            continue
        one = ranged(with_values(session.tank, offer))
        assert ".." in one.values, one.key
        vary = vary_of(one, {}, place="0")
        asked = SweepAsked(vary=(vary,), runs=1, outcomes=OUTCOMES, plan="latin", points="5")
        tanks, _ = SweepJob(session.tank, asked)._built()
        assert len(tanks) == 5
        built += 1
    assert built > 4


@pytest.mark.parametrize(
    ("values", "ends"),
    [
        ("4 ft, 5 ft, 6 ft", "4 ft..6 ft"),
        ("8, 10, 12", "8..12"),
        ("6, 0, 3", "0..6"),
        ("4 ft..8 ft", "4 ft..8 ft"),
        ("30 in, 4 ft", "30 in, 4 ft"),  # of two units
        ("male, female", "male, female"),
        ("0, 200", "0, 200"),  # more whole numbers than can be told apart
        ("", ""),
    ],
)
def test_values_become_the_range_they_span(values: str, ends: str) -> None:
    assert range_of(values) == ends


@pytest.mark.parametrize(
    ("more", "options", "where"),
    [
        ({"points": "1"}, ("--points", "1"), "how many points"),
        ({"points": "many"}, ("--points", "many"), "how many points"),
        ({"precision": "x"}, ("--precision", "x"), "how narrow"),
        ({"precision": "dose=0"}, ("--precision", "dose=0"), "how narrow"),
        (
            {"most_runs": "39"},
            ("--precision", "0.05", "--most-runs", "39"),
            "runs of each point at most",
        ),
    ],
)
def test_what_is_typed_is_refused_in_the_words_of_the_command_line(
    session: Session,
    capsys: pytest.CaptureFixture[str],
    more: dict[str, str],
    options: tuple[str, ...],
    where: str,
) -> None:
    runs = None if "points" not in more else 3
    with pytest.raises(Refused) as refused:
        SweepJob(
            session.tank,
            SweepAsked(vary=(RANGE,), runs=runs, outcomes=OUTCOMES, plan="latin", **more),  # type: ignore[arg-type]
        )
    (problem,) = refused.value.problems
    assert problem.where == where
    command = ["sweep", str(session.tank.file), "--vary", RANGE, "--plan", "latin", *options]
    assert outcome(command) == 2
    (said,) = capsys.readouterr().err.splitlines()
    assert said.endswith(problem.sentence)


def test_the_page_asks_for_a_plan_and_a_precision(session: Session) -> None:
    with page_context():
        page = rendered(SweepSection(session))
        assert "How many points" not in inputs(page)
        assert "What is to be known" not in inputs(page)
        for label, key in (
            ("And besides", "hardscape.caves"),
            ("And a third", "fish.tetras.count"),
            ("And a fourth", "tank.temperature"),
        ):
            inputs(page)[label].vue_typed(key)
        assert inputs(page)["Its values"].value == "2.5 ft, 3 ft, 4 ft, 5 ft"
        button(page, EVENLY).click()
        assert inputs(page)["Its values"].value == "2.5 ft..5 ft"
        assert inputs(page)["How many points"].example == "40"
        inputs(page)["How many points"].vue_typed("12")
        inputs(page)["Values of the third"].vue_typed("0..3")
        inputs(page)["And besides"].vue_typed("no")  # the third becomes the second
        assert inputs(page)["Values of the second"].value == "0..3"
        button(page, ENOUGH).click()
        assert inputs(page)["Half the width of its interval"].value == "0.05"
        inputs(page)["What is to be known"].vue_typed("dose")
        assert inputs(page)["Half the width of its interval"].value == "0.2"
        inputs(page)["Half the width of its interval"].vue_typed("wide")
        inputs(page)["Runs of each point at most"].vue_typed("80")
        button(page, "Play the values").click()
        assert 'how narrow: got "dose=wide"; expected half the width' in shown(page)
        assert SWEEP not in session.behind
        inputs(page)["Half the width of its interval"].vue_typed("0.3")
        button(page, "Play the values").click()
        job = session.behind[SWEEP]
        job.close()
        assert "got" not in shown(page)
    precision = job.wanted.precision
    assert (precision.outcome, precision.half_width, precision.most) == ("dose", 0.3, 80)
    assert (job.wanted.plan, job.wanted.points) == ("latin", 12)
    assert job.typed.vary == (
        "tank.length=2.5 ft..5 ft", "fish.tetras.count=0..3",
        "tank.temperature=76 degF..82 degF",
    )  # fmt: skip


def test_points_and_widths_are_of_no_account_where_they_are_not_asked_for(
    session: Session,
) -> None:
    with page_context():
        page = rendered(SweepSection(session))
        button(page, EVENLY).click()
        inputs(page)["How many points"].vue_typed("nonsense")
        button(page, "every combination").click()
        button(page, ENOUGH).click()
        inputs(page)["Half the width of its interval"].vue_typed("nonsense")
        button(page, "20, rough").click()
        button(page, "Play the values").click()
        job = session.behind[SWEEP]
        job.close()
    assert (job.wanted.plan, job.wanted.points, job.wanted.precision) == ("full", None, None)


def test_what_follows_a_choice_that_is_taken_away_moves_up_with_what_was_typed() -> None:
    three = ((0, "a"), (1, "b"), (2, "c"))
    assert with_picked(three, 1, "no") == ((0, "a"), (2, "c"))
    assert with_picked(((0, "a"), (2, "c")), 2, "d") == ((0, "a"), (2, "c"), (3, "d"))
    assert with_picked(three, 0, "d") == ((0, "d"), (1, "b"), (2, "c"))


def test_a_latin_plan_is_told_and_drawn_as_by_the_command_line(session: Session) -> None:
    job, results = played(session, RANGE, CAVES, points="8", runs=4)
    for cloud in clouds_of(results):
        drawn = Figure().subplots()
        k = [factor.key for factor in results.factors].index(cloud.factor.key)
        _scatter(drawn, results, cloud.outcome, k, 1.0)
        (points, *others) = [line.get_xydata().tolist() for line in drawn.get_lines()]
        there = [n.estimate for n in cloud.numbers if n is not None]
        assert points == [[x, y] for x, y in zip(cloud.at, there, strict=True)]
        fitted = [line for line in others if len(line) in (2, 3)]
        if cloud.fitted:
            assert fitted[-1] == [pytest.approx(place) for place in cloud.fitted]
        words = cloud_words(cloud)
        assert "8 points, from " in words
        assert all(step_cell(step) in words for step in cloud.steps)
    assert any(cloud.fitted for cloud in clouds_of(results))
    session.put_behind(SWEEP, job)
    with page_context():
        page = rendered(SweepSection(session))
        text = shown(page)
        pictures = [one for one in below(page.container) if getattr(one, "tag", "") == "svg"]
        assert len(pictures) == 4
        marks = [
            one for one in below(page.container) if "hw-mark-at" in str(getattr(one, "class_", ""))
        ]
        assert [str(one.attributes["d"]).count("M") for one in marks] == [8] * 4
    for said in sweep_sentences(results):
        assert said.words in text
    assert "lines as fitted for the middle of all other factors" in text
    for point in results.points:
        assert all(value in text for value in point.values)
        assert all(cell(point.outcomes.get(name)) in text for name in OUTCOMES)


def test_too_few_points_are_told_without_an_option_of_a_command(session: Session) -> None:
    _, results = played(session, RANGE, CAVES, points="3", runs=2)
    assert not results.steps
    assert not any(cloud.fitted for cloud in clouds_of(results))
    (words, _) = (words_in_page(said.words) for said in sweep_sentences(results))
    assert words.endswith("too few points to part the factors. Ask for more points.")


def test_a_latin_plan_is_stopped_at_its_first_run_and_gone_on_with_to_the_same_bytes(
    session: Session,
) -> None:
    _, whole = played(session, RANGE, CAVES, points="6")
    asked = SweepAsked(vary=(RANGE, CAVES), runs=3, outcomes=OUTCOMES, plan="latin", points="6")
    job = SweepJob(session.tank, asked)
    say = job.say

    def say_and_stop(**values: Any) -> None:
        say(**values)
        if job.now.done >= 6:
            job.cancel()

    job.say = say_and_stop  # type: ignore[method-assign]
    assert job.start().wait(200.0)
    assert job.now.cancelled
    session.put_behind(SWEEP, job)
    with page_context():
        assert "So far." in shown(rendered(SweepSection(session)))
    job.say = say  # type: ignore[method-assign]
    assert job.start().wait(200.0)
    assert job.now.results is not None
    assert sweep_json(job.now.results) == sweep_json(whole)


def test_more_than_two_keys_of_a_full_plan_are_drawn_as_means(session: Session) -> None:
    lengths = "tank.length=30 in, 48 in"
    job, results = played(
        session, lengths, "hardscape.caves=0..1", "fish.tetras.count=1, 2", plan="full", runs=2
    )
    assert len(results.points) == 8
    panels = panels_of(results)
    assert len(panels) == 2 * 3
    assert all(panel.mean and len(panel.lines) == 1 for panel in panels)
    assert panels[0].lines[0].numbers == results.levels["dose"]["tank.length"]
    session.put_behind(SWEEP, job)
    with page_context():
        text = shown(rendered(SweepSection(session)))
    assert text.count("mean over the values of the other factors") == len(panels)
    for fewer in ((lengths,), (lengths, "hardscape.caves=0..1")):
        _, results = played(session, *fewer, plan="full", runs=2)
        assert not any(panel.mean for panel in panels_of(results))


def test_labels_of_a_range_are_its_ends_and_its_middle(session: Session) -> None:
    _, results = played(session, RANGE, "fish.tetras.count=0..12", points="4", runs=1)
    length, count = results.factors
    assert [words for _, words in labels_of(length)] == ["30 in", "45 in", "60 in"]
    assert [words for _, words in labels_of(count)] == ["0", "12"]
    for one in (length, count):
        places = [x for x, _ in labels_of(one)]
        assert all(x < further for x, further in pairwise(places))


def test_a_fitted_line_ends_where_nothing_is() -> None:
    assert _above([(0.0, 2.0), (1.0, 1.0)]) == [((0.0, 2.0), (1.0, 1.0))]
    assert _above([(0.0, 2.0), (4.0, -2.0), (6.0, -1.0)]) == [((0.0, 2.0), (2.0, 0.0))]
    assert _above([(0.0, -1.0), (4.0, 3.0)]) == [((1.0, 0.0), (4.0, 3.0))]


def test_parquet_is_handed_out_where_it_can_be_made(
    session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    job, _ = played(session, RANGE, points="4", runs=1)
    session.put_behind(SWEEP, job)

    def handed() -> tuple[set[str], str]:
        with page_context():
            page = rendered(SweepSection(session))
            given = [one for one in below(page.container) if hasattr(one, "vue_asked")]
            return {one.label for one in given}, shown(page)

    labels, text = handed()
    assert parquet_there()
    assert {"Tables, CSV", "Tables, Parquet", "Results, JSON"} <= labels
    assert files.NO_PARQUET not in text
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    without, text = handed()
    assert labels - without == {"Tables, Parquet"}
    assert files.NO_PARQUET in text
