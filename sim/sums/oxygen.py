r"""Oxygen: how much of it water holds when it is saturated with air.

At one atmosphere, in mg/L,

.. math:: \ln C = -139.34411 + \frac{1.575701 \cdot 10^5}{T} - \frac{6.642308 \cdot 10^7}{T^2}
          + \frac{1.243800 \cdot 10^{10}}{T^3} - \frac{8.621949 \cdot 10^{11}}{T^4}
          - S \Big( 0.017674 - \frac{10.754}{T} + \frac{2140.7}{T^2} \Big)

with :math:`T` in kelvin and :math:`S` the salinity, g/kg. At another pressure :math:`P` (atm)

.. math:: C_P = C\, P\, \frac{(1 - u / P)(1 - \theta P)}{(1 - u)(1 - \theta)}, \quad
          \ln u = 11.8571 - \frac{3840.70}{T} - \frac{216961}{T^2}, \quad
          \theta = 9.75 \cdot 10^{-4} - 1.426 \cdot 10^{-5} t + 6.436 \cdot 10^{-8} t^2

:math:`u` being the pressure of water vapour (over fresh water: salt lowers it by 2 % at most) and
:math:`t` degrees C. The usual pressure at a height :math:`h` (m) is

.. math:: P = (1 - 2.25577 \cdot 10^{-5} h)^{5.25588} \; \text{atm.}

References
----------
BensonKrause1984 (equation read as others give it; good to 0.1 %), whose coefficients Apha1998
prints; Atmosphere1976 (pressure, from memory).
"""

from __future__ import annotations

import math

LOW_C, HIGH_C = 0.0, 40.0
MOST_SALINITY = 40.0
LOW_ATM, HIGH_ATM = 0.4, 1.1
LOW_M, HIGH_M = -500.0, 11000.0
ATMOSPHERE_KPA = 101.325
ZERO_C = 273.15  # kelvin


def pressure_at(height_m: float) -> float:
    """Return the usual pressure of the air at a height above the sea, atm.

    Parameters
    ----------
    height_m
        -500 to 11000 m.

    Raises
    ------
    ValueError
        If the height lies outside.
    """
    if not LOW_M <= height_m <= HIGH_M:
        raise ValueError(f"height_m is {height_m}; expected {LOW_M:g} to {HIGH_M:g} m.")
    return float((1.0 - 2.25577e-5 * height_m) ** 5.25588)


def oxygen_saturation(
    temperature_c: float, *, salinity_g_kg: float = 0.0, pressure_atm: float = 1.0
) -> float:
    """Return the oxygen in water that is saturated with moist air, mg/L.

    Parameters
    ----------
    temperature_c
        0 to 40 degrees C.
    salinity_g_kg
        0 to 40 g/kg.
    pressure_atm
        Of the air, 0.4 to 1.1 atm.

    Raises
    ------
    ValueError
        If one of them lies outside.

    References
    ----------
    BensonKrause1984
    """
    for name, value, low, high in (
        ("temperature_c", temperature_c, LOW_C, HIGH_C),
        ("salinity_g_kg", salinity_g_kg, 0.0, MOST_SALINITY),
        ("pressure_atm", pressure_atm, LOW_ATM, HIGH_ATM),
    ):
        if not low <= value <= high:
            raise ValueError(f"{name} is {value}; expected {low:g} to {high:g}.")
    t = temperature_c
    over = 1.0 / (t + ZERO_C)
    fresh = -139.34411 + over * (
        1.575701e5 + over * (-6.642308e7 + over * (1.243800e10 - over * 8.621949e11))
    )
    salt = 0.017674 + over * (-10.754 + over * 2140.7)
    vapour = math.exp(11.8571 + over * (-3840.70 - over * 216961.0))
    theta = 9.75e-4 + t * (-1.426e-5 + t * 6.436e-8)
    p = pressure_atm
    change = p * (1.0 - vapour / p) * (1.0 - theta * p) / ((1.0 - vapour) * (1.0 - theta))
    return math.exp(fresh - salinity_g_kg * salt) * change
