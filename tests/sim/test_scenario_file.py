"""Scenario files: read, based on one another, written, hashed, and refused in sentences."""

from __future__ import annotations

import os
import pickle
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sim.errors import Problem, Refused
from sim.scenario import Scenario
from sim.scenario_file import read_scenario, scenario_hash, write_scenario

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
WHOLE = """\
# What happens here,
# and to whom?
title = "Base"
days = 20

[tank]
size = "75 gallon"

[[pieces]]
name = "left pot"
kind = "pot"
size = "6 in"
x = "12 in"
y = "9 in"
turn = "90 deg"

[[pieces]]
name = "stone"
kind = "boulder"
length = "8 in"
width = "6 in"
x = "36 in"
y = "9 in"

[[fish]]
name = "Basalt"
species = "convict"
sex = "male"

[[fish]]
name = "tails"
species = "swordtail"
count = 6
"""

Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def put(text: str, name: str = "base.toml") -> Path:
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return path

    return put


def refused(path: Path | str) -> list[str]:
    with pytest.raises(Refused) as refusal:
        read_scenario(path)
    return [str(problem) for problem in refusal.value.problems]


def one_refusal(path: Path | str) -> str:
    (sentence,) = refused(path)
    return sentence


# reading, writing, hashing


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_shipped_scenarios_read_and_survive_being_written(path: Path, write: Write) -> None:
    scenario = read_scenario(path)
    assert scenario.question.endswith("?")
    assert all(line.startswith("# ") for line in path.read_text().splitlines()[:2])
    again = read_scenario(write(write_scenario(scenario)))
    assert again == scenario
    assert scenario_hash(again) == scenario_hash(scenario)


def test_the_whole_language_survives_being_written(write: Write) -> None:
    # by the model, since not all of it can stand together
    scenario = Scenario.model_validate(
        {
            "question": "word " * 60,
            "days": 12.5,
            "seed": 7,
            "without": ["learning", "brood"],
            "tank": {
                "length": 1.23456789,
                "width": 0.4,
                "height": 0.5,
                "temperature": 25.123,
                "lights_on": 8.51,
                "light_hours": 10.5,
                "substrate": "bare",
            },
            "pieces": [
                {
                    "kind": "rock cave",
                    "outline": [(-0.1, -0.1), (0.1, -0.1), (0.0, 0.1234567)],
                    "height": 0.1,
                    "x": 0.5,
                    "y": 0.2,
                    "turn": 1.0,
                    "doors": [{"width": 0.05, "height": 0.04, "facing": 3.0}],
                }
            ],
            "fish": [
                {"species": "convict", "sex": "female", "temper": "fierce", "name": "A"},
                {"species": "convict", "length": 0.0512345, "length_about": True},
            ],
            "breeding": {"mode": "on", "spawn_day": 3, "site": (0.25, 0.125)},
        }
    )
    text = write_scenario(scenario)
    read = read_scenario(write(text))
    assert read == scenario.model_copy(update={"question": scenario.question.strip()})


def test_what_is_done_and_what_was_before_is_written_too() -> None:
    scenario = Scenario.model_validate(
        {
            "tank": {"size": "75 gallon"},
            "fish": [{"species": "convict", "established": {"since_day": -9, "owns": [0.1, 0.2]}}],
            "feeding": {"times": [9.5], "spots": [[0.5, 0.25]], "share_of_mass": 0.02},
            "events": [{"on_day": 2, "at": 18, "do": "take out", "fish": ["convict cichlid"]}],
            "keeper_plan": {"away_days": [[3, 5]], "checks_at": [8]},
        }
    )
    text = write_scenario(scenario)
    import tomllib

    assert Scenario.model_validate(tomllib.loads(text), context={"from_file": True}) == scenario


def test_the_first_two_comment_lines_are_the_question(write: Write) -> None:
    assert read_scenario(write(WHOLE)).question == "What happens here, and to whom?"
    keyed = 'question = "Or this?"\n' + WHOLE.split("\n", 2)[2]
    assert read_scenario(write(keyed)).question == "Or this?"
    assert read_scenario(write(WHOLE.split("\n", 2)[2])).question == ""


