"""Sentences about what is wrong, on the error stream."""

from __future__ import annotations

import sys
from collections.abc import Iterable

from sim.errors import Problem
from viz.ink import bullet, console, safe


def complain(problems: Iterable[Problem], *, unwise: bool = False) -> None:
    """Print sentences on the error stream.

    Parameters
    ----------
    problems
        What is wrong.
    unwise
        They are warnings: it can be done, but one would not.
    """
    screen = console(stderr=True)
    for problem in problems:
        sentence = f"unwise: {problem}" if unwise else str(problem)
        if screen.is_terminal:
            screen.print(bullet(sentence, mark="!" if unwise else "x"))
        else:  # one line each, for whoever reads them with a program
            print(safe(sentence), file=sys.stderr)
