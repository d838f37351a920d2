"""The study of sensitivity as a person meets it: options, a file that goes on, words, figures."""

from __future__ import annotations

import copy
import json
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sim.parameters import load_parameters
from sim.sensitivity.factors import assumed_factors, model_digest
from sim.sensitivity.outcomes import OUTCOMES
from sim.sensitivity.plan import plan_of, plan_parts
from sim.unmeasured import accepted_sets
from viz import sensitivity
from viz.evidence_figures import svg
from viz.sensitivity_figures import figures
from viz.sensitivity_results import effects, results_of
from viz.sensitivity_rows import Kept, Writer, read_rows
from viz.sensitivity_words import (
    LEAST_CLOUD,
    LEAST_PATHS,
    leading,
    outcome_section,
    page,
    shares_of,
    source_word,
)

TOP = Path(__file__).parents[2]
FEW = ("attack_rate", "rest_after_chase", "harm_per_bite", "water_change_gain")


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four numbers instead of all."""
    factors = tuple(factor for factor in assumed_factors() if factor.name in FEW)
    monkeypatch.setattr("sim.sensitivity.plan.assumed_factors", lambda: factors)


def go(*arguments: object) -> int:
    return sensitivity.main([str(one) for one in arguments])


# --- what is asked ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--stage", "swim"], '--stage: got "swim"; expected morris or sobol.'),
        ([], "sensitivity: nothing to do; expected --stage, or --write, or both."),
        (["--stage", "morris", "--runs", "3"], "--runs: got 3; expected an even number"),
        (["--stage", "morris", "--runs", "1"], "--runs: got"),
        (["--stage", "morris", "--points", "none"], "--points: got"),
        (["--stage", "morris", "--seconds", "-2"], '--seconds: got "-2"; expected seconds above'),
        (["--stage", "morris", "--days", "soon"], "--days: got"),
        (["--stage", "morris", "--fish", "loud"], '--fish: got "loud"; expected quiet or brood.'),
        (["--stage", "morris", "--workers", "0"], "--workers: got"),
        (["--stage", "sobol", "--factors", "1"], "--factors: got"),
        (["--write", "nowhere"], "--write: got"),
        (["--colour"], "sensitivity: unrecognized arguments: --colour"),
        (["--stage", "morris", "--fish", "brood", "--days", "5"], "spawns on day 10"),
    ],
)
def test_what_cannot_be_done_is_a_sentence_and_leaves_no_file(
    options: list[str], sentence: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert go(tmp_path / "study.jsonl", *options) == 2
    error = capsys.readouterr().err
    assert sentence in error
    assert "Traceback" not in error
    assert list(tmp_path.iterdir()) == []


def test_all_that_is_wrong_is_said_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert go(tmp_path / "s", "--stage", "swim", "--runs", "3", "--seed", "x") == 2
    error = capsys.readouterr().err
    assert len(error.splitlines()) == 3


# --- a file that goes on ---------------------------------------------------------------------


def test_what_was_stopped_goes_on_to_the_same_bytes(
    few: None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    once, twice = tmp_path / "once.jsonl", tmp_path / "twice.jsonl"
    common = ["--days", "0.5", "--runs", "2", "--workers", "1"]
    assert go(once, "--stage", "morris", "--points", "2", *common) == 0
    assert go(once, "--stage", "sobol", "--points", "3", *common) == 0
    # stopped after the first point, cut in the middle of a line, asked for less and then for more
    assert go(twice, "--stage", "morris", "--points", "2", "--seconds", "1e-9", *common) == 0
    assert "the same command goes on with them" in capsys.readouterr().out
    assert len(read_rows(twice).rows["quiet/parts"]) == 1
    with twice.open("a") as stream:
        stream.write('{"of":"quiet/parts","number":1,"se')
    assert go(twice, "--stage", "morris", "--points", "1", *common) == 0
    assert go(twice, "--stage", "morris", "--points", "2", *common) == 0
    assert go(twice, "--stage", "sobol", "--points", "1", *common) == 0
    assert go(twice, "--stage", "sobol", "--points", "3", "--workers", "2", *common[:4]) == 0
    assert once.read_bytes() == twice.read_bytes()
    kept = read_rows(once)
    assert [len(kept.rows[f"quiet/{stage}"]) for stage in ("parts", "morris", "sobol")] == [
        20,
        8,
        3,
    ]
    assert "water_change_gain" not in kept.plans["quiet/morris"].names
    # asking for what is there plays and writes nothing
    before = once.read_bytes()
    assert go(once, "--stage", "sobol", "--points", "2", *common) == 0
    assert once.read_bytes() == before


def test_a_file_is_not_gone_on_with_in_another_way(
    few: None, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "study.jsonl"
    common = ["--days", "0.5", "--workers", "1", "--points", "1"]
    assert go(path, "--stage", "sobol", *common) == 2
    assert "Play --stage morris first" in capsys.readouterr().err
    assert go(path, "--stage", "morris", *common) == 0
    before = path.read_bytes()
    for more, sentence in (
        (["--runs", "4"], "was begun with --runs 2, got 4; expected the same"),
        (["--seed", "2"], "was begun with --seed 1, got 2; expected the same"),
        (["--days", "0.6"], "was begun with --days 0.5, got 0.6; expected the same"),
    ):
        assert go(path, "--stage", "morris", *common, *more) == 2
        assert sentence in capsys.readouterr().err
    assert go(path, "--stage", "sobol", *common, "--days", "0.6") == 2
    assert "was begun with --days 0.5" in capsys.readouterr().err
    monkeypatch.setattr("sim.sensitivity.plan.model_digest", lambda: "others")
    assert go(path, "--stage", "morris", *common) == 2
    assert "was played by other rules or numbers" in capsys.readouterr().err
    assert path.read_bytes() == before


@pytest.mark.parametrize("line", ["tea\n", "[1]\n", '{"of":"quiet/morris","number":0}\n'])
def test_another_file_is_refused(
    line: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "other.txt"
    path.write_text(line)
    assert go(path, "--stage", "morris") == 2
    assert "line 1: is no row of a study of sensitivity" in capsys.readouterr().err
    assert path.read_text() == line


# --- what is said of it ----------------------------------------------------------------------

MADE = ("attack_rate", "rest_after_chase", "harm_per_bite", "wander")


def made(folder: Path, *, paths: int = 8, points: int = 100) -> Kept:
    """A study whose answer is known: harm sets the dose, twice as much as attacks; rest decides
    which tank is the better; `wander` does nothing, and nobody dies."""
    rng = np.random.default_rng(3)

    def seen(plan: Any, number: int) -> dict[str, Any]:
        attack, rest, harm, _ = plan.places(number)
        found: dict[str, Any] = {}
        for tank in ("four", "six"):
            log = 2.0 * harm + attack + 0.05 * rng.standard_normal(plan.runs)
            log = log + (2.0 * rest - 1.0 if tank == "six" else 0.0)
            dose = np.exp(log)
            found[tank] = {
                "serious": [float(x > 3.0) for x in dose],
                "death": [0.0] * plan.runs,
                "dose": dose.tolist(),
                "worst_injury": (0.1 * dose).tolist(),
                "hidden_h_per_day": (4.0 - attack + 0.1 * rng.random(plan.runs)).tolist(),
                "open_share": [0.5] * plan.runs,
            }
        return found

    kept = Kept(folder / "made.jsonl")
    writer = Writer(kept)
    parts = plan_parts("quiet", seed=1, days=30.0)
    writer.begin(parts)
    width = len(parts.names) + 1
    for number in range(parts.points_of(1)):
        moved = number % width
        same = moved == 0 or parts.names[moved - 1] not in MADE
        digest = "base" if same else f"other {moved}"
        writer.add({"of": parts.key, "number": number, "seen": digest})
    for stage, count in (("morris", paths), ("sobol", points)):
        if not count:
            continue
        plan = plan_of(stage, "quiet", MADE, seed=1, runs=4, days=30.0)
        writer.begin(plan)
        for number in range(plan.points_of(count)):
            writer.add({"of": plan.key, "number": number, "seen": seen(plan, number)})
    writer.close()
    return kept


def drawn_range(name: str) -> str:
    """The range of a number that batches draw, as the page's tables say it."""
    row = load_parameters()[name]
    assert row.drawn is not None
    low, high = row.drawn
    return f"{low:g} to {high:g} {row.unit}, log"


