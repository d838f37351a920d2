r"""Nitrate between water changes, and the change that keeps it under a limit.

All ammonia nitrogen becomes nitrate, 4.4268 g of it per g. Between changes it rises by :math:`r`
(mg/L a day); every :math:`\tau` days the share :math:`x` of the water is exchanged for water that
holds :math:`C_0`. Just before the :math:`n`-th change it stands at

.. math:: C_n = C_0 + \frac{r \tau}{x} + \Big( C_1 - C_0 - \frac{r \tau}{x} \Big) (1 - x)^{n - 1},
          \quad C_1 = c + r \tau

from :math:`c` at the start, and in the long run at :math:`C_0 + r \tau / x`. A limit :math:`L`
is kept with :math:`x \ge r \tau / (L - C_0)`, or with :math:`\tau \le x (L - C_0) / r`. What plants
and bacteria without oxygen take is left out, so that it is the most there can be.

References
----------
None: a balance. The factor is that of the molar masses of nitrate and nitrogen.
"""

from __future__ import annotations

NITRATE_OF_NITROGEN = 62.0049 / 14.0067  # g nitrate in which there is a g of nitrogen


def _check_change(share: float, days: float) -> None:
    if not 0.0 < share <= 1.0:
        raise ValueError(f"share is {share}; expected above 0 and up to 1.")
    if not days > 0.0:
        raise ValueError(f"days is {days}; expected above 0.")


def nitrate_rise(ammonia_n_g: float, *, water_l: float) -> float:
    """Return the nitrate that ammonia nitrogen becomes in a volume of water, mg/L.

    Parameters
    ----------
    ammonia_n_g
        Ammonia nitrogen, g (a day, for a rise a day).
    water_l
        Water, L.

    Raises
    ------
    ValueError
        If there is no water.
    """
    if not water_l > 0.0:
        raise ValueError(f"water_l is {water_l}; expected above 0.")
    return 1000.0 * NITRATE_OF_NITROGEN * ammonia_n_g / water_l


def nitrate_before_change(
    rise: float,
    *,
    share: float,
    days: float,
    tap: float = 0.0,
    number: int | None = None,
    start: float | None = None,
) -> float:
    """Return the nitrate just before a water change, mg/L.

    Parameters
    ----------
    rise
        mg/L a day.
    share, days
        Share of the water that is changed, 0 to 1, and days from change to change.
    tap
        Nitrate in the water that comes in, mg/L.
    number
        Which change, 1 the first; None for the long run.
    start
        Nitrate at the start, mg/L; that of the tap water if left out.

    Raises
    ------
    ValueError
        If share, days or number make no sense.
    """
    _check_change(share, days)
    settled = tap + rise * days / share
    if number is None:
        return settled
    if number < 1:
        raise ValueError(f"number is {number}; expected 1 or more.")
    first = (tap if start is None else start) + rise * days
    return float(settled + (first - settled) * (1.0 - share) ** (number - 1))


def nitrate_after_change(before: float, *, share: float, tap: float = 0.0) -> float:
    """Return the nitrate just after a water change, mg/L.

    Parameters
    ----------
    before
        Just before it, mg/L.
    share
        Share of the water that is changed, 0 to 1.
    tap
        Nitrate in the water that comes in, mg/L.
    """
    return (1.0 - share) * before + share * tap


def change_needed(rise: float, *, days: float, limit: float, tap: float = 0.0) -> float | None:
    """Return the least share to change each time so that nitrate stays under a limit.

    Parameters
    ----------
    rise
        mg/L a day.
    days
        From change to change.
    limit, tap
        The limit, and nitrate in the water that comes in, mg/L.

    Returns
    -------
    float or None
        0 to 1; None where even a change of all the water does not suffice.
    """
    _check_change(1.0, days)
    if limit <= tap:
        return None
    share = rise * days / (limit - tap)
    return share if share <= 1.0 else None


def longest_between(rise: float, *, share: float, limit: float, tap: float = 0.0) -> float | None:
    """Return the most days between changes of a share so that nitrate stays under a limit.

    Parameters
    ----------
    rise
        mg/L a day.
    share
        Share of the water that is changed each time, 0 to 1.
    limit, tap
        The limit, and nitrate in the water that comes in, mg/L.

    Returns
    -------
    float or None
        Days; infinite where nothing rises, None where the water that comes in is at the limit.
    """
    _check_change(share, 1.0)
    if limit <= tap:
        return None
    return share * (limit - tap) / rise if rise > 0.0 else float("inf")
