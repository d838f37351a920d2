"""What `report` does: play tanks and their reasons, and write one HTML file."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused

if TYPE_CHECKING:
    from viz.played import Asked



def write_report(
    paths: Sequence[Path], *, out: Path, take_away: Iterable[str], options: dict[str, Any]
) -> None:
    """Play tanks and what is taken away from each, say the answer, and write the report.

    Parameters
    ----------
    paths
        One to four scenario files.
    out
        The report.
    take_away
        Mechanisms to switch off one at a time; the usual three where empty.
    options
        Of `viz.played.read_options`, as typed.

    Raises
    ------
    Refused
        If an option has no sense, a scenario cannot be played, or the file not written.
    Stopped
        If Ctrl-C cut it short.
    """
    from viz.asked import page_file, quoted
    from viz.ink import bullet, console, heading
    from viz.played import read_options, tried
    from viz.record import write_whole
    from viz.report.written import report_of
    from viz.why_command import mechanisms_of, played_why
    from viz.why_record import why_json
    from viz.words import in_words

    found: list[Problem] = []
    given = tuple(take_away)
    asked = tried(found, lambda: read_options(**options))
    mechanisms = tried(found, lambda: mechanisms_of(given))
    tried(found, lambda: page_file(out, option="--out"))
    if found:
        raise Refused(found)
    assert asked is not None
    assert mechanisms is not None
    played, why = played_why(paths, asked=asked, mechanisms=mechanisms)
    more = [word for name in given for word in ("--take-away", name)]
    command = command_of("report", paths, asked=asked, more=[*more, "-o", str(out)])
    files: dict[Path, str] = {
        out: report_of(played, results=why.results, command=command, reasons=why.reasons)
    }
    if asked.json is not None:
        files[asked.json] = why_json(why)
    write_whole(files)
    screen = console()
    screen.print(heading("In short"))
    for one in in_words(why.results):
        screen.print(bullet(one.words))
    screen.print(bullet(f"{quoted(out)} is written.", mark=" "))


def command_of(
    name: str, paths: Sequence[Path], *, asked: Asked, more: Sequence[str] = ()
) -> str:
    """Return the command that asks the same question again.

    Parameters
    ----------
    name
        Of the command.
    paths, asked
        Files and options.
    more
        Further words at the end.
    """
    words = ["holdwater", name, *(str(path) for path in paths), "--runs", str(asked.runs)]
    if asked.days is not None:
        words += ["--days", f"{asked.days:g}"]
    if asked.seed is not None:
        words += ["--seed", str(asked.seed)]
    if asked.watch != "auto":
        words += ["--watch", asked.watch]
    if not asked.settings.vary and asked.runs >= _least_varied():
        words.append("--hold-assumed")
    for key, value in asked.changes.items():
        words += ["--set", f"{key}={value!r}"]
    for mechanism in asked.without:
        words += ["--without", mechanism]
    return shlex.join([*words, *more])


def _least_varied() -> int:
    from sim.unmeasured import LEAST_VARIED

    return LEAST_VARIED
