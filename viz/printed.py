"""The page that `run` and `compare` print, from top to bottom."""

from __future__ import annotations

import shlex
from collections.abc import Sequence

from rich.console import Group, RenderableType

from viz.cautions import ABSOLUTE, ABSOLUTE_ALONE, CAUTIONS
from viz.ink import bullet, heading
from viz.pad_page import observed
from viz.results import Results
from viz.sure_words import spread_words
from viz.tables import at_risk, chases_ended, compared, happened
from viz.words import in_words


def results_page(results: Results) -> RenderableType:
    """Return everything a person is told about one tank or several.

    Parameters
    ----------
    results
        What was found.
    """
    parts: list[RenderableType] = [
        compared(results),
        heading("In short"),
        *(bullet(one.words) for one in in_words(results)),
        happened(results),
        at_risk(results),
        *observed(results),
        chases_ended(results),
        heading("How sure"),
        *(bullet(one.words) for one in spread_words(results)),
        bullet(ABSOLUTE if len(results.designs) > 1 else ABSOLUTE_ALONE),
    ]
    criteria = dict.fromkeys(found.criterion for found in results.verdicts)
    parts += [bullet(f"How better and worse are told. {words}") for words in criteria]
    parts.append(heading("Before you build it"))
    parts += [bullet(words, mark="!", style="sand") for words in CAUTIONS]
    parts += [bullet(words) for words in sums_pointer([design.file for design in results.designs])]
    return Group(*parts)


def sums_pointer(files: Sequence[str]) -> list[str]:
    """Return the sentence that points to the keeper's sums, or none for tanks without a file.

    Parameters
    ----------
    files
        Where each tank was read; empty for one that was made in memory.
    """
    if not all(files):
        return []
    what = "What it weighs" if len(files) == 1 else "What they weigh"
    whose = "its" if len(files) == 1 else "their"
    named = " ".join(shlex.quote(file) for file in files)
    return [f"{what}, and what {whose} fish do to the water: holdwater sums {named}"]
