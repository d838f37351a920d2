"""Challenges: their files are whole, what may be changed is held, and judging is one look."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sim.batch import play_batch
from sim.check import check_file, check_scenario
from sim.errors import Refused
from sim.figures import share_of_runs
from sim.scenario_writing import write_scenario
from sim.summary import Summary
from viz.app.challenge_check import passes_again
from viz.app.challenge_judging import (
    Judged,
    holds,
    judge,
    needs_start,
    play_try,
    seed_for,
    settings_of,
)
from viz.app.challenge_rules import not_allowed, refuse_what_is_not_allowed
from viz.app.challenges import Challenge, Condition, find_challenge, load_challenges
from viz.app.editing.changing import remade, replaced
from viz.app.editing.furnish import add_piece, move_piece, remove_piece
from viz.app.editing.stock import change_fish

KEYS = [one.key for one in load_challenges()]


def short(challenge: Challenge, *, days: float = 0.4) -> Challenge:
    """The same challenge over the first minutes of light, with the fewest runs."""
    scenario = challenge.start.scenario.model_copy(update={"days": days})
    passed = challenge.passed.model_copy(update={"runs": 40})
    return replace(challenge, start=check_scenario(scenario), passed=passed)


@pytest.fixture(scope="module")
def stones() -> Challenge:
    return find_challenge("three-stones")


@pytest.mark.parametrize("key", KEYS)
def test_every_tank_and_every_answer_can_be_played_and_is_allowed(key: str, tmp_path: Path) -> None:
    challenge = find_challenge(key)
    path = tmp_path / "start.toml"
    path.write_text(write_scenario(challenge.start.scenario), encoding="utf-8")
    assert check_file(path).scenario == challenge.start.scenario
    assert not_allowed(challenge, challenge.start.scenario) == ()
    for answer in challenge.answers:
        tried = challenge.answered(answer)
        assert tried.warnings == ()
        assert not_allowed(challenge, tried.scenario) == (), answer.name
        assert tried.scenario.days == challenge.start.scenario.days


@pytest.mark.parametrize("key", KEYS)
def test_every_challenge_has_its_words_and_a_wrong_answer(key: str) -> None:
    challenge = find_challenge(key)
    right = [answer for answer in challenge.answers if answer.right]
    assert bool(right) != bool(challenge.nothing)
    assert any(not answer.right for answer in challenge.answers)
    assert all(answer.why for answer in challenge.answers)
    assert challenge.teaches
    assert challenge.rests_on
    assert "{number}" not in challenge.line_words


def test_what_a_challenge_does_not_allow_is_told_and_refused(stones: Challenge) -> None:
    start = stones.start.scenario
    cases = {
        "Rivals: count 2 instead of 5": change_fish(start, "rivals", count=2),
        "Pot is moved": move_piece(start, "pot", x_m=0.36, y_m=0.3),
        "There is one piece less: pot": remove_piece(start, "pot"),
        "Days 1 instead of 7": start.model_copy(update={"days": 1.0}),
        "The tank is": start.model_copy(update={"tank": remade(start.tank, length_m=1.5)}),
        "There is one piece more: 18 in divider": add_piece(start, kind="divider", size="18 in")[0],
    }
    for words, tried in cases.items():
        found = not_allowed(stones, tried)
        assert [one for one in found if words in one], found
    with pytest.raises(Refused, match=r"That may not be changed here\. Undo it\. Up to three"):
        refuse_what_is_not_allowed(stones, cases["Pot is moved"])


def test_of_more_than_may_be_added_the_surplus_is_told(stones: Challenge) -> None:
    tried = stones.start.scenario
    for _ in range(4):
        tried, name = add_piece(tried, kind="cobble", size="4 in")
    assert len(not_allowed(stones, tried)) == 1
    assert name in not_allowed(stones, tried)[0]


def test_a_piece_of_ones_own_measures_is_not_one_of_the_catalogue(stones: Challenge) -> None:
    tried, name = add_piece(stones.start.scenario, kind="pipe", size="2 in")
    index = [piece.name for piece in tried.pieces].index(name)
    wide = remade(tried.pieces[index], length_m=0.4)
    tried = tried.model_copy(update={"pieces": replaced(tried.pieces, index, wide)})
    assert not_allowed(stones, tried) != ()


def test_its_name_does_not_count(stones: Challenge) -> None:
    start = stones.start.scenario
    renamed = start.model_copy(update={"title": "Mine", "question": "?", "keeper": "Ada"})
    assert not_allowed(stones, renamed) == ()


def test_the_seed_hangs_on_the_tank_and_the_challenge_alone(stones: Challenge) -> None:
    start = stones.start.scenario
    renamed = start.model_copy(update={"title": "Mine"})
    longer = start.model_copy(update={"days": 8.0})
    assert seed_for(stones, start) == seed_for(stones, renamed)
    assert seed_for(stones, start) != seed_for(stones, longer)
    assert seed_for(replace(stones, key="other"), start) != seed_for(stones, start)


def test_the_start_against_itself_is_judged_alike_and_fails(stones: Challenge) -> None:
    quick = short(stones)
    said: list[tuple[int, int]] = []
    judged, batch = play_try(quick, quick.start, workers=1, told=lambda a, b: said.append((a, b)))
    assert needs_start(quick)
    assert settings_of(quick).vary
    assert (judged.runs, batch.done, said[-1]) == (40, 40, (80, 80))
    assert judged.share.value == np.mean(batch.runs.column("dose") == 0.0)
    assert not judged.passed
    assert judged.worst == int(np.argmax(batch.runs.column("dose")))
    again, _ = play_try(quick, quick.start, workers=1)
    assert again == judged


def test_conditions_read_the_runs(stones: Challenge) -> None:
    quick = short(stones)
    tank = quick.start
    batch = play_batch(tank.scenario, tank.layout, runs=8, seed=3, workers=1, keep_days=False)
    summary = Summary(batch)
    dose = summary.fish_column("dose")

    def held(**values: object) -> list[bool]:
        return holds(Condition(words="", **values), summary, summary).tolist()

    assert (
        held(measure="dose", fish=("rivals",), most=0.1)
        == (dose[:, 1:].sum(axis=1) <= 0.1).tolist()
    )
    assert held(measure="dose", fish=("Rivals 2",), least=0.01) == (dose[:, 2] >= 0.01).tolist()
    assert held(measure="contests", most=3) == (batch.runs.column("contests") <= 3).tolist()
    assert held(measure="dose", of_start=0.99) == (dose.sum(axis=1) == 0.0).tolist()
    assert held(measure="dose", of_start=1.0) == [True] * 8
    assert held(measure="dose", fish=("nobody",), most=9.0) == [False] * 8
    with pytest.raises(ValueError, match="expected one of most, least"):
        Condition(words="", measure="dose", most=1.0, least=0.5)


@pytest.mark.parametrize(
    ("count", "words", "passed"),
    [
        (38, "Even the lower end reaches the line, 75: passed.", True),
        (32, "The lower end does not reach the line, 75: not sure enough.", False),
        (20, "The line is 75: not passed.", False),
    ],
)
def test_it_is_passed_when_the_lower_end_reaches_the_line(
    count: int, words: str, passed: bool
) -> None:
    share = share_of_runs(np.arange(40) < count, draw=np.arange(40))
    judged = Judged(share=share, line=0.75, each=(), runs=40, seed=1, worst=None)
    assert judged.passed is passed
    assert judged.words.endswith(words)


def test_a_try_with_something_that_may_not_be_changed_is_not_played(stones: Challenge) -> None:
    tried = check_scenario(change_fish(stones.start.scenario, "rivals", count=2))
    with pytest.raises(Refused, match="Rivals: count 2 instead of 5"):
        play_try(stones, tried)
    # Played all the same, it would have been judged by the fish that are there.
    quick = check_scenario(tried.scenario.model_copy(update={"days": 0.4}))
    batch = play_batch(quick.scenario, quick.layout, runs=4, seed=1, workers=1)
    assert judge(stones, batch, batch).runs == 4


def test_how_often_a_try_like_it_would_pass_follows_its_draws() -> None:
    def passes(count: int) -> float:
        held = np.arange(40) < count
        share = share_of_runs(held, draw=np.arange(40))
        pairs = tuple(zip(range(40), held.tolist(), strict=True))
        return passes_again(
            Judged(share=share, line=0.75, each=(), runs=40, seed=1, worst=None, held=pairs)
        )

    assert passes(40) == 1.0
    assert passes(20) == 0.0
    # Of 40 draws at least 36 must hold; a share of 0.9 brings that in 0.63 of tries, binomially.
    # 500 drawings: three standard errors are 0.065.
    assert abs(passes(36) - 0.629) < 0.065
