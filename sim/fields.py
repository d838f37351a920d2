"""The kinds of value a scenario's keys take, each read from a keeper's words and held in SI.

A field ``length_m`` is the key ``length`` in a file: there the text names the unit, here the name
does. Keys whose own name says the unit (``days``, ``light_hours``) take plain numbers.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from typing import Annotated, Any, cast

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    ValidationInfo,
    WithJsonSchema,
)

from sim import units
from sim.errors import LONGEST_NAME as LONGEST_NAME
from sim.errors import printable as printable
from sim.errors import shown as shown

_UNIT_ENDINGS = ("_m", "_c", "_rad", "_h")
FROM_FILE = {"from_file": True}

CLOCK_SCHEMA = {"type": "string", "examples": ["08:30", "8:30 pm"]}
LENGTH_SCHEMA = {
    "type": "string",
    "description": "a length with its unit",
    "examples": ["48 in", "4 ft 2 in", "122 cm"],
}


def file_key(field: str) -> str:
    """The key a field has in a file: its name without the unit at its end.

    Parameters
    ----------
    field : name of a model's field, such as ``"length_m"``.

    Returns
    -------
    key, such as ``"length"``.
    """
    for ending in _UNIT_ENDINGS:
        if field.endswith(ending):
            return field.removesuffix(ending)
    return field


class Table(BaseModel):
    """A table of a scenario file: frozen, no unknown keys, read by file key or by field name."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", populate_by_name=True, alias_generator=file_key
    )


def _quantity(
    parse: Callable[[str | float], float], low: float, high: float, bounds: str
) -> BeforeValidator:
    """Read a text with a unit and hold it between bounds that a sentence names as ``bounds``."""

    def read(value: Any, info: ValidationInfo) -> float:
        if not isinstance(value, str) and (info.context or {}).get("from_file"):
            if isinstance(value, int | float) and not isinstance(value, bool):
                value = str(value)  # a number in a file has no unit, and is refused as one
            elif not isinstance(value, float):
                raise ValueError(
                    f'got {shown(value)}; expected a text such as "48 in". Put it in quotes.'
                )
        number = parse(value)
        if not low <= number <= high:
            raise ValueError(f"got {shown(value)}; expected {bounds}. Correct it.")
        return number

    return BeforeValidator(read)


