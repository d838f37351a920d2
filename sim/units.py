"""Quantities as a keeper writes them, turned into SI at the edge and back for reading.

A quantity is a number and a unit: ``"48 in"``, ``"4 ft 2 in"``, ``"122 cm"``, ``"78 degF"``. The
units met in nearly every file are converted here by their definitions, so that checking a file
does not have to wait for pint; every other unit is pint's, whose registry is created on first use.
A test holds the two against each other. Only the name of a unit is ever handed to pint, never the
whole text: its parser evaluates expressions, and a file is data.
"""

from __future__ import annotations

import datetime
import math
import re
from functools import cache
from typing import TYPE_CHECKING, Any

from sim.errors import shown
from sim.formats import (
    FOOT_M,
    INCH_M,
    US_GALLON_M3,
    System,
    format_altitude,
    format_area,
    format_both,
    format_both_degrees,
    format_clock,
    format_duration,
    format_length,
    format_load,
    format_mass,
    format_temperature,
    format_volume,
)

if TYPE_CHECKING:
    import pint

__all__ = [
    "System",
    "UnitError",
    "format_altitude",
    "format_area",
    "format_both",
    "format_both_degrees",
    "format_clock",
    "format_duration",
    "format_length",
    "format_load",
    "format_mass",
    "format_temperature",
    "format_volume",
    "parse_angle",
    "parse_clock",
    "parse_duration",
    "parse_length",
    "parse_share",
    "parse_temperature",
    "parse_volume",
    "registry_of_units",
]

LONGEST_TEXT = 60
_DECIMALS = 9  # a nanometre: "6 ft" and "72 in" then are the same number

# unit -> (factor, offset): SI = factor * value + offset, by definition of the unit
_COMMON: dict[str, dict[str, tuple[float, float]]] = {
    "length": {
        **dict.fromkeys(("in", "inch", "inches", '"', "″"), (INCH_M, 0.0)),
        **dict.fromkeys(("ft", "foot", "feet", "'", "′"), (FOOT_M, 0.0)),
        **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), (1.0, 0.0)),
        **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeters"), (0.01, 0.0)),
        **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeters"), (0.001, 0.0)),
    },
    "volume": {
        **dict.fromkeys(("gal", "gallon", "gallons"), (US_GALLON_M3, 0.0)),
        **dict.fromkeys(("l", "L", "litre", "litres", "liter", "liters"), (0.001, 0.0)),
    },
    "temperature": {
        **dict.fromkeys(("degC", "°C", "C", "celsius"), (1.0, 0.0)),
        **dict.fromkeys(("degF", "°F", "F", "fahrenheit"), (5.0 / 9.0, -160.0 / 9.0)),
    },
    "duration": {
        **dict.fromkeys(("d", "day", "days"), (1.0, 0.0)),
        **dict.fromkeys(("week", "weeks"), (7.0, 0.0)),
        **dict.fromkeys(("h", "hour", "hours"), (1.0 / 24.0, 0.0)),
        **dict.fromkeys(("min", "minute", "minutes"), (1.0 / 1440.0, 0.0)),
    },
    "angle": {
        **dict.fromkeys(("deg", "degree", "degrees", "°"), (math.pi / 180.0, 0.0)),
        **dict.fromkeys(("rad", "radian", "radians"), (1.0, 0.0)),
    },
}
_PINT_UNIT = {
    "length": "meter",
    "volume": "meter ** 3",
    "temperature": "degC",
    "duration": "day",
    "angle": "radian",
}
_EXAMPLES = {
    "length": '"48 in", "4 ft" or "122 cm"',
    "volume": '"75 gal" or "284 L"',
    "temperature": '"78 degF" or "25.5 degC"',
    "duration": '"30 days", "2 weeks" or "11 h"',
    "angle": '"90 deg" or "1.57 rad"',
}

_NUMBER = r"[+-]?(?:\d+\s+\d+/\d+|\d+/\d+|\d+(?:\.\d*)?(?:[eE][+-]?\d+)?|\.\d+)"
_TERM = re.compile(rf"\s*({_NUMBER})\s*([^\W\d]+|[\"'″′°]\s?[CF]?)\s*")
_BARE_NUMBER = re.compile(rf"\s*{_NUMBER}\s*")
_CLOCK = re.compile(r"\s*(\d{1,2}):(\d{2})(?::(\d{2}))?\s*([aApP][mM])?\s*")
_SHARE = re.compile(rf"\s*({_NUMBER})\s*(%|percent)\s*")


class UnitError(ValueError):
    """A quantity that cannot be read; its message is one sentence without the place."""


def parse_length(value: str | float) -> float:
    """Read a length, in metres.

    Parameters
    ----------
    value : text with a unit, such as ``"4 ft 2 in"``, or a number that is in metres already.

    Returns
    -------
    length in metres, rounded to a nanometre.

    Raises
    ------
    UnitError : the text is no length.
    """
    return _parse(value, "length")


def parse_volume(value: str | float) -> float:
    """Read a volume, in cubic metres; a plain gallon is the US gallon.

    Parameters
    ----------
    value : text with a unit, such as ``"75 gal"``, or a number of cubic metres.

    Returns
    -------
    volume in m3.

    Raises
    ------
    UnitError : the text is no volume.
    """
    return _parse(value, "volume")


def parse_temperature(value: str | float) -> float:
    """Read a temperature, in degrees Celsius.

    Parameters
    ----------
    value : text with a unit, such as ``"78 degF"``, or a number of degrees Celsius.

    Returns
    -------
    temperature in degC.

    Raises
    ------
    UnitError : the text is no temperature.
    """
    return _parse(value, "temperature")


