"""The command line as a person meets it: another process, its code and its two streams."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

TOP = Path(__file__).parents[2]
SMALL = """\
title = "Small tank"
days = 2

[tank]
length = "30 in"
width = "12 in"
height = "16 in"

[[pieces]]
name = "pot"
kind = "pot"
size = "6 in"
x = "8 in"
y = "6 in"

[[fish]]
name = "Flint"
species = "convict cichlid"
sex = "male"
length = "4 in"

[[fish]]
name = "tetras"
species = "convict cichlid"
count = 2
length = "2.5 in"
"""


@dataclass(frozen=True)
class Ended:
    """How a command ended."""

    code: int
    out: str
    err: str


def command(*arguments: str | int | os.PathLike[str]) -> list[str]:
    """Return what starts `holdwater` with these arguments."""
    return [sys.executable, "-m", "viz.cli", *map(str, arguments)]


def environment(**more: str) -> dict[str, str]:
    """Return the environment of a command that may be started from any folder."""
    plain = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "FORCE_COLOR")}
    return {**plain, "PYTHONPATH": str(TOP), **more}


def holdwater(*arguments: str | int | os.PathLike[str], cwd: Path, **more: str) -> Ended:
    """Run a command to its end in a folder."""
    done = subprocess.run(
        command(*arguments),
        cwd=cwd,
        env=environment(**more),
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    return Ended(done.returncode, done.stdout, done.stderr)
