"""What is wrong with a scenario's values, in sentences a keeper can act on."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from sim.errors import Problem
from sim.fields import file_key, printable, shown
from sim.scenario import Scenario
from sim.scenario_rules import Fault, Place, did_you
from sim.scenario_variant import NAMED_LISTS, VARIANT_KEYS, Sourced

_MOST_PROBLEMS = 40
_TABLE_IS = "a table of keys"


def problems_of(faults: list[Fault], *, tree: Sourced) -> list[Problem]:
    """Put the file and the key before each sentence.

    Parameters
    ----------
    faults : place and sentence of each fault.
    tree : the scenario's table, which knows the file of every value.

    Returns
    -------
    one problem each; of a great many the last only counts the rest.
    """
    problems = [
        Problem(f"{tree.file_of(place)}, {key_of(place, tree=tree)}", sentence)
        for place, sentence in faults[:_MOST_PROBLEMS]
    ]
    rest = len(faults) - len(problems)
    if rest > 0:
        problems.append(Problem(tree.file, f"there are {rest} more problems. Mend these first."))
    return problems


def key_of(place: Place, *, tree: Sourced) -> str:
    """A place as a reader would look for it: ``pieces "left pot".x`` or ``fish #2.sex``.

    Parameters
    ----------
    place : keys and positions from the top of the file.
    tree : the scenario's table, for the names of entries.

    Returns
    -------
    the key as text.
    """
    node: Any = tree.plain()
    text = ""
    for depth, step in enumerate(place):
        inside = isinstance(node, dict | list)
        try:
            node = node[step] if inside else None
        except (KeyError, IndexError, TypeError):
            node = None
        if isinstance(step, int):
            name = node.get("name") if isinstance(node, dict) else None
            in_list = depth == 1 and place[0] in NAMED_LISTS
            text += f" {shown(name)}" if in_list and isinstance(name, str) else f" #{step + 1}"
        else:
            key = printable(step)
            text += f".{key}" if text else key
    return text


def faults_of(error: ValidationError) -> list[Fault]:
    """Every fault pydantic found, each as a place and one sentence.

    Parameters
    ----------
    error : what `Scenario.model_validate` raised.

    Returns
    -------
    place and sentence of each fault, in the order of the file's language.
    """
    return [_fault(details) for details in error.errors(include_url=False)]


def _fault(details: Mapping[str, Any]) -> Fault:
    place: Place = tuple(details["loc"])
    kind, given, context = details["type"], details.get("input"), details.get("ctx", {})
    if kind == "value_error":
        return place, str(context["error"])
    if kind == "extra_forbidden":
        return place, _unknown_key(place)
    if kind == "missing":
        return place, f"is missing; expected {_expected(place)}. Add it{_example(place)}."
    if kind == "literal_error":
        words = re.findall(r"'([^']*)'", context["expected"])
        listed = ", ".join(f'"{word}"' for word in words)
        mend = "Choose one."
        if isinstance(given, str):
            mend = did_you(given, words, otherwise=mend)
        return place, f"got {shown(given)}; expected one of {listed}. {mend}"
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        table = ".".join(str(step) for step in place if isinstance(step, str))
        double = bool(place) and isinstance(place[-1], int)
        header = f"[[{table}]]" if double else f"[{table}]"
        return place, f"got {shown(given)}; expected {_TABLE_IS}. Write it under {header}."
    if kind in ("too_short", "too_long"):
        if place == ("fish",) and kind == "too_short":
            return place, "nobody lives here; expected at least one fish. Add a [[fish]] table."
        bound = context.get("min_length", context.get("max_length"))
        most = "at least" if kind == "too_short" else "at most"
        count = context.get("actual_length") or len(given or ())
        mend = "Add some." if kind == "too_short" else "Take some out."
        return place, f"got {count} entries; expected {most} {bound}. {mend}"
    if kind in ("tuple_type", "list_type"):
        header = f" Write it under [[{place[-1]}]]." if place[-1] in NAMED_LISTS else ""
        return place, f"got {shown(given)}; expected a list.{header or ' Put it in [ ].'}"
    expected = {"string_type": "a text in quotes", "bool_type": "true or false"}.get(kind)
    if kind == "bool_parsing":
        expected = "true or false"
    if expected is not None:
        return place, f"got {shown(given)}; expected {expected}{_example(place)}. Change it."
    message = str(details["msg"])
    return place, f"got {shown(given)}; expected otherwise: {message[:1].lower()}{message[1:]}."


def _unknown_key(place: Place) -> str:
    key = str(place[-1])
    model = _model_at(place[:-1])
    known = [file_key(name) for name in model.model_fields] if model is not None else []
    if model is Scenario:
        known += VARIANT_KEYS
    if "length" in known and model is not None and model.__name__ == "Tank":
        known.append("size")
    elsewhere = [
        table
        for table, other in _tables().items()
        if other is not model and key in map(file_key, other.model_fields)
    ]
    near = did_you(key, known, otherwise="")
    if near:
        return f"unknown key, got {shown(key)}; expected a key of this table. {near}"
    if elsewhere:
        return (
            f"unknown key, got {shown(key)}; expected a key of this table. "
            f"It belongs in {elsewhere[0]}."
        )
    return f"unknown key, got {shown(key)}; expected one of {', '.join(known)}. Take it out."


def _tables() -> dict[str, type[BaseModel]]:
    """The tables a misplaced key may belong to, as their headers are written."""
    found: dict[str, type[BaseModel]] = {"the top of the file": Scenario}
    for name in Scenario.model_fields:
        model = _model_at((name,))
        if model is not None:
            found[f"[[{name}]]" if name in NAMED_LISTS else f"[{name}]"] = model
    return found


def _model_at(place: Place) -> type[BaseModel] | None:
    """The model of the table at a place of the language."""
    model: type[BaseModel] | None = Scenario
    for step in place:
        if isinstance(step, int) or model is None:
            continue
        fields = {file_key(name): info for name, info in model.model_fields.items()}
        model = _model_in(fields[step].annotation) if step in fields else None
    return model


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for part in get_args(annotation):
        model = _model_in(part)
        if model is not None:
            return model
    return None


def _field(place: Place) -> Any:
    model = _model_at(place[:-1])
    if model is None:
        return None
    return {file_key(name): info for name, info in model.model_fields.items()}.get(str(place[-1]))


def _expected(place: Place) -> str:
    info = _field(place)
    if info is not None and info.description:
        return str(info.description)
    key = str(place[-1])
    return f"a [[{key}]] table" if key in NAMED_LISTS else f"a [{key}] table"


def _example(place: Place) -> str:
    info = _field(place)
    if info is None or not info.examples:
        return ""
    example = info.examples[0]
    text = f'"{example}"' if isinstance(example, str) else str(example)
    return f", for example {place[-1]} = {text}"