def parse_duration(value: str | float) -> float:
    """Read a duration, in days.

    Parameters
    ----------
    value : text with a unit, such as ``"2 weeks"``, or a number of days.

    Returns
    -------
    duration in days.

    Raises
    ------
    UnitError : the text is no duration.
    """
    return _parse(value, "duration")


def parse_angle(value: str | float) -> float:
    """Read an angle, in radians.

    Parameters
    ----------
    value : text with a unit, such as ``"90 deg"``, or a number of radians.

    Returns
    -------
    angle in radians.

    Raises
    ------
    UnitError : the text is no angle.
    """
    return _parse(value, "angle")


def parse_clock(value: str | datetime.time) -> float:
    """Read a time of day, in hours since midnight.

    Parameters
    ----------
    value : ``"08:30"``, ``"8:30 pm"`` or a time as TOML writes it.

    Returns
    -------
    hours, 0 to below 24.

    Raises
    ------
    UnitError : the text is no time of day.
    """
    if isinstance(value, datetime.time):
        return value.hour + value.minute / 60 + value.second / 3600
    found = _CLOCK.fullmatch(value) if isinstance(value, str) else None
    if found is not None:
        hour, minute, second = (int(part or 0) for part in found.group(1, 2, 3))
        half = (found.group(4) or "").lower()
        right = hour < 24 and minute < 60 and second < 60
        if half:
            right = right and 1 <= hour <= 12
            hour = hour % 12 + (12 if half == "pm" else 0)
        if right:
            return hour + minute / 60 + second / 3600
    raise UnitError(
        f'got {shown(value)}; expected a time of day such as "08:30" or "8:30 pm". Correct it.'
    )


def parse_share(value: str | float) -> float:
    """Read a share, 0 to 1.

    Parameters
    ----------
    value : text in percent, such as ``"30 %"``, or a number from 0 to 1.

    Returns
    -------
    share, 0 to 1.

    Raises
    ------
    UnitError : the value is no share, or outside 0 to 1.
    """
    found = _SHARE.fullmatch(value[:LONGEST_TEXT]) if isinstance(value, str) else None
    if found is not None:
        share = round(_number(found.group(1)) / 100, _DECIMALS)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        share = float(value)
    else:
        share = math.nan
    if not 0 <= share <= 1:
        raise UnitError(f'got {shown(value)}; expected a share such as "30 %" or 0.3. Correct it.')
    return share


def _parse(value: str | float, quantity: str) -> float:
    article = "an" if quantity == "angle" else "a"
    expected = (
        f"expected {article} {quantity} such as {_EXAMPLES[quantity]}. Write a number and its unit"
    )
    if isinstance(value, int | float) and not isinstance(value, bool):
        if not math.isfinite(value):
            raise UnitError(f"got {value}, which is not a finite number; {expected}.")
        return round(float(value), _DECIMALS)
    if not isinstance(value, str):
        raise UnitError(f"got {shown(value)}; {expected}.")
    if len(value) > LONGEST_TEXT:
        raise UnitError(f"got a text of {len(value)} characters; {expected}.")
    if _BARE_NUMBER.fullmatch(value):
        raise UnitError(f"got {shown(value)}, which has no unit; {expected}.")
    terms = _terms(value)
    if not terms or (len(terms) > 1 and quantity == "temperature"):
        raise UnitError(f"got {shown(value)}, which is not a number with a unit; {expected}.")
    # "-4 ft 2 in" is four feet two below nothing, so the sign of the first term is that of all
    sign = math.copysign(1.0, terms[0][0]) if len(terms) > 1 else 1.0
    total = 0.0
    for position, (number, unit) in enumerate(terms):
        signed = number if position == 0 else sign * number
        total += _to_si(signed, unit, quantity, text=shown(value), expected=expected)
    if not math.isfinite(total):
        raise UnitError(f"got {shown(value)}, which is not a finite number; {expected}.")
    return round(total, _DECIMALS)


def _terms(text: str) -> list[tuple[float, str]]:
    """Split ``4 ft 2 in`` into its numbers and units; empty when it cannot be split."""
    terms: list[tuple[float, str]] = []
    position = 0
    while position < len(text):
        found = _TERM.match(text, position)
        if found is None:
            return []
        terms.append((_number(found.group(1)), found.group(2).replace(" ", "")))
        position = found.end()
    return terms


def _number(text: str) -> float:
    whole, _, fraction = text.strip().rpartition(" ")
    if "/" not in fraction:
        return float(text)
    top, bottom = fraction.split("/")
    if int(bottom) == 0:
        return math.inf
    part = abs(int(top)) / int(bottom)
    number = abs(int(whole)) + part if whole.strip() else part
    return -number if text.strip().startswith("-") else number


def _to_si(number: float, unit: str, quantity: str, *, text: str, expected: str) -> float:
    common = _COMMON[quantity].get(unit)
    if common is not None:
        factor, offset = common
        return factor * number + offset
    registry = registry_of_units()
    import pint

    try:
        converted = registry.Quantity(number, unit).to(_PINT_UNIT[quantity])
    except pint.UndefinedUnitError:
        raise UnitError(f"got {text}, whose unit '{unit}' is unknown; {expected}.") from None
    except (pint.PintError, ValueError, ArithmeticError, TypeError):
        raise UnitError(f"got {text}, which is no {quantity}; {expected}.") from None
    return float(converted.magnitude)


@cache
def registry_of_units() -> pint.UnitRegistry[Any]:
    """Pint's registry of units, created on first use.

    Returns
    -------
    the one registry of the process.
    """
    import pint

    return pint.UnitRegistry()
