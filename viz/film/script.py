"""The script of a film: what it shows, in words, for who cannot see it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType

from viz.cautions import CAUTIONS
from viz.film.captions import caption, outcome_words
from viz.ink import bullet, heading
from viz.phrases import LETTERS
from viz.replay_page import ONE_RUN, moment

if TYPE_CHECKING:
    from viz.film.frames import Screen
    from viz.film.story import Run


def title_of(runs: Sequence[Run]) -> str:
    """Return what a film is called: the question of the tanks, else their names."""
    asked = [run.design.scenario.question for run in reversed(runs) if run.design.scenario.question]
    return asked[0] if asked else " or ".join(run.design.name for run in runs)


def script(screen: Screen) -> list[str]:
    """Return the film in words, a line for each scene and tank.

    Parameters
    ----------
    screen
        The film.
    """

    lines = [screen.title, *screen.opening()]
    for number, scene in enumerate(screen.scenes):
        for tank, (run, shot) in enumerate(zip(screen.runs, scene.shots, strict=True)):
            said = caption(scene, shot=shot, footage=screen.footage[tank][number], run=run)
            letter = f"{LETTERS[tank]} " if len(screen.runs) > 1 else ""
            lines.append(f"{letter}{moment(shot.start_s)}  {scene.name}: {said}")
    for tank, run in enumerate(screen.runs):
        letter = f"{LETTERS[tank]} in the end: " if len(screen.runs) > 1 else "In the end: "
        lines.append(letter + " ".join(outcome_words(run)))
    return lines


def film_page(screen: Screen) -> RenderableType:
    """Return what is told of a film beside it: what is shown, in words.

    Parameters
    ----------
    screen
        The film.
    """

    length = f"{screen.frames / screen.fps:.0f} seconds, {screen.size[0]} x {screen.size[1]} pixels"
    title, *lines = script(screen)
    return Group(
        heading("The film", beside=length),
        bullet(title, mark=" "),
        *(bullet(line, mark=" ") for line in lines),
        heading("Before you build it"),
        *(bullet(words, mark="!", style="sand") for words in (ONE_RUN, *CAUTIONS)),
    )
