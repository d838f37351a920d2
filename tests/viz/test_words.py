"""The sentences say what the numbers say, and nothing more."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sim.unmeasured import accepted_sets
from tests.viz.made import design, number, results
from viz.life_words import brood_words, food_words, settling_words
from viz.phrases import amount_words, hundredths, rounded, share_words
from viz.results import OutgrownResult, SpareResult
from viz.sure_words import spread_words, unmeasured_words
from viz.words import (
    NONE_DEATH,
    NONE_SERIOUS,
    SHARES_REFUSED,
    in_words,
    is_bad,
    none_of_these,
    verdict_words,
)

BAD = (0.45, 0.35, 0.55)


@pytest.mark.parametrize(
    ("share", "runs", "words"),
    [
        ((0.12, 0.07, 0.20), 100, "12 of 100 runs (7 to 20)"),
        ((0.12, 0.07, 0.20), 250, "12 in 100 runs (7 to 20)"),
        ((0.0, 0.0, 0.037), 100, "none of 100 runs (up to 4 in 100 would not surprise)"),
        ((0.0, 0.0, 0.79), 1, "none of 1 run (up to 79 in 100 would not surprise)"),
        ((0.001, 0.0001, 0.01), 1000, "under 1 in 100 runs (0 to 1)"),
        ((1.0, 0.96, 1.0), 100, "100 of 100 runs (96 to 100)"),
    ],
)
def test_shares(share: tuple[float, float, float], runs: int, words: str) -> None:
    assert share_words(number(*share, "share of runs"), runs=runs) == words


def kept(places: int, day: float | None, moved: tuple[float, float, float]) -> str:
    """What is said of a tank with a keeper."""
    spare = SpareResult(
        places=places,
        day=day,
        enough=number(0.94, 0.87, 0.97, "share of runs"),
        short=number(0.3, 0.2, 0.4, "share of runs"),
        died_first=(),
        moved_first=(),
    )
    one = design()
    outcomes = {**one.outcomes, "separated": number(*moved, "share of runs")}
    return " ".join(
        said.words for said in in_words(results(replace(one, outcomes=outcomes, spare=spare)))
    )


def test_spare_places_are_said_with_a_day_and_only_with_a_keeper() -> None:
    words = kept(2, 5.4, (0.4, 0.3, 0.5))
    assert "Have 2 spare places ready, the first by day 5; they are enough in 94 of 100" in words
    assert "moves a fish out in 40 of 100 runs (30 to 50)" in words
    assert "in 30 of 100 runs (20 to 40) the spare places do not suffice" in words
    assert "another run, not this one" in words
    assert "Have 1 spare place ready; that is enough" in kept(1, None, (0.4, 0.3, 0.5))
    none = kept(0, None, (0.0, 0.0, 0.04))
    assert "In nine of ten runs no spare place is needed." in none
    assert "moves a fish" not in none
    assert "spare" not in " ".join(said.words for said in in_words(results(design())))


@pytest.mark.parametrize(
    ("value", "words"),
    [(0.0, "0"), (0.004, "under 0.01"), (0.123, "0.12"), (1.0, "1"), (6.26, "6.3"),
     (9.96, "10"), (26.4, "26"), (0.996, "1")],
)  # fmt: skip
def test_rounding(value: float, words: str) -> None:
    assert rounded(value) == words


def test_an_amount_without_an_interval() -> None:
    assert amount_words(number(6.3, 5.4, 7.3), noun="hours a day") == "6.3 hours a day (5.4 to 7.3)"
    assert amount_words(number(0.1, None, None), noun="bites") == "0.1 bites"
    assert hundredths(0.004) == "under 1"


class TestVerdict:
    def test_better_by_injury(self) -> None:
        said = verdict_words(results(design(), design()), 0)
        assert said.words == (
            "B is better than A for the same fish: in B they take 0.6 times the injury "
            "(0.4 to 0.8). Of 50 draws of fish, 31 did better in B, 12 about alike, 7 worse."
        )
        assert said.sources == ("/verdicts/0", "/differences/0/ratio")

    def test_worse_by_hiding(self) -> None:
        found = results(design(), design(), word="worse", by="hidden_h_per_day")
        assert "each hides 0.5 hours a day more (from 0.2 more to 0.8 more)" in (
            verdict_words(found, 0).words
        )

    def test_better_by_serious_injuries(self) -> None:
        words = verdict_words(results(design(), design(), by="serious"), 0).words
        assert "a serious injury comes in 8 fewer of 100 runs (from 15 less to 1 less)" in words

    def test_no_difference(self) -> None:
        words = verdict_words(results(design(), design(), word="no difference", by=None), 0).words
        assert words.startswith("No difference shown between A and B for the same fish")

    def test_too_few(self) -> None:
        words = verdict_words(results(design(), design(), word="too few to say", by=None), 0).words
        assert words == (
            "50 draws of fish are too few to say whether B is better than A. Ask for more --runs."
        )

    def test_says_that_shares_decide_nothing_where_they_hang_on_the_harm_of_a_bite(self) -> None:
        found = results(design(), design())
        refused = replace(found, verdicts=(replace(found.verdicts[0], shares_refused=True),))
        assert SHARES_REFUSED not in verdict_words(found, 0).words
        assert verdict_words(refused, 0).words.endswith(f"worse. {SHARES_REFUSED}")

    def test_third_tank_has_its_own_letter(self) -> None:
        said = verdict_words(results(design(), design(), design()), 1)
        assert said.words.startswith("C is better than A")
        assert said.sources == ("/verdicts/1", "/differences/5/ratio")

    def test_only_fish_whose_interval_is_clear_are_named(self) -> None:
        words = [one.words for one in in_words(results(design(), design()))]
        assert any(line.startswith("Fish by fish, less injury in B: Moth.") for line in words)


class TestNoneOfThese:
    def test_said_when_all_are_bad(self) -> None:
        found = none_of_these(results(design(serious=BAD), design(serious=BAD)))
        assert found[0].words.startswith("None of these tanks: do not keep these fish together.")
        assert in_words(results(design(serious=BAD), design(serious=BAD)))[0] == found[0]

    def test_pair_alone(self) -> None:
        bad = design(serious=BAD, pair=("Wren", "Rook"))
        assert (
            "None of these tanks: keep the pair alone." in none_of_these(results(bad, bad))[0].words
        )

    def test_not_alone_when_the_pair_is_the_trouble(self) -> None:
        bad = design(serious=BAD, pair=("Moth", "Rook"))
        words = none_of_these(results(bad, bad))[0].words
        assert "Moth, most at risk, is one of the pair, so part the two as well" in words
        assert "alone" not in words

    def test_one_tank(self) -> None:
        assert none_of_these(results(design(serious=BAD)))[0].words.startswith("Not this tank: ")

    def test_not_said_when_one_is_good(self) -> None:
        assert none_of_these(results(design(serious=BAD), design())) == []

    def test_line_is_drawn_at_the_low_end(self) -> None:
        assert is_bad(design(serious=(0.5, NONE_SERIOUS, 0.8)))
        assert not is_bad(design(serious=(0.5, NONE_SERIOUS - 0.001, 0.8)))
        assert is_bad(design(death=(0.2, NONE_DEATH, 0.4)))
        assert not is_bad(design(death=(0.2, NONE_DEATH - 0.001, 0.4)))


def test_no_letter_where_there_is_one_tank() -> None:
    for one in in_words(results(design())):
        assert not one.words.startswith("A: ")
        assert one.words[0].isupper() or one.words[0].isdigit()


def test_no_serious_injury_is_said_once() -> None:
    words = in_words(results(design(serious=(0.0, 0.0, 0.04))))[0].words
    assert words.lower().count("none of 100 runs") == 1
    assert words.endswith("or a death.")


def test_three_spreads() -> None:
    words = " ".join(one.words for one in spread_words(results(design())))
    assert "40 % (20 to 60) comes from which fish you get, the rest from luck on the day" in words
    assert "Not measured." in words
    unknown = replace(design(), spreads={})
    assert "Too little was seen" in spread_words(results(unknown))[0].words


def test_food_mouths_and_outgrown_places_are_said_where_they_are_played() -> None:
    plain = design()
    outcomes = {
        **plain.outcomes,
        "any_eaten": number(0.4, 0.3, 0.5, "share of runs"),
        "least_food_share": number(0.26, 0.2, 0.32, "share of need"),
    }
    gone = OutgrownResult("Moth", "pipe", 140.4, number(0.9, 0.8, 0.95, "share of runs"))
    played = replace(plain, outcomes=outcomes, outgrown=(gone,))
    said = [one.words for one in food_words(played, number=0, start="")]
    assert said == [
        "40 of 100 runs (30 to 50) bring a fish swallowed by another; above, it counts among the "
        "hurt and the dead.",
        "The fish that eats least gets 26 % of what it needs (20 to 32).",
        "From day 140 Moth no longer fits the pipe, in 90 of 100 runs (80 to 95).",
    ]
    assert food_words(plain, number=0, start="") == []


def test_only_what_was_drawn_is_said_to_have_been_drawn() -> None:
    both = unmeasured_words(("rest_after_chase", "submission", "harm_per_bite"))
    sets = len(accepted_sets())
    assert f"(how much a bite harms, and one of {sets} sets of 2 numbers of behaviour" in both
    fixed = unmeasured_words(("rest_after_chase",))
    assert "1 number of behaviour" in fixed
    assert "harms" not in fixed
    assert "sets" not in unmeasured_words(("harm_per_bite",))
    assert "held at one set" in unmeasured_words(())


def test_a_fish_lost_while_the_tank_settled_is_said_and_only_where_it_settles() -> None:
    plain = design()
    where = "/designs/0/outcomes"
    assert settling_words(plain, where=where, start="") == []
    for share, says in (
        ((0.12, 0.07, 0.2), "12 of 100 runs (7 to 20) lost a fish while the tank settled, before"),
        ((0.0, 0.0, 0.04), "None of 100 runs (up to 4 in 100 would not surprise) lost a fish"),
    ):
        lost = {**plain.outcomes, "any_lost_settling": number(*share, "share of runs")}
        (said,) = settling_words(replace(plain, outcomes=lost), where=where, start="")
        assert said.words.startswith(says)
        assert ("missing from then on" in said.words) == (share[0] > 0.0)
        assert said.sources == (f"{where}/any_lost_settling",)


@pytest.mark.parametrize(
    ("by", "words"),
    [
        ("dose", None),
        ("serious", "; in the injury they take no difference is shown."),
        ("hidden_h_per_day", "no difference is shown, nor in how often one is seriously hurt."),
    ],
)
def test_what_showed_nothing_before_what_decided_is_said(by: str, words: str | None) -> None:
    said = verdict_words(results(design(), design(), by=by), 0).words
    assert "B is better than A" in said
    assert ("no difference is shown" in said) == (words is not None)
    assert (words or "") in said


def test_says_what_the_keeper_took_and_what_was_uprooted_where_there_was_any() -> None:
    per_run = {
        name: number(amount, amount, amount, "per run")
        for name, amount in (
            *(("spawnings", 1.0), ("raised_broods", 0.0), ("eaten_broods", 0.5)),
            *(("lost_broods", 0.0), ("taken_broods", 0.0), ("uprooted", 0.0)),
        )
    }
    shares = {name: number(0.5, 0.4, 0.6, "share of runs") for name in ("paired", "mate_by_mate")}
    plain = replace(design(), outcomes={**design().outcomes, **per_run, **shares})
    said = [one.words for one in brood_words(plain, where="/o", start="")]
    assert len(said) == 2
    assert said[0].endswith("and 0 lost otherwise (0 to 0).")
    more = {name: number(1.2, 1.0, 1.4, "per run") for name in ("taken_broods", "uprooted")}
    taken = replace(plain, outcomes={**plain.outcomes, **more})
    rows = brood_words(taken, where="/o", start="")
    assert rows[0].words.endswith("(0 to 0); 1.2 taken by the keeper (1 to 1.4).")
    assert "/o/taken_broods" in rows[0].sources
    assert rows[2].words == "A run sees 1.2 plants (1 to 1.4) uprooted near a pit."