@pytest.fixture(scope="module")
def known(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Results of the study whose answer is known, through its file."""
    folder = tmp_path_factory.mktemp("made")
    made(folder)
    return results_of(read_rows(folder / "made.jsonl"))


def test_the_page_says_what_decides_and_what_does_not(known: dict[str, Any]) -> None:
    text = page(known)
    assert "A trial, not yet a study" not in text
    # squares 4 to 1
    dose = re.search(
        r"\*Injury dose\* hangs on `harm_per_bite` \((\d+) %, more\), "
        r"`attack_rate` \((\d+) %, more\)\.", text
    )  # fmt: skip
    assert dose is not None
    assert [int(one) for one in dose.groups()] == pytest.approx([80, 20], abs=2)
    assert "Moved together, `harm_per_bite` alone explains" in text
    assert "*Hours hidden* hangs on `attack_rate` (100 %, less)" in text
    assert "*Six feet less four: injury dose* hangs on `rest_after_chase` (100 %, more)." in text
    assert "*Death*: no number can be told from luck, so what it hangs on is not resolved." in text
    # the head says the same to a keeper: harm leads, as made; the difference is of what was made
    head = text[text.index("## In short") : text.index("## A pair that does not breed")]
    assert "depends most on how much a bite harms (`harm_per_bite`) and how readily fish" in head
    assert f"smaller dose of injury in {known['quiet']['orders']['dose_difference'][0]} of" in head
    assert "By how much depends most on `rest_after_chase`" in head
    # chance may tell it from luck once, but it has no part to speak of
    for outcome in OUTCOMES:
        (wander,) = [e for e in effects(known["quiet"], outcome.name) if e["name"] == "wander"]
        assert wander["share"] < 0.02
    idle = len(assumed_factors()) - len(MADE)
    assert f"{idle} changed not one digit of 4 trial runs" in text
    assert "`harm_per_bite`, which batches draw, ranks 1 for" in text
    fitted = sorted({*accepted_sets()[0]} & {*MADE})
    sets = re.search(r"Of the (\d+) numbers here that calibration moved .* can be told", text)
    assert sets is not None
    assert int(sets.group(1)) == len(fitted)
    assert "`rest_after_chase`" in sets.group(0)
    assert "![Which number decides what](figures/sensitivity-quiet.svg)" in text
    # rest is evenly spread, so that either tank is the better in half of the points
    less = known["quiet"]["orders"]["dose_difference"][0]
    assert f"a smaller injury dose in {less} of 100 points" in text
    assert 40 <= less <= 60
    assert f"Rules and numbers: `{model_digest()}`" in text


def test_shares_are_given_where_one_number_at_a_time_tells_nothing(known: dict[str, Any]) -> None:
    kind = copy.deepcopy(known["quiet"])
    dose = next(one for one in OUTCOMES if one.name == "dose")
    shares = shares_of(kind, dose)
    told = kind["morris"]["columns"].index("told")
    for row in kind["morris"]["effects"]["dose"]:
        row[told] = False
    best = max(shares, key=lambda name: shares[name][0])
    assert best == "harm_per_bite"
    said = leading(kind, dose)
    assert said.startswith("*Injury dose*: one at a time no number can be told from luck; moved")
    assert f"together, `{best}` alone explains {100 * shares[best][0]:.0f} %" in said
    table = [line for line in outcome_section(kind, dose) if line.startswith("| `")]
    assert table[0].split("|")[4].strip().startswith(f"{shares[best][0]:.2f} (")
    kind["sobol"] = None
    assert "not resolved" in leading(kind, dose)
    assert not [line for line in outcome_section(kind, dose) if line.startswith("| `")]


def test_tables_hold_size_spread_rank_and_shares(known: dict[str, Any]) -> None:
    lines = page(known).splitlines()
    at = lines.index("#### Injury dose")
    rows = [line for line in lines[at : at + 12] if line.startswith("| ")]
    cells = [cell.strip() for cell in rows[1].strip("|").split("|")]
    assert cells[:4] == ["1", "`harm_per_bite`", "assumed", drawn_range("harm_per_bite")]
    factor = float(cells[4].removeprefix("×"))
    assert factor == pytest.approx(math.exp(2.0), rel=0.05)
    assert cells[7] == "more"
    first = float(cells[8].split()[0])
    assert first == pytest.approx(4 / 5, abs=0.03)
    # the whole table: a rank where it is told from luck, else no
    whole = next(line for line in lines if line.startswith("| `harm_per_bite` | bites"))
    ranks = [cell.strip() for cell in whole.strip("|").split("|")][4:]
    assert ranks[:4] == ["1", "no", "1", "1"]
    assert ranks[5] == "no"


def test_a_study_with_few_paths_says_so(tmp_path: Path) -> None:
    made(tmp_path, paths=2, points=0)
    text = page(results_of(read_rows(tmp_path / "made.jsonl")))
    assert f"2 paths where {LEAST_PATHS} or more are wanted, 0 points where {LEAST_CLOUD}" in text
    assert "nothing should be read out of it" in text


def test_figures_are_the_same_whenever_they_are_drawn(known: dict[str, Any]) -> None:
    drawn = {name: svg(figure) for name, figure in figures(known).items()}
    assert list(drawn) == ["sensitivity-quiet", "sensitivity-quiet-shares"]
    assert drawn == {name: svg(figure) for name, figure in figures(known).items()}
    for name in ("harm_per_bite", "rest_after_chase", "attack_rate"):
        assert name in drawn["sensitivity-quiet"]
    assert "fear_half_life" not in drawn["sensitivity-quiet"], "it was not moved"


def test_writing_makes_the_page_its_figures_and_what_they_are_made_from(
    few: None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, docs = tmp_path / "study.jsonl", tmp_path / "docs"
    docs.mkdir()
    assert go(path, "--write", docs) == 2
    assert "has no whole path of stage morris" in capsys.readouterr().err
    assert list(docs.iterdir()) == []
    assert go(path, "--stage", "morris", "--points", "1", "--days", "0.5", "--write", docs) == 0
    kept = json.loads((docs / "sensitivity.json").read_text())
    assert (docs / "sensitivity.md").read_text() == page(kept)
    assert (docs / "figures" / "sensitivity-quiet.svg").exists()


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("stamina_time", "assumed"),
        ("dear_enemy", "assumed, direction Leiser1999"),
        ("winner_half_life", "from memory"),
        ("chase_speed", "in part assumed"),
        ("reach_similar", "assumed, order Matsumoto2004"),
    ],
)
def test_what_a_number_rests_on_is_a_word(name: str, word: str) -> None:
    from sim.parameters import load_parameters

    assert source_word(load_parameters()[name]) == word


def test_the_page_in_the_docs_is_what_its_results_say() -> None:
    kept = json.loads((TOP / "docs" / "sensitivity.json").read_text("utf-8"))
    assert (TOP / "docs" / "sensitivity.md").read_text("utf-8") == page(kept)
    for name in figures(kept):
        assert (TOP / "docs" / "figures" / f"{name}.svg").exists()
