"""The command line as a person meets it: its exit code and its two streams."""

from __future__ import annotations

import contextlib
import io
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from viz.cli import outcome

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


def holdwater(
    *arguments: str | int | os.PathLike[str], cwd: Path, apart: bool = False, **more: str
) -> Ended:
    """Run a command to its end in a folder.

    Parameters
    ----------
    arguments
        What follows `holdwater`.
    cwd
        The folder.
    apart
        Whether in a process of its own, as a person runs it. Else in this one, which has imported
        all of it already: a process of its own takes longer to begin than most commands take. What
        would leave it with a traceback is raised here.
    more
        Environment; then it is a process of its own.
    """
    if apart or more:
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
    out, err = io.StringIO(), io.StringIO()
    with (
        contextlib.chdir(cwd),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        code = outcome([str(one) for one in arguments])
    return Ended(code, out.getvalue(), err.getvalue())
