r"""Hatch: how fast a brood develops at a temperature.

.. math:: d(T) = 2^{(T - 27) / 10}

times the pace at 27 degrees C, at which the stages of a species are known.

References
----------
Assumed: a rate that doubles in ten degrees.
"""

from __future__ import annotations

import math

USUAL_C = 27.0  # degrees C
DOUBLES_IN = 10.0  # degrees C


def development_rate(temperature_c: float) -> float:
    """Return how fast eggs and young develop, 1 at 27 degrees C.

    Parameters
    ----------
    temperature_c
        Of the water, degrees C.

    Returns
    -------
    float
        What the length of a stage is divided by.
    """
    return math.exp(math.log(2.0) * (temperature_c - USUAL_C) / DOUBLES_IN)