def test_windows_line_ends_and_a_byte_order_mark_are_fine(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(b"\xef\xbb\xbf" + WHOLE.replace("\n", "\r\n").encode())
    assert read_scenario(path).question == "What happens here, and to whom?"


def test_the_hash_is_of_what_is_simulated(write: Write) -> None:
    first = scenario_hash(read_scenario(write(WHOLE)))
    sides = 'length = "4 ft"\nwidth = "45.72 cm"\nheight = "21 in"'
    same = WHOLE.replace('size = "75 gallon"', sides).replace("Base", "Another title")
    same = same.replace('"convict"', '"Amatitlania nigrofasciata"')
    assert scenario_hash(read_scenario(write(same))) == first
    other = WHOLE.replace("count = 6", "count = 7")
    assert scenario_hash(read_scenario(write(other))) != first
    assert len(first) == 64


# variants


def test_a_six_foot_tank_is_three_lines(write: Write) -> None:
    base = read_scenario(write(WHOLE))
    variant = read_scenario(
        write(
            'based_on = "base.toml"\npieces_when_resized = "stretch"\ntank.length = "72 in"\n',
            "six.toml",
        )
    )
    assert variant.tank.length_m == 1.8288
    assert (variant.tank.width_m, variant.tank.height_m) == (0.4572, 0.5334)
    assert [piece.x_m for piece in variant.pieces] == pytest.approx([0.4572, 1.3716])
    assert [piece.y_m for piece in variant.pieces] == [piece.y_m for piece in base.pieces]
    assert [piece.length_m for piece in variant.pieces] == [None, 0.2032]
    assert variant.fish == base.fish
    assert variant.question == base.question


def test_kept_places_stay(write: Write) -> None:
    base = read_scenario(write(WHOLE))
    variant = 'based_on = "base.toml"\npieces_when_resized = "keep"\n[tank]\nlength = "6 ft"\n'
    assert read_scenario(write(variant, "v.toml")).pieces == base.pieces


def test_a_place_the_variant_states_is_not_stretched(write: Write) -> None:
    write(WHOLE)
    variant = (
        'based_on = "base.toml"\npieces_when_resized = "stretch"\n[tank]\nsize = "180 gallon"\n'
        '[[pieces]]\nname = "Stone"\nx = "60 in"\n'
        '[[pieces]]\nkind = "pot"\nsize = "4 in"\nx = "20 in"\ny = "4 in"\n'
        '[breeding]\nmode = "on"\nspawn_day = 4\nsite = ["30 in", "6 in"]\n'
        '[[fish]]\nname = "Pumice"\nspecies = "convict"\nsex = "female"\n'
    )
    scenario = read_scenario(write(variant, "v.toml"))
    places = {piece.name: (piece.x_m, piece.y_m) for piece in scenario.pieces}
    assert places["Stone"] == (1.524, pytest.approx(0.3048))
    assert places["left pot"] == pytest.approx((0.4572, 0.3048))
    assert places["pot 1"] == (0.508, 0.1016)
    assert scenario.breeding.site == (0.762, 0.1524)


def test_a_changed_footprint_needs_a_word_about_the_pieces(write: Write) -> None:
    write(WHOLE)
    path = write('based_on = "base.toml"\n[tank]\nlength = "72 in"\n', "v.toml")
    assert one_refusal(path).startswith(
        f"{path}, pieces_when_resized: is missing, and the footprint differs from that of"
    )
    choice = 'pieces_when_resized = "shrink"\n'
    path = write('based_on = "base.toml"\n' + choice + '[tank]\nlength = "6 ft"\n', "v.toml")
    assert 'got "shrink"; expected "keep" or "stretch"' in one_refusal(path)
    path = write('based_on = "base.toml"\n[tank]\nheight = "24 in"\n', "v.toml")
    assert read_scenario(path).tank.height_m == 0.6096


def test_entries_are_changed_added_and_removed_by_name(write: Write) -> None:
    write(WHOLE)
    variant = (
        'based_on = "base.toml"\n[remove]\npieces = ["Left Pot"]\nfish = ["Basalt"]\n'
        '[[pieces]]\nname = "slate"\nkind = "slate"\nsize = "6 in"\nx = "9 in"\ny = "5 in"\n'
        '[[fish]]\nname = "Tails"\ncount = 12\n[[fish]]\nspecies = "bristlenose"\n'
    )
    scenario = read_scenario(write(variant, "v.toml"))
    assert [piece.name for piece in scenario.pieces] == ["stone", "slate"]
    assert [(group.name, group.count) for group in scenario.fish] == [
        ("Tails", 12),
        ("bristlenose", 1),
    ]
    bare = read_scenario(write('based_on = "base.toml"\nremove.pieces = "all"\n', "bare.toml"))
    assert bare.pieces == ()


def test_one_way_of_saying_it_drops_the_other(write: Write) -> None:
    write(WHOLE)
    variant = (
        'based_on = "base.toml"\n'
        '[[pieces]]\nname = "stone"\nsize = "10 in"\n'
        '[[pieces]]\nname = "left pot"\n'
        'outline = [["0 in", "0 in"], ["5 in", "0 in"], ["0 in", "5 in"]]\n'
    )
    pieces = read_scenario(write(variant, "v.toml")).pieces
    assert (pieces[1].size, pieces[1].length_m, pieces[1].width_m) == ("10 in", None, None)
    assert (pieces[0].size, len(pieces[0].outline or ())) == (None, 3)


def test_breeding_switched_off_forgets_its_day(write: Write) -> None:
    female = '[[fish]]\nname = "P"\nspecies = "convict"\nsex = "female"\n'
    write(WHOLE + female + '[breeding]\nmode = "on"\nspawn_day = 4\n')
    path = write('based_on = "base.toml"\nbreeding.mode = "off"\n', "v.toml")
    assert read_scenario(path).breeding.spawn_day is None


def test_chains_and_folders(write: Write) -> None:
    write(WHOLE, "family/base.toml")
    write('based_on = "base.toml"\ndays = 5\n', "family/middle.toml")
    path = write('based_on = "../family/middle.toml"\nseed = 3\n', "mine/top.toml")
    scenario = read_scenario(path)
    assert (scenario.days, scenario.seed, scenario.title) == (5, 3, "Base")


def test_an_error_names_the_file_that_states_the_value(write: Write) -> None:
    base = write(WHOLE.replace('species = "swordtail"', 'species = "swordtial"'))
    variant = write('based_on = "base.toml"\n[[pieces]]\nname = "stone"\nx = "-3 in"\n', "v.toml")
    first, second = refused(variant)
    assert first.startswith(f'{variant}, pieces "stone".x: got "-3 in"; expected a distance')
    assert second.startswith(f'{base}, fish "tails".species: no such fish, got "swordtial"')


def test_removing_what_is_not_there(write: Write) -> None:
    write(WHOLE)
    text = 'based_on = "base.toml"\n[remove]\npieces = ["left pott"]\nfishes = "all"\nfish = 3\n'
    path = write(text, "v.toml")
    sentences = refused(path)
    assert f'{path}, remove.pieces: got "left pott", which ' in sentences[0]
    assert 'Did you mean "left pot"?' in sentences[0]
    assert "remove.fishes: unknown key; expected pieces, fish, events" in sentences[1]
    assert 'remove.fish: got 3; expected a list of names, or "all"' in sentences[2]


def test_keys_of_a_variant_without_a_base(write: Write) -> None:
    path = write('pieces_when_resized = "keep"\n' + WHOLE)
    assert "pieces_when_resized: has a meaning only together with `based_on`" in one_refusal(path)


def test_based_on_itself(write: Write) -> None:
    path = write('based_on = "base.toml"\n')
    assert one_refusal(path).startswith(f"{path}, based_on: got ")
    assert "is based on this file in turn" in one_refusal(path)
    write('based_on = "b.toml"\n', "a.toml")
    path = write('based_on = "a.toml"\n', "b.toml")
    assert "is based on this file in turn" in one_refusal(path)


def test_a_chain_without_end(write: Write) -> None:
    for number in range(12):
        write(f'based_on = "{number + 1}.toml"\n', f"{number}.toml")
    write(WHOLE, "12.toml")
    assert "the chain of bases is longer than 10 files" in one_refusal(
        write('based_on = "1.toml"\n', "0.toml")
    )


@pytest.mark.parametrize(
    ("base", "message"),
    [
        ("none.toml", "there is no such file"),
        ("/etc/hosts.toml", "expected a path relative to this file"),
        ("~/a.toml", "expected a path relative to this file"),
        ("C:/a.toml", "expected a path relative to this file"),
        ("..\\\\a.toml", "expected a path relative to this file"),
        ("../../a.toml", "which lies outside the scenario's folders"),
        ("base", "expected a file that ends in .toml"),
        ("", "expected a file name such as"),
        ("x\\u0000.toml", "expected a file name such as"),
    ],
)
def test_bases_that_are_not_followed(write: Write, base: str, message: str) -> None:
    path = write(f'based_on = "{base}"\n', "deep/v.toml")
    sentence = one_refusal(path)
    assert sentence.startswith(f"{path}, based_on: got ")
    assert message in sentence


def test_a_base_that_is_no_text(write: Write) -> None:
    assert "based_on: got 3; expected a file name" in one_refusal(write("based_on = 3\n"))


def test_a_link_does_not_lead_out(write: Write, tmp_path: Path) -> None:
    outside = write(WHOLE, "outside/base.toml")
    path = write('based_on = "link.toml"\n', "a/b/v.toml")
    os.symlink(outside, path.parent / "link.toml")
    assert "which lies outside the scenario's folders" in one_refusal(path)


# files that are no scenario


def test_a_missing_file(tmp_path: Path) -> None:
    path = tmp_path / "none.toml"
    assert one_refusal(path) == (
        f"{path}: there is no such file; expected a scenario file. Check the name."
    )


def test_a_folder(tmp_path: Path) -> None:
    assert "this is a folder; expected a scenario file" in one_refusal(tmp_path)


def test_an_empty_file(write: Write) -> None:
    assert "the file is empty; expected a scenario" in one_refusal(write(" \n"))


def test_a_binary_file(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(b"\x7fELF\x00\x01")
    assert "this is a binary file" in one_refusal(path)
    path.write_bytes(b'title = "caf\xe9"\n')
    assert "the file is not UTF-8 text (byte 12)" in one_refusal(path)


def test_a_huge_file_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    with path.open("wb") as stream:
        stream.truncate(50_000_000)
    started = time.perf_counter()
    assert "the file is too large, 50.0 MB; expected at most 1 MB" in one_refusal(path)
    assert time.perf_counter() - started < 1


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    os.mkfifo(path)
    assert "this is no ordinary file" in one_refusal(path)


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read everything")
def test_a_file_that_may_not_be_read(write: Write) -> None:
    path = write(WHOLE)
    path.chmod(0)
    assert "the file may not be read" in one_refusal(path)


def test_a_path_no_system_takes() -> None:
    assert "the name holds a null character" in one_refusal("a\0b.toml")
    assert "cannot be read" in one_refusal("x" * 5000)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("title = ", "this is not valid TOML: invalid value (at end of document)"),
        ("a = 1\na = 2\n", "this is not valid TOML: cannot overwrite a value"),
        ("a = " + "9" * 5000, "this is not valid TOML: a number is too long"),
        ("a = " + "[" * 20000, "nested too deeply"),
    ],
    ids=["cut", "twice", "long number", "nested"],
)
def test_what_is_no_toml(write: Write, text: str, message: str) -> None:
    assert message in one_refusal(write(text))


