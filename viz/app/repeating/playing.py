"""How a batch is begun, stopped and gone on with, and how far it has come."""

from __future__ import annotations

import solara

from sim.errors import Problem
from viz.app.batches import RUNS, BatchJob, BatchNow
from viz.app.editing.variants import spawning_too
from viz.app.elements import Button, Choice, Layer, Refusals, tag
from viz.app.kept_runs import unkept_words
from viz.app.open_tank import OpenTank
from viz.app.repeating.beginning import begin_batch
from viz.app.session import Session
from viz.app.using import use_session
from viz.checked import counted
from viz.progress import compiled_before, spoken_seconds

WORDS = {20: "20, rough"}
FIRST_RUNS = 100


def batch_of(session: Session) -> tuple[BatchJob | None, BatchNow | None]:
    """Return the batch of a page and how it stands, and follow both.

    Parameters
    ----------
    session
        The session of the page.
    """

    def read(session: Session) -> tuple[BatchJob | None, BatchNow | None]:
        job: BatchJob | None = session.batch
        return job, None if job is None else job.now

    return use_session(session, read)


@solara.component
def Playing(session: Session, together: bool) -> None:
    """Begin, stop and go on, with how far it has come.

    Parameters
    ----------
    session
        The session of the page.
    together
        Whether all open tanks are to be played over the same fish, without asking.
    """
    job, now = batch_of(session)
    tanks, picked = use_session(session, lambda session: (session.tanks, session.picked))
    runs, set_runs = solara.use_state(job.runs if job is not None else FIRST_RUNS)
    every, set_every = solara.use_state(True)
    nothing: tuple[Problem, ...] = ()
    wrong, set_wrong = solara.use_state(nothing)
    which = tuple(range(len(tanks))) if together or every else (picked,)
    playing = now is not None and not now.over

    def begin() -> None:
        set_wrong(begin_batch(session, runs=runs, tanks=which))

    with Layer("div", classes="hw-row"):
        Choice(
            "Runs of each tank" if len(which) > 1 else "Runs",
            [(str(number), WORDS.get(number, str(number))) for number in RUNS],
            str(runs),
            lambda key: set_runs(int(key)),
        )
        if len(tanks) > 1 and not together:
            Choice(
                "Of",
                [("this", "this tank"), ("all", f"all {len(tanks)}, the same fish")],
                "all" if every else "this",
                lambda key: set_every(key == "all"),
                show_label=False,
            )
    same = job is not None and (job.runs, job.tanks) == (runs, which)
    with Layer("div", classes="hw-row"):
        if playing and job is not None:
            Button("Stop here", job.cancel, kind="main")
        elif same and job is not None and now is not None and now.cancelled:
            left = job.runs - now.done
            Button(f"Play the other {left}", lambda: go_on(session), kind="main")
        elif not (same and now is not None and now.whole):
            of = f" of each of the {len(which)} tanks" if len(which) > 1 else ""
            Button(f"Play {runs} runs{of}", begin, kind="main")
    NobodySpawns(session, which, tuple(tanks[index] for index in which))
    if now is not None and job is not None:
        HowFar(job, now)
    problems = (*wrong, *(now.refused if now is not None else ()))
    Refusals(problems, words="They cannot be played:")


@solara.component
def NobodySpawns(session: Session, which: tuple[int, ...], tanks: tuple[OpenTank, ...]) -> None:
    """Say that what is planned has no spawning, though it could have; and put it there.

    It is asked when a tank has changed, and not at each telling of a batch.

    Parameters
    ----------
    session
        The session of the page.
    which
        Places of the tanks that are to be played.
    tanks
        What stands there.
    """
    too = [spawning_too(tank.scenario) for tank in tanks]
    found = [one for one in too if one is not None]
    if len(found) < len(which):
        return

    def do() -> None:
        for index, (_, scenario) in zip(which, found, strict=True):
            session.replace_tank(index, scenario)
        session.say(f"In the plan now: {found[0][0]}.")

    said = "Nobody spawns in these runs, whatever was done by hand in Watch."
    words = found[0][0]
    with Layer("div"):
        tag("p", said, classes="hw-soft")
        with Layer("div", classes="hw-row"):
            Button(
                f"{words[:1].upper()}{words[1:]}" + (" in all of them" if len(which) > 1 else ""),
                do,
                kind="quiet",
                hint="Put it in the plan of the days; Build shows it there, and takes it back",
            )


def go_on(session: Session) -> None:
    """Play the rest of a batch that was stopped."""
    if session.batch is not None:
        session.batch.start()
        session.tell()


def HowFar(job: BatchJob, now: BatchNow) -> None:
    """Say how far a batch has come, and draw it."""
    tag(
        "progress",
        classes="hw-progress",
        name="Runs played",
        attributes={"max": now.asked, "value": now.done},
    )
    tag("p", far_words(job, now), classes="hw-soft")
    for problem in now.unkept:
        tag("p", unkept_words(problem), classes="hw-field-error", attributes={"role": "status"})


def far_words(job: BatchJob, now: BatchNow) -> str:
    """Return how far a batch has come, in words.

    Parameters
    ----------
    job, now
        The batch, and how it stands.
    """
    each = " of each tank" if len(job.tanks) > 1 else ""
    words = f"{now.done} of {now.asked} runs{each}"
    kept = f"; {counted(now.found, 'run')} had been kept" if now.found else ""
    if now.whole:
        return f"{words}, in {spoken_seconds(now.took_s)}{kept}"
    if now.cancelled:
        return f"{words}, stopped{kept}"
    if now.done == 0 and not compiled_before():
        return "The rules are compiled for this machine, once: about a minute."
    played = now.done * len(job.tanks) - now.found
    if played > 0 and not now.over:
        left = now.took_s * (now.asked - now.done) * len(job.tanks) / played
        return f"{words}, about {spoken_seconds(left)} left{kept}"
    return f"{words}{kept}"


def names_of(job: BatchJob, place: int) -> tuple[str, ...]:
    """Return the names of the fish of one tank of a batch.

    Parameters
    ----------
    job
        The batch.
    place
        Of the tank in it.
    """
    from sim.outcome import fish_names

    return fish_names(job.designs[place].scenario)


def place_of(job: BatchJob | None, tank: int) -> int | None:
    """Return the place of an open tank in a batch; None where it is not part of it.

    Parameters
    ----------
    job
        The batch.
    tank
        Its place in `Session.tanks`.
    """
    return job.tanks.index(tank) if job is not None and tank in job.tanks else None


def before_any() -> None:
    """Say what many runs are for, before there are any."""
    tag(
        "p",
        "One run is an anecdote. Played many times over, with other fish of the same kind and "
        "other luck, a tank shows how often it goes wrong, for whom and when.",
    )
