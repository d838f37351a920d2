"""The language of scenario files as a JSON Schema, for editors that complete and underline."""

from __future__ import annotations

import json
import os
from copy import deepcopy
from pathlib import Path
from typing import Any

from sim.scenario import Scenario
from sim.scenario_variant import NAMED_LISTS, RESIZE_CHOICES
from sim.tanks import load_tanks

_TEXT = {"type": "string"}
_NAMES_OR_ALL = {"anyOf": [{"const": "all"}, {"type": "array", "items": _TEXT}]}


def json_schema() -> dict[str, Any]:
    """The JSON Schema of scenario files, whole ones and variants.

    Returns
    -------
    a schema of draft 2020-12.
    """
    generated = Scenario.model_json_schema(by_alias=True, mode="validation")
    tables = generated.pop("$defs")
    _allow_standard_size(tables["Tank"])
    tables["FishGroup"]["properties"]["length"]["default"] = "adult"
    whole = generated | {"title": "Scenario"}
    variants = {f"{name}Variant": _as_variant(table) for name, table in tables.items()}
    variant = _as_variant(whole)
    variant["title"] = "ScenarioVariant"
    variant["properties"] |= {
        "based_on": _TEXT | {"description": "the scenario file this one changes"},
        "pieces_when_resized": {
            "enum": list(RESIZE_CHOICES),
            "description": "what inherited places do when the footprint differs",
        },
        "remove": {
            "type": "object",
            "description": "inherited entries to take out, by name",
            "properties": dict.fromkeys(NAMED_LISTS, _NAMES_OR_ALL),
            "additionalProperties": False,
        },
    }
    variant["required"] = ["based_on"]
    definitions = tables | variants | {"Scenario": whole, "ScenarioVariant": variant}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Holdwater scenario",
        "description": "One aquarium, what stands in it, who lives in it, and what happens.",
        "type": "object",
        "if": {"required": ["based_on"]},
        "then": {"$ref": "#/$defs/ScenarioVariant"},
        "else": {"$ref": "#/$defs/Scenario"},
        "$defs": dict(sorted(definitions.items())),
    }


def write_schema(path: str | os.PathLike[str]) -> None:
    """Write the JSON Schema to a file.

    Parameters
    ----------
    path : the file, `docs/scenario.schema.json` in the repository.
    """
    Path(path).write_text(schema_text(), encoding="utf-8")


def schema_text() -> str:
    """The JSON Schema as the text of its file.

    Returns
    -------
    JSON, indented, with a final newline.
    """
    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


def _allow_standard_size(tank: dict[str, Any]) -> None:
    tank["properties"]["size"] = {
        "type": "string",
        "description": "a standard size, instead of length, width and height",
        "examples": list(load_tanks()),
    }
    sides = tank.pop("required")
    no_side = {"not": {"anyOf": [{"required": [side]} for side in sides]}}
    tank["oneOf"] = [{"required": ["size"]} | no_side, {"required": sides}]


def _as_variant(table: dict[str, Any]) -> dict[str, Any]:
    """A table of which a variant states only some keys."""

    def rewrite(node: Any) -> Any:
        if isinstance(node, dict):
            kept = {key: rewrite(part) for key, part in node.items()}
            if "$ref" in kept:
                kept["$ref"] += "Variant"
            if isinstance(kept.get("required"), list):
                del kept["required"]
            kept.pop("oneOf", None)
            return kept
        return [rewrite(part) for part in node] if isinstance(node, list) else node

    variant: dict[str, Any] = rewrite(deepcopy(table))
    for key in NAMED_LISTS:
        variant.get("properties", {}).get(key, {}).pop("minItems", None)
    return variant
