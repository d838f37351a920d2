"""One tank is not an experiment: a group's pair of tanks, and what the pairs say together."""

from __future__ import annotations

import pytest

from sim.start import draw_of
from viz.app.editing.differences import differences
from viz.app.lessons import experiment
from viz.app.lessons.board import Dots
from viz.app.lessons.experiment import QUESTIONS, play_group, run_of, told_by, words_for


@pytest.mark.parametrize("key", [one.key for one in QUESTIONS])
def test_the_tanks_of_a_question_hold_the_same_fish(key: str) -> None:
    first, second = (tank.scenario for tank in experiment.tanks_of(key))
    assert [(g.name, g.count) for g in first.fish] == [(g.name, g.count) for g in second.fish]
    assert first.days == second.days == experiment.DAYS
    assert differences(first, second)
    assert not [one for one in differences(first, second) if one.what == "fish"]


def test_groups_have_fish_of_their_own_and_repeat_exactly(monkeypatch: pytest.MonkeyPatch) -> None:
    assert len({draw_of(run_of(group)) for group in range(1, 41)}) == 40
    quick = experiment.tanks_of.__wrapped__
    monkeypatch.setattr(experiment, "DAYS", 0.5)
    monkeypatch.setattr(experiment, "tanks_of", quick)
    dots = [play_group("longer", group=group, seed=4) for group in (1, 2, 1)]
    assert dots[0] == dots[2]
    assert dots[0] != dots[1]
    assert (dots[0].group, dots[1].group) == (1, 2)


def test_what_pairs_of_dots_say() -> None:
    question = experiment.question_of("longer")
    assert words_for(told_by(()), question) == ("No group is done yet.",)
    assert "may say the opposite" in words_for(told_by((Dots(1, 3.0, 2.0),)), question)[0]
    dots = tuple(Dots(n, 4.0, second) for n, second in enumerate((1.0, 2.0, 4.1, 6.0), start=1))
    told = told_by(dots)
    assert (told.less, told.alike, told.more, told.groups) == (2, 1, 1, 4)
    words = words_for(told, question)
    assert words[0] == (
        "Of 4 groups, 2 had fewer bites with six feet, 1 about as many, 1 had more."
    )
    assert words[1] == "So of 100 pairs like these, 15 to 85 may have fewer with six feet."
    assert "do not agree" in words[2]
