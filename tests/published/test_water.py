"""The sums on water against published tables, standards and worked examples, each with its source.

How the numbers were had is said beside each: *read* (the page or a reprint of the table was read),
*from memory* (not looked up again).
"""

from __future__ import annotations

import math

import pytest

from sim.sums.ammonia import ammonia_from_feed
from sim.sums.assumed import numbers_of
from sim.sums.density import water_density
from sim.sums.nitrate import NITRATE_OF_NITROGEN
from sim.sums.oxygen import oxygen_saturation, pressure_at
from sim.sums.unionised import total_for, unionised_share

# --- un-ionised ammonia --------------------------------------------------------------------------

# FrancisFloyd1990, "calculated from data in" Emerson1975: pH 7.0 at 6, 8, ... 32 degrees (read in a
# reprint). One unit in the last place either way, two at 32, where no constant gives all of them.
AT_PH_7 = {
    6: 0.0013, 8: 0.0016, 10: 0.0018, 12: 0.0022, 14: 0.0025, 16: 0.0029, 18: 0.0034, 20: 0.0039,
    22: 0.0046, 24: 0.0052, 26: 0.0060, 28: 0.0069, 30: 0.0080, 32: 0.0093,
}  # fmt: skip

# Emerson1975, table of percent un-ionised: rows by degrees C, columns by pH (from memory).
PH = (6.0, 6.5, 7.0, 7.5, 8.0, 8.5, 9.0, 9.5, 10.0)
PERCENT = {
    0: (0.00827, 0.0261, 0.0826, 0.261, 0.820, 2.55, 7.64, 20.7, 45.3),
    5: (0.0125, 0.0395, 0.125, 0.394, 1.23, 3.80, 11.1, 28.3, 55.6),
    10: (0.0186, 0.0586, 0.186, 0.586, 1.83, 5.56, 15.7, 37.1, 65.1),
    15: (0.0274, 0.0865, 0.273, 0.859, 2.67, 7.97, 21.5, 46.4, 73.3),
    20: (0.0397, 0.125, 0.396, 1.24, 3.82, 11.2, 28.4, 55.7, 79.9),
    25: (0.0569, 0.180, 0.566, 1.77, 5.38, 15.3, 36.3, 64.3, 85.1),
    30: (0.0805, 0.254, 0.799, 2.48, 7.46, 20.3, 44.6, 71.8, 89.0),
}


@pytest.mark.parametrize(("degrees", "share"), AT_PH_7.items())
def test_unionised_ammonia_at_ph_7(degrees: float, share: float) -> None:
    places = 2.5e-4 if degrees == 32 else 1e-4
    assert unionised_share(degrees, ph=7.0) == pytest.approx(share, abs=places)


def test_unionised_ammonia_in_the_worked_example() -> None:
    """FrancisFloyd1990 (reprint read): 1 mg/L in all, pH 8.0, 24 degrees: factor 0.0502."""
    assert round(unionised_share(24.0, ph=8.0), 4) == 0.0502
    assert 1.0 * unionised_share(24.0, ph=8.0) == pytest.approx(0.0502, abs=5e-5)
    # and pH 7.2 at 6 and 8 degrees, the start of the table's next row (read)
    assert [round(unionised_share(t, ph=7.2), 4) for t in (6.0, 8.0)] == [0.0021, 0.0025]


@pytest.mark.parametrize("degrees", PERCENT)
@pytest.mark.parametrize("column", range(len(PH)))
def test_unionised_ammonia_in_the_papers_table(degrees: float, column: int) -> None:
    """Within 0.7 %: three printed figures, and 0.05 degrees for a zero of 273.2 kelvin."""
    printed = PERCENT[degrees][column]
    assert 100.0 * unionised_share(degrees, ph=PH[column]) == pytest.approx(printed, rel=7e-3)


