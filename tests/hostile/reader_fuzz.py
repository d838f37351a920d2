"""A coverage-guided fuzzer on the scenario reader. It needs atheris, and is no part of the suite.

``python -m tests.hostile.reader_fuzz --minutes 10`` in an environment with `atheris` mutates the
shipped scenarios, keeping what reaches code that nothing reached before. Whatever a file holds, it
is read or refused in sentences; what is read is written out, and read again as the same scenario.
A file that is neither is left as ``crash-...`` in the folder it was started from.

A line ``#base`` parts a file from the one it is based on, ``base.toml``.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import re
import sys
import tempfile
from pathlib import Path

SCENARIOS = Path(__file__).parents[2] / "scenarios"
PARTING = b"\n#base\n"
MOST_PIECES = 12  # geometry is for the few; the reader for all
VALUES = (
    "1", "-1", "0", "nan", "inf", "-inf", "1e400", "9223372036854775808", "true", "[]", "{}", "''",
    "[[]]", "[{}]", "1979-05-27", "07:32:00", "1979-05-27T07:32:00Z", "[1, 2]", "{a = 1}", "'4 in'",
    "'-1 in'", "'about 3 in'", "'1e300 in'", "'0/0 in'", "'1/0 in'", "'4 ft 2 in'", "'\\u0000'",
    '"\\u202e"', "'25:00'", "'24:00'", "'12:30 pm'", "'100 %'", "'-1 %'", "'auto'", "'all'",
    "'winner of first'", "['1 in', '2 in']", "['1 in', 2]", "[['1 in', '1 in']]", "'9e99 furlong'",
    "0x7fffffffffffffff", "'adult'", "\"\"\"\n\"\"\"", "'base.toml'", "'../base.toml'", "'stretch'",
)  # fmt: skip


def one_file(data: bytes, *, folder: Path) -> None:
    """Read a file, or a variant and its base, and raise if it is neither read nor refused.

    Parameters
    ----------
    data
        The text; what follows `PARTING` is the base's.
    folder
        Where it is written.
    """
    from sim.check import check_reading
    from sim.errors import Refused
    from sim.scenario_file import gather, read_scenario, scenario_hash, write_scenario

    own, _, base = data.partition(PARTING)
    path = folder / "tank.toml"
    path.write_bytes(own)
    (folder / "base.toml").write_bytes(base)
    reading = gather(path)
    said(reading.problems)
    if reading.scenario is not None and len(reading.scenario.pieces) <= MOST_PIECES:
        try:
            check_reading(reading, file=str(path))
        except Refused as refusal:
            said(refusal.problems)
    if reading.problems:
        return
    assert reading.scenario is not None, "neither read nor refused"
    again = folder / "again.toml"
    again.write_text(write_scenario(reading.scenario), encoding="utf-8")
    assert scenario_hash(read_scenario(again)) == scenario_hash(reading.scenario), "read otherwise"


def said(problems: tuple[object, ...]) -> None:
    """Raise unless every problem is a sentence that can be printed."""
    for problem in problems:
        words = str(problem)
        assert words.isprintable(), f"not printable: {words!r}"
        assert words[-1] in ".?)", f"no sentence: {words!r}"
        assert len(words) < 2000, f"too long: {words!r}"


def mutated(data: bytes, *, chance: random.Random, pool: list[bytes]) -> bytes:
    """Return a file with some of its lines changed: values, keys and tables of the language."""
    lines = data.split(b"\n")
    for _ in range(chance.randrange(1, 4)):
        at = chance.randrange(len(lines))
        deed = chance.randrange(6)
        key = re.match(rb"\s*([\w.]+)\s*=", lines[at])
        if deed == 0 and key:
            lines[at] = key[1] + b" = " + chance.choice(VALUES).encode()
        elif deed == 1:
            lines[at:at] = [chance.choice(pool)]
        elif deed == 2:
            lines[at:at] = lines[at : at + chance.randrange(1, 8)]
        elif deed == 3:
            del lines[at]
            lines = lines or [b""]
        elif deed == 4 and key:
            other = re.match(rb"\s*([\w.]+)\s*=", chance.choice(pool))
            lines[at] = (other or key)[1] + lines[at][len(key[1]) :]
        elif PARTING.strip() not in lines:
            lines = [b'based_on = "base.toml"', *lines[:at], PARTING.strip(), *lines[at:]]
    return b"\n".join(lines)


def main() -> None:
    """Fuzz for so many minutes."""
    import atheris

    asked = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    asked.add_argument("--minutes", type=float, default=10.0)
    asked.add_argument("--corpus", type=Path, help="a folder; what reached new code is kept there")
    given, rest = asked.parse_known_args()
    with atheris.instrument_imports(include=["sim", "tomllib"], enable_loader_override=False):
        import sim.check
        import sim.layout
        import sim.scenario_file  # noqa: F401
    with contextlib.ExitStack() as stack:
        # A disk is slower than the reader.
        memory = "/dev/shm" if os.path.isdir("/dev/shm") else None
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(dir=memory)))
        corpus = given.corpus or folder / "corpus"
        corpus.mkdir(exist_ok=True)
        pool = []
        for path in sorted(SCENARIOS.glob("*.toml")):
            text = path.read_bytes()
            based = re.search(rb'based_on = "(.*)"', text)
            if based:
                base = (SCENARIOS / based[1].decode()).read_bytes()
                text = text.replace(based[1], b"base.toml") + PARTING + base
            (corpus / path.stem).write_bytes(text)
            pool += text.split(b"\n")

        def mutate(data: bytes, most: int, seed: int) -> bytes:
            chance = random.Random(seed)
            if chance.random() < 0.3:
                return atheris.Mutate(data, most)
            return mutated(data, chance=chance, pool=pool)[:most]

        seconds = round(60.0 * given.minutes)
        words = [sys.argv[0], str(corpus), f"-max_total_time={seconds}", "-max_len=20000",
                 "-timeout=20", "-rss_limit_mb=4000", "-print_final_stats=1", *rest]  # fmt: skip
        atheris.Setup(words, lambda data: one_file(data, folder=folder), custom_mutator=mutate)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
