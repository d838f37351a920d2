"""Random draws as pure functions of (seed, purpose, who, when): no stream, no order.

Each draw hashes a chain of keys with the finaliser of splitmix64, a counter-based generator:
two runs that ask the same question get the same answer, whatever else was drawn before.
"""

from __future__ import annotations

import hashlib
import math

import numpy as np

from sim.compiler import rule, small_rule

GOLDEN = np.uint64(0x9E3779B97F4A7C15)
MIX_1 = np.uint64(0xBF58476D1CE4E5B9)
MIX_2 = np.uint64(0x94D049BB133111EB)
S30, S27, S31, S11, S32 = (np.uint64(k) for k in (30, 27, 31, 11, 32))
ONE = np.uint64(1)
UNIT_53 = 1.0 / 9007199254740992.0
UNIT_32 = 1.0 / 4294967296.0
LOW_32 = np.uint64(0xFFFFFFFF)

# What a draw is for. A new purpose gets a new number; a number is never used again.
TRAIT, WALK, ATTACK, CONTEST, CHASE, LEAP, LAYER, COVER, SETTLE, BROOD, PLACE, WOUND = range(1, 13)
DOORWAY, NIGHT = 13, 14
FEED = 31
PAIRING, YOUNG, LURE, UPROOT = range(21, 25)


@small_rule
def mix(z: np.uint64) -> np.uint64:
    """Return the splitmix64 finaliser of a 64-bit word."""
    z = (z ^ (z >> S30)) * MIX_1
    z = (z ^ (z >> S27)) * MIX_2
    return z ^ (z >> S31)


@small_rule
def chain(k: np.uint64, a: int) -> np.uint64:
    """Return the key that follows `k` by the integer `a`."""
    return mix(k + GOLDEN * (np.uint64(a) + ONE))


@small_rule
def uniform(k: np.uint64) -> float:
    """Return a number in the open interval (0, 1), 53 bits."""
    return (np.float64(k >> S11) + 0.5) * UNIT_53


@small_rule
def low_half(k: np.uint64) -> float:
    """Return a number in (0, 1) from the lower 32 bits of a key."""
    return (np.float64(k & LOW_32) + 0.5) * UNIT_32


@small_rule
def high_half(k: np.uint64) -> float:
    """Return a number in (0, 1) from the upper 32 bits of a key, independent of the lower."""
    return (np.float64(k >> S32) + 0.5) * UNIT_32


@small_rule
def falls(u: float, x: float) -> bool:
    """Return whether what has the chance 1 - exp(-x), x at least 0, falls by a uniform number."""
    # The chance is never more than x, up to rounding: mostly that settles it.
    return u < x + 1e-15 and u < 1.0 - math.exp(-x)


@rule
def exponential(k: np.uint64) -> float:
    """Return an exponential waiting time of mean 1."""
    return -math.log(uniform(k))


@rule
def normal(k: np.uint64) -> float:
    """Return a standard normal draw (Box and Muller) from one key."""
    radius = math.sqrt(-2.0 * math.log(uniform(k)))
    return radius * math.cos(2.0 * math.pi * uniform(mix(k + GOLDEN)))


@rule
def poisson(k: np.uint64, mean: float) -> int:
    """Return a Poisson count by inversion.

    Parameters
    ----------
    k
        The key; one uniform is drawn from it for every 8 of the mean.
    mean
        At least 0.

    Returns
    -------
    int
        The count. A sum of Poisson parts is Poisson, so large means are split.
    """
    count = 0
    part = 0
    while mean > 0.0:
        m = min(mean, 8.0)
        mean -= m
        u = uniform(chain(k, part))
        part += 1
        p = math.exp(-m)
        total = p
        n = 0
        while u > total and n < 200:
            n += 1
            p *= m / n
            total += p
        count += n
    return count


def named_key(*parts: str | int) -> np.uint64:
    """Return a 64-bit key of names and numbers, the same on every machine.

    Parameters
    ----------
    *parts
        Whatever tells this key from others, in order.

    Returns
    -------
    numpy.uint64
        The first eight bytes of a SHA-256 digest.
    """
    text = "\x1f".join(str(part) for part in parts)
    return np.uint64(int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "little"))