def test_the_papers_table_to_its_last_figure_with_the_zero_it_seems_to_have() -> None:
    """Inferred: with 273.2 in place of 273.15 kelvin 62 of 63 come out as printed.

    The other, 10 degrees at pH 6.5, is 0.5 % off, in print or in memory.
    """
    right = sum(
        float(f"{100.0 * unionised_share(degrees + 0.05, ph=ph):.3g}") == printed
        for degrees, row in PERCENT.items()
        for ph, printed in zip(PH, row, strict=True)
    )
    assert right == 62


def test_the_misprinted_constant_would_be_seen() -> None:
    """2727.92, printed on one page for 2729.92, misses the worked example by a good part."""
    wrong = 1.0 / (1.0 + 10.0 ** (0.09018 + 2727.92 / 297.15 - 8.0))
    assert abs(wrong - 0.0502) > 5e-4


def test_total_ammonia_of_a_harmful_share() -> None:
    """FrancisFloyd1990 (reprint read): 0.05 mg/L harms; the example's 1 mg/L stands at it."""
    assert total_for(0.05, temperature_c=24.0, ph=8.0) == pytest.approx(1.0, abs=0.005)


# --- oxygen --------------------------------------------------------------------------------------

# Iso5814 (EN 25814; read as an instrument's manual prints it): mg/L at 0, 1, ... 30 degrees C,
# water saturated with moist air at 101.325 kPa; and what to take off for each g/kg of salt.
ISO_MG_L = (
    14.6, 14.2, 13.8, 13.5, 13.1, 12.8, 12.5, 12.2, 11.8, 11.6, 11.3, 11.0, 10.8, 10.5, 10.3, 10.1,
    9.87, 9.66, 9.47, 9.28, 9.09, 8.91, 8.74, 8.58, 8.42, 8.26, 8.11, 7.97, 7.83, 7.69, 7.56,
)  # fmt: skip
ISO_SALT = (
    0.0875, 0.0843, 0.0818, 0.0789, 0.0760, 0.0739, 0.0714, 0.0693, 0.0671, 0.0650, 0.0632, 0.0614,
    0.0593, 0.0582, 0.0561, 0.0545, 0.0532, 0.0514, 0.0500, 0.0489, 0.0475, 0.0464, 0.0453, 0.0443,
    0.0432, 0.0421, 0.0407, 0.0400, 0.0389, 0.0382, 0.0371,
)  # fmt: skip


@pytest.mark.parametrize("degrees", range(31))
def test_oxygen_in_the_standards_table(degrees: int) -> None:
    """To the last place printed: a tenth to 15 degrees, a hundredth above (half a place more)."""
    place = 0.1 if degrees < 16 else 0.01
    assert oxygen_saturation(degrees) == pytest.approx(ISO_MG_L[degrees], abs=0.61 * place)


@pytest.mark.parametrize("degrees", range(31))
def test_oxygen_and_salt_in_the_standards_table(degrees: int) -> None:
    """The standard's is a straight line through a curve: 4 % off its chord at 35 g/kg at most."""
    lost = oxygen_saturation(degrees) - oxygen_saturation(degrees, salinity_g_kg=35.0)
    assert lost / 35.0 == pytest.approx(ISO_SALT[degrees], rel=0.04)


def garcia_gordon(degrees: float, salt: float) -> float:
    """GarciaGordon1992, their own fit of the same measurements (coefficients read), mg/L."""
    a = (2.00907, 3.22014, 4.05010, 4.94457, -0.256847, 3.88767)
    b = (-0.00624523, -0.00737614, -0.0103410, -0.00817083)
    x = math.log((298.15 - degrees) / (273.15 + degrees))
    ml = math.exp(
        sum(c * x**k for k, c in enumerate(a))
        + salt * sum(c * x**k for k, c in enumerate(b))
        - 4.88682e-7 * salt * salt
    )
    return ml * 31.9988 / 22.3916  # mg in a ml of oxygen


def test_the_other_fit_is_rightly_written_down() -> None:
    """GarciaGordon1992: check value at 10 degrees and salinity 35 is 6.315 ml/L (read)."""
    assert garcia_gordon(10.0, 35.0) / (31.9988 / 22.3916) == pytest.approx(6.315, abs=5e-4)


