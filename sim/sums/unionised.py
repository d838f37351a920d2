r"""Un-ionised ammonia: the share of all ammonia that harms fish, by pH and temperature.

.. math:: f = \frac{1}{1 + 10^{\mathrm{pKa} - \mathrm{pH}}}, \quad
          \mathrm{pKa} = 0.09018 + \frac{2729.92}{T}

with :math:`T` in kelvin. For fresh water; in salt water the share is somewhat less.

References
----------
Emerson1975 (equation read as others give it: one page prints 2727.92, which does not give the
paper's table).
"""

from __future__ import annotations

LOW_C, HIGH_C = 0.0, 50.0
ZERO_C = 273.15  # kelvin


def unionised_share(temperature_c: float, *, ph: float) -> float:
    """Return the share of total ammonia that is un-ionised, 0 to 1.

    Parameters
    ----------
    temperature_c
        0 to 50 degrees C.
    ph
        0 to 14.

    Raises
    ------
    ValueError
        If one of them lies outside.

    References
    ----------
    Emerson1975
    """
    if not LOW_C <= temperature_c <= HIGH_C:
        raise ValueError(
            f"temperature_c is {temperature_c}; expected {LOW_C:g} to {HIGH_C:g} degrees C."
        )
    if not 0.0 <= ph <= 14.0:
        raise ValueError(f"ph is {ph}; expected 0 to 14.")
    pka = 0.09018 + 2729.92 / (temperature_c + ZERO_C)
    return float(1.0 / (1.0 + 10.0 ** (pka - ph)))


def total_for(harm_mg_l: float, *, temperature_c: float, ph: float) -> float:
    """Return the total ammonia in which so much is un-ionised, in the same unit.

    Parameters
    ----------
    harm_mg_l
        Un-ionised ammonia, mg of nitrogen per litre.
    temperature_c, ph
        As for `unionised_share`.
    """
    return harm_mg_l / unionised_share(temperature_c, ph=ph)
