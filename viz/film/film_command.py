"""What `holdwater film` does: read, play one run again, say what is shown, and write it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from viz import asked as reading
from viz.asked import quoted
from viz.film.making import Wanted, played, screen_of, write_film

if TYPE_CHECKING:
    from viz.played import Asked

MOST_TANKS = 2
LEAST_S, MOST_S = 10, 300


def read_wanted(*, out: Path, run: str, seconds: str, from_day: str | None, runs: int) -> Wanted:
    """Return how the film is to be, checked.

    Parameters
    ----------
    out, run, seconds, from_day
        As typed.
    runs
        Runs of the batch, which are numbered from 0.

    Raises
    ------
    Refused
        If one of them has no sense.
    """
    from viz.replay import run_number

    if out.suffix.lower() not in (".mp4", ".gif"):
        sentence = f"got {quoted(out)}; expected a name ending in .mp4 or .gif."
        raise Refused(Problem("--out", sentence))
    reading.writable_file(out, option="--out")
    number = run_number(run, runs=runs, option="--run")
    length = reading.whole("--seconds", seconds, low=LEAST_S, high=MOST_S)
    begin = 0.0 if from_day is None else reading.number_of_days(from_day, option="--from-day")
    return Wanted(out, number, length, begin)


def make_film(paths: Sequence[Path], *, asked: Asked, wanted: Wanted) -> None:
    """Play one run of one or two tanks, choose its moments, and write them as a film.

    Parameters
    ----------
    paths
        Scenario files; two are played with the same fish.
    asked
        The options of the batch.
    wanted
        How the film is to be.

    Raises
    ------
    Refused
        If a scenario cannot be played, nothing can be shown, or the film cannot be written.
    Stopped
        If Ctrl-C cut it short.
    """
    from viz.complaints import complain
    from viz.film.encode import find_ffmpeg
    from viz.film.script import film_page
    from viz.ink import bullet, console
    from viz.played import designs_of, read_files
    from viz.progress import say_if_compiling, shown_progress
    from viz.stopping import ends_soon

    if not 1 <= len(paths) <= MOST_TANKS:
        raise Refused(Problem("film", f"got {len(paths)} files; expected one, or two to compare."))
    checked = read_files(paths, asked=asked, least=1)
    designs = designs_of(paths, checked=checked)
    for found in checked:
        complain(found.warnings, unwise=True)
    ffmpeg, wanted, told = without_ffmpeg(wanted, ffmpeg=find_ffmpeg())
    if told:
        console(stderr=True).print(bullet(told, mark="!"))
    say_if_compiling()

    def say() -> None:
        complain([Problem("", "Stopped before the film was drawn; nothing was written.")])

    with shown_progress(what="% of the run") as show, ends_soon(say):
        runs = played(designs, asked=asked, run=wanted.run, progress=show)
        screen = screen_of(runs, asked=asked, wanted=wanted)
    console().print(film_page(screen))
    with shown_progress(what="frames", doing="drawing") as show:
        write_film(screen, out=wanted.out, ffmpeg=ffmpeg, progress=show)
    console().print(bullet(f"{quoted(wanted.out)} is written.", mark=" "))


def without_ffmpeg(wanted: Wanted, *, ffmpeg: str | None) -> tuple[str | None, Wanted, str]:
    """Return what is made where there is no ffmpeg: a GIF of the same name, and a word on it.

    Parameters
    ----------
    wanted
        How the film is to be.
    ffmpeg
        The program, or None.

    Raises
    ------
    Refused
        If that GIF is there already: nobody asked for it to be overwritten.
    """
    if ffmpeg is not None or wanted.out.suffix.lower() == ".gif":
        return ffmpeg, wanted, ""
    out = wanted.out.with_suffix(".gif")
    missing = "an MP4 needs ffmpeg, which is neither on this machine nor installed with the program"
    mend = 'Install it (pip install "imageio-ffmpeg")'
    if out.exists():
        raise Refused(
            Problem(
                "--out",
                f"got {quoted(wanted.out)}, but {missing}, and {quoted(out)} is there already; "
                f"expected a place for a GIF instead. {mend}, or ask for a .gif.",
            )
        )
    told = f"{missing[:1].upper()}{missing[1:]}: a GIF is made instead, {quoted(out)}. {mend}."
    return None, replace(wanted, out=out), told