@pytest.mark.parametrize("salt", [0.0, 5.0, 10.0, 20.0, 35.0, 40.0])
@pytest.mark.parametrize("degrees", [0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0])
def test_oxygen_by_another_fit(degrees: float, salt: float) -> None:
    """BensonKrause1984 say that theirs is good to 0.1 %."""
    found = oxygen_saturation(degrees, salinity_g_kg=salt)
    assert found == pytest.approx(garcia_gordon(degrees, salt), rel=1e-3)


@pytest.mark.parametrize(
    ("degrees", "mg_l"),
    [
        (20.0, (9.1, 8.8, 8.4)),
        (22.0, (8.7, 8.4, 8.1)),
        (24.0, (8.4, 8.1, 7.8)),
        (25.0, (8.3, 8.0, 7.7)),
        (26.0, (8.1, 7.8, 7.5)),
        (28.0, (7.8, 7.5, 7.3)),
        (30.0, (7.6, 7.3, 7.0)),
    ],
)
def test_oxygen_with_height(degrees: float, mg_l: tuple[float, ...]) -> None:
    """Table of an instrument's manual (read), at 0, 300 and 600 m, to a tenth."""
    for height_m, printed in zip((0.0, 300.0, 600.0), mg_l, strict=True):
        found = oxygen_saturation(degrees, pressure_atm=pressure_at(height_m))
        assert found == pytest.approx(printed, abs=0.06)


def test_oxygen_with_height_in_cold_water() -> None:
    """The same manual at 0 degrees, every 300 m to 3000 m, to a tenth (read)."""
    printed = (14.6, 14.1, 13.6, 13.1, 12.6, 12.1, 11.7, 11.2, 10.8, 10.4, 10.0)
    for k, mg_l in enumerate(printed):
        found = oxygen_saturation(0.0, pressure_atm=pressure_at(300.0 * k))
        assert found == pytest.approx(mg_l, abs=0.12)


@pytest.mark.parametrize(
    ("height_m", "hpa"),
    [(0.0, 1013.25), (500.0, 954.61), (1000.0, 898.75), (2000.0, 794.95), (3000.0, 701.09)],
)
def test_pressure_with_height(height_m: float, hpa: float) -> None:
    """Atmosphere1976 (from memory); a table of 1000 m 90, 2000 m 80, 3000 m 70 kPa was read."""
    assert 1013.25 * pressure_at(height_m) == pytest.approx(hpa, abs=0.1)


# --- density, nitrogen ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("degrees", "kg_m3"), [(0.0, 999.8428), (10.0, 999.7027), (20.0, 998.2067), (30.0, 995.6488)]
)
def test_density_of_water(degrees: float, kg_m3: float) -> None:
    """Tanaka2001 (values read), another formula on a newer scale of temperature: to 0.01."""
    assert water_density(degrees) == pytest.approx(kg_m3, abs=0.01)


@pytest.mark.parametrize(("protein", "grams"), [(0.35, 3.22), (0.40, 3.68), (0.45, 4.14)])
def test_ammonia_from_feed(protein: float, grams: float) -> None:
    """Timmons2010 (from memory): of 100 g of feed."""
    assert ammonia_from_feed(100.0, protein=protein) == pytest.approx(grams, abs=5e-3)


def test_the_factors_behind_ammonia_from_feed() -> None:
    per_protein = numbers_of()["ammonia_of_protein"]
    assert pytest.approx(per_protein, abs=5e-4) == 0.16 * 0.80 * 0.80 * 0.90
    # A rule of thumb of extension services: 25 g per kg of feed with 30 to 40 % protein (read).
    low, high = (ammonia_from_feed(1000.0, protein=p) for p in (0.30, 0.40))
    assert 25.0 / 1.5 < low < high < 25.0 * 1.5


def test_nitrate_and_its_nitrogen() -> None:
    """Molar masses N 14.0067, O 15.9994."""
    assert pytest.approx(NITRATE_OF_NITROGEN, rel=1e-5) == (14.0067 + 3 * 15.9994) / 14.0067
    assert round(NITRATE_OF_NITROGEN, 3) == 4.427
