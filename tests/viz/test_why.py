"""Reasons: on the command line, as sentences that can be traced, and as a file."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from sim.errors import Refused
from tests.viz.commands import SMALL, TOP, holdwater
from tests.viz.made import design, number, results
from viz.results import DifferenceResult, Number
from viz.why_command import USUAL, mechanisms_of
from viz.why_results import CourseResult, NotPlayedResult, Reasons, TakenResult, WhyResults
from viz.why_words import briefly, parts_of, percent, taken_words, whose, why_words

OF = "share of injury"


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, dict[str, Any]]:
    """The page and the file of two small tanks."""
    place = tmp_path_factory.mktemp("why")
    (place / "short.toml").write_text(SMALL)
    (place / "long.toml").write_text(
        'based_on = "short.toml"\npieces_when_resized = "stretch"\ntitle = "[bold]Long[/bold]"\n'
        '[tank]\nlength = "36 in"\n'
    )
    ended = holdwater(
        "why", "short.toml", "long.toml", "--runs", 8, "--days", 1, "--json", "why.json", cwd=place
    )
    assert ended.code == 0, ended.err
    return ended.out, json.loads((place / "why.json").read_text(encoding="utf-8"))


def test_the_file_is_valid_by_its_schema(found):
    schema = json.loads((TOP / "docs" / "why.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    validator.validate(found[1])
    for name in ("ways", "taken", "open_by_day"):
        spoilt = json.loads(json.dumps(found[1]))
        del spoilt["reasons"][0][name]
        assert not validator.is_valid(spoilt)


def test_every_sentence_stands_on_something_in_the_file(found):
    page, whole = found
    for one in whole["sentences"]:
        assert one["sources"]
        for pointer in one["sources"]:
            at: Any = whole
            for step in pointer.lstrip("/").split("/"):
                at = at[int(step) if isinstance(at, list) else step]
            assert at is not None
    flat = " ".join(page.split())
    shown = [one["words"] for one in whole["sentences"] if one["words"] in flat]
    assert len(shown) > 10


def test_shares_of_the_injury_add_up(found):
    for reasons in found[1]["reasons"]:
        for name in ("ways", "grounds", "stages", "covers", "holders"):
            total = sum(share["estimate"] for share in reasons[name].values())
            assert total == pytest.approx(1.0 if reasons[name] else 0.0)
        assert sum(reasons["floor_by_cover"].values()) == pytest.approx(1.0)


def test_the_page_says_what_was_taken_away_and_what_was_not(found):
    page, whole = found
    flat = " ".join(page.split())
    assert "Taken away" in flat
    assert "A: not played, brood: no brood is played in this tank." in flat
    assert [one["key"] for one in whole["reasons"][0]["taken"]] == ["occlusion", "individuality"]
    assert "[bold]Long[/bold]" in page
    assert whole["reasons"][0]["tempers"] is None  # too few runs
    assert "Before you build it" in page


def test_a_mechanism_that_there_is_not_is_refused_with_those_there_are():
    assert mechanisms_of(()) == USUAL
    assert mechanisms_of(["hiding", "hiding"]) == ("hiding",)
    with pytest.raises(Refused, match=r'--take-away: got "food"; expected one of assessment'):
        mechanisms_of(["food"])


def test_wrong_options_are_named_together(tmp_path: Path):
    (tmp_path / "tank.toml").write_text(SMALL)
    ended = holdwater("why", "tank.toml", "--runs", "0", "--take-away", "rocks", cwd=tmp_path)
    assert ended.code == 2
    assert "--runs: got" in ended.err
    assert "--take-away: got" in ended.err
    assert "Traceback" not in ended.err


def share(estimate: float, low: float, high: float) -> Number:
    return number(estimate, low, high, OF)


def difference(outcome: str, estimate: float, low: float | None, high: float | None):
    return DifferenceResult(
        first=0, second=0, fish=None, outcome=outcome, unit="", estimate=estimate, low=low,
        high=high, method="made up", better=0, same=0, worse=0, ratio=None, variance_gain=None,
    )  # fmt: skip


def taken(key: str, *dose: float, serious: tuple[float, float, float] = (0.0, -0.1, 0.1)):
    return TakenResult(key, (difference("dose", *dose), difference("serious", *serious)))


def reasons(**more: Any) -> Reasons:
    plain: dict[str, Any] = {
        "ways": {"in a chase": share(0.9, 0.8, 0.95), "in a contest": share(0.1, 0.05, 0.2)},
        "grounds": {"the biter's": share(0.7, 0.6, 0.8), "open ground": share(0.3, 0.2, 0.4)},
        "stages": {"none": share(0.25, 0.2, 0.3), "fry": share(0.75, 0.7, 0.8)},
        "covers": {"over 40 cm": share(0.6, 0.5, 0.7), "under 10 cm": share(0.4, 0.3, 0.5)},
        "grounds_by_stage": {
            "none": {"the biter's": share(0.1, 0.05, 0.2), "open ground": share(0.9, 0.8, 0.95)},
            "fry": {"the biter's": share(0.9, 0.8, 0.95), "open ground": share(0.1, 0.05, 0.2)},
        },
        "holders": {"Moss": share(0.7, 0.6, 0.8), "": share(0.3, 0.2, 0.4)},
        "floor_by_cover": {"over 40 cm": 0.3, "under 10 cm": 0.7},
        "ends": {"submitted": share(0.8, 0.7, 0.9), "tired": share(0.2, 0.1, 0.3)},
        "ends_by_stage": {},
        "open_by_day": CourseResult((0, 1), (share(0.5, 0.4, 0.6), share(0.2, 0.1, 0.3))),
        "open_by_stage": {"fry": share(0.1, 0.05, 0.2)},
        "fish_share": None,
        "tempers": None,
        "taken": (),
        "not_played": (),
    }
    return Reasons(**{**plain, **more})


def said(**more: Any) -> str:
    found = why_words(WhyResults(results(design()), (reasons(**more),)))
    return " ".join(one.words for one in found)


def test_the_sentences_say_the_numbers():
    words = said()
    assert "Of the injury, 90 % (80 to 95) is taken in a chase, in open water" in words
    assert "70 % (60 to 80) is taken in Moss' territory and 30 % (20 to 40) on open gr" in words
    assert "75 % (70 to 80) is taken while there are fry" in words
    assert (
        "Of the injury while there are fry, 90 % (80 to 95) is taken on the ground of the fish "
        "that bites and 10 % (5 to 20) on open ground; while there is no brood, 10 % (5 to 20) is."
    ) in words
    assert "Of the chases, 80 % (70 to 90) end when the chased fish, worn out or cornered" in words
    assert "Nobody holds 50 % (40 to 60) of the floor on day 0, and 20 % (10 to 30)" in words


def test_the_way_to_cover_is_held_against_what_the_floor_offers():
    far = "60 % (50 to 70) is taken more than 40 cm (16 in) from a hiding place"
    assert far in said()
    assert "30 % of the open floor lies so far off, so it is far from cover" in said()
    near = {"over 40 cm": share(0.1, 0.05, 0.2), "under 10 cm": share(0.9, 0.8, 0.95)}
    assert "nearer to cover than the floor alone" in said(covers=near)
    even = {"over 40 cm": share(0.3, 0.2, 0.4), "under 10 cm": share(0.7, 0.6, 0.8)}
    assert "so far off." in said(covers=even)
    inside = {"inside one": share(1.0, 0.9, 1.0)}
    assert "more than 40 cm" not in said(covers=inside)


def test_nobody_hurt_is_said():
    empty: dict[str, Any] = {
        name: {} for name in ("ways", "grounds", "stages", "covers", "holders")
    }
    assert "Nobody was hurt, so there is nowhere to point to." in said(**empty)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ((taken("brood", -1.0, -1.5, -0.5), taken("occlusion", 0.1, -0.2, 0.4)),
         "Of what was taken away, the brood costs these fish the most."),
        ((taken("brood", 0.5, 0.2, 0.8), taken("occlusion", 0.9, 0.2, 1.4)),
         "none costs them; being out of sight behind pieces spares them the most."),
    ],
)  # fmt: skip
def test_the_greatest_effect_is_named_only_where_an_interval_shows_it(rows, words):
    assert words in said(taken=rows)
    unsure = tuple(taken(row.key, 0.1, -0.5, 0.5) for row in rows)
    assert "Of what was taken away" not in said(taken=unsure)
    assert "Of what was taken away" not in said(taken=rows[:1])  # one thing is not compared


def test_a_counterfactual_says_its_interval_and_what_it_does_not_show():
    one = (taken("brood", -1.0, -1.5, -0.5, serious=(-0.2, -0.3, -0.1)),)
    assert (
        "Without the brood, the same fish take 1 less injury a run (0.5 to 1.5 less), and a "
        "serious injury comes in 20 fewer of 100 runs (10 to 30)." in said(taken=one)
    )
    none = (taken("individuality", 0.1, -0.2, 0.4),)
    assert (
        "no difference in injury is shown (0.2 less to 0.4 more a run), nor in how often one is "
        "seriously hurt." in said(taken=none)
    )
    rare = (TakenResult("brood", (difference("dose", -0.1, None, None),)),)
    assert "too seldom to bound" in said(taken=rare)
    others = (taken("fish of B", -1.0, -1.5, -0.5),)
    assert "With the fish of B in this tank, they take 1 less injury" in said(taken=others)


def test_tempers_are_told_with_what_is_held():
    words = said(tempers=share(0.3, 0.1, 0.5), fish_share=share(0.6, 0.4, 0.8))
    held = "What nobody has measured being held, "
    assert f"{held}the tempers of the fish explain 30 % (10 to 50) of the spread in inj" in words
    assert "make 60 % (40 to 80) of it, the rest is luck on the day." in words
    assert held in said(fish_share=share(0.6, 0.4, 0.8))
    less = said(tempers=share(0.3, 0.1, 0.5), fish_share=share(0.0, 0.0, 0.4))
    assert "cannot make less of it, though these runs by themselves say" in less
    assert "the spread in injury between runs, the rest" in said(fish_share=share(0.6, 0.4, 0.8))


def test_few_words_leave_out_what_the_charts_tell():
    why = WhyResults(results(design(), design()), (reasons(), reasons()))
    few = [one.words for one in briefly(why, number=1)]
    assert not any("Moss" in words for words in few)
    assert all(re.match("[A-Z0-9]", words) for words in few)
    assert len(few) < len(why_words(why)) / 2


def test_parts_stand_beside_each_other_by_tank():
    two = (reasons(), reasons(holders={"Rook": share(1.0, 0.9, 1.0)}))
    found = dict(parts_of(two))
    rows = dict(found["in whose territory"])
    assert rows["Rook"][0] is None
    assert rows["Moss"][1] is None
    assert "open ground" in rows
    assert [name for name, _ in found["brood stage"]] == ["none", "fry"]
    calm = reasons(stages={"none": share(1.0, 0.9, 1.0)})
    assert "brood stage" not in dict(parts_of([calm]))


def test_small_words():
    assert whose("Moss") == "Moss'"
    assert whose("Flint") == "Flint's"
    assert percent(Number(None, None, None, OF, 0, "")) == "an unknown share"
    found = results(design())
    left = reasons(not_played=(NotPlayedResult("brood", "no brood is played in this tank"),))
    assert taken_words(WhyResults(found, (left,)), number=0, start="") == []
