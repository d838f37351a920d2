r"""Temperature: how fast broods and fish develop in warm water, and how readily fish attack in it.

Rates of development and of growth follow

.. math:: r(T) = Q_{10}^{(T - 27) / 10}

with :math:`T` in degrees C, 1 at 27 degrees, where the stages of a brood are known. Attacks are
multiplied by :math:`1 + e\,(m(T) - 1)`: :math:`e` is the parameter `warmth_effect`, 0 by default,
since papers disagree beyond "less in cool water", and :math:`m` is made of straight lines.

=======  =====  =====  =====  =====  =====
degrees   24     27     28     30     32
=======  =====  =====  =====  =====  =====
rises    0.7    1.0    1.05   1.15   1.15
humped   0.7    0.925  1.0    0.85   0.7
=======  =====  =====  =====  =====  =====

References
----------
Ratnasabapathi1992 (convicts more aggressive at 30 than at 26 degrees); Brandao2018 (Cichlasoma
paranaense less active and aggressive at 21, unchanged at 33); Kochhann (angelfish: most at 27.9,
less at 23.8 and 31.7). These are directions; every number here is assumed.
"""

from __future__ import annotations

import math

import numpy as np

from sim.parameters import load_parameters

USUAL_C = 27.0  # degrees C at which rates are 1
CURVES = {
    "rises": ((24.0, 27.0, 30.0), (0.7, 1.0, 1.15)),
    "humped": ((24.0, 28.0, 32.0), (0.7, 1.0, 0.7)),
}


def development_rate(temperature_c: float, *, q10: float | None = None) -> float:
    """Return how fast eggs and young develop, against 27 degrees C.

    Parameters
    ----------
    temperature_c
        Of the water, degrees C.
    q10
        Factor for ten degrees; the parameter `development_q10` where None.

    Returns
    -------
    float
        1 at 27 degrees; the length of a stage is divided by it.
    """
    if q10 is None:
        q10 = load_parameters()["development_q10"].value
    return math.exp(math.log(q10) * (temperature_c - USUAL_C) / 10.0)


def aggression_factor(temperature_c: float, *, curve: str, effect: float) -> float:
    """Return the multiplier of a fish's attack rate in water of this temperature.

    Parameters
    ----------
    temperature_c
        Of the water, degrees C.
    curve
        `"rises"` or `"humped"`: what the species is taken to do.
    effect
        The parameter `warmth_effect`, 0 (no effect) to 1.

    Returns
    -------
    float
        Exactly 1 where `effect` is 0.
    """
    degrees, factor = CURVES[curve]
    return 1.0 + effect * (float(np.interp(temperature_c, degrees, factor)) - 1.0)