# values, all at once


def test_every_problem_at_once(write: Write) -> None:
    path = write(
        'dayz = 3\ntemperature = "80 degF"\nwithout = ["learnin"]\n'
        '[tank]\nlenght = "4 ft"\nlength = "-48 in"\nwidth = 18\nheight = "21 in"\n'
        '[[pieces]]\nname = "rock"\nkind = "boulder"\nsize = "8 in"\nx = "9 in"\n'
        '[[fish]]\nspecies = "convcit"\n[[fish]]\nspecies = "neon"\nsex = "femal"\n'
        '[[fish]]\nname = "a"\nspecies = "neon"\n[[fish]]\nname = "A"\nspecies = "neon"\n'
        "[fish.established]\n"
    )
    start = f"{path}, "
    expected = {
        'dayz: unknown key, got "dayz"; expected a key of this table. Did you mean "days"?',
        'temperature: unknown key, got "temperature"; expected a key of this table. '
        "It belongs in [tank].",
        'without #1: got "learnin"; expected one of "assessment", "learning", "occlusion", '
        '"hiding", "individuality", "brood". Did you mean "learning"?',
        'tank.lenght: unknown key, got "lenght"; expected a key of this table. '
        'Did you mean "length"?',
        'tank.length: got "-48 in"; expected a length from 20 cm (8 in) to 20 m (65 ft). '
        "Correct it.",
        'tank.width: got "18", which has no unit; expected a length such as "48 in", "4 ft" or '
        '"122 cm". Write a number and its unit.',
        'pieces "rock".y: is missing; expected its middle, from the front glass. '
        'Add it, for example y = "6 in".',
        'fish #2.sex: got "femal"; expected one of "male", "female", "unknown". '
        'Did you mean "female"?',
        'fish "A".name: got "A" a second time; expected every name once (the fish of a group are '
        "its name and a number). Give one of them another name.",
    }
    sentences = refused(path)
    assert all(sentence.startswith(start) for sentence in sentences)
    found = {sentence.removeprefix(start) for sentence in sentences}
    assert expected <= found
    (species,) = found - expected
    assert species.startswith('fish #1.species: no such fish, got "convcit"; expected')


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("days = 3\n", "tank: is missing; expected a [tank] table. Add it."),
        ("days = 3\n", "fish: is missing; expected a [[fish]] table. Add it."),
        ("tank = 3\n", "tank: got 3; expected a table of keys. Write it under [tank]."),
        ("fish = 3\n", "fish: got 3; expected a list. Write it under [[fish]]."),
        ("fish = [3]\n", "fish #1: got 3; expected a table of keys. Write it under [[fish]]."),
        ("fish = []\n", "fish: nobody lives here; expected at least one fish."),
        ("growth = 3.5\n", "growth: got 3.5; expected true or false. Change it."),
        ("title = 3\n", "title: got 3; expected a text in quotes. Change it."),
        ("[[fish]]\nname = 'a'\n", 'fish "a".species: is missing; expected scientific or trade'),
        ("zzz = 1\n", 'zzz: unknown key, got "zzz"; expected one of title, question, keeper,'),
        ("breeding.pair = ['a']\n", "breeding.pair #2: is missing"),
        ("length_m = 3\n", 'length_m: unknown key, got "length_m"'),
        ("tank.length_m = 3\n", 'tank.length_m: unknown key, got "length_m"'),
        ("[[pieces]]\nkind = 'pot'\noutline = [['1 in', '2 in']]\n", "expected at least 3"),
    ],
)
def test_values_of_the_wrong_kind(write: Write, text: str, message: str) -> None:
    assert message in "\n".join(refused(write(text)))