def _number(
    low: float,
    high: float,
    bounds: str,
    *,
    parse: Callable[[str | float], float] | None = None,
    per_day: float = 1.0,
) -> BeforeValidator:
    """Read a plain number whose key says the unit; a duration in words is understood too."""

    def read(value: Any) -> float:
        if isinstance(value, str) and parse is not None and not _is_number(value):
            number = parse(value) * per_day
        elif isinstance(value, int | float) and not isinstance(value, bool):
            number = float(value)
        else:
            number = math.nan
        if not low <= number <= high:
            raise ValueError(f"got {shown(value)}; expected {bounds}. Correct it.")
        return number

    return BeforeValidator(read)


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def whole_number(low: int, high: int, bounds: str) -> BeforeValidator:
    """A validator for a whole number between bounds.

    Parameters
    ----------
    low, high : the bounds, both allowed.
    bounds : how a sentence names them, for example ``"a whole number from 1 to 200"``.

    Returns
    -------
    a pydantic validator.
    """

    def read(value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise ValueError(f"got {shown(value)}; expected {bounds}. Correct it.")
        return value

    return BeforeValidator(read)


def _clock(value: Any) -> float:
    if not isinstance(value, str | datetime.time):
        value = str(value) if not isinstance(value, dict | list) else ""
    return units.parse_clock(value)


def _clock_or_hours(value: Any, info: ValidationInfo) -> float:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if is_number and not (info.context or {}).get("from_file"):
        if not 0 <= value < 24:
            raise ValueError(f"got {value}; expected hours from 0 to below 24. Correct it.")
        return float(value)
    return _clock(value)


def _share(value: Any) -> float:
    return units.parse_share(value)


def _name(value: str) -> str:
    name = " ".join(value.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise ValueError(
            f"got {shown(value)}; expected a name of 1 to {LONGEST_NAME} printable characters. "
            "Correct it."
        )
    return name


def _line(value: str) -> str:
    line = " ".join(value.split())
    if len(line) > 400 or not line.isprintable():
        raise ValueError(
            f"got {shown(value)}; expected up to 400 printable characters in one line. Shorten it."
        )
    return line


def place(value: Any, info: ValidationInfo) -> tuple[float, float]:
    """Read a place on the floor: two lengths, along and across, from the front left corner.

    Parameters
    ----------
    value : two lengths, for example ``["10 in", "5 in"]``.
    info : pydantic's, whose context says whether the value stands in a file.

    Returns
    -------
    (x, y) in metres.

    Raises
    ------
    ValueError : it is not two lengths.
    """
    in_file = bool((info.context or {}).get("from_file"))
    if isinstance(value, list | tuple) and len(value) == 2:
        along, across = (
            str(part) if in_file and isinstance(part, int | float) else cast("str | float", part)
            for part in value
        )
        found = units.parse_length(along), units.parse_length(across)
        if max(map(abs, found)) <= 20:
            return found
    raise ValueError(
        f'got {shown(value)}; expected two lengths such as ["10 in", "5 in"], at most 20 m. '
        "Correct it."
    )


def name_or_place(value: Any, info: ValidationInfo) -> str | tuple[float, float]:
    """Read where something is: the name of a piece, or a place on the floor.

    Parameters
    ----------
    value : a name, or two lengths.
    info : pydantic's, whose context says whether the value stands in a file.

    Returns
    -------
    the name, or (x, y) in metres.

    Raises
    ------
    ValueError : it is neither.
    """
    if isinstance(value, str):
        return _name(value)
    return place(value, info)


Name = Annotated[str, AfterValidator(_name), WithJsonSchema({"type": "string", "minLength": 1})]
Line = Annotated[str, AfterValidator(_line), WithJsonSchema({"type": "string"})]

TankSide = Annotated[
    float,
    _quantity(units.parse_length, 0.2, 20.0, "a length from 20 cm (8 in) to 20 m (65 ft)"),
    WithJsonSchema(LENGTH_SCHEMA),
]
PieceSide = Annotated[
    float,
    _quantity(units.parse_length, 0.002, 20.0, "a length from 2 mm to 20 m"),
    WithJsonSchema(LENGTH_SCHEMA),
]
Coordinate = Annotated[
    float,
    _quantity(units.parse_length, 0.0, 20.0, "a distance from 0 to 20 m, inside the tank"),
    WithJsonSchema(LENGTH_SCHEMA),
]
Offset = Annotated[
    float,
    _quantity(units.parse_length, -20.0, 20.0, "a distance from -20 to 20 m"),
    WithJsonSchema(LENGTH_SCHEMA),
]
FishLength = Annotated[
    float,
    _quantity(units.parse_length, 0.005, 1.5, "a fish's length from 5 mm (0.2 in) to 1.5 m (5 ft)"),
    WithJsonSchema(LENGTH_SCHEMA),
]
Temperature = Annotated[
    float,
    _quantity(units.parse_temperature, 5.0, 40.0, "water from 5 degC (41 degF) to 40 degC"),
    WithJsonSchema({"type": "string", "examples": ["78 degF", "25.5 degC"]}),
]
Angle = Annotated[
    float,
    _quantity(units.parse_angle, -8 * math.pi, 8 * math.pi, "an angle of at most four turns"),
    WithJsonSchema({"type": "string", "examples": ["90 deg"]}),
]
Clock = Annotated[float, BeforeValidator(_clock_or_hours), WithJsonSchema(CLOCK_SCHEMA)]
Share = Annotated[
    float,
    BeforeValidator(_share),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string", "examples": ["30 %"]},
                {"type": "number", "minimum": 0, "maximum": 1},
            ]
        }
    ),
]


_LAST_DAY = 3650.0
_DAYS_SCHEMA = {"anyOf": [{"type": "number"}, {"type": "string", "examples": ["2 weeks"]}]}
Days = Annotated[
    float,
    _number(0.01, _LAST_DAY, "a number of days from 0.01 to 3650", parse=units.parse_duration),
    WithJsonSchema(_DAYS_SCHEMA),
]
Day = Annotated[
    float,
    _number(0.0, _LAST_DAY, "a day from 0 (the start) to 3650", parse=units.parse_duration),
    WithJsonSchema(_DAYS_SCHEMA),
]
DayBefore = Annotated[
    float,
    _number(-_LAST_DAY, 0.0, "a day before the start, -3650 to 0", parse=units.parse_duration),
    WithJsonSchema(_DAYS_SCHEMA),
]
LightHours = Annotated[
    float,
    _number(
        0.0, 24.0, "hours of light a day from 0 to 24", parse=units.parse_duration, per_day=24.0
    ),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 0, "maximum": 24},
                {"type": "string", "examples": ["11 h"]},
            ]
        }
    ),
]
Minutes = Annotated[
    float,
    _number(0.1, 720.0, "minutes from 0.1 to 720", parse=units.parse_duration, per_day=1440.0),
    WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string", "examples": ["10 min"]}]}),
]
Place = Annotated[
    tuple[float, float],
    BeforeValidator(place),
    WithJsonSchema({"type": "array", "items": LENGTH_SCHEMA, "minItems": 2, "maxItems": 2}),
]
NameOrPlace = Annotated[
    str | tuple[float, float],
    BeforeValidator(name_or_place),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "string"},
                {"type": "array", "items": LENGTH_SCHEMA, "minItems": 2, "maxItems": 2},
            ]
        }
    ),
]
