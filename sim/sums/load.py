r"""Load: what a filled tank weighs, and how hard it presses on the floor.

.. math:: q = \frac{M g}{L W}

:math:`M` all that stands there (kg), :math:`L W` the footprint, :math:`q` in pascal: as if the
stand pressed evenly. On four feet each carries a quarter. Glass is five panes of one thickness.

References
----------
None: statics. Thickness of the glass and weight of the stand are assumed, in the data file of the
sums.
"""

from __future__ import annotations

GRAVITY = 9.80665  # m/s2


def glass_mass(
    length_m: float,
    *,
    width_m: float,
    height_m: float,
    of_height: float,
    least_m: float,
    density_kg_m3: float,
) -> float:
    """Return the mass of an empty glass tank, kg.

    Parameters
    ----------
    length_m, width_m, height_m
        The tank, m.
    of_height, least_m
        Thickness of the glass as a share of the height, and the least it is, m.
    density_kg_m3
        Of the glass.
    """
    thickness_m = max(of_height * height_m, least_m)
    panes_m2 = length_m * width_m + 2.0 * height_m * (length_m + width_m)
    return panes_m2 * thickness_m * density_kg_m3


def floor_load(mass_kg: float, *, footprint_m2: float) -> float:
    """Return the load on the floor under the footprint, kPa.

    Parameters
    ----------
    mass_kg
        All that stands there.
    footprint_m2
        What it stands on.

    Raises
    ------
    ValueError
        If there is no footprint.
    """
    if not footprint_m2 > 0.0:
        raise ValueError(f"footprint_m2 is {footprint_m2}; expected above 0.")
    return mass_kg * GRAVITY / footprint_m2 / 1000.0
