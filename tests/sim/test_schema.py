"""The JSON Schema and the reference page say what the models say."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import jsonschema
import pytest

from sim.care import Brood, Established, Event, Feeding, KeeperPlan, Move, Observation
from sim.fields import Table, file_key
from sim.scenario import Breeding, Door, FishGroup, Piece, Scenario, Tank
from sim.scenario_schema import json_schema, schema_text, write_schema
from sim.scenario_variant import VARIANT_KEYS

TOP = Path(__file__).parents[2]
SCENARIOS = sorted((TOP / "scenarios").glob("*.toml"))
SECTIONS: dict[str, type[Table]] = {
    "Top of the file": Scenario,
    "`[tank]`": Tank,
    "`[[pieces]]`": Piece,
    "`[[pieces.doors]]`": Door,
    "`[[fish]]`": FishGroup,
    "`[fish.established]`": Established,
    "`[fish.established.brood]`": Brood,
    "`[breeding]`": Breeding,
    "`[feeding]`": Feeding,
    "`[[events]]`": Event,
    "`[[events.moves]]`": Move,
    "`[[observe]]`": Observation,
    "`[keeper_plan]`": KeeperPlan,
}


def validator() -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(json_schema())


def test_the_written_schema_is_current(tmp_path: Path) -> None:
    write_schema(tmp_path / "schema.json")
    text = (tmp_path / "schema.json").read_text(encoding="utf-8")
    assert text == schema_text()
    kept = (TOP / "docs" / "scenario.schema.json").read_text(encoding="utf-8")
    assert kept == text, "run sim.scenario_schema.write_schema('docs/scenario.schema.json')"


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(json_schema())


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_shipped_scenarios_pass_the_schema(path: Path) -> None:
    errors = list(validator().iter_errors(tomllib.loads(path.read_text(encoding="utf-8"))))
    assert errors == []


def test_the_schema_underlines_what_the_reader_refuses() -> None:
    whole = tomllib.loads(
        '[tank]\nsize = "75 gallon"\n[[fish]]\nspecies = "swordtail"\ncount = 6\n'
    )
    assert validator().is_valid(whole)
    assert not validator().is_valid(whole | {"dayz": 3})
    assert not validator().is_valid(whole | {"tank": {"length": "48 in"}})
    assert not validator().is_valid(whole | {"tank": {"size": "75 gallon", "length": "48 in"}})
    assert not validator().is_valid({"tank": whole["tank"]})
    assert not validator().is_valid(whole | {"fish": [{"species": "swordtail", "count": 900}]})
    assert not validator().is_valid(whole | {"remove": {"pieces": "all"}})


def test_the_schema_lets_a_variant_state_a_part() -> None:
    assert validator().is_valid(
        {"based_on": "a.toml", "pieces_when_resized": "keep", "tank": {"length": "72 in"}}
    )
    assert validator().is_valid({"based_on": "a.toml", "remove": {"pieces": "all"}})
    assert validator().is_valid({"based_on": "a.toml", "fish": [{"name": "a", "count": 3}]})
    assert not validator().is_valid({"based_on": "a.toml", "tank": {"lenght": "72 in"}})
    assert not validator().is_valid({"based_on": "a.toml", "pieces_when_resized": "shrink"})


def rows(section: str) -> dict[str, str]:
    """Key and the whole row of a section's table in the reference page."""
    page = (TOP / "docs" / "scenario-language.md").read_text(encoding="utf-8")
    parts = re.split(r"^#{2,3} (.+)$", page, flags=re.M)
    body = dict(zip(parts[1::2], parts[2::2], strict=True))[section]
    found = {}
    for line in body.splitlines():
        if line.startswith("| `"):
            for key in re.findall(r"`(\w+)`", line.split("|")[1]):
                found[key] = line
    return found


@pytest.mark.parametrize("section", SECTIONS, ids=str)
def test_the_reference_lists_exactly_the_keys(section: str) -> None:
    keys = {file_key(name) for name in SECTIONS[section].model_fields}
    if section == "Top of the file":
        keys |= set(VARIANT_KEYS)
    if section == "`[tank]`":
        keys.add("size")
    assert set(rows(section)) == keys


def test_the_example_of_the_reference_is_right() -> None:
    page = (TOP / "docs" / "scenario-language.md").read_text(encoding="utf-8")
    example = re.findall(r"```toml\n(.*?)```", page, flags=re.S)[0]
    assert validator().is_valid(tomllib.loads(example))
