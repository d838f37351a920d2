"""What `film` does: play one run again, choose its moments, draw and write them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused
from viz import asked as reading
from viz.asked import quoted

if TYPE_CHECKING:
    from PIL import Image

    from sim.comparison import Design
    from sim.engine import History
    from viz.film.frames import Screen
    from viz.film.story import Run
    from viz.played import Asked

MOST_TANKS = 2
LEAST_S, MOST_S = 10, 300
MP4_SIZE, MP4_FPS = (1280, 720), 25
GIF_SIZE, GIF_FPS = (800, 450), 10


@dataclass(frozen=True, slots=True)
class Wanted:
    """How the film is to be.

    Parameters
    ----------
    out
        The file, .mp4 or .gif.
    run
        Number of the run.
    seconds
        Of film.
    from_day
        Nothing earlier is shown.
    """

    out: Path
    run: int
    seconds: int
    from_day: float


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
    from viz.film.encode import find_ffmpeg, write_gif, write_mp4
    from viz.film.script import film_page, script
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
    words = " ".join(script(screen))
    console().print(film_page(screen))
    with shown_progress(what="frames", doing="drawing") as show:
        frames = _counted(screen, show)
        if wanted.out.suffix.lower() == ".gif":
            write_gif(wanted.out, frames, fps=GIF_FPS, words=words, sample=screen.sample())
        else:
            assert ffmpeg is not None
            write_mp4(
                wanted.out, frames, fps=MP4_FPS, size=MP4_SIZE, ffmpeg=ffmpeg,
                title=screen.title, words=words,
            )  # fmt: skip
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


def played(
    designs: Sequence[Design], *, asked: Asked, run: int, progress: Callable[[int, int], None]
) -> list[Run]:
    """Play the run in each tank, and find what happened and what was watched.

    Parameters
    ----------
    designs
        The tanks.
    asked
        The options of the batch.
    run
        Number of the run.
    progress
        Told how many hundredths are done.

    Raises
    ------
    Refused
        If a scenario cannot be played.
    """
    from sim.batch import seed_of
    from sim.chronicle import chronicle_of
    from sim.footage import watched_stretches
    from viz.film.story import Run

    seed = seed_of(designs[0].scenario, seed=asked.seed)
    found: list[Run] = []
    last = -1

    def told_once(now: int) -> None:
        nonlocal last
        if now != last:
            last = now
            progress(now, 100)

    for number, design in enumerate(designs):

        def tell(share: float, number: int = number) -> None:
            told_once(min(round(100.0 * (number + share) / len(designs)), 100))

        told = chronicle_of(
            design.scenario, design.layout, run=run, seed=seed, settings=asked.settings,
            changes=asked.changes, progress=tell,
        )  # fmt: skip
        watched = watched_stretches(_history(design, asked=asked, run=run, seed=seed))
        found.append(Run(design, told, tuple(watched)))
    return found


def screen_of(runs: Sequence[Run], *, asked: Asked, wanted: Wanted) -> Screen:
    """Return the film, ready to be drawn: its scenes chosen and recorded.

    Parameters
    ----------
    runs
        The run in each tank.
    asked
        The options of the batch.
    wanted
        How the film is to be.

    Raises
    ------
    Refused
        If nothing was watched from the day on that was asked for.
    """
    from sim.batch import seed_of
    from sim.footage import record
    from viz.film.frames import Screen
    from viz.film.script import title_of
    from viz.film.story import story_of

    scenes = story_of(runs, seconds=wanted.seconds, from_s=86400.0 * wanted.from_day)
    if not scenes:
        raise Refused(
            Problem(
                "--from-day",
                f"got {wanted.from_day:g}, after which nothing of the run was watched; expected a "
                "day well before its end. Name an earlier one.",
            )
        )
    seed = seed_of(runs[0].design.scenario, seed=asked.seed)
    footage = [
        record(
            _history(run.design, asked=asked, run=wanted.run, seed=seed),
            [(scene.shots[k].start_s, scene.shots[k].end_s) for scene in scenes],
        )
        for k, run in enumerate(runs)
    ]
    gif = wanted.out.suffix.lower() == ".gif"
    return Screen(
        runs, scenes, footage, size=GIF_SIZE if gif else MP4_SIZE,
        fps=GIF_FPS if gif else MP4_FPS, seconds=wanted.seconds, title=title_of(runs),
    )  # fmt: skip


def _history(design: Design, *, asked: Asked, run: int, seed: int) -> History:
    from sim.engine import History

    return History(
        design.scenario, design.layout, run=run, seed=seed, settings=asked.settings,
        changes=asked.changes,
    )  # fmt: skip


def _counted(screen: Screen, show: Callable[[int, int], None]) -> Iterator[Image.Image]:
    total = screen.frames
    for number, frame in enumerate(screen.play(), start=1):
        yield frame
        show(number, total)
