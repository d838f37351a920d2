"""Quantities in and out of a keeper's units."""

from __future__ import annotations

import datetime
import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim import formats, units
from sim.units import (
    UnitError,
    format_altitude,
    format_area,
    format_clock,
    format_duration,
    format_length,
    format_load,
    format_mass,
    format_temperature,
    format_volume,
    parse_angle,
    parse_clock,
    parse_duration,
    parse_length,
    parse_share,
    parse_temperature,
    parse_volume,
)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("48 in", 1.2192),
        ("6 ft", 1.8288),
        ("72in", 1.8288),
        ("183 cm", 1.83),
        ("4 ft 2 in", 1.27),
        ("4' 2\"", 1.27),
        ("4 1/2 in", 0.1143),
        ("1/2 in", 0.0127),
        ("-1/2 in", -0.0127),
        ("-4 ft 2 in", -1.27),
        ("1.2e2 cm", 1.2),
        ("3 hands", 0.3048),
        (0.5, 0.5),
    ],
)
def test_lengths(text: str | float, metres: float) -> None:
    assert parse_length(text) == metres


def test_the_same_length_in_other_units_is_the_same_number() -> None:
    assert parse_length("6 ft") == parse_length("72 in") == parse_length("182.88 cm")


def test_other_quantities() -> None:
    assert parse_temperature("78 degF") == pytest.approx(25.5556, abs=1e-4)
    assert parse_temperature("25.5 °C") == 25.5
    assert parse_temperature("300 kelvin") == pytest.approx(26.85)
    assert parse_volume("75 gal") == pytest.approx(0.283906, abs=1e-6)
    assert parse_volume("1 imperial_gallon") == pytest.approx(4.54609e-3)
    assert parse_duration("2 weeks") == 14
    assert parse_duration("12 h") == 0.5
    assert parse_angle("180 deg") == pytest.approx(math.pi, abs=1e-9)
    assert parse_clock("08:30") == 8.5
    assert parse_clock("12:15 am") == 0.25
    assert parse_clock("8:30 PM") == 20.5
    assert parse_clock(datetime.time(9, 45)) == 9.75
    assert parse_share("30 %") == 0.3
    assert parse_share(0.25) == 0.25


@pytest.mark.parametrize("quantity", list(units._COMMON))
def test_common_units_agree_with_pint(quantity: str) -> None:
    names = {'"': "inch", "″": "inch", "'": "foot", "′": "foot", "°": "degree"}
    names |= {"C": "degC", "F": "degF", "°C": "degC", "°F": "degF"}
    registry = units.registry_of_units()
    for unit, (factor, offset) in units._COMMON[quantity].items():
        expected = registry.Quantity(37.5, names.get(unit, unit)).to(units._PINT_UNIT[quantity])
        assert factor * 37.5 + offset == pytest.approx(expected.magnitude, rel=1e-12), unit


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("48", 'got "48", which has no unit'),
        ("two feet", 'got "two feet", which is not a number with a unit'),
        ("3 kg", 'got "3 kg", which is no length'),
        ("3 blorps", "got \"3 blorps\", whose unit 'blorps' is unknown"),
        ("1e999 m", "is not a finite number"),
        ("1/0 in", "is not a finite number"),
        ("nan m", "is not a number with a unit"),
        ("10 ** 9 m", "is not a number with a unit"),
        ("__import__('os') m", "is not a number with a unit"),
        ("9" * 100 + " m", "got a text of 102 characters"),
        (math.nan, "got nan, which is not a finite number"),
        (math.inf, "got inf, which is not a finite number"),
        ("", "is not a number with a unit"),
    ],
)
def test_what_is_no_length_is_said(text: str | float, reason: str) -> None:
    with pytest.raises(UnitError) as refusal:
        parse_length(text)
    assert reason in str(refusal.value)
    assert 'expected a length such as "48 in"' in str(refusal.value)
    assert str(refusal.value).endswith("Write a number and its unit.")


@pytest.mark.parametrize("text", ["25:00", "9", "9:75", "13:00 pm", "noon", "0:30 pm"])
def test_what_is_no_time_of_day_is_said(text: str) -> None:
    with pytest.raises(UnitError, match=r'expected a time of day such as "08:30"'):
        parse_clock(text)


@pytest.mark.parametrize("value", ["130 %", "-5 %", 1.5, math.nan, True, "half"])
def test_what_is_no_share_is_said(value: str | float) -> None:
    with pytest.raises(UnitError, match=r'expected a share such as "30 %" or 0\.3'):
        parse_share(value)


def test_two_temperatures_do_not_add_up() -> None:
    with pytest.raises(UnitError, match="not a number with a unit"):
        parse_temperature("70 degF 8 degF")


@given(st.text(max_size=70))
def test_any_text_is_read_or_refused(text: str) -> None:
    for parse in (parse_length, parse_temperature, parse_duration, parse_clock, parse_share):
        try:
            number = parse(text)
        except UnitError:
            continue
        assert math.isfinite(number)


def test_formats() -> None:
    assert format_length(1.2192) == "48 in"
    assert format_length(0.1143) == "4.5 in"
    assert format_length(0.1143, system="metric") == "11.4 cm"
    assert format_area(0.557418) == "6 sq ft"
    assert format_area(0.557418, system="metric") == "0.56 m2"
    assert format_volume(0.283906) == "75 gal"
    assert format_volume(0.283906, system="metric") == "284 L"
    assert format_temperature(25.5556) == "78 °F"
    assert format_temperature(25.5, system="metric") == "25.5 °C"
    assert format_duration(30) == "30 days"
    assert format_duration(11 / 24) == "11 h"
    assert format_duration(20 / 1440) == "20 min"
    assert format_clock(8.5) == "08:30"
    assert format_clock(23.9999) == "00:00"


def test_common_units_do_not_load_pint() -> None:
    code = (
        "import sys; from sim.units import parse_length, parse_temperature\n"
        "parse_length('4 ft 2 in'); parse_temperature('78 degF')\n"
        "assert 'pint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_masses_loads_and_heights_are_written_both_ways() -> None:
    assert (format_mass(440.4), format_mass(440.4, system="metric")) == ("971 lb", "440 kg")
    assert (format_mass(0.1116), format_mass(0.1116, system="metric")) == ("3.9 oz", "112 g")
    assert (format_mass(0.0), format_mass(0.0, system="metric")) == ("0 lb", "0 kg")
    assert (format_load(7.75), format_load(7.75, system="metric")) == ("162 lb/sq ft", "7.8 kPa")
    assert format_altitude(1524.0) == "5000 ft"
    assert format_altitude(1524.0, system="metric") == "1524 m"


def test_masses_and_loads_agree_with_pint() -> None:
    quantity = units.registry_of_units().Quantity
    pounds = quantity(700.0, "kilogram").to("pound").magnitude
    assert format_mass(700.0) == f"{pounds:.0f} lb"
    ounces = quantity(0.2, "kilogram").to("ounce").magnitude
    assert format_mass(0.2) == f"{ounces:.1f} oz"
    load = quantity(70.0, "kilopascal").to("force_pound / foot ** 2").magnitude
    assert format_load(70.0) == f"{load:.0f} lb/sq ft"
    assert (
        pytest.approx(
            quantity(1.0, "force_pound / foot ** 2").to("kilopascal").magnitude, rel=1e-12
        )
        == formats.POUND_PER_SQUARE_FOOT_KPA
    )
    assert pytest.approx(quantity(1.0, "ounce").to("kilogram").magnitude) == formats.OUNCE_KG
