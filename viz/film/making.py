"""Making a film: one run played again, its moments chosen and recorded, drawn and written."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import Problem, Refused

if TYPE_CHECKING:
    from PIL import Image

    from sim.comparison import Design
    from sim.engine import History
    from viz.film.frames import Screen
    from viz.film.story import Run
    from viz.played import Asked

MP4_SIZE, MP4_FPS = (1280, 720), 25
GIF_SIZE, GIF_FPS = (800, 450), 10
TOLD_SHARE = 0.6  # of the time that playing a run takes; then it is looked what was watched


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
        Told how many hundredths are done; what it raises ends it.

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

    def told_once(share: float) -> None:
        nonlocal last
        now = min(round(100.0 * share), 100)
        if now != last:
            last = now
            progress(now, 100)

    for number, design in enumerate(designs):

        def tell(share: float, number: int = number) -> None:
            told_once((number + TOLD_SHARE * share) / len(designs))

        def tell_watched(share: float, number: int = number) -> None:
            told_once((number + TOLD_SHARE + (1.0 - TOLD_SHARE) * share) / len(designs))

        told = chronicle_of(
            design.scenario, design.layout, run=run, seed=seed, settings=asked.settings,
            changes=asked.changes, progress=tell,
        )  # fmt: skip
        history = _history(design, asked=asked, run=run, seed=seed)
        watched = watched_stretches(history, progress=tell_watched)
        found.append(Run(design, told, tuple(watched)))
    return found


def screen_of(
    runs: Sequence[Run],
    *,
    asked: Asked,
    wanted: Wanted,
    progress: Callable[[float], None] | None = None,
) -> Screen:
    """Return the film, ready to be drawn: its scenes chosen and recorded.

    Parameters
    ----------
    runs
        The run in each tank.
    asked
        The options of the batch.
    wanted
        How the film is to be.
    progress
        Told the share of the recording that is done, now and then; what it raises ends it.

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
            progress=_part(progress, k, len(runs)),
        )
        for k, run in enumerate(runs)
    ]
    gif = wanted.out.suffix.lower() == ".gif"
    return Screen(
        runs, scenes, footage, size=GIF_SIZE if gif else MP4_SIZE,
        fps=GIF_FPS if gif else MP4_FPS, seconds=wanted.seconds, title=title_of(runs),
    )  # fmt: skip


def _part(
    progress: Callable[[float], None] | None, number: int, of: int
) -> Callable[[float], None] | None:
    """Return what is told the share of one part of several, as the share of all."""
    if progress is None:
        return None
    return lambda share: progress((number + share) / of)


def _history(design: Design, *, asked: Asked, run: int, seed: int) -> History:
    from sim.engine import History

    return History(
        design.scenario, design.layout, run=run, seed=seed, settings=asked.settings,
        changes=asked.changes,
    )  # fmt: skip


def write_film(
    screen: Screen, *, out: Path, ffmpeg: str | None, progress: Callable[[int, int], None]
) -> None:
    """Draw a film and write it.

    Parameters
    ----------
    screen
        The film, ready to be drawn.
    out
        The file, .mp4 or .gif.
    ffmpeg
        The program; needed for an .mp4.
    progress
        Told how many frames are drawn, of how many; what it raises ends it.

    Raises
    ------
    Refused
        If it cannot be made or written.
    """
    from viz.film.encode import write_gif, write_mp4
    from viz.film.script import script

    frames, words = _counted(screen, progress), " ".join(script(screen))
    if out.suffix.lower() == ".gif":
        write_gif(out, frames, fps=GIF_FPS, words=words, sample=screen.sample())
        return
    assert ffmpeg is not None
    write_mp4(
        out, frames, fps=MP4_FPS, size=MP4_SIZE, ffmpeg=ffmpeg, title=screen.title, words=words,
    )  # fmt: skip


def _counted(screen: Screen, show: Callable[[int, int], None]) -> Iterator[Image.Image]:
    total = screen.frames
    for number, frame in enumerate(screen.play(), start=1):
        yield frame
        show(number, total)
