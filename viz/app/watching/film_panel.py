"""A film of the run that is watched, and pictures of its tank, to be taken along."""

from __future__ import annotations

import solara

from viz.app.elements import Button, Choice, Layer, Refusals, tag
from viz.app.given import Given, GivenPictures, file_stem
from viz.app.live import LiveTank
from viz.app.session import Session
from viz.app.using import use_session
from viz.app.watching.filming import (
    SECONDS,
    FilmJob,
    FilmNow,
    doing_words,
    film_of,
    kinds_here,
    played_anew,
)
from viz.phrases import LETTERS

FILM = "film"  # in `Session.behind`
LENGTHS = {30: "half a minute", 60: "a minute", 120: "two minutes"}
KIND_WORDS = {"mp4": "MP4", "gif": "GIF, larger"}
NO_FFMPEG = (
    "There is no ffmpeg here, which an MP4 needs, so a GIF is made. It comes with the program's "
    "extra named film."
)
OTHERWISE = (
    "You have made them spawn, or given food: the film is of this tank with that in its plan from "
    "the first day on, which may go otherwise than what you watched."
)
GENTLE = "A film is not gentle: it shows bites, and names who was hurt."


@solara.component
def FilmAndPicture(session: Session, live: LiveTank) -> None:
    """Make a film of the run that is watched, and hand over pictures of its tank.

    Parameters
    ----------
    session, live
        The page, and its tank.
    """

    def read(session: Session) -> tuple[FilmJob | None, FilmNow | None]:
        job: FilmJob | None = session.behind.get(FILM)
        return job, None if job is None else job.now

    job, now = use_session(session, read)
    gentle = use_session(session, lambda session: session.look.gentle)
    with Layer("section", classes="hw-branch", name="A film, a picture"):
        tag("h3", "A film, a picture")
        WhatToFilm(session, live, gentle, now is not None and not now.over)
        if job is not None and now is not None:
            Film(job, now)
        Pictures(session)


@solara.component
def WhatToFilm(session: Session, live: LiveTank, gentle: bool, making: bool) -> None:
    """Choose how the film is to be, and make it.

    Parameters
    ----------
    session, live
        The page, and its tank.
    gentle
        Whether wounds are not described.
    making
        Whether a film is being made, so that no other can be.
    """
    tanks, picked = use_session(session, lambda session: (session.tanks, session.picked))
    anew = use_session(session, lambda session: played_anew(session, live.played))
    seconds, last = solara.use_state(60)
    kinds = solara.use_memo(kinds_here, [])
    kind, of_kind = solara.use_state(kinds[0])
    beside, show = solara.use_state("")
    others = [
        (str(number), f"above {LETTERS[number]}, {tank.name}")
        for number, tank in enumerate(tanks)
        if number != picked and tank.checked is not None
    ]
    below = beside if beside in dict(others) else ""

    def make() -> None:
        film = film_of(session, live.played, others=[int(below)] if below else [])
        job = FilmJob(film, seconds=seconds, kind=kind, told=session.tell)
        session.put_behind(FILM, job)
        job.start()

    tag(
        "p",
        "This run from above, from its start to its end, with its turns and a caption: for a class "
        "or an audience. What hands have done to it is in it.",
        classes="hw-soft",
    )
    if not anew:
        tag("p", OTHERWISE)
    if gentle:
        tag("p", GENTLE)
    Choice(
        "It lasts",
        [(str(one), LENGTHS[one]) for one in SECONDS],
        str(seconds),
        lambda key: last(int(key)),
    )
    if len(kinds) > 1:
        Choice("As", [(one, KIND_WORDS[one]) for one in kinds], kind, of_kind)
    else:
        tag("p", NO_FFMPEG, classes="hw-soft")
    if others:
        Choice("Shows", [("", "this tank"), *others], below, show)
    with Layer("div", classes="hw-row"):
        Button("Make a film of this run", make, disabled=making)


def Film(job: FilmJob, now: FilmNow) -> None:
    """How far a film has come; once it is made, the film and what it shows in words.

    Parameters
    ----------
    job, now
        The film, and how it stands.
    """
    if now.refused:
        Refusals(now.refused, words="The film cannot be made:")
        return
    if now.made is None:
        if not now.over:
            tag(
                "progress",
                classes="hw-progress",
                name="The film",
                attributes={"max": now.of, "value": now.done},
            )
        tag("p", doing_words(now), classes="hw-soft")
        if not now.over:
            with Layer("div", classes="hw-row"):
                Button("Stop the film", job.cancel)
        return
    made = now.made
    size = f"{len(made.content) / 1e6:.1f} MB"
    with Layer("div", classes="hw-row"):
        Given(
            f"Take the film, {size}",
            made.name,
            lambda: made.content,
            kind=made.kind,
            hint="As holdwater film makes it",
        )
        tag("p", f"It shows {job.film.words}.", classes="hw-soft")
    with Layer("details"):
        tag("summary", "The film in words")
        with Layer("ol", classes="hw-said"):
            for line in made.script:
                tag("li", line)


def Pictures(session: Session) -> None:
    """Hand over the tank from above, to scale, as `holdwater picture` draws it.

    Parameters
    ----------
    session
        The session of the page; its picked tank can be played.
    """
    tank = session.tank
    checked = tank.checked
    if checked is None:
        return

    def drawn(kind: str) -> bytes:
        from viz.film.picture import picture_bytes

        return picture_bytes(checked, name=tank.name, kind=kind)

    tag("p", "The tank from above, to scale, as it is set up:", classes="hw-soft")
    with Layer("div", classes="hw-row"):
        GivenPictures("Picture", file_stem(tank.name), drawn, hint="As holdwater picture draws it")
