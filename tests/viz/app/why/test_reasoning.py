"""Reasons behind a page: the bytes of the command line, nothing played twice, stopped, gone on."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from sim.taken_away import TEMPERS, Variant, play_variants
from tests.viz.app.why.made import files, page_with, played
from tests.viz.commands import SMALL, holdwater
from viz.app.session import Session
from viz.app.why.asking import ask_why
from viz.app.why.keeping import command_of_why, complete, json_of_why, report_of_why
from viz.app.why.reasoning import AS_IT_IS, Reasoning, least_for_tempers
from viz.why_results import reasons_of, temper_result

RUNS = 6


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("why")


@pytest.fixture
def session(folder: Path) -> Iterator[Session]:
    made = page_with(*files(folder))
    yield made
    made.close()


@pytest.fixture(scope="module")
def job(folder: Path) -> Iterator[Any]:
    """Runs of both tanks."""
    made = page_with(*files(folder))
    yield played(made, runs=RUNS)
    made.close()


def begun(job: Any, **more: Any) -> Reasoning:
    """Reasons that are reckoned."""
    why = Reasoning(job, **more).start()
    assert why.wait(60.0)
    assert why.now.fault == ()
    return why


def test_all_taken_away_is_what_the_command_line_writes(job: Any, folder: Path) -> None:
    out = folder / "why.json"
    paths = [str(path) for path in files(folder)]
    done = holdwater("why", *paths, "--runs", RUNS, "--json", out, cwd=folder)
    assert done.code == 0, done.err
    why = begun(job)
    assert not complete(why.now)
    for place in (0, 1):
        why.take_usual(place)
    assert why.wait(200.0)
    assert complete(why.now)
    keys = [[one.key for one in offers if one.whole] for offers in why.now.offers]
    assert keys == [
        ["occlusion", "individuality", "fish of B"],
        ["occlusion", "individuality", "fish of A"],
    ]
    assert json_of_why(why.now) == out.read_text(encoding="utf-8")
    assert command_of_why(why, why.now) == f"holdwater why {paths[0]} {paths[1]} --runs {RUNS}"
    report = report_of_why(why, why.now)
    assert "Taken away, one at a time" in report
    assert f"holdwater report {paths[0]}" in report


def test_what_is_played_is_not_played_again(job: Any) -> None:
    class Nobody:
        def play(self, *_: object, **__: object) -> Any:
            raise AssertionError("something is played")

    why = begun(job, pool=Nobody())
    assert why.now.why is not None
    summaries = job.played().summaries()
    base = reasons_of(summaries[1], number=1)
    told = why.now.why.reasons[1]
    assert (told.ways, told.covers, told.ends) == (base.ways, base.covers, base.ends)
    assert told.taken == ()
    assert list(why.now.spots[0]) == [AS_IT_IS]
    assert why.now.spots[0][AS_IT_IS].dose.sum() * RUNS == pytest.approx(
        job.batches[0].runs.column("dose").sum()
    )


def test_stopped_it_says_no_difference_and_goes_on_to_the_same(job: Any) -> None:
    whole = begun(job)
    whole.take_away(0, "individuality", True)
    assert whole.wait(100.0)
    first = threading.Event()
    why = begun(job)

    def told() -> None:
        if not first.is_set() and any(one.done for one in why.now.offers[0]):
            first.set()
            why.stop()

    why._told = told
    why.take_away(0, "individuality", True)
    assert first.wait(60.0)
    assert why.wait(30.0)
    (offer,) = (one for one in why.now.offers[0] if one.key == "individuality")
    assert not offer.on
    assert 0 < offer.done < RUNS
    assert why.now.why is not None
    assert why.now.why.reasons[0].taken == ()
    why._told = lambda: None
    why.take_away(0, "individuality", True)
    assert why.wait(60.0)
    assert whole.now.why is not None
    assert why.now.why.reasons[0].taken == whole.now.why.reasons[0].taken != ()
    why.take_away(0, "individuality", False)
    assert why.now.why.reasons[0].taken == ()
    why.take_away(0, "individuality", True)
    assert why.now.why.reasons[0].taken == whole.now.why.reasons[0].taken


def test_the_floor_shows_what_is_asked_as_long_as_it_is_there(job: Any) -> None:
    why = begun(job)
    why.show(0, "individuality")
    assert why.now.shown == (AS_IT_IS, AS_IT_IS)
    why.take_away(0, "individuality", True)
    assert why.wait(60.0)
    assert why.now.shown == ("individuality", AS_IT_IS)
    assert why.now.most >= why.now.spots[0]["individuality"].most
    why.take_away(0, "individuality", False)
    assert why.now.shown == (AS_IT_IS, AS_IT_IS)


def test_one_tank_of_several_is_told_as_if_it_were_alone(job: Any) -> None:
    why = begun(job, only=1, tanks=(4,), note="those of a try")
    assert why.now.why is not None
    assert len(why.now.why.reasons) == len(why.now.why.results.designs) == 1
    assert why.now.why.results.designs[0].name == job.designs[1].name
    assert why.tanks == (4,)
    assert not any(one.key.startswith("fish of") for one in why.now.offers[0])


def test_what_tempers_make_of_the_spread_is_played_from_enough_runs_on(tmp_path: Path) -> None:
    path = tmp_path / "short.toml"
    path.write_text(SMALL.replace("days = 2", "days = 0.5"), encoding="utf-8")
    session = page_with(path)
    job = played(session, runs=80)
    why = begun(job)
    assert TEMPERS not in why.now.spots[0]
    why.take_away(0, TEMPERS, True)
    assert why.wait(100.0)
    assert why.now.why is not None
    (design,), (summary,) = job.designs, job.played().summaries()
    (partner,) = play_variants(
        [Variant(key=TEMPERS, scenario=design.scenario, layout=design.layout)],
        runs=80, seed=job.seed, settings=job.settings, changes={},
    )  # fmt: skip
    found = temper_result(partner, base=summary)
    assert why.now.why.reasons[0].tempers == found
    assert found is not None
    assert why.now.why.reasons[0].taken == ()
    assert least_for_tempers() == 80
    session.close()


def test_a_fault_is_said(job: Any, caplog: pytest.LogCaptureFixture) -> None:
    class Broken:
        def play(self, *_: object, **__: object) -> Any:
            raise RuntimeError("on purpose")

    why = begun(job, pool=Broken())
    why.take_away(0, "occlusion", True)
    assert why.wait(30.0)
    assert "on purpose" in str(why.now.fault[0])
    assert "on purpose" in caplog.text


def test_the_reasons_end_with_the_runs_they_are_of(session: Session) -> None:
    ask_why(session, played(session, runs=2))
    why = session.why
    assert why.wait(60.0)
    count: list[int] = []
    why._told = lambda: count.append(1)
    scenario = session.tanks[1].scenario
    session.replace_tank(1, scenario.model_copy(update={"days": 1.0}))
    assert session.why is None
    why.take_usual(0)
    assert why.wait(30.0)
    assert count == []
