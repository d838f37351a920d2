"""A film of the run that is watched: what `holdwater film` makes, made behind the page."""

from __future__ import annotations

import tempfile
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from viz.app.behind import Behind, Standing
from viz.app.given import file_stem

if TYPE_CHECKING:
    from sim.comparison import Design
    from sim.hands import Played
    from sim.settings import Settings
    from viz.app.session import Session

SECONDS = (30, 60, 120)
KINDS = {"mp4": "video/mp4", "gif": "image/gif"}
PLAYING, RECORDING, DRAWING = "playing", "recording", "drawing"


@dataclass(frozen=True, slots=True)
class MadeFilm:
    """A film as a file.

    Parameters
    ----------
    name
        Of the file.
    kind
        Its media type.
    content
        Its bytes.
    script
        What it shows, in words.
    """

    name: str
    kind: str
    content: bytes
    script: tuple[str, ...]


@dataclass(frozen=True, eq=False, kw_only=True)
class FilmNow(Standing):
    """How a film stands.

    Parameters
    ----------
    doing
        What is done: the run is played again, the moments recorded, the frames drawn.
    done, of
        How much of that is done.
    made
        The film, once it is made.
    """

    doing: str = PLAYING
    done: int = 0
    of: int = 100
    made: MadeFilm | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmOf:
    """What is filmed.

    Parameters
    ----------
    designs
        The tank, and another that is shown below it where two are compared.
    run, seed, settings, changes
        Which run it is.
    words
        Which run it is, in words.
    """

    designs: tuple[Design, ...]
    run: int
    seed: int | None
    settings: Settings
    changes: Mapping[str, float]
    words: str


class FilmJob(Behind[FilmNow]):
    """A film that is made.

    Parameters
    ----------
    film
        What is filmed.
    seconds
        Of film.
    kind
        ``"mp4"`` or ``"gif"``.
    told
        As `Behind`.
    """

    def __init__(
        self, film: FilmOf, *, seconds: int, kind: str, told: Callable[[], None] = lambda: None
    ) -> None:
        super().__init__(FilmNow(), called="film", told=told)
        self.film, self.seconds, self.kind = film, seconds, kind

    def work(self, stop: threading.Event) -> None:
        """Play the run, choose its moments, draw and keep them."""
        from viz.app.batches import asked_for
        from viz.film.encode import find_ffmpeg
        from viz.film.making import Wanted, played, screen_of, write_film
        from viz.film.script import script

        film = self.film

        def tell(doing: str) -> Callable[[int, int], None]:
            def told(done: int, of: int) -> None:
                self.check(stop)
                self.say(soon=False, doing=doing, done=done, of=of)

            return told

        asked = replace(
            asked_for(film.run + 1), seed=film.seed, settings=film.settings,
            changes=dict(film.changes),
        )  # fmt: skip
        self.say(doing=PLAYING, done=0, of=100)
        with tempfile.TemporaryDirectory(prefix="holdwater-") as folder:
            out = Path(folder) / f"film.{self.kind}"
            wanted = Wanted(out, film.run, self.seconds, 0.0)
            runs = played(film.designs, asked=asked, run=film.run, progress=tell(PLAYING))
            recorded = tell(RECORDING)
            screen = screen_of(
                runs, asked=asked, wanted=wanted,
                progress=lambda share: recorded(min(round(100.0 * share), 100), 100),
            )  # fmt: skip
            write_film(screen, out=out, ffmpeg=find_ffmpeg(), progress=tell(DRAWING))
            content = out.read_bytes()
        made = MadeFilm(
            f"{file_stem(film.designs[0].name)}-run-{film.run}.{self.kind}",
            KINDS[self.kind], content, tuple(script(screen)),
        )  # fmt: skip
        self.say(made=made)


def film_of(session: Session, played: Played, *, others: Sequence[int] = ()) -> FilmOf:
    """Return the run that is watched as something to be filmed, with all that hands did to it.

    Parameters
    ----------
    session
        The session of the page.
    played
        What the living tank plays.
    others
        Places in `Session.tanks` of a tank to be shown below it, with the same fish.
    """
    from sim.comparison import Design
    from sim.settings import Settings

    tanks = [(session.tank.name, played.scenario, played.layout)]
    for number in others:
        checked = session.tanks[number].checked
        if checked is not None:
            tanks.append((session.tanks[number].name, checked.scenario, checked.layout))
    designs = tuple(
        Design.of(scenario, layout, name=name, path=None) for name, scenario, layout in tanks
    )
    return FilmOf(
        designs=designs,
        run=played.run,
        seed=played.seed,
        settings=played.settings or Settings(),
        changes=dict(played.changes or {}),
        words=f"run {played.run} of {' and of '.join(design.name for design in designs)}",
    )


def played_anew(session: Session, played: Played) -> bool:
    """Return whether a run is the one that was watched when it is played from its start again.

    Events by hand come at the same moment as then. A pair that was made to spawn, or food that was
    given by hand, change what the tank is about from its first day on.

    Parameters
    ----------
    session
        The session of the page.
    played
        What the living tank plays.
    """
    own, now = session.tank.scenario, played.scenario
    return (own.breeding, own.feeding) == (now.breeding, now.feeding)


def kinds_here() -> tuple[str, ...]:
    """Return the kinds of film that can be made on this machine, the first the usual one."""
    from viz.film.encode import find_ffmpeg

    return ("mp4", "gif") if find_ffmpeg() is not None else ("gif",)


def doing_words(now: FilmNow) -> str:
    """Return how a film stands, in words.

    Parameters
    ----------
    now
        How it stands.
    """
    if now.cancelled:
        return "Stopped; no film was made."
    if now.doing == DRAWING:
        return f"{now.done} of {now.of} frames are drawn."
    if now.doing == RECORDING:
        return f"Its moments are chosen and recorded: {now.done} of 100."
    return f"The run is played again from its start to its end: {now.done} of 100."
