"""How the batch of a page is begun, and taken up again after a reload; without Solara."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused
from viz.app.batches import RUNS, BatchJob, asked_for, designs_of_tanks

if TYPE_CHECKING:
    from viz.app.session import Session


def begin_batch(
    session: Session, *, runs: int, tanks: tuple[int, ...], only_kept: bool = False
) -> tuple[Problem, ...]:
    """Play a batch in the place of the one before.

    Parameters
    ----------
    session
        The session of the page.
    runs
        Of each tank.
    tanks
        Places of the tanks in `Session.tanks`; of several the first is the reference.
    only_kept
        As in `BatchJob.start`.

    Returns
    -------
    why it cannot be played; empty when it has begun.
    """
    try:
        designs = designs_of_tanks([session.tanks[number] for number in tanks])
        job = BatchJob(
            designs, asked=asked_for(runs), told=session.tell, tanks=tanks, keep=session.keep
        )
    except Refused as refusal:
        return refusal.problems
    before, session.batch = session.batch, job
    if before is not None:
        before.close()
    job.start(only_kept=only_kept)
    session.explain(None)
    return ()


def plain_batch(job: BatchJob | None) -> dict[str, Any] | None:
    """Return what is to be known of a batch after a reload, as plain values for JSON.

    Parameters
    ----------
    job
        The batch of a page, if it has one.
    """
    if job is None or job.now.refused:
        return None
    return {"runs": job.runs, "tanks": list(job.tanks), "stopped": job.now.cancelled}


def take_up(session: Session, plain: Any) -> None:
    """Go on with a batch after a reload, from its kept runs; what makes no sense is passed over.

    One that had been stopped is shown as far as it had come, and waits.

    Parameters
    ----------
    session
        The session of the page, its tanks in their places.
    plain
        What `plain_batch` returned, as it came back from the browser.
    """
    if session.keep is None or not isinstance(plain, dict):
        return
    runs, tanks = plain.get("runs"), plain.get("tanks")
    if runs not in RUNS or not isinstance(tanks, list) or len(set(map(str, tanks))) != len(tanks):
        return
    there = all(type(one) is int and 0 <= one < len(session.tanks) for one in tanks)
    if tanks and there:
        begin_batch(
            session, runs=int(runs), tanks=tuple(tanks), only_kept=plain.get("stopped") is True
        )
