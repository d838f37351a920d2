"""Counts of a real tank in the app: the pad, what it refuses, and what they tell."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from sim.check import check_file
from sim.errors import Refused
from sim.scenario import Scenario
from sim.sittings import Sitting
from tests.viz.app.building.test_build_page import drawer, put
from tests.viz.app.rendering import button, page_context, rendered, shown, with_role
from tests.viz.commands import SMALL
from viz import cli
from viz.app import frame
from viz.app.building import knowing
from viz.app.building.bench import Bench, bench_of
from viz.app.building.counts_told import tables_of_watched
from viz.app.editing.pad import Pad, pad_of_text
from viz.app.session import Session
from viz.observe_record import observe_json, with_tempers
from viz.observe_results import KnownFishResult
from viz.phrases import rounded


@pytest.fixture
def path(tmp_path: Path) -> Path:
    file = tmp_path / "small.toml"
    file.write_text(SMALL.replace("days = 2", "days = 1"), "utf-8")
    return file


@pytest.fixture
def tank(path: Path) -> Scenario:
    return check_file(path).scenario


@pytest.fixture
def bench(path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    monkeypatch.setattr(knowing, "LEARN_RUNS", 60)
    monkeypatch.setattr(knowing, "RUNS", 8)
    with page_context():
        session = Session(path)
        session.go("build")
        made = bench_of(session)
        made.looking._follow_odds = lambda: None  # type: ignore[method-assign]
        yield made
        session.close()


def test_what_is_on_the_pad_is_what_the_command_would_read(tank: Scenario) -> None:
    pad = (
        Pad.blank(tank).put(0, "Flint", "chases_given", " 9 ").put(0, "tetras", "chases_taken", "9")
    )
    pad = pad.more(tank).put(1, "Flint", "chases_given", "4").put(1, "", "day", "0")
    pad = pad.put(1, "", "hour", "15:00").put(1, "", "minutes", "20")
    rows = pad.rows(tank)
    assert [(row.who, row.sitting, row.counts) for row in rows] == [
        ("Flint", Sitting(0, 13.0, 10.0), (9, None, None)),
        ("tetras", Sitting(0, 13.0, 10.0), (None, 9, None)),
        ("Flint", Sitting(0, 15.0, 20.0), (4, None, None)),
    ]
    again = pad_of_text(pad.as_text(tank), tank)
    assert again == pad
    assert pad.without(1).put(0, "Flint", "chases_given", "").rows(tank)[0].who == "tetras"


def test_what_was_typed_of_a_group_waits_while_its_fish_are_counted_one_by_one(
    tank: Scenario,
) -> None:
    pad = Pad.blank(tank).put(0, "tetras", "chases_taken", "9")
    each = Pad(pad.sheets, each=True)
    assert each.names(tank) == ["Flint", "tetras 1", "tetras 2"]
    with pytest.raises(Refused, match="nothing was counted"):
        each.rows(tank)
    assert pad.rows(tank)[0].counts == (None, 9, None)


def test_what_is_wrong_with_a_sitting_is_said_once(tank: Scenario) -> None:
    pad = Pad.blank(tank).put(0, "", "hour", "noon")
    pad = pad.put(0, "Flint", "chases_given", "2").put(0, "tetras", "chases_taken", "x")
    with pytest.raises(Refused) as refused:
        pad.rows(tank)
    said = [str(problem) for problem in refused.value.problems]
    assert len(said) == 2
    assert said[0].startswith('hour: got "noon"; expected a time of day')
    assert said[1].startswith('tetras, chases_taken: got "x"; expected a whole number')


def test_counts_typed_in_the_drawer_tell_what_the_command_tells_and_are_taken_into_the_tank(
    bench: Bench, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    context = rendered(frame.Frame(bench.session))
    drawer(context, "counts")
    button(context, "What do these counts tell?").click()
    assert "nothing was counted" in shown(context)
    assert with_role(context, "alert")
    bench.write(bench.pad.put(0, "Flint", "chases_given", "9"))
    put(context, "Minutes", "10")
    bench.write(bench.pad.put(0, "tetras", "chases_taken", "9"))
    button(context, "What do these counts tell?").click()
    job = bench.knowing
    assert job is not None
    assert job.wait(240.0)
    assert job.now.refused == ()
    found = job.now.found
    assert found is not None
    words = shown(context)
    told = json.loads(observe_json(found))
    for one in told["sentences"][:3]:
        assert one["words"] in words
    assert "The tank with these fish" in words

    (tmp_path / "counts.csv").write_text(bench.pad.as_text(bench.scenario), "utf-8")
    monkeypatch.chdir(tmp_path)
    asked = ["observe", "small.toml", "counts.csv", "--learn", "60", "--runs", "8"]
    assert cli.outcome([*asked, "--json", "o.json"]) == 0
    command = json.loads((tmp_path / "o.json").read_text("utf-8"))
    for key in ("answers", "fish", "counted", "fiercer", "sentences"):
        assert command[key] == told[key], key
    flint = next(one for one in told["counted"] if one["who"] == "Flint")
    low, high = flint["usual"]["low"], flint["usual"]["high"]
    assert f"9  ({rounded(low)} to {rounded(high)})" in words
    assert cli.outcome([*asked, "--csv", "tab"]) == 0
    with zipfile.ZipFile(io.BytesIO(tables_of_watched(job, job.now))) as archive:
        names = {Path(name).name for name in archive.namelist()}
        assert names == {file.name for file in (tmp_path / "tab").iterdir()}
        for name in ("tempers.csv", "temper_draws.csv", "runs.csv"):
            assert archive.read(f"tables/{name}") == (tmp_path / "tab" / name).read_bytes()

    # What is likely enough is taken into the tank, and back; here it is taken for granted.
    fierce = [
        KnownFishResult(one.name, one.group, one.species, one.aggression, one.boldness, word)
        for one, word in zip(found.fish, ("fierce", "mild", None), strict=True)
    ]
    object.__setattr__(found, "fish", tuple(fierce))
    bench.tell()
    before = bench.scenario
    assert with_tempers(before, found).fish[1].temper == "unknown"  # one of the group is not told
    button(context, "Take these tempers into the tank").click()
    assert [group.temper for group in bench.scenario.fish] == ["fierce", "unknown"]
    bench.undo()
    assert bench.scenario == before


def test_it_can_be_stopped_and_says_so(bench: Bench) -> None:
    context = rendered(frame.Frame(bench.session))
    drawer(context, "counts")
    bench.write(bench.pad.put(0, "Flint", "chases_given", "9"))
    button(context, "What do these counts tell?").click()
    assert bench.knowing is not None
    bench.knowing.cancel()
    assert bench.knowing.wait(60.0)
    assert bench.knowing.now.cancelled
    assert "68 runs, stopped" in shown(context)


def test_a_file_with_groups_both_ways_is_refused(tank: Scenario) -> None:
    header = "fish,minutes,day,hour,chases_given,chases_taken,minutes_hidden\n"
    text = f"{header}tetras,10,0,13:00,1,,\ntetras 1,10,0,15:00,1,,\n"
    with pytest.raises(Refused, match="expected one of the two here"):
        pad_of_text(text, tank)
