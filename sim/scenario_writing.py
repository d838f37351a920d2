"""A scenario written back as a file a keeper can read and edit."""

from __future__ import annotations

import math
from typing import Any

import tomli_w
from pydantic import BaseModel

from sim.fields import file_key
from sim.scenario import Piece, Scenario
from sim.units import UnitError, parse_angle, parse_length, parse_temperature

_PLACES = ("outline", "spots")
_CLOCK_LISTS = ("times", "checks_at")


def write_scenario(scenario: Scenario) -> str:
    """The text of a file that reads back as the same scenario.

    Parameters
    ----------
    scenario : a checked scenario; of a variant, the whole, without what it was based on.

    Returns
    -------
    TOML: the question as comment lines, then every key whose value is not the default.
    """
    table = _table(scenario)
    question = table.pop("question", "")
    return "".join(f"# {line}\n" for line in _two_lines(question)) + tomli_w.dumps(table)


def piece_table(piece: Piece) -> dict[str, Any]:
    """A piece as the entry of a file: its keys, whose values are not the default.

    Parameters
    ----------
    piece : of a checked scenario.

    Returns
    -------
    keys and values as TOML gives them.
    """
    return _table(piece)


def _two_lines(text: str) -> list[str]:
    """A question as at most two lines, parted between words."""
    if len(text) <= 90:
        return [text] if text else []
    middle = text.rfind(" ", 0, max(90, len(text) // 2))
    return [text] if middle < 0 else [text[:middle], text[middle + 1 :]]


def _table(part: BaseModel) -> dict[str, Any]:
    table: dict[str, Any] = {}
    for name, info in type(part).model_fields.items():
        value = getattr(part, name)
        if info.is_required() or value != info.get_default(call_default_factory=True):
            table[file_key(name)] = _value(name, value)
    return table


def _value(name: str, value: Any) -> Any:
    if isinstance(value, BaseModel):
        return _table(value)
    if name in _PLACES:
        return [[_length(x), _length(y)] for x, y in value]
    if name in _CLOCK_LISTS:
        return [_clock(hours) for hours in value]
    if isinstance(value, tuple):
        if name in ("site", "owns", "place", "joins_place"):
            return [_length(part) for part in value]
        return [_value("", part) for part in value]
    if name.endswith("_m"):
        return _length(value)
    if name.endswith("_c"):
        return _shortest(value, (("degF", value * 9 / 5 + 32), ("degC", value)), parse_temperature)
    if name.endswith("_rad"):
        return _shortest(value, (("deg", math.degrees(value)), ("rad", value)), parse_angle)
    if name.endswith("_h"):
        return _clock(value)
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value


def _length(length_m: float) -> str:
    guesses = (("in", length_m / 0.0254), ("cm", length_m * 100), ("m", length_m))
    return _shortest(length_m, guesses, parse_length)


def _shortest(value: float, guesses: tuple[tuple[str, float], ...], parse: Any) -> str:
    """The first unit in which few digits say the value exactly; else all digits in the last."""
    for unit, number in guesses:
        text = f"{number:.4f}".rstrip("0").rstrip(".") + f" {unit}"
        try:
            if parse(text) == value:
                return text
        except UnitError:
            continue
    return f"{value!r} {guesses[-1][0]}"


def _clock(hours: float) -> str:
    seconds = round(hours * 3600)
    text = f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}"
    return text if seconds % 60 == 0 else f"{text}:{seconds % 60:02d}"
