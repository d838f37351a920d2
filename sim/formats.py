"""Quantities in SI, written for a reader in the units of a keeper."""

from __future__ import annotations

from typing import Literal

System = Literal["us", "metric"]

INCH_M = 0.0254
FOOT_M = 0.3048
US_GALLON_M3 = 3.785411784e-3
POUND_KG = 0.45359237
OUNCE_KG = POUND_KG / 16.0
POUND_PER_SQUARE_FOOT_KPA = POUND_KG * 9.80665 / FOOT_M**2 / 1000.0


def _trimmed(number: float, *, decimals: int) -> str:
    text = f"{number:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def format_length(length_m: float, *, system: System = "us") -> str:
    """Write a length for a reader.

    Parameters
    ----------
    length_m : length in metres.
    system : ``"us"`` for inches, ``"metric"`` for centimetres.

    Returns
    -------
    text such as ``"4.5 in"`` or ``"11.4 cm"``.
    """
    if system == "us":
        return f"{_trimmed(length_m / INCH_M, decimals=1)} in"
    return f"{_trimmed(length_m * 100, decimals=1)} cm"


def format_both(length_m: float) -> str:
    """Write a length for readers of either system.

    Parameters
    ----------
    length_m : length in metres.

    Returns
    -------
    text such as ``"4.5 in (11.4 cm)"``; under half an inch with a further place.
    """
    inches = length_m / INCH_M
    decimals = 1 if abs(inches) >= 0.5 else 2
    metric = format_length(length_m, system="metric")
    return f"{_trimmed(inches, decimals=decimals)} in ({metric})"


def format_area(area_m2: float, *, system: System = "us") -> str:
    """Write an area for a reader.

    Parameters
    ----------
    area_m2 : area in square metres.
    system : ``"us"`` for square feet, ``"metric"`` for square metres.

    Returns
    -------
    text such as ``"6 sq ft"`` or ``"0.56 m2"``.
    """
    if system == "us":
        return f"{_trimmed(area_m2 / FOOT_M**2, decimals=1)} sq ft"
    return f"{_trimmed(area_m2, decimals=2)} m2"


def format_volume(volume_m3: float, *, system: System = "us") -> str:
    """Write a volume for a reader.

    Parameters
    ----------
    volume_m3 : volume in cubic metres.
    system : ``"us"`` for US gallons, ``"metric"`` for litres.

    Returns
    -------
    text such as ``"75 gal"`` or ``"284 L"``.
    """
    if system == "us":
        return f"{_trimmed(volume_m3 / US_GALLON_M3, decimals=0)} gal"
    return f"{_trimmed(volume_m3 * 1000, decimals=0)} L"


def format_mass(mass_kg: float, *, system: System = "us") -> str:
    """Write a mass for a reader, in the larger unit from one of it on.

    Parameters
    ----------
    mass_kg : mass in kilograms.
    system : ``"us"`` for pounds and ounces, ``"metric"`` for kilograms and grams.

    Returns
    -------
    text such as ``"970 lb"``, ``"3.9 oz"``, ``"440 kg"`` or ``"112 g"``.
    """
    large, small = (
        ((mass_kg / POUND_KG, "lb"), (mass_kg / OUNCE_KG, "oz"))
        if system == "us"
        else ((mass_kg, "kg"), (1000.0 * mass_kg, "g"))
    )
    value, unit = large if abs(large[0]) >= 1.0 or mass_kg == 0.0 else small
    return f"{_trimmed(value, decimals=0 if abs(value) >= 9.95 else 1)} {unit}"


def format_load(load_kpa: float, *, system: System = "us") -> str:
    """Write a load on a floor for a reader.

    Parameters
    ----------
    load_kpa : load in kilopascal.
    system : ``"us"`` for pounds on a square foot, ``"metric"`` for kilopascal.

    Returns
    -------
    text such as ``"162 lb/sq ft"`` or ``"7.7 kPa"``.
    """
    if system == "us":
        return f"{_trimmed(load_kpa / POUND_PER_SQUARE_FOOT_KPA, decimals=0)} lb/sq ft"
    return f"{_trimmed(load_kpa, decimals=1)} kPa"


def format_altitude(height_m: float, *, system: System = "us") -> str:
    """Write a height above the sea for a reader.

    Parameters
    ----------
    height_m : height in metres.
    system : ``"us"`` for feet, ``"metric"`` for metres.

    Returns
    -------
    text such as ``"5000 ft"`` or ``"1524 m"``.
    """
    if system == "us":
        return f"{_trimmed(height_m / FOOT_M, decimals=0)} ft"
    return f"{_trimmed(height_m, decimals=0)} m"


def format_temperature(temperature_c: float, *, system: System = "us") -> str:
    """Write a temperature for a reader.

    Parameters
    ----------
    temperature_c : temperature in degrees Celsius.
    system : ``"us"`` for Fahrenheit, ``"metric"`` for Celsius.

    Returns
    -------
    text such as ``"78 °F"`` or ``"25.5 °C"``.
    """
    if system == "us":
        return f"{_trimmed(temperature_c * 9 / 5 + 32, decimals=0)} °F"
    return f"{_trimmed(temperature_c, decimals=1)} °C"


def format_duration(days: float) -> str:
    """Write a duration for a reader, in days, hours or minutes.

    Parameters
    ----------
    days : duration in days.

    Returns
    -------
    text such as ``"30 days"``, ``"11 h"`` or ``"20 min"``.
    """
    if abs(days) >= 2 or days == 0:
        return f"{_trimmed(days, decimals=1)} days"
    if abs(days) * 24 >= 1:
        return f"{_trimmed(days * 24, decimals=1)} h"
    return f"{_trimmed(days * 1440, decimals=0)} min"


def format_both_degrees(temperature_c: float) -> str:
    """Write a temperature for readers of either system.

    Parameters
    ----------
    temperature_c : temperature in degrees Celsius.

    Returns
    -------
    text such as ``"77 °F (25 °C)"``.
    """
    metric = format_temperature(temperature_c, system="metric")
    return f"{format_temperature(temperature_c)} ({metric})"


def format_clock(hours: float) -> str:
    """Write a time of day for a reader.

    Parameters
    ----------
    hours : hours since midnight.

    Returns
    -------
    text such as ``"08:30"``.
    """
    minutes = round(hours * 60) % 1440
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