def test_absurdly_many_entries(write: Write) -> None:
    many = "".join(f"[[fish]]\nname = 'f{i}'\nspecies = 'neon'\n" for i in range(5000))
    assert "expected at most 200. Take some out." in one_refusal(
        write("[tank]\nsize = '75 gallon'\n" + many)
    )


def test_a_great_many_problems_are_cut_short(write: Write) -> None:
    keys = "".join(f"k{i} = 1\n" for i in range(3000))
    sentences = refused(write(keys + WHOLE))
    assert len(sentences) == 41
    assert sentences[-1].endswith("there are 2960 more problems. Mend these first.")


def test_an_escape_sequence_does_not_reach_the_screen(write: Write) -> None:
    sentence = one_refusal(write('"a\\u001b[31m" = "\\u001b[2J"\n' + WHOLE))
    assert sentence.isprintable()


def test_a_refusal_crosses_processes() -> None:
    refusal = Refused([Problem("a", "b"), Problem("", "c")], warnings=[Problem("d", "e")])
    again = pickle.loads(pickle.dumps(refusal))
    assert (again.problems, again.warnings) == (refusal.problems, refusal.warnings)
    assert str(again) == "a: b\nc"
    with pytest.raises(ValueError, match="Refused without a problem"):
        Refused([])


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_a_spoilt_file_is_read_or_refused(data: st.DataObject, write: Write) -> None:
    """Any line of a right file replaced by anything: a scenario or a sentence, never a crash."""
    lines = (WHOLE + '[breeding]\nmode = "off"\nsite = "auto"\n').splitlines()
    index = data.draw(st.integers(0, len(lines) - 1))
    key = lines[index].split(" = ")[0]
    value = data.draw(
        st.sampled_from(
            ["1", "-1", "nan", "inf", "true", "[]", "{}", "''", "[[]]", "1979-05-27", "07:32:00",
             "[1, 2]", "{a = 1}", "'48 in'", "'-1 in'", "'about 3 in'", "1e400", "'\\u0000'"]
        )
        | st.text(st.characters(codec="utf-8"), max_size=12)
    )  # fmt: skip
    lines[index] = f"{key} = {value}"
    path = write("\n".join(lines))
    problems: tuple[Problem, ...] = ()
    try:
        read_scenario(path)
    except Refused as refusal:
        problems = refusal.problems
    assert all(problem.where.startswith(str(path)) for problem in problems)
    assert all(str(problem).isprintable() for problem in problems)
