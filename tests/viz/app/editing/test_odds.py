"""Rough odds are the runs and the words of the command line, and can be given up."""

from __future__ import annotations

import time

import pytest

from sim.batch import play_batch
from sim.check import check_scenario
from sim.start import draw_of
from sim.summary import summarise
from tests.viz.app.editing.made import shipped
from viz.app.editing.changing import rebuilt
from viz.app.editing.life import set_days
from viz.app.editing.odds import Odds, OddsJob, results_of, rough_words
from viz.app.editing.stock import change_fish, remove_fish
from viz.words import in_words


@pytest.fixture(scope="module")
def checked():
    return check_scenario(set_days(shipped(), days=1))


def played(checked, **options) -> list[Odds]:
    told: list[Odds] = []
    job = OddsJob(checked, told.append, wait_s=0.0, **options).start()
    assert job.wait(120.0)
    return told


def test_they_are_the_runs_of_the_command_line(checked):
    told = played(checked, runs=6)
    assert told[0].done == 0
    last = told[-1]
    assert (last.done, last.asked, last.refused) == (6, 6, ())
    assert all(one.hurt <= one.done for one in told)
    batch = play_batch(checked.scenario, checked.layout, runs=6, keep_days=False)
    plain = results_of(checked, batch)
    assert last.results.designs == plain.designs
    assert [said.words for said in last.said] == [said.words for said in in_words(plain)]
    assert summarise(batch).runs == 6
    assert draw_of(5) == 2


def test_few_runs_say_how_rough_they_are(checked):
    last = played(checked, runs=4)[-1]
    serious = last.results.designs[0].outcomes["serious"]
    assert rough_words(last.results).startswith(
        f"Rough: 4 runs. In 100 runs like these, anything from {100 * serious.low:.0f} to "
        f"{100 * serious.high:.0f} with a fish seriously hurt"
    )
    assert last.how_sure[0] == rough_words(last.results)
    assert any("held at one set of assumed numbers" in words for words in last.how_sure)
    assert any("assumed harm per bite" in words for words in last.how_sure)


def test_many_runs_are_not_called_rough():
    from dataclasses import replace

    from tests.viz.made import design, results

    made = results(design(runs=40))
    assert rough_words(made) == ""
    few = replace(made, designs=(design(runs=39),))
    assert rough_words(few).startswith("Rough: 39 runs.")


def test_given_up_they_tell_nothing_more(checked):
    told: list[Odds] = []
    job = OddsJob(checked, told.append, runs=400, wait_s=0.0).start()
    deadline = time.monotonic() + 60.0
    while not told and time.monotonic() < deadline:
        time.sleep(0.01)
    job.cancel()
    count = len(told)
    assert job.cancelled
    assert job.wait(5.0), "it ends within a run"
    assert len(told) == count
    assert told[-1].results is None


def test_given_up_before_they_began_nothing_is_played(checked):
    told: list[Odds] = []
    job = OddsJob(checked, told.append, wait_s=30.0).start()
    job.cancel()
    assert job.wait(2.0)
    assert told == []


def test_a_tank_that_the_rules_refuse_is_told():
    scenario = shipped("convict-spawning")
    she = scenario.breeding.pair[1]
    young = check_scenario(change_fish(scenario, she, length="1 in"))
    last = played(young, runs=2)[-1]
    assert last.results is None
    assert last.refused[0].where == "breeding.pair" or "pair" in str(last.refused[0])
    assert last.said == ()


def test_one_fish_is_enough(checked):
    scenario = rebuilt(checked.scenario, pieces=())
    for group in scenario.fish[1:]:
        scenario = remove_fish(scenario, group.name)
    last = played(check_scenario(scenario), runs=2)[-1]
    assert last.said
