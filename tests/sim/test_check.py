"""A scenario checked whole: geometry, fish against tank, and what is unwise."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from sim.check import Checked, check_file, check_scenario
from sim.errors import Refused
from sim.scenario import Scenario

TOP = Path(__file__).parents[2]
SCENARIOS = sorted((TOP / "scenarios").glob("*.toml"))
TANK = '[tank]\nlength = "36 in"\nwidth = "12 in"\nheight = "16 in"\n'
NEON = '[[fish]]\nname = "neons"\nspecies = "neon"\ncount = 6\n'

Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def put(text: str, name: str = "a.toml") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return put


def piece(name: str, kind: str, size: str, x: str, y: str) -> str:
    return f'[[pieces]]\nname = "{name}"\nkind = "{kind}"\nsize = "{size}"\nx = "{x}"\ny = "{y}"\n'


def fish(species: str, *lines: str) -> str:
    return f'[[fish]]\nname = "F"\nspecies = "{species}"\n' + "".join(f"{line}\n" for line in lines)


def refused(path: Path) -> list[str]:
    with pytest.raises(Refused) as refusal:
        check_file(path)
    return [str(problem) for problem in refusal.value.problems]


def warnings(path: Path) -> list[str]:
    return [str(warning) for warning in check_file(path).warnings]


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_shipped_scenarios_pass_without_a_warning(path: Path) -> None:
    checked = check_file(path)
    assert isinstance(checked, Checked)
    if path.stem == "small-tetras-large-cichlid":  # what it warns of is its question
        (warning,) = checked.warnings
        assert "small enough to be swallowed by Gorse" in str(warning)
        return
    assert checked.warnings == ()


def rooms(name: str) -> dict[str, set[str]]:
    """For each hiding place of a shipped scenario, the groups of fish that pass a door of it."""
    layout = check_file(TOP / "scenarios" / name).layout
    return {
        room.name: {
            member.group
            for member in layout.members
            for length_m in [member.length_m or member.species.adult_m(member.sex)]
            if any(
                door.passes(
                    depth_m=length_m * member.species.depth_ratio,
                    width_m=length_m * member.species.width_ratio,
                )
                for door in room.doors
            )
        }
        for room in layout.rooms
    }


@pytest.mark.parametrize(
    "name", ["convict-four-foot.toml", "convict-six-foot.toml", "convict-spawning.toml"]
)
def test_the_male_convict_cannot_follow_everywhere(name: str) -> None:
    assert rooms(name) == {
        "large pot": {"Basalt", "Pumice", "swordtails", "Lint"},
        "pipe": {"Pumice", "swordtails", "Lint"},
        "small pot": {"swordtails", "Lint"},
    }


def test_the_structured_tank_has_more_hiding_places_and_the_bare_one_none() -> None:
    assert set(rooms("convict-structured.toml")) > set(rooms("convict-four-foot.toml"))
    assert rooms("convict-bare.toml") == {}


def test_the_pleco_has_a_place_of_its_own() -> None:
    assert rooms("three-large-six-foot.toml")["pleco pipe"] == {"Cobbler"}


def test_the_six_foot_tank_differs_in_length_and_places_alone() -> None:
    four = check_file(TOP / "scenarios" / "convict-four-foot.toml").scenario
    six = check_file(TOP / "scenarios" / "convict-six-foot.toml").scenario
    assert six.tank == four.tank.model_copy(update={"length_m": 1.8288})
    assert six.fish == four.fish
    for before, after in zip(four.pieces, six.pieces, strict=True):
        assert after == before.model_copy(update={"x_m": after.x_m})
        assert after.x_m == pytest.approx(1.5 * before.x_m, abs=1e-9)


def test_two_stones_in_one_place(write: Write) -> None:
    stones = piece("one", "boulder", "8 in", "10 in", "6 in")
    stones += piece("two", "boulder", "8 in", "12 in", "6 in")
    path = write(TANK + stones + NEON)
    (sentence,) = refused(path)
    assert sentence.startswith(f'{path}, pieces "two": it stands where "one" stands, got an ')


def test_a_stone_through_the_glass(write: Write) -> None:
    path = write(TANK + piece("one", "boulder", "8 in", "40 in", "6 in") + NEON)
    (sentence,) = refused(path)
    assert sentence.startswith(f'{path}, pieces "one".x: it goes through the right glass, got ')


def test_a_made_up_kind_and_size_do_not_hide_the_rest(write: Write) -> None:
    text = TANK + piece("one", "pott", "6 in", "5 in", "6 in")
    text += piece("two", "pot", "7 in", "15 in", "6 in")
    text += piece("three", "boulder", "8 in", "40 in", "6 in")
    path = write('days = "x"\n' + text + fish("jaguar cichlid", 'length = "4 ft"'))
    found = refused(path)
    starts = ('pieces "one".kind', 'pieces "two".size', 'pieces "three".x', 'fish "F".length')
    for start in starts:
        assert any(sentence.startswith(f"{path}, {start}: ") for sentence in found), start
    assert any("expected one of: pot" in sentence for sentence in found)
    assert len(found) == 5


def test_a_wrong_tank_does_not_hide_a_made_up_kind(write: Write) -> None:
    text = TANK.replace("36 in", "-36 in") + piece("one", "pott", "6 in", "5 in", "6 in") + NEON
    first, second = refused(write(text))
    assert 'tank.length: got "-36 in"' in first
    assert 'no such kind of piece, got "pott"' in second


def test_a_wrong_fish_does_not_make_a_cave_too_small(write: Write) -> None:
    pot = piece("nook", "upturned pot", "4 in", "10 in", "6 in")
    path = write(TANK + pot + fish("oscar") + '[[fish]]\nspecies = "neom"\n')
    (sentence,) = refused(path)
    assert "no such fish" in sentence


def test_a_cave_nobody_fits(write: Write) -> None:
    pot = piece("nook", "upturned pot", "4 in", "10 in", "6 in")
    path = write(TANK + pot + fish("firemouth"))
    assert any(f'{path}, pieces "nook"' in sentence for sentence in refused(path))


@pytest.mark.parametrize(
    ("tank_length", "species", "length", "sentence"),
    [
        (
            "18 in",
            "jaguar cichlid",
            "20 in",
            "the fish does not fit the tank at all, got 20 in (50.8 cm); expected less than "
            "the tank's length of 18 in (45.7 cm). Take it out, or use a longer tank.",
        ),
        (
            "48 in",
            "redhead cichlid",
            "18.8 in",
            "the fish does not fit the tank at all, got a body 8.1 in (20.5 cm) deep; expected "
            "less than the tank's height of 8 in (20.3 cm). Take it out, or use a taller tank.",
        ),
        (
            "18 in",
            "neon",
            "4 in",
            "got 4 in (10.2 cm), longer than any neon tetra; expected at most 2.3 in (5.9 cm). "
            "Correct the length or the species.",
        ),
    ],
)
def test_fish_that_cannot_be(
    write: Write, tank_length: str, species: str, length: str, sentence: str
) -> None:
    tank = f'[tank]\nlength = "{tank_length}"\nwidth = "12 in"\nheight = "8 in"\n'
    path = write(tank + fish(species, f'length = "{length}"'))
    assert refused(path) == [f'{path}, fish "F".length: {sentence}']


@pytest.mark.parametrize(
    ("text", "warning"),
    [
        (
            TANK + fish("oscar"),
            'fish "F".length: the fish is longer than the tank is wide, got 11.8 in (30 cm); '
            "expected at most 11 in (27.9 cm)",
        ),
        (
            TANK + fish("oscar", 'length = "3 in"'),
            'fish "F".length: the fish will outgrow the width of the tank, got 11.4 in (29 '
            "cm) when full-grown",
        ),
        (
            TANK + fish("neon", 'length = "1.9 in"'),
            'fish "F".length: got 1.9 in (4.8 cm), very long for a neon tetra; expected '
            "about 1.5 in (3.7 cm).",
        ),
        (
            TANK.replace("[tank]", '[tank]\ntemperature = "18 degC"') + fish("ram"),
            "tank.temperature: got 64 °F (18 °C), outside what F is kept in; expected "
            "78 °F (25.5 °C) to 85 °F (29.5 °C).",
        ),
        (
            TANK + NEON + fish("oscar", 'length = "9 in"'),
            'fish "neons": small enough to be swallowed by F, got a body 0.33 in (0.8 cm) deep; '
            "expected more than 0.9 in (2.3 cm).",
        ),
    ],
)
def test_what_is_unwise(write: Write, text: str, warning: str) -> None:
    path = write(text.replace('width = "12 in"', 'width = "11 in"'))
    expected = f"{path}, {warning}"
    assert any(sentence.startswith(expected) for sentence in warnings(path)), warnings(path)


PAIR = (
    '[[fish]]\nname = "A"\nspecies = "Nile tilapia"\nsex = "male"\nlength = "2 in"\n'
    '[[fish]]\nname = "B"\nspecies = "Nile tilapia"\nsex = "female"\n'
    '[breeding]\nmode = "on"\nspawn_day = 3\npair = ["A", "B"]\n'
)


def test_a_pair_that_is_not_ready(write: Write) -> None:
    tank = '[tank]\nsize = "180 gallon"\nsubstrate = "bare"\n'
    found = warnings(write(tank + PAIR))
    assert any('fish "A".length: it is to spawn but is not grown up, got 2 in' in w for w in found)
    assert any('tank.substrate: got "bare", but a Nile tilapia spawns in a pit' in w for w in found)


def test_warnings_come_with_a_refusal(write: Write) -> None:
    path = write("settling_days = 2.5\n" + TANK + fish("jaguar cichlid", 'length = "3 in"'))
    with pytest.raises(Refused, match="expected whole days") as refusal:
        check_file(path)
    assert len(refusal.value.problems) == 1
    assert "will outgrow the width of the tank" in str(refusal.value.warnings[0])


def test_a_scenario_made_in_memory() -> None:
    scenario = Scenario.model_validate(
        {"tank": {"size": "75 gallon"}, "fish": [{"species": "neon", "count": 3}]}
    )
    assert check_scenario(scenario).scenario == scenario
    with pytest.raises(Refused, match=r"scenario, settling_days: got 2\.5; expected whole"):
        check_scenario(scenario.model_copy(update={"settling_days": 2.5}))


def test_checking_loads_nothing_heavy() -> None:
    code = (
        "import sys\nfrom sim.check import check_file\n"
        f"check_file({str(SCENARIOS[0])!r})\n"
        "heavy = {'pint', 'numba', 'scipy', 'matplotlib', 'mesa', 'pandas', 'solara', 'networkx'}\n"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=TOP)
