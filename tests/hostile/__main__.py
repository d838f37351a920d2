"""Thousands of scenarios, valid and broken: ``python -m tests.hostile --valid 3000 --broken 5000``.

It prints how many were drawn, played and refused, and stops at the first that is treated wrongly,
cut down to the smallest like it.
"""

from __future__ import annotations

import argparse
import math
import tempfile
import time
import warnings
from collections import Counter
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, seed, settings

from tests.hostile.broken import WAYS, broken_tanks
from tests.hostile.playing import assert_refused, checked_of, live
from tests.hostile.tanks import Plain, tanks

MANY: dict[str, Any] = {
    "deadline": None,
    "database": None,
    "suppress_health_check": list(HealthCheck),
}


def play_many(number: int, *, fish: int, seed_: int) -> Counter[str]:
    """Draw scenarios that keep to the rules, play each, and return what became of them."""
    count: Counter[str] = Counter()

    @seed(seed_)
    @settings(max_examples=number, **MANY)
    @given(plain=tanks(most_fish=fish))
    def each(plain: Plain) -> None:
        checked = checked_of(plain)
        looks = 0 if checked is None else live(checked, most_s=0.3)
        count["drawn"] += 1
        count["played" if looks else "refused"] += 1
        count["looks"] += looks

    each()
    return count


def break_many(way: str, number: int, *, seed_: int, folder: Path) -> int:
    """Break scenarios in one way, have each refused, and return how many there were."""
    count = 0

    @seed(seed_)
    @settings(max_examples=number, **MANY)
    @given(plain=broken_tanks(way=way))
    def each(plain: Plain) -> None:
        nonlocal count
        assert_refused(plain, folder=folder)
        count += 1

    each()
    return count


def main() -> None:
    """Draw, play, break."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--valid", type=int, default=3000)
    parser.add_argument("--broken", type=int, default=5000)
    parser.add_argument("--fish", type=int, default=12, help="of a tank, at most")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    warnings.simplefilter("error")
    began = time.monotonic()
    if asked.broken:
        each = math.ceil(asked.broken / len(WAYS))
        with tempfile.TemporaryDirectory() as place:
            found = {
                way: break_many(way, each, seed_=asked.seed, folder=Path(place)) for way in WAYS
            }
        print(f"{sum(found.values())} broken ones, each refused in a sentence:")
        for way, number in found.items():
            print(f"  {number:6d} {way}")
    if asked.valid:
        count = play_many(asked.valid, fish=asked.fish, seed_=asked.seed)
        print(
            f"{count['drawn']} scenarios that keep to the rules: {count['played']} played and "
            f"looked at {count['looks']} times, {count['refused']} refused in a sentence"
        )
    print(f"{time.monotonic() - began:.0f} s")


if __name__ == "__main__":
    main()
