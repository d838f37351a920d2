r"""Ammonia from feed: how much of it a company of fish gives off.

.. math:: N = F\, p\, 0.092

:math:`N` ammonia nitrogen (g a day), :math:`F` feed (g a day), :math:`p` the share of protein in
it. 0.092 is 0.16 nitrogen in protein, 0.80 of it taken up, 0.80 of that passed out, 0.90 of that
as ammonia. What is left uneaten rots, and gives more.

References
----------
Timmons2010 (from memory; its factors multiply to 0.092).
"""

from __future__ import annotations


def ammonia_from_feed(feed_g: float, *, protein: float, per_protein: float = 0.092) -> float:
    """Return the ammonia nitrogen that fish give off for their feed, g.

    Parameters
    ----------
    feed_g
        Feed eaten, g.
    protein
        Share of the feed, 0 to 1.
    per_protein
        Ammonia nitrogen of a gram of protein, g.

    Raises
    ------
    ValueError
        If the feed is negative, or the protein no share.

    References
    ----------
    Timmons2010
    """
    if not feed_g >= 0.0:
        raise ValueError(f"feed_g is {feed_g}; expected 0 or more.")
    if not 0.0 <= protein <= 1.0:
        raise ValueError(f"protein is {protein}; expected a share, 0 to 1.")
    return feed_g * protein * per_protein
