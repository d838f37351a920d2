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

from hypothesis import HealthCheck, given, seed, settings

from tests.hostile.broken import WAYS, broken_tanks
from tests.hostile.playing import assert_refused, checked_of, live
from tests.hostile.tanks import Plain, tanks


def main() -> None:
    """Draw, play, break."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--valid", type=int, default=3000)
    parser.add_argument("--broken", type=int, default=5000)
    parser.add_argument("--fish", type=int, default=12, help="of a tank, at most")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    warnings.simplefilter("error")
    many = {"deadline": None, "database": None, "suppress_health_check": list(HealthCheck)}
    count: Counter[str] = Counter()
    began = time.monotonic()

    @seed(asked.seed)
    @settings(max_examples=asked.valid, **many)
    @given(plain=tanks(most_fish=asked.fish))
    def valid(plain: Plain) -> None:
        checked = checked_of(plain)
        looks = 0 if checked is None else live(checked, most_s=0.3)
        count["drawn"] += 1
        count["played" if looks else "refused"] += 1
        count["looks"] += looks

    place = tempfile.TemporaryDirectory()
    folder = Path(place.name)
    for way in WAYS if asked.broken else ():

        @seed(asked.seed)
        @settings(max_examples=math.ceil(asked.broken / len(WAYS)), **many)
        @given(plain=broken_tanks(way=way))
        def broken(plain: Plain, *, way: str = way) -> None:
            assert_refused(plain, folder=folder)
            count["broken"] += 1
            count[f"broken: {way}"] += 1

        broken()
    place.cleanup()
    if asked.valid:
        valid()
    print(f"{count['drawn']} scenarios that keep to the rules: {count['played']} played and looked "
          f"at {count['looks']} times, {count['refused']} refused in a sentence")  # fmt: skip
    print(f"{count['broken']} broken ones, each refused in a sentence:")
    for name, number in sorted(count.items()):
        if name.startswith("broken: "):
            print(f"  {number:6d} {name.removeprefix('broken: ')}")
    print(f"{time.monotonic() - began:.0f} s")


if __name__ == "__main__":
    main()
