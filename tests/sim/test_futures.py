"""Futures: other luck from one moment on, counted from there, and one thing changed."""

from __future__ import annotations

import numpy as np
import pytest

from sim.check import check_file
from sim.errors import Refused
from sim.futures import BranchComparison, Branches, Fork, Future, fork_of
from sim.hands import Played, settle_acts, spawn_now, with_event
from sim.outcome import fish_names
from sim.rules.codes import EGGS, IN_TANK
from sim.settings import Settings

FOUR_FOOT = "scenarios/convict-four-foot.toml"
DAYS = 1.0


@pytest.fixture(scope="module")
def fork() -> Fork:
    """A run that has been watched throughout, on day 1."""
    checked = check_file(FOUR_FOOT)
    played = Played(
        scenario=checked.scenario, layout=checked.layout, run=3, seed=5,
        settings=Settings(watch_all=True),
    )  # fmt: skip
    history = played.begin()
    history.advance(until_day=1.5)
    settle_acts(history)
    return fork_of(played, history)


@pytest.fixture(scope="module")
def without_one(fork: Fork) -> Fork:
    """The same moment without the largest fish."""
    largest = int(np.argmax(fork.state.fish.length))
    name = fish_names(fork.played.scenario)[largest]
    played, history = with_event(fork.played, fork.history(), do="take out", fish=(name,))
    return fork_of(played, history, name=f"{name} is moved out")


@pytest.fixture(scope="module")
def branches(fork: Fork, without_one: Fork) -> Branches:
    """Six futures of each, played."""
    made = Branches((fork, without_one), futures=6, days=DAYS)
    assert list(made.play(workers=1)) == [1, 2, 3, 4, 5, 6]
    return made


def ended(fork: Fork, number: int):
    future = Future(
        scenario=fork.played.scenario, layout=fork.played.layout, run=number, fork=fork,
        until_day=fork.day + DAYS,
    )  # fmt: skip
    history = future.begin()
    history.advance()
    return history


def test_a_future_is_the_same_whenever_it_is_played_and_another_one_goes_another_way(fork: Fork):
    first, again, other = ended(fork, 0), ended(fork, 0), ended(fork, 1)
    assert first.state.fish.tobytes() == again.state.fish.tobytes()
    assert first.state.log.tobytes() == again.state.log.tobytes()
    assert not np.array_equal(first.state.fish.x, other.state.fish.x)
    assert first.day == pytest.approx(fork.day + DAYS, abs=0.5)


def test_the_fish_of_a_future_are_those_of_the_moment(fork: Fork):
    history = ended(fork, 2)
    for name in ("aggression", "boldness", "sex", "length"):
        assert np.array_equal(history.state.fish[name], fork.state.fish[name])


def test_everything_counts_from_the_moment_on(fork: Fork):
    assert fork.state.tank.attacks[0] > 0
    future = Future(
        scenario=fork.played.scenario, layout=fork.played.layout, run=0, fork=fork,
        until_day=fork.day + DAYS,
    )  # fmt: skip
    begun = future.begin()
    assert begun.state.tank.attacks[0] == begun.state.tank.log_rows[0] == 0
    assert begun.state.tank.awake[0] == 0.0
    assert begun.state.tally.dose.sum() == 0.0
    # What the fish carry stays (but for the seconds since the last slow update).
    assert begun.state.fish.fear == pytest.approx(fork.state.fish.fear, rel=1e-3)
    assert np.array_equal(begun.state.fish.site, fork.state.fish.site)
    begun.advance()
    row = begun.outcome().row[0]
    assert 0.0 < row["awake_h"] < 24.0 * DAYS
    assert row["chases_per_h"] > 0.0


def test_the_run_that_is_watched_is_left_as_it_was(fork: Fork):
    before = fork.state.fish.tobytes()
    ended(fork, 0)
    assert fork.state.fish.tobytes() == before


def test_futures_of_a_run_that_is_watched_throughout_are_leapt_as_a_batch_is(fork: Fork):
    row = ended(fork, 0).outcome().row[0]
    assert fork.state.settings.watch_all[0] == 1
    assert row["watched_share"] < 0.8


def test_futures_come_in_pairs_each_a_draw_of_its_own(branches: Branches):
    assert branches.done == 6
    for batch in branches.batches:
        assert batch.runs.column("draw").tolist() == [0, 1, 2, 3, 4, 5]
        assert batch.runs.column("run").tolist() == [0, 1, 2, 3, 4, 5]
    comparison = branches.comparison()
    assert comparison.done == 6
    assert comparison.verdicts[0].better + comparison.verdicts[0].worse > 0


def test_who_was_moved_out_is_not_counted_as_better_off(branches: Branches, without_one: Fork):
    comparison = branches.comparison()
    gone = np.flatnonzero(without_one.state.fish.presence != IN_TANK)
    assert len(gone) == 1
    assert set(comparison.staying) == set(range(len(without_one.state.fish))) - set(gone.tolist())
    row = comparison.difference("dose")
    assert row is not None
    kept = list(comparison.staying)
    for side, value in ((0, row.a.value), (1, row.b.value)):
        dose = comparison.summaries[side].fish_column("dose")[:, kept].sum(axis=1).mean()
        assert value == pytest.approx(dose)
    assert gone[0] not in [
        comparison.summaries[0].members.index(one.member) for one in comparison.doses()
    ]


def test_the_worst_of_each_future_is_what_its_tables_say(branches: Branches):
    comparison = branches.comparison()
    for side in (0, 1):
        summary, which = comparison.summaries[side], list(comparison.staying)
        worst = comparison.worst(side)
        dead = np.isfinite(summary.fish_column("death_day")[:, which]).any(axis=1)
        hurt = np.isfinite(summary.fish_column("minor_day")[:, which]).any(axis=1)
        assert ((worst == 3) == dead).all()
        assert (worst[hurt] >= 1).all()
        assert (worst[~hurt & ~dead] != 1).all()


def test_the_young_of_a_changed_moment_are_there_in_its_futures(fork: Fork):
    played, history = spawn_now(fork.played, fork.history())
    after = ended(fork_of(played, history), 0)
    assert after.state.broods.there[0] == 1
    assert after.state.stage_time[EGGS] > 3600.0


def test_nothing_follows_a_run_that_is_nearly_over(fork: Fork):
    late = Fork(played=fork.played, state=fork.state, day=fork.played.scenario.days - 0.1)
    with pytest.raises(Refused, match="nearly over"):
        Branches((late, late), futures=2, days=DAYS)


def test_a_moment_that_nothing_is_changed_in_goes_on_alike(fork: Fork):
    same = Branches((fork, fork), futures=2, days=DAYS)
    list(same.play(workers=1))
    comparison = BranchComparison(same)
    row = comparison.difference("chases_per_h")
    assert row is not None
    assert row.estimate == 0.0
    assert comparison.verdicts[0].word == "too few to say"
