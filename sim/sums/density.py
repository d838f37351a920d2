r"""Density of fresh water by temperature.

.. math:: \rho = \frac{999.83952 + 16.945176\,t - 7.9870401 \cdot 10^{-3} t^2
          - 46.170461 \cdot 10^{-6} t^3 + 105.56302 \cdot 10^{-9} t^4
          - 280.54253 \cdot 10^{-12} t^5}{1 + 16.879850 \cdot 10^{-3} t}

in kg/m3, :math:`t` in degrees C.

References
----------
Kell1975, as others give it (read; the reprint of JonesHarris1992 that was read has 16.897850 below
the line, which misses Tanaka2001 by 0.3 kg/m3). Its temperature scale of 1968 is taken as today's,
which is 0.01 degrees off at 40.
"""

from __future__ import annotations

LOW_C, HIGH_C = 0.0, 50.0


def water_density(temperature_c: float) -> float:
    """Return the density of fresh water at the pressure of the air, kg/m3.

    Parameters
    ----------
    temperature_c
        0 to 50 degrees C.

    Raises
    ------
    ValueError
        If the temperature lies outside.
    """
    if not LOW_C <= temperature_c <= HIGH_C:
        raise ValueError(
            f"temperature_c is {temperature_c}; expected {LOW_C:g} to {HIGH_C:g} degrees C."
        )
    t = temperature_c
    top = 999.83952 + t * (
        16.945176
        + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return top / (1.0 + 16.879850e-3 * t)
