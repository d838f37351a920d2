"""What a page asks why about: the batch it has played, or the runs with which a try was judged."""

from __future__ import annotations

import solara

from viz.app.batches import BatchJob
from viz.app.repeating.playing import batch_of
from viz.app.session import Session
from viz.app.using import use_session
from viz.app.why.reasoning import Reasoning, WhyNow

RECKONING = "The runs are played; what they tell of the reasons is being reckoned."


def why_of(session: Session) -> tuple[Reasoning | None, WhyNow | None, int | None]:
    """Return the reasons of a page, what is known of them, and the picked tank's place in them.

    Parameters
    ----------
    session
        The session of the page, which is followed.

    Returns
    -------
    Reasoning, WhyNow, int
        Each None where there is none; the place where the picked tank was not played.
    """

    def read(session: Session) -> tuple[Reasoning | None, WhyNow | None, int]:
        why: Reasoning | None = session.why
        return why, None if why is None else why.now, session.picked

    why, now, picked = use_session(session, read)
    place = why.tanks.index(picked) if why is not None and picked in why.tanks else None
    return why, now, place


def follow_batch(session: Session) -> None:
    """Ask why of the batch of a page as soon as it is whole, unless something else is asked.

    Parameters
    ----------
    session
        The session of the page.
    """
    job, now = batch_of(session)
    why = use_session(session, lambda session: session.why)

    def ask() -> None:
        if session.why is None and job is not None and job is session.batch and job.now.whole:
            ask_why(session, job)

    solara.use_effect(ask, [job, now is not None and now.whole, why])


def ask_why(
    session: Session,
    job: BatchJob,
    *,
    only: int | None = None,
    tanks: tuple[int, ...] | None = None,
    note: str = "",
) -> Reasoning:
    """Ask why of runs that are played, in the place of what was asked before.

    Parameters
    ----------
    session
        The session of the page.
    job, only, tanks, note
        As in `Reasoning`.
    """
    why = Reasoning(job, told=session.tell, only=only, tanks=tanks, note=note)
    session.explain(why)
    return why.start()
